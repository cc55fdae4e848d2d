#include "sim/report/gnuplot.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>

#include "models/setup/fault.hpp"

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

  void fill(const std::string& text) {
    for (std::size_t done = 0; done < text.size();) {
      const ssize_t written =
          ::pwrite(descriptor_, text.data() + done, text.size() - done, static_cast<off_t>(done));
      if (written <= 0) fail();
      done += static_cast<std::size_t>(written);
    }
  }
  std::string contents() const {
    std::string text(
        static_cast<std::size_t>(std::max<off_t>(::lseek(descriptor_, 0, SEEK_END), 0)), '\0');
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

}  // namespace

std::string run_gnuplot(const std::string& script) {
  MemoryFile input("script"), output("image"), errors("errors");
  input.fill(script);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, input.descriptor(), STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, output.descriptor(), STDOUT_FILENO);
  posix_spawn_file_actions_adddup2(&actions, errors.descriptor(), STDERR_FILENO);
  const char* arguments[] = {"gnuplot", "--default-settings", "-", nullptr};
  pid_t child = -1;
  const int error = ::posix_spawnp(&child, arguments[0], &actions, nullptr,
                                   const_cast<char* const*>(arguments), environ);
  posix_spawn_file_actions_destroy(&actions);
  if (error != 0) {
    throw RunError("plots need gnuplot (Debian package gnuplot-nox), which cannot be started: " +
                   std::generic_category().message(error));
  }
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  const std::string said = errors.contents();
  const std::string image = output.contents();
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0 || image.empty()) {
    throw RunError("gnuplot failed: " + (said.empty() ? "it wrote nothing" : said));
  }
  return image;
}

}  // namespace plunge
