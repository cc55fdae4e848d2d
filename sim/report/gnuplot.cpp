#include "sim/report/gnuplot.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <string_view>
#include <system_error>
#include <thread>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"

extern char** environ;

namespace plunge {
namespace {

// A file in memory that a child process can read or write.
class MemoryFile {
 public:
  explicit MemoryFile(const char* name) : descriptor_(::memfd_create(name, MFD_CLOEXEC)) {
    if (descriptor_ < 0) fail();
  }
  ~MemoryFile() { ::close(descriptor_); }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;

  int descriptor() const { return descriptor_; }
  std::size_t size() const {
    return static_cast<std::size_t>(std::max<off_t>(::lseek(descriptor_, 0, SEEK_END), 0));
  }

  void fill(const std::string& text) {
    for (std::size_t done = 0; done < text.size();) {
      const ssize_t written =
          ::pwrite(descriptor_, text.data() + done, text.size() - done, static_cast<off_t>(done));
      if (written <= 0) fail();
      done += static_cast<std::size_t>(written);
    }
  }
  std::string contents() const {
    std::string text(size(), '\0');
    for (std::size_t done = 0; done < text.size();) {
      const ssize_t read =
          ::pread(descriptor_, text.data() + done, text.size() - done, static_cast<off_t>(done));
      if (read <= 0) fail();
      done += static_cast<std::size_t>(read);
    }
    return text;
  }

 private:
  [[noreturn]] static void fail() {
    throw RunError("cannot hand a plot to gnuplot: " + std::generic_category().message(errno));
  }
  int descriptor_;
};

// The environment without what would choose another terminal, which may not be there.
std::vector<char*> drawing_environment() {
  constexpr std::string_view kChoice = "GNUTERM=";
  std::vector<char*> kept;
  for (char** entry = environ; entry != nullptr && *entry != nullptr; ++entry) {
    if (!std::string_view(*entry).starts_with(kChoice)) kept.push_back(*entry);
  }
  kept.push_back(nullptr);
  return kept;
}

// A program that is started and always waited for.
class Child {
 public:
  Child(const MemoryFile& input, const MemoryFile& output, const MemoryFile& errors) {
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, input.descriptor(), STDIN_FILENO);
    posix_spawn_file_actions_adddup2(&actions, output.descriptor(), STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&actions, errors.descriptor(), STDERR_FILENO);
    const char* arguments[] = {"gnuplot", "--default-settings", "-", nullptr};
    const std::vector<char*> environment = drawing_environment();
    const int error = ::posix_spawnp(&process_, arguments[0], &actions, nullptr,
                                     const_cast<char* const*>(arguments), environment.data());
    posix_spawn_file_actions_destroy(&actions);
    if (error != 0) {
      throw RunError("plots need gnuplot (Debian package gnuplot-nox), which cannot be started: " +
                     std::generic_category().message(error));
    }
  }
  ~Child() {
    if (!running_) return;
    ::kill(process_, SIGKILL);
    wait(0);
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  // Whether it has ended, by now.
  bool has_ended() {
    if (running_) wait(WNOHANG);
    return !running_;
  }
  // How it ended: empty where all went well.
  std::string trouble() const {
    if (WIFSIGNALED(status_)) return "it was ended by signal " + std::to_string(WTERMSIG(status_));
    const int code = WEXITSTATUS(status_);
    return code == 0 ? "" : "it ended with code " + std::to_string(code);
  }

 private:
  void wait(int how) {
    pid_t ended = 0;
    while ((ended = ::waitpid(process_, &status_, how)) < 0 && errno == EINTR) {
    }
    if (ended != 0) running_ = false;
  }

  pid_t process_ = -1;
  int status_ = 0;
  bool running_ = true;
};

// What a program said, in one line.
std::string in_a_line(const std::string& said) {
  constexpr std::size_t kLongest = 300;  // letters
  std::string line;
  for (const char c : said) {
    const bool blank = c == '\n' || c == '\t' || c == ' ';
    if (!blank) {
      line += c;
    } else if (!line.empty() && line.back() != ' ') {
      line += ' ';
    }
  }
  return printable(trimmed(line), kLongest);
}

[[noreturn]] void fail_drawing(const std::string& trouble, const MemoryFile& errors) {
  const std::string said = in_a_line(errors.contents());
  throw RunError("gnuplot failed, no plot is drawn: " + trouble +
                 (said.empty() ? "" : ", and says: " + said));
}

}  // namespace

std::string run_gnuplot(const std::string& script, const DrawingLimits& limits) {
  using Clock = std::chrono::steady_clock;
  MemoryFile input("script"), output("image"), errors("errors");
  input.fill(script);
  Child child(input, output, errors);
  const auto begin = Clock::now();
  auto pause = std::chrono::milliseconds(1);
  while (!child.has_ended()) {
    if (std::chrono::duration<double>(Clock::now() - begin).count() > limits.seconds) {
      fail_drawing(fmt::format("it was stopped after {:g} s", limits.seconds), errors);
    }
    if (output.size() > limits.bytes || errors.size() > limits.bytes) {
      fail_drawing(fmt::format("it was stopped after {} bytes", limits.bytes), errors);
    }
    std::this_thread::sleep_for(pause);
    pause = std::min(2 * pause, std::chrono::milliseconds(20));
  }
  if (const std::string trouble = child.trouble(); !trouble.empty()) fail_drawing(trouble, errors);
  std::string image = output.contents();
  if (image.empty()) fail_drawing("it wrote nothing", errors);
  return image;
}

}  // namespace plunge
