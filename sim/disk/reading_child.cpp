#include "sim/disk/reading_child.hpp"

#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <exception>
#include <new>
#include <optional>
#include <stdexcept>
#include <string>

#include "sim/disk/frames.hpp"
#include "sim/disk/hdf5_contents.hpp"

namespace plunge {
namespace {

#if defined(__SANITIZE_ADDRESS__)
constexpr bool kSanitized = true;  // its shadow takes terabytes, and it reports on standard error
#else
constexpr bool kSanitized = false;
#endif

// Where things stand among the descriptors. There is room for two more, the file that is handed
// over and the library's own; nothing else can be opened while a file is.
constexpr int kSocket = 3;
constexpr int kMemoryUse = 4;  // /proc/self/statm
constexpr int kMostDescriptors = 7;
constexpr int kOutOfTheWay = 32;

constexpr std::uint64_t kMostRequest = 1u << 20;  // [byte]

void limit(decltype(RLIMIT_AS) what, std::uint64_t most, bool for_good) {
  rlimit now = {};
  ::getrlimit(what, &now);
  now.rlim_cur = std::min<rlim_t>(most, now.rlim_max);
  if (for_good) now.rlim_max = now.rlim_cur;
  ::setrlimit(what, &now);
}

// The terminal's keys and a batch system's notices are for the parent, whose end is noticed by its
// end of the socket; what the library does wrong kills.
void forget_signals() {
  for (int number = 1; number < NSIG; ++number) std::signal(number, SIG_DFL);
  for (const int number : {SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGUSR1, SIGUSR2, SIGALRM, SIGPIPE}) {
    std::signal(number, SIG_IGN);
  }
  sigset_t none;
  ::sigemptyset(&none);
  ::sigprocmask(SIG_SETMASK, &none, nullptr);
}

void close_all_from(int first) {
  if (::close_range(static_cast<unsigned>(first), ~0u, 0) == 0) return;
  rlimit most = {};
  ::getrlimit(RLIMIT_NOFILE, &most);
  for (int each = first; each < static_cast<int>(most.rlim_cur); ++each) ::close(each);
}

void settle_descriptors(int socket) {
  const int own = ::fcntl(socket, F_DUPFD, kOutOfTheWay);
  const int use = ::fcntl(::open("/proc/self/statm", O_RDONLY), F_DUPFD, kOutOfTheWay);
  const int nothing = ::open("/dev/null", O_RDWR);
  if (own < 0 || use < 0 || nothing < 0) {
    rlimit most = {};
    ::getrlimit(RLIMIT_NOFILE, &most);
    const bool few = most.rlim_cur < kOutOfTheWay + 2 || errno == EMFILE;
    ::_exit(few ? kTooFewFiles : kCannotBegin);
  }
  for (int each = 0; each < (kSanitized ? 2 : 3); ++each) ::dup2(nothing, each);
  ::dup2(own, kSocket);
  ::dup2(use, kMemoryUse);
  close_all_from(kMemoryUse + 1);
}

void settle(int socket) {
  forget_signals();
  ::prctl(PR_SET_NAME, "plunge-reader");
  ::prctl(PR_SET_DUMPABLE, 0);
  settle_descriptors(socket);
  limit(RLIMIT_NOFILE, kMostDescriptors, true);
  limit(RLIMIT_FSIZE, 0, true);
  limit(RLIMIT_CORE, 0, true);
}

// Of this process, now [byte].
std::uint64_t memory_in_use() {
  char text[64] = {};
  if (::pread(kMemoryUse, text, sizeof text - 1, 0) <= 0) ::_exit(kCannotBegin);
  return std::strtoull(text, nullptr, 10) * static_cast<std::uint64_t>(::sysconf(_SC_PAGESIZE));
}

void limit_memory(std::uint64_t more) {
  if (!kSanitized) limit(RLIMIT_AS, memory_in_use() + more, false);
}

void limit_time(std::uint64_t seconds) {
  rusage used = {};
  ::getrusage(RUSAGE_SELF, &used);
  const auto so_far = static_cast<std::uint64_t>(used.ru_utime.tv_sec + used.ru_stime.tv_sec);
  limit(RLIMIT_CPU, so_far + seconds + 1, false);
}

class Server {
 public:
  // False where the other end is gone.
  bool serve_one() {
    std::string request;
    int descriptor = -1;
    if (receive_frame(kSocket, request, descriptor, kMostRequest) != FrameEnd::whole) return false;
    try {
      return answer(Unpacking(request), descriptor);
    } catch (const Hdf5Refusal& refusal) {
      return send_refusal(refusal);
    } catch (const std::bad_alloc&) {
      return send_refusal({"", "", kTooMuchMemory, true});
    } catch (const std::exception& error) {
      return send_refusal({"", "", std::string("could not be read: ") + error.what()});
    }
  }

 private:
  static bool send_good(std::string_view bytes) {
    std::string piece(1, kGood);
    piece += bytes;
    return send_frame(kSocket, piece);
  }

  static bool send_refusal(const Hdf5Refusal& refusal) {
    Packing packing;
    packing.raw({refusal.trouble ? &kTrouble : &kRefused, 1});
    packing.text(refusal.object);
    packing.text(refusal.value);
    packing.text(refusal.rule);
    return send_frame(kSocket, packing.bytes());
  }

  bool answer(Unpacking request, int descriptor) {
    const std::string word = request.text();
    if (word == kCloseWord) {
      close();
      return send_good("");
    }
    if (word == kOpenWord) {
      open(descriptor, request.number());
      return send_good(packed(contents_->catalogue()));
    }
    if (!contents_) throw std::runtime_error("no file is open");
    limit_time(seconds_for(size_));
    const std::string variable = request.text();
    const std::uint64_t first = request.number();
    const std::uint64_t count = request.number();
    bool there = true;
    const auto take = [&](std::string_view bytes) { there = there && send_good(bytes); };
    if (word == kRealsWord) contents_->reals(variable, first, count, take);
    if (word == kWholesWord) contents_->wholes(variable, first, count, take);
    if (word == kTextsWord) contents_->texts(variable, first, count, take);
    return there;
  }

  void open(int descriptor, std::uint64_t part) {
    close();
    descriptor_ = descriptor;
    struct stat what = {};
    ::fstat(descriptor, &what);
    size_ = static_cast<std::uint64_t>(what.st_size);
    limit_time(seconds_for(size_));
    limit_memory(memory_for(size_));
    contents_.emplace("/proc/self/fd/" + std::to_string(descriptor), part);
  }

  void close() {
    contents_.reset();
    if (descriptor_ >= 0) ::close(descriptor_);
    descriptor_ = -1;
  }

  std::optional<Hdf5Contents> contents_;
  std::uint64_t size_ = 0;
  int descriptor_ = -1;
};

}  // namespace

// Chosen. A sound file takes a hundredth of a second and 10 ms a MiB, and ten times that where it
// is well deflated.
std::uint64_t seconds_for(std::uint64_t size) { return 3 + (size >> 21); }
std::uint64_t memory_for(std::uint64_t size) {
  constexpr std::uint64_t kLeast = std::uint64_t{256} << 20;
  constexpr std::uint64_t kMost = std::uint64_t{2} << 30;
  return std::min(kLeast + size, kMost);
}

void serve_files(int socket) {
  settle(socket);
  Server server;
  while (server.serve_one()) {
  }
  ::_exit(0);
}

}  // namespace plunge
