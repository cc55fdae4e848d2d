// Ctrl-C and the polite ends of a job.
#pragma once

#include <csignal>

namespace plunge {

// While it lives, the first SIGINT, SIGTERM or SIGHUP only asks to stop, within a second or two; a
// second one ends the program at once. SIGHUP stays ignored where it was, as by nohup. Where
// `gentle`, SIGUSR1 asks to finish what runs and begin nothing new. One at a time.
class InterruptGuard {
 public:
  enum class Usr1 { as_it_was, gentle };
  explicit InterruptGuard(Usr1 usr1 = Usr1::as_it_was);
  ~InterruptGuard();
  InterruptGuard(const InterruptGuard&) = delete;
  InterruptGuard& operator=(const InterruptGuard&) = delete;

  static bool asked();
  static bool asked_gently();

 private:
  struct sigaction interrupt_ = {};  // what was done before
  struct sigaction terminate_ = {};
  struct sigaction hangup_ = {};
  struct sigaction user_ = {};
};

}  // namespace plunge
