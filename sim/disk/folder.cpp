#include "sim/disk/folder.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

constexpr int kFirstFree = 3;  // past the three that every program has

[[noreturn]] void cannot_make(const std::string& path, int error) {
  throw RunError("cannot make the folder " + path + ": " + std::generic_category().message(error));
}

}  // namespace

Descriptor::Descriptor(int descriptor) : value_(descriptor) {
  if (descriptor < 0 || descriptor >= kFirstFree) return;
  value_ = ::fcntl(descriptor, F_DUPFD_CLOEXEC, kFirstFree);
  const int error = errno;
  ::close(descriptor);
  errno = error;
}

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
  std::swap(value_, other.value_);
  return *this;
}

void Descriptor::close() {
  if (value_ >= 0) ::close(value_);
  value_ = -1;
}

Descriptor open_folder(const std::string& path) {
  Descriptor folder(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  // One that may be written and searched but not listed.
  if (!folder.is_open() && errno == EACCES) {
    folder = Descriptor(::open(path.c_str(), O_PATH | O_DIRECTORY | O_CLOEXEC));
  }
  return folder;
}

void sync_folder(const Descriptor& folder, const std::string& path) {
  if (::fsync(folder.get()) == 0) return;
  // EBADF: it was opened as a place only. EINVAL: its file system syncs no folders.
  if (errno == EBADF) {
    ::sync();
  } else if (errno != EINVAL) {
    throw RunError("cannot write to the disk what is in the folder of " + path + ": " +
                   std::generic_category().message(errno));
  }
}

void make_folders(const std::string& path) {
  namespace fs = std::filesystem;
  // From the innermost outwards, those that are missing.
  std::vector<fs::path> missing;
  fs::path at = fs::path(path).lexically_normal();
  if (!at.has_filename()) at = at.parent_path();
  for (; !at.empty(); at = at.parent_path()) {
    struct stat status = {};
    if (::stat(at.c_str(), &status) == 0) {
      if (!S_ISDIR(status.st_mode)) cannot_make(path, ENOTDIR);
      break;
    }
    if (errno != ENOENT) cannot_make(path, errno);
    missing.push_back(at);
  }
  for (; !missing.empty(); missing.pop_back()) {
    const fs::path& next = missing.back();
    // Another process may make it meanwhile.
    if (::mkdir(next.c_str(), 0777) != 0 && errno != EEXIST) cannot_make(path, errno);
    const std::string above = next.has_parent_path() ? next.parent_path().string() : ".";
    const Descriptor folder = open_folder(above);
    if (!folder.is_open()) cannot_make(path, errno);
    sync_folder(folder, path);
  }
}

Descriptor open_plain(const std::string& path, int flags) {
  Descriptor file(::open(path.c_str(), flags | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC, 0666));
  struct stat status = {};
  if (!file.is_open() || ::fstat(file.get(), &status) != 0 || S_ISREG(status.st_mode)) return file;
  file.close();
  errno = EINVAL;
  return file;
}

}  // namespace plunge
