#include "tools/cli/voice.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <system_error>
#include <vector>

#include "models/setup/shown.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

constexpr std::size_t kKept = 1 << 16;  // bytes that wait for more
constexpr char kOver[] = "\r\x1b[K";    // to the line's begin, which it empties

// A stream of the process: text waits in it and is written whole. The first error stays.
class Output {
 public:
  explicit Output(int descriptor) : descriptor_(descriptor) {}

  void put(std::string_view text) {
    waiting_ += text;
    if (waiting_.size() >= kKept) write_out();
  }

  void write_out() {
    for (std::size_t done = 0; error_ == 0 && done < waiting_.size();) {
      const ssize_t written = ::write(descriptor_, waiting_.data() + done, waiting_.size() - done);
      if (written >= 0) {
        done += static_cast<std::size_t>(written);
      } else if (errno == EAGAIN) {
        struct pollfd ready = {descriptor_, POLLOUT, 0};
        ::poll(&ready, 1, -1);
      } else if (errno != EINTR) {
        error_ = errno;
      }
    }
    waiting_.clear();
  }

  // Some file systems say only here that there was no room.
  void close() {
    write_out();
    if (::close(descriptor_) != 0 && error_ == 0 && errno != EINTR) error_ = errno;
  }

  int error() const { return error_; }

 private:
  int descriptor_;
  int error_ = 0;
  std::string waiting_;
};

struct Voice {
  Output out{STDOUT_FILENO};
  Output err{STDERR_FILENO};
  bool quiet = false;
  bool said_on_error = false;
  bool progress_shown = false;
  std::vector<std::string> written;
};

Voice& voice() {
  static Voice the_voice;
  return the_voice;
}

std::size_t terminal_width(int descriptor) {
  struct winsize size = {};
  return ::ioctl(descriptor, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

}  // namespace

void open_voice() {
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
  for (const int descriptor : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
    // For reading only: writing to what was closed still fails. It takes the lowest free number.
    if (::fcntl(descriptor, F_GETFD) < 0) static_cast<void>(::open("/dev/null", O_RDONLY));
  }
}

int close_voice(int code) {
  Voice& own = voice();
  own.out.close();
  if (own.out.error() != 0) {
    std::string files;
    for (const std::string& path : own.written) files += fmt::format("; {} is written", path);
    tell("plunge: cannot write to the standard output: {}{}\n",
         std::generic_category().message(own.out.error()), shown(files));
  }
  own.err.write_out();
  const bool failed = own.out.error() != 0 || own.err.error() != 0;
  return failed && code == 0 ? 1 : code;
}

void be_quiet() { voice().quiet = true; }

void say_text(std::string_view text) {
  Voice& own = voice();
  (own.said_on_error ? own.err : own.out).put(shown_lines(text));
}

void put_text(std::string_view text) {
  Voice& own = voice();
  (own.said_on_error ? own.err : own.out).put(text);
}

void say_on_standard_error() { voice().said_on_error = true; }

void tell_text(std::string_view text) {
  Voice& own = voice();
  // In the order in which it was said, where both go to one place.
  own.out.write_out();
  clear_progress();
  own.err.put(shown_lines(text));
  own.err.write_out();
}

void note_text(std::string_view text) {
  if (!voice().quiet) tell_text(text);
}

void finish_saying() {
  voice().out.write_out();
  voice().err.write_out();
}

void remember_written(const std::string& path) { voice().written.push_back(path); }

bool shows_progress() { return !voice().quiet && ::isatty(STDERR_FILENO) != 0; }

void show_progress(std::string_view line) {
  if (!shows_progress()) return;
  const std::size_t width = terminal_width(STDERR_FILENO);
  const std::size_t fits = (width > 1 ? width : kPlainWidth) - 1;
  const std::string text = shown(line);
  std::size_t end = 0;
  for (std::size_t k = 0; k < fits && end < text.size(); ++k) end = next_character(text, end);
  Voice& own = voice();
  own.err.put(kOver + text.substr(0, end));
  own.err.write_out();
  own.progress_shown = true;
}

void clear_progress() {
  Voice& own = voice();
  if (!own.progress_shown) return;
  own.err.put(kOver);
  own.err.write_out();
  own.progress_shown = false;
}

std::size_t line_width() {
  std::size_t width = 0;
  if (const char* said = std::getenv("COLUMNS"); said != nullptr) {
    const char* end = said + std::strlen(said);
    if (std::from_chars(said, end, width).ptr != end) width = 0;
  }
  if (width == 0) width = terminal_width(STDOUT_FILENO);
  return width == 0 ? kPlainWidth : std::max(width, kLeastWidth);
}

}  // namespace plunge
