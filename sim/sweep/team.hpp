// Threads that do one job together while the calling thread watches over them.
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <exception>
#include <functional>
#include <mutex>

namespace plunge {

// Threads that are asked for; 0: one for each core, at least one.
std::size_t threads_or_cores(std::size_t asked);

class Team {
 public:
  using Clock = std::chrono::steady_clock;

  // Calls `work` in so many threads, or in as many as the system grants, and meanwhile `watch` in
  // this one: at once, then after each `pause`. Returns when all threads are back and watch()
  // returned false. Rethrows the first trouble of a thread or of watch(), after that.
  void run(std::size_t threads, const std::function<void()>& work,
           const std::function<bool()>& watch, Clock::duration pause);

  // Keeps the exception that is being handled, if it is the first, as the trouble to throw.
  void fail();
  // True once there was trouble: the threads should come back soon.
  bool failed() const { return failed_; }

 private:
  std::mutex mutex_;  // of what follows
  std::condition_variable back_;
  std::size_t working_ = 0;
  std::exception_ptr trouble_;
  std::atomic<bool> failed_{false};
};

}  // namespace plunge
