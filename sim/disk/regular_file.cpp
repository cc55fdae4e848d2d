#include "sim/disk/regular_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

[[noreturn]] void cannot_read(const std::string& path, const std::string& reason) {
  throw InputError(Fault{"", "", "cannot be read: " + reason, Place{path, 0, 0}});
}

// A wrong name is a fault of the input; all else is trouble of the machine, which says nothing of
// what is in the file.
[[noreturn]] void cannot_read(const std::string& path, int error) {
  const std::string reason = std::generic_category().message(error);
  if (error == ENOENT || error == ENOTDIR || error == ELOOP || error == ENAMETOOLONG) {
    cannot_read(path, reason);
  }
  throw RunError(path + ": cannot be read: " + reason);
}

void demand_regular(const std::string& path, const struct stat& what) {
  if (!S_ISREG(what.st_mode)) cannot_read(path, "it is not a regular file");
}

}  // namespace

RegularFile::RegularFile(const std::string& path) : path_(path) {
  // Looked at before it is opened, since opening alone can set a device going, and once more
  // afterwards, since it may have become another file.
  struct stat what = {};
  if (::stat(path.c_str(), &what) != 0) cannot_read(path, errno);
  demand_regular(path, what);
  descriptor_ = ::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  if (descriptor_ < 0) cannot_read(path, errno);
  try {
    if (::fstat(descriptor_, &what) != 0) cannot_read(path, errno);
    demand_regular(path, what);
  } catch (...) {
    ::close(descriptor_);
    throw;
  }
  size_ = static_cast<std::uint64_t>(what.st_size);
}

RegularFile::~RegularFile() { ::close(descriptor_); }

std::string RegularFile::read_at(std::uint64_t offset, std::size_t bytes) const {
  std::string text(bytes, '\0');
  std::size_t got = 0;
  while (got < bytes) {
    const ssize_t more =
        ::pread(descriptor_, text.data() + got, bytes - got, static_cast<off_t>(offset + got));
    if (more < 0 && errno == EINTR) continue;
    if (more < 0) cannot_read(path_, errno);
    if (more == 0) cannot_read(path_, "it became shorter meanwhile");
    got += static_cast<std::size_t>(more);
  }
  return text;
}

}  // namespace plunge
