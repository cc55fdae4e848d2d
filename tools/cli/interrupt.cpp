#include "tools/cli/interrupt.hpp"

#include <atomic>

namespace plunge {
namespace {

std::atomic<bool> stop_asked{false};
std::atomic<bool> finish_asked{false};
std::atomic<bool> hangup_heard{false};
static_assert(std::atomic<bool>::is_always_lock_free);  // as a signal handler needs it

}  // namespace

InterruptGuard::InterruptGuard(Usr1 usr1) {
  stop_asked = finish_asked = false;
  struct sigaction action = {};
  action.sa_handler = [](int) {
    stop_asked = true;
    std::signal(SIGINT, SIG_DFL);
    std::signal(SIGTERM, SIG_DFL);
    if (hangup_heard) std::signal(SIGHUP, SIG_DFL);
  };
  action.sa_flags = SA_RESTART;
  sigaction(SIGINT, &action, &interrupt_);
  sigaction(SIGTERM, &action, &terminate_);
  sigaction(SIGHUP, nullptr, &hangup_);
  hangup_heard = hangup_.sa_handler != SIG_IGN;
  if (hangup_heard) sigaction(SIGHUP, &action, nullptr);
  if (usr1 == Usr1::gentle) action.sa_handler = [](int) { finish_asked = true; };
  sigaction(SIGUSR1, usr1 == Usr1::gentle ? &action : nullptr, &user_);
}

InterruptGuard::~InterruptGuard() {
  sigaction(SIGINT, &interrupt_, nullptr);
  sigaction(SIGTERM, &terminate_, nullptr);
  sigaction(SIGHUP, &hangup_, nullptr);
  sigaction(SIGUSR1, &user_, nullptr);
}

bool InterruptGuard::asked() { return stop_asked; }

bool InterruptGuard::asked_gently() { return finish_asked; }

}  // namespace plunge
