#include "sim/disk/reading_process.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <mutex>
#include <stdexcept>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/frames.hpp"
#include "sim/disk/hdf5_lock.hpp"
#include "sim/disk/reading_child.hpp"

namespace plunge {
namespace {

constexpr std::size_t kMostIdle = 64;  // processes that are kept, if no more were begun
constexpr std::uint64_t kMostPiece = std::uint64_t{64} << 20;  // of an answer, small files [byte]
// Time on the clock that an answer may take: a disk may be far away, and a machine busy.
double patience_for(std::uint64_t size) {
  return 60.0 + 6.0 * static_cast<double>(seconds_for(size));
}

constexpr char kCrashed[] = "could not be read: the HDF5 library crashed on it";
constexpr char kTookTooLong[] = "could not be read: the HDF5 library took too long over it";
constexpr char kNonsense[] = "could not be read: what the HDF5 library gave makes no sense";
constexpr char kKilled[] = "could not be read: the process that read it was killed";

struct Process {
  int pid = -1;
  int socket = -1;
};

// Ends a process, however it is; how it ended, or would have.
int reap(const Process& process) {
  ::close(process.socket);
  ::kill(process.pid, SIGKILL);  // of no effect on one that has ended
  int status = 0;
  while (::waitpid(process.pid, &status, 0) < 0 && errno == EINTR) {
  }
  return status;
}

Process fork_one() {
  // The library and this process's signal handlers are at rest in the copy.
  const std::lock_guard lock(hdf5_lock());
  int ends[2] = {-1, -1};
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0) {
    throw RunError("no process to read HDF5: " + std::generic_category().message(errno));
  }
  sigset_t all, before;
  ::sigfillset(&all);
  ::pthread_sigmask(SIG_SETMASK, &all, &before);
  const pid_t pid = ::fork();
  if (pid == 0) serve_files(ends[1]);
  const int error = errno;
  ::pthread_sigmask(SIG_SETMASK, &before, nullptr);
  ::close(ends[1]);
  if (pid < 0) {
    ::close(ends[0]);
    throw RunError("no process to read HDF5: " + std::generic_category().message(error));
  }
  return {pid, ends[0]};
}

// The processes that wait for a file.
class Idle {
 public:
  Idle() = default;
  Idle(const Idle&) = delete;
  Idle& operator=(const Idle&) = delete;
  ~Idle() {
    if (owner_ != ::getpid()) return;  // a copy of the process that they belong to
    for (const Process& process : idle_) reap(process);
  }

  Process take() {
    for (;;) {
      Process process;
      {
        const std::lock_guard lock(mutex_);
        if (owner_ != ::getpid()) idle_.clear();
        owner_ = ::getpid();
        if (idle_.empty()) break;
        process = idle_.back();
        idle_.pop_back();
      }
      char any = 0;
      const ssize_t there = ::recv(process.socket, &any, 1, MSG_PEEK | MSG_DONTWAIT);
      if (there < 0 && errno == EAGAIN) return process;
      reap(process);  // it was killed meanwhile
    }
    return fork_one();
  }

  // Has so many wait.
  void begin(std::size_t count) {
    std::vector<Process> processes;
    while (processes.size() < count) processes.push_back(take());
    {
      const std::lock_guard lock(mutex_);
      most_ = std::max(most_, count);
    }
    for (const Process& process : processes) give(process);
  }

  void give(const Process& process) {
    {
      const std::lock_guard lock(mutex_);
      if (idle_.size() < most_) {
        idle_.push_back(process);
        return;
      }
    }
    reap(process);
  }

 private:
  std::mutex mutex_;
  pid_t owner_ = ::getpid();
  std::vector<Process> idle_;
  std::size_t most_ = kMostIdle;
};

Idle& idle() {
  static Idle processes;
  return processes;
}

// Throws RunError for the end of a process that could not begin.
void demand_begun(int status) {
  if (!WIFEXITED(status)) return;
  const std::string no_process = "no process to read HDF5: ";
  if (WEXITSTATUS(status) == kCannotBegin) {
    throw RunError(no_process + "it needs /proc and /dev/null");
  }
  if (WEXITSTATUS(status) == kTooFewFiles) {
    throw RunError(no_process + "too few open files are allowed (see ulimit -n)");
  }
}

const char* words_of_end(int status) {
  if (!WIFSIGNALED(status)) return kCrashed;
  if (WTERMSIG(status) == SIGXCPU) return kTookTooLong;
  if (WTERMSIG(status) == SIGKILL) return kKilled;
  return kCrashed;
}

}  // namespace

void begin_reading(std::size_t threads) { idle().begin(threads); }

