#include "sim/disk/atomic_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <filesystem>
#include <system_error>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

[[noreturn]] void fail(const std::string& path, int error) {
  throw RunError("cannot write " + path + ": " + std::generic_category().message(error));
}

constexpr std::string_view kPartBegin = ".plunge-";
constexpr std::string_view kPartEnd = ".part";
constexpr int kMostTries = 10000;

// The file that a path leads to; refuses what is there and is no regular file.
std::filesystem::path target_of(const std::string& path) {
  std::filesystem::path target(path);
  std::error_code error;
  if (std::filesystem::exists(target, error)) {
    target = std::filesystem::canonical(target, error);
    if (error) fail(path, error.value());
    if (!std::filesystem::is_regular_file(target, error)) {
      throw RunError("cannot write " + path + ": it is not a regular file");
    }
  }
  return target;
}

std::filesystem::path directory_of(const std::filesystem::path& target) {
  const std::filesystem::path directory = target.parent_path();
  return directory.empty() ? std::filesystem::path(".") : directory;
}

}  // namespace

NewFile::NewFile(const std::string& target) : path_(target), target_(target_of(target)) {
  static std::atomic<unsigned> count{0};
  const std::filesystem::path directory = directory_of(target_);
  // A name may be taken: by a process of the same number that was killed, or on another host.
  for (int tries = 0; tries < kMostTries; ++tries) {
    name_ = directory / (std::string(kPartBegin) + std::to_string(::getpid()) + "-" +
                         std::to_string(count++) + std::string(kPartEnd));
    descriptor_ = ::open(name_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (descriptor_ < 0 && errno == EEXIST) continue;
    if (descriptor_ < 0) break;
    // Another process's clean-up may have unlinked the file between open() and flock().
    while (::flock(descriptor_, LOCK_EX) != 0 && errno == EINTR) continue;
    struct stat status = {};
    if (::fstat(descriptor_, &status) != 0 || status.st_nlink > 0) return;
    ::close(descriptor_);
    descriptor_ = -1;
    errno = EEXIST;
  }
  fail(path_, errno);
}

NewFile::~NewFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
  if (!named_) ::unlink(name_.c_str());
}

void NewFile::reserve(std::uint64_t bytes) {
  while (::fallocate(descriptor_, 0, 0, static_cast<off_t>(bytes)) != 0) {
    if (errno == EINTR) continue;
    if (errno == EOPNOTSUPP || errno == ENOSYS) return;
    fail(path_, errno);
  }
}

std::uint64_t NewFile::size() const {
  struct stat status = {};
  if (::fstat(descriptor_, &status) != 0) fail(path_, errno);
  return static_cast<std::uint64_t>(status.st_size);
}

void NewFile::append(std::string_view bytes) { write_at(size(), bytes); }

void NewFile::write_at(std::uint64_t offset, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written =
        ::pwrite(descriptor_, bytes.data(), bytes.size(), static_cast<off_t>(offset));
    if (written > 0) {
      bytes.remove_prefix(static_cast<std::size_t>(written));
      offset += static_cast<std::uint64_t>(written);
    } else if (written == 0 || errno != EINTR) {
      fail(path_, written == 0 ? EIO : errno);
    }
  }
}

std::string NewFile::read_at(std::uint64_t offset, std::size_t bytes) const {
  std::string text(bytes, '\0');
  for (std::size_t done = 0; done < bytes;) {
    const ssize_t got =
        ::pread(descriptor_, text.data() + done, bytes - done, static_cast<off_t>(offset + done));
    if (got > 0) {
      done += static_cast<std::size_t>(got);
    } else if (got == 0 || errno != EINTR) {
      fail(path_, got == 0 ? EIO : errno);
    }
  }
  return text;
}

void NewFile::take_name() {
  if (::fsync(descriptor_) != 0) fail(path_, errno);
  // Renamed while the lock is held; what close() could complain of fsync() has found.
  if (::rename(name_.c_str(), target_.c_str()) != 0) fail(path_, errno);
  named_ = true;
}

void demand_writable(const std::string& path) { const NewFile file(path); }

void write_file_atomically(const std::string& path, std::string_view bytes) {
  NewFile file(path);
  file.append(bytes);
  file.take_name();
}

void remove_left_parts(const std::string& folder) {
  std::error_code error;
  for (std::filesystem::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    if (!name.starts_with(kPartBegin) || !name.ends_with(kPartEnd)) continue;
    const int descriptor = ::open(entry->path().c_str(), O_RDWR | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor < 0) continue;
    if (::flock(descriptor, LOCK_EX | LOCK_NB) == 0) ::unlink(entry->path().c_str());
    ::close(descriptor);
  }
}

}  // namespace plunge
