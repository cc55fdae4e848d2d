#include "sim/disk/atomic_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <system_error>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void refuse(const std::string& path, const std::string& why) {
  throw RunError("cannot write " + path + ": " + why);
}

[[noreturn]] void fail(const std::string& path, int error) {
  refuse(path, std::generic_category().message(error));
}

constexpr std::string_view kPartBegin = ".plunge-";
constexpr std::string_view kPartEnd = ".part";
constexpr int kMostTries = 10000;
constexpr std::size_t kPoured = std::size_t{1} << 20;  // poured at once [byte]
constexpr mode_t kPermissions = 07777;
constexpr mode_t kAnyWriter = 0222;

// A name that few others have: it may be taken by a process of the same number that was killed, or
// on another host.
std::string hidden_name() {
  static std::atomic<unsigned> count{0};
  return std::string(kPartBegin) + std::to_string(::getpid()) + "-" + std::to_string(count++) +
         std::string(kPartEnd);
}

void sync_file(const Descriptor& file, const std::string& path) {
  while (::fsync(file.get()) != 0) {
    if (errno != EINTR) fail(path, errno);
  }
}

}  // namespace

NewFile::NewFile(const std::string& target, Links links, Part part) : path_(target) {
  if (path_ == kStandardOutput) {
    path_ = "to the standard output";
    std::error_code error;
    const std::string place = fs::temp_directory_path(error).string();
    if (!error) {
      file_ = Descriptor(::open(place.c_str(), O_TMPFILE | O_EXCL | O_RDWR | O_CLOEXEC, 0600));
    }
    if (!file_.is_open()) file_ = Descriptor(::memfd_create("plunge", MFD_CLOEXEC));
    if (!file_.is_open()) fail(path_, errno);
    return;
  }
  find_target(links);
  if (part == Part::named || !begin_unnamed()) begin_named();
}

// Finds the folder and the name that the target leads to, and refuses what may not be replaced.
void NewFile::find_target(Links links) {
  if (path_.empty() || path_.find('\0') != std::string::npos) {
    refuse("\"" + path_ + "\"", "it is no name of a file");
  }
  if (path_.back() == '/') refuse(path_, "it is the name of a folder");
  fs::path target(path_);
  std::error_code error;
  if (fs::is_symlink(fs::symlink_status(target, error))) {
    if (links == Links::refused) refuse(path_, "it is a link, and links are not followed here");
    target = fs::canonical(target, error);
    if (error == std::errc::no_such_file_or_directory) {
      refuse(path_, "it is a link to a file that is not there");
    }
    if (error) fail(path_, error.value());
  }
  folder_ = target.has_parent_path() ? target.parent_path().string() : ".";
  name_ = target.filename().string();
  held_ = open_folder(folder_);
  if (!held_.is_open()) fail(path_, errno);
  struct stat status = {};
  if (::fstatat(held_.get(), name_.c_str(), &status, AT_SYMLINK_NOFOLLOW) != 0) {
    if (errno != ENOENT) fail(path_, errno);
    return;
  }
  if (!S_ISREG(status.st_mode)) refuse(path_, "it is not a regular file");
  if ((status.st_mode & kAnyWriter) == 0) refuse(path_, "it is marked as read-only");
  if (::faccessat(held_.get(), name_.c_str(), W_OK, AT_EACCESS) != 0) fail(path_, errno);
}

bool NewFile::begin_unnamed() {
  file_ = Descriptor(::openat(held_.get(), ".", O_TMPFILE | O_RDWR | O_CLOEXEC, 0666));
  const bool unknown = errno == EOPNOTSUPP || errno == EISDIR || errno == EINVAL || errno == ENOENT;
  if (!file_.is_open() && !unknown) fail(path_, errno);
  // It is opened and named through /proc.
  if (file_.is_open() && ::access(path().c_str(), F_OK) != 0) file_.close();
  if (!file_.is_open()) return false;
  lock();
  return true;
}