ReadingProcess::ReadingProcess(const RegularFile& file, std::uint64_t part, bool trusted)
    : path_(file.path()), size_(file.size()), trusted_(trusted) {
  const Process process = idle().take();
  pid_ = process.pid;
  socket_ = process.socket;
  try {
    Packing request;
    request.text(kOpenWord);
    request.number(part);
    // What cannot be sent has no answer either, and that is looked at.
    send_frame(socket_, request.bytes(), file.descriptor());
    try {
      catalogue_ = unpacked_catalogue(piece());
    } catch (const std::length_error&) {
      lost(kNonsense);
    }
  } catch (...) {
    end();
    throw;
  }
}

ReadingProcess::~ReadingProcess() {
  if (pid_ < 0) return;
  if (trusted_) {
    Packing request;
    request.text(kCloseWord);
    int none = -1;
    if (send_frame(socket_, request.bytes()) &&
        receive_frame(socket_, frame_, none, 1, patience_for(size_)) == FrameEnd::whole &&
        frame_ == std::string(1, kGood)) {
      idle().give({pid_, socket_});
      return;
    }
  }
  end();
}

void ReadingProcess::end() {
  if (pid_ >= 0) reap({pid_, socket_});
  pid_ = socket_ = -1;
}

void ReadingProcess::lost(const std::string& how) {
  end();
  refuse(Fault{"", "", how, {}}, true);
}

void ReadingProcess::refuse(Fault fault, bool trouble) const {
  fault.place.file = path_;
  if (!trouble || !trusted_) throw InputError(fault);
  // All rules that come here are "...: reason".
  fault.rule.replace(0, fault.rule.find(": "), "could not be read");
  fault.rule += "; its check sum fits, so the machine is to blame, such as for too little memory";
  throw RunError(to_string(fault));
}

std::string_view ReadingProcess::piece() {
  if (pid_ < 0) lost(kCrashed);
  int none = -1;
  const FrameEnd got =
      receive_frame(socket_, frame_, none, kMostPiece + size_, patience_for(size_));
  if (none >= 0) ::close(none);
  switch (got) {
    case FrameEnd::late:
      lost(kTookTooLong);
    case FrameEnd::too_long:
      lost(kNonsense);
    case FrameEnd::closed: {
      const int status = reap({std::exchange(pid_, -1), socket_});
      demand_begun(status);
      lost(words_of_end(status));
    }
    case FrameEnd::whole:
      break;
  }
  const std::string_view all = frame_;
  if (all.starts_with(kGood)) return all.substr(1);
  const bool trouble = all.starts_with(kTrouble);
  if (!trouble && !all.starts_with(kRefused)) lost(kNonsense);
  Fault fault;
  try {
    Unpacking refusal(all.substr(1));
    fault.key = refusal.text();
    fault.value = refusal.text();
    fault.rule = refusal.text();
  } catch (const std::length_error&) {
    lost(kNonsense);
  }
  end();
  refuse(fault, trouble);
}

void ReadingProcess::ask(const char* word, const std::string& variable, std::uint64_t first,
                         std::uint64_t count) {
  if (pid_ < 0) lost(kCrashed);
  Packing request;
  request.text(word);
  request.text(variable);
  request.number(first);
  request.number(count);
  send_frame(socket_, request.bytes());
}

void ReadingProcess::fill(std::span<char> bytes) {
  while (!bytes.empty()) {
    const std::string_view more = piece();
    if (more.empty() || more.size() > bytes.size()) lost(kNonsense);
    std::memcpy(bytes.data(), more.data(), more.size());
    bytes = bytes.subspan(more.size());
  }
}

void ReadingProcess::reals(const std::string& variable, std::uint64_t first,
                           std::span<double> values) {
  ask(kRealsWord, variable, first, values.size());
  fill({reinterpret_cast<char*>(values.data()), values.size_bytes()});
}

void ReadingProcess::wholes(const std::string& variable, std::uint64_t first,
                            std::span<int> values) {
  ask(kWholesWord, variable, first, values.size());
  fill({reinterpret_cast<char*>(values.data()), values.size_bytes()});
}

std::vector<std::string> ReadingProcess::texts(const std::string& variable, std::uint64_t first,
                                               std::size_t count) {
  ask(kTextsWord, variable, first, count);
  std::vector<std::string> texts;
  while (texts.size() < count) {
    try {
      Unpacking unpacking(piece());
      while (!unpacking.rest().empty()) texts.push_back(unpacking.text());
    } catch (const std::length_error&) {
      lost(kNonsense);
    }
    if (texts.size() > count || frame_.size() == 1) lost(kNonsense);
  }
  return texts;
}

}  // namespace plunge
