// Ctrl-C and the polite end of a job: what runs is finished, nothing new is begun.
#pragma once

#include <csignal>

namespace plunge {

// While it lives, the first SIGINT or SIGTERM only asks to stop; a second one ends the program at
// once. One at a time.
class InterruptGuard {
 public:
  InterruptGuard();
  ~InterruptGuard();
  InterruptGuard(const InterruptGuard&) = delete;
  InterruptGuard& operator=(const InterruptGuard&) = delete;

  static bool asked();
  static void ask();

 private:
  struct sigaction interrupt_ = {};  // what was done before
  struct sigaction terminate_ = {};
};

}  // namespace plunge
