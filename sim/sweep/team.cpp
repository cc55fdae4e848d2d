#include "sim/sweep/team.hpp"

#include <algorithm>
#include <system_error>
#include <thread>
#include <vector>

namespace plunge {

std::size_t threads_or_cores(std::size_t asked) {
  return asked > 0 ? asked : std::max(1u, std::thread::hardware_concurrency());
}

void Team::fail() {
  const std::lock_guard lock(mutex_);
  if (!trouble_) trouble_ = std::current_exception();
  failed_ = true;
}

void Team::run(std::size_t threads, const std::function<void()>& work,
               const std::function<bool()>& watch, Clock::duration pause) {
  const auto member = [&] {
    try {
      work();
    } catch (...) {
      fail();
    }
    const std::lock_guard lock(mutex_);
    --working_;
    back_.notify_all();
  };
  working_ = threads;
  std::vector<std::thread> members;
  while (members.size() < threads) {
    try {
      members.emplace_back(member);
    } catch (const std::system_error&) {  // the system lets us have no more
      if (members.empty()) fail();
      const std::lock_guard lock(mutex_);
      working_ -= threads - members.size();
      break;
    }
  }
  std::unique_lock lock(mutex_);
  while (true) {
    lock.unlock();
    bool goes_on = false;
    try {
      goes_on = watch();
    } catch (...) {
      fail();
    }
    lock.lock();
    if (working_ == 0 && !goes_on) break;
    back_.wait_for(lock, pause);
  }
  lock.unlock();
  for (std::thread& thread : members) thread.join();
  if (trouble_) std::rethrow_exception(trouble_);
}

}  // namespace plunge
