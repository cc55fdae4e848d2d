#include "tools/cli/interrupt.hpp"

#include <atomic>

namespace plunge {
namespace {

std::atomic<bool> stop_asked{false};
static_assert(std::atomic<bool>::is_always_lock_free);  // as a signal handler needs it

}  // namespace

InterruptGuard::InterruptGuard() {
  stop_asked = false;
  struct sigaction action = {};
  action.sa_handler = [](int) {
    stop_asked = true;
    std::signal(SIGINT, SIG_DFL);
    std::signal(SIGTERM, SIG_DFL);
  };
  action.sa_flags = SA_RESTART;
  sigaction(SIGINT, &action, &interrupt_);
  sigaction(SIGTERM, &action, &terminate_);
}

InterruptGuard::~InterruptGuard() {
  sigaction(SIGINT, &interrupt_, nullptr);
  sigaction(SIGTERM, &terminate_, nullptr);
}

bool InterruptGuard::asked() { return stop_asked; }

void InterruptGuard::ask() { stop_asked = true; }

}  // namespace plunge
