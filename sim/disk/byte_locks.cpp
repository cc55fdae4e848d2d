#include "sim/disk/byte_locks.hpp"

#include <fcntl.h>

#include <cerrno>
#include <system_error>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

struct flock one_byte(std::uint64_t byte, short type) {
  struct flock lock = {};
  lock.l_type = type;
  lock.l_whence = SEEK_SET;
  lock.l_start = static_cast<off_t>(byte);
  lock.l_len = 1;
  return lock;
}

}  // namespace

ByteLocks::ByteLocks(const std::string& path, For purpose) {
  file_ = open_plain(path, purpose == For::taking ? O_RDWR | O_CREAT : O_RDONLY);
  if (!file_.is_open() && purpose == For::taking) {
    throw RunError("cannot write " + path + ": " + std::generic_category().message(errno));
  }
}

bool ByteLocks::take(std::uint64_t byte) {
  struct flock lock = one_byte(byte, F_WRLCK);
  if (!works_ || ::fcntl(file_.get(), F_OFD_SETLK, &lock) == 0) return true;
  if (errno == EAGAIN || errno == EACCES) return false;
  works_ = false;
  return true;
}

void ByteLocks::wait_and_take(std::uint64_t byte) {
  struct flock lock = one_byte(byte, F_WRLCK);
  while (works_ && ::fcntl(file_.get(), F_OFD_SETLKW, &lock) != 0) {
    if (errno != EINTR) works_ = false;
  }
}

void ByteLocks::give(std::uint64_t byte) {
  struct flock lock = one_byte(byte, F_UNLCK);
  if (works_) ::fcntl(file_.get(), F_OFD_SETLK, &lock);
}

bool ByteLocks::taken(std::uint64_t byte) const {
  if (!file_.is_open() || !works_) return false;
  struct flock lock = one_byte(byte, F_WRLCK);
  if (::fcntl(file_.get(), F_OFD_GETLK, &lock) != 0) {
    works_ = false;
    return false;
  }
  return lock.l_type != F_UNLCK;
}

}  // namespace plunge
