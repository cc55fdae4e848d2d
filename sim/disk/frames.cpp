#include "sim/disk/frames.hpp"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>

namespace plunge {
namespace {

constexpr int kSlice = 500;  // at a time that is waited [ms]

// Room for one descriptor beside a message, aligned as its header has to be.
union Beside {
  cmsghdr header;
  char bytes[CMSG_SPACE(sizeof(int))];
};

class Receiver {
 public:
  Receiver(int socket, double seconds)
      : socket_(socket), slices_(seconds < 0.0 ? -1.0 : 1.0 + 1e3 * seconds / kSlice) {}

  FrameEnd fill(char* bytes, std::size_t size, int& descriptor) {
    for (std::size_t got = 0; got < size;) {
      if (!wait()) return FrameEnd::late;
      Beside beside = {};
      iovec part = {bytes + got, size - got};
      msghdr message = {};
      message.msg_iov = &part;
      message.msg_iovlen = 1;
      message.msg_control = &beside;
      message.msg_controllen = sizeof beside;
      const ssize_t more = ::recvmsg(socket_, &message, MSG_DONTWAIT | MSG_CMSG_CLOEXEC);
      if (more < 0 && (errno == EINTR || errno == EAGAIN)) continue;
      if (more <= 0) return FrameEnd::closed;
      const cmsghdr* header = CMSG_FIRSTHDR(&message);
      if (header != nullptr && header->cmsg_type == SCM_RIGHTS) {
        if (descriptor >= 0) ::close(descriptor);
        std::memcpy(&descriptor, CMSG_DATA(header), sizeof descriptor);
      }
      got += static_cast<std::size_t>(more);
    }
    return FrameEnd::whole;
  }

 private:
  // Until there is something to read; false where it took too long.
  bool wait() {
    for (;;) {
      pollfd ready = {socket_, POLLIN, 0};
      if (::poll(&ready, 1, slices_ < 0.0 ? -1 : kSlice) > 0) return true;
      if (slices_ >= 0.0 && (slices_ -= 1.0) < 0.0) return false;
    }
  }

  int socket_;
  double slices_;  // left
};

}  // namespace

bool send_frame(int socket, std::string_view bytes, int descriptor) {
  const std::uint64_t size = bytes.size();
  iovec parts[2] = {{const_cast<std::uint64_t*>(&size), sizeof size},
                    {const_cast<char*>(bytes.data()), bytes.size()}};
  Beside beside = {};
  msghdr message = {};
  message.msg_iov = parts;
  message.msg_iovlen = 2;
  if (descriptor >= 0) {
    message.msg_control = &beside;
    message.msg_controllen = sizeof beside;
    cmsghdr* header = CMSG_FIRSTHDR(&message);
    header->cmsg_level = SOL_SOCKET;
    header->cmsg_type = SCM_RIGHTS;
    header->cmsg_len = CMSG_LEN(sizeof descriptor);
    std::memcpy(CMSG_DATA(header), &descriptor, sizeof descriptor);
  }
  for (std::size_t rest = sizeof size + bytes.size(); rest > 0;) {
    const ssize_t sent = ::sendmsg(socket, &message, MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent <= 0) return false;
    rest -= static_cast<std::size_t>(sent);
    message.msg_control = nullptr;  // it went along with the first byte
    message.msg_controllen = 0;
    std::size_t gone = static_cast<std::size_t>(sent);
    for (iovec& part : parts) {
      const std::size_t of_this = std::min(gone, part.iov_len);
      part.iov_base = static_cast<char*>(part.iov_base) + of_this;
      part.iov_len -= of_this;
      gone -= of_this;
    }
  }
  return true;
}

FrameEnd receive_frame(int socket, std::string& bytes, int& descriptor, std::uint64_t most,
                       double seconds) {
  descriptor = -1;
  Receiver receiver(socket, seconds);
  std::uint64_t size = 0;
  FrameEnd end = receiver.fill(reinterpret_cast<char*>(&size), sizeof size, descriptor);
  if (end == FrameEnd::whole && size > most) end = FrameEnd::too_long;
  if (end == FrameEnd::whole) {
    bytes.resize(static_cast<std::size_t>(size));
    end = receiver.fill(bytes.data(), bytes.size(), descriptor);
  }
  if (end != FrameEnd::whole && descriptor >= 0) ::close(std::exchange(descriptor, -1));
  return end;
}

}  // namespace plunge