void NewFile::begin_named() {
  for (int tries = 0; tries < kMostTries; ++tries) {
    part_ = hidden_name();
    file_ = Descriptor(
        ::openat(held_.get(), part_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
    if (!file_.is_open() && errno == EEXIST) continue;
    if (!file_.is_open()) break;
    // Another process's clean-up may have unlinked the file between openat() and flock().
    lock();
    struct stat status = {};
    if (::fstat(file_.get(), &status) != 0 || status.st_nlink > 0) return;
    errno = EEXIST;
  }
  part_.clear();
  fail(path_, errno);
}

void NewFile::lock() const {
  while (::flock(file_.get(), LOCK_EX) != 0 && errno == EINTR) continue;
}

NewFile::~NewFile() {
  if (!part_.empty()) ::unlinkat(held_.get(), part_.c_str(), 0);
}

std::string NewFile::path() const {
  return part_.empty() ? "/proc/self/fd/" + std::to_string(file_.get())
                       : (fs::path(folder_) / part_).string();
}

void NewFile::reserve(std::uint64_t bytes) {
  while (::fallocate(file_.get(), 0, 0, static_cast<off_t>(bytes)) != 0) {
    if (errno == EINTR) continue;
    if (errno == EOPNOTSUPP || errno == ENOSYS) return;
    fail(path_, errno);
  }
}

std::uint64_t NewFile::size() const {
  struct stat status = {};
  if (::fstat(file_.get(), &status) != 0) fail(path_, errno);
  return static_cast<std::uint64_t>(status.st_size);
}

void NewFile::append(std::string_view bytes) { write_at(size(), bytes); }

void NewFile::write_at(std::uint64_t offset, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written =
        ::pwrite(file_.get(), bytes.data(), bytes.size(), static_cast<off_t>(offset));
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
        ::pread(file_.get(), text.data() + done, bytes - done, static_cast<off_t>(offset + done));
    if (got > 0) {
      done += static_cast<std::size_t>(got);
    } else if (got == 0 || errno != EINTR) {
      fail(path_, got == 0 ? EIO : errno);
    }
  }
  return text;
}

// Names a file that has no name yet; false: the name is taken.
bool NewFile::link_as(const std::string& name) const {
  if (::linkat(AT_FDCWD, path().c_str(), held_.get(), name.c_str(), AT_SYMLINK_FOLLOW) == 0) {
    return true;
  }
  if (errno != EEXIST) fail(path_, errno);
  return false;
}

// Takes over the mode and the owner of the file that is to be replaced.
void NewFile::keep_mode() const {
  struct stat old = {};
  struct stat own = {};
  if (::fstatat(held_.get(), name_.c_str(), &old, AT_SYMLINK_NOFOLLOW) != 0) return;
  if (!S_ISREG(old.st_mode) || ::fstat(file_.get(), &own) != 0) return;
  if (old.st_uid != own.st_uid || old.st_gid != own.st_gid) {
    // Only root may give a file away; another's file stays with who replaced it.
    [[maybe_unused]] const int given = ::fchown(file_.get(), old.st_uid, old.st_gid);
  }
  // Some file systems know no modes.
  const mode_t mode = old.st_mode & kPermissions;
  if (mode == (own.st_mode & kPermissions) || ::fchmod(file_.get(), mode) == 0) return;
  if (errno != EPERM && errno != EOPNOTSUPP) fail(path_, errno);
}

void NewFile::take_name() {
  if (folder_.empty()) return pour();
  keep_mode();
  sync_file(file_, path_);
  if (part_.empty() && !link_as(name_)) {
    std::string part = hidden_name();
    for (int tries = 1; !link_as(part); ++tries) {
      if (tries == kMostTries) fail(path_, EEXIST);
      part = hidden_name();
    }
    part_ = part;
  }
  // Renamed while the lock is held; what close() could complain of fsync() has found.
  if (!part_.empty()) {
    if (::renameat(held_.get(), part_.c_str(), held_.get(), name_.c_str()) != 0) {
      fail(path_, errno);
    }
    part_.clear();
  }
  sync_folder(held_, path_);
}

// Copies it to the standard output.
void NewFile::pour() const {
  const std::uint64_t all = size();
  for (std::uint64_t at = 0; at < all;) {
    const std::string piece =
        read_at(at, static_cast<std::size_t>(std::min<std::uint64_t>(kPoured, all - at)));
    std::string_view left = piece;
    while (!left.empty()) {
      const ssize_t written = ::write(STDOUT_FILENO, left.data(), left.size());
      if (written > 0) {
        left.remove_prefix(static_cast<std::size_t>(written));
      } else if (written == 0 || errno != EINTR) {
        fail(path_, written == 0 ? EIO : errno);
      }
    }
    at += piece.size();
  }
  // A pipe cannot be synced.
  if (::fsync(STDOUT_FILENO) != 0 && errno != EINVAL && errno != EROFS) fail(path_, errno);
}

void demand_writable(const std::string& path) { const NewFile file(path); }

void write_file_atomically(const std::string& path, std::string_view bytes, Links links) {
  NewFile file(path, links);
  file.append(bytes);
  file.take_name();
}

bool is_left_part(std::string_view name) {
  if (!name.starts_with(kPartBegin) || !name.ends_with(kPartEnd)) return false;
  name.remove_prefix(kPartBegin.size());
  name.remove_suffix(std::min(name.size(), kPartEnd.size()));
  const std::size_t dash = name.find('-');
  if (dash == std::string_view::npos) return false;
  const auto is_number = [](std::string_view digits) {
    return !digits.empty() &&
           std::ranges::all_of(digits, [](char c) { return c >= '0' && c <= '9'; });
  };
  return is_number(name.substr(0, dash)) && is_number(name.substr(dash + 1));
}

void remove_left_parts(const std::string& folder) {
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    if (!is_left_part(entry->path().filename().string())) continue;
    const Descriptor part = open_plain(entry->path().string(), O_RDWR);
    if (!part.is_open()) continue;
    if (::flock(part.get(), LOCK_EX | LOCK_NB) == 0) ::unlink(entry->path().c_str());
  }
}

}  // namespace plunge
