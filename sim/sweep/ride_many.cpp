#include "sim/sweep/ride_many.hpp"

#include <algorithm>
#include <chrono>
#include <mutex>
#include <utility>

#include "sim/lanes/planned_rides.hpp"
#include "sim/sweep/team.hpp"

namespace plunge {
namespace {

// Rides that a thread takes at a time: enough to fill its lanes a few times over.
constexpr std::size_t kHandful = 64;

// Consecutive rides.
struct Batch {
  std::size_t first = 0;
  std::size_t count = 0;
};

// Hands rides out to threads, a few at a time, until none is left, one of them fails or the watcher
// says stop.
class RideTeam {
 public:
  RideTeam(std::size_t all, std::size_t handful, const RideWatch& watch)
      : all_(all), handful_(handful), watch_(watch) {}

  // `make` gives each thread a worker of its own, which is called with each batch and returns false
  // where it dropped it.
  template <class Make>
  void run(const Make& make) {
    const std::size_t tasks = (all_ + handful_ - 1) / handful_;
    Team team;
    const auto work = [&] {
      auto ride = make();
      for (Batch batch = take(); batch.count > 0 && !team.failed(); batch = take()) {
        if (ride(batch)) done(batch);
      }
    };
    const auto no_watch = [] { return false; };
    team.run(std::min(threads_or_cores(watch_.threads), tasks), work, no_watch,
             std::chrono::milliseconds(100));
  }

  bool stopping() {
    const std::lock_guard lock(mutex_);
    return watch_.stop && watch_.stop();
  }

 private:
  // An empty batch: nothing is left to do.
  Batch take() {
    if (stopping()) return {};
    const std::lock_guard lock(mutex_);
    if (next_ == all_) return {};
    const Batch batch{next_, std::min(handful_, all_ - next_)};
    next_ += batch.count;
    return batch;
  }

  void done(const Batch& batch) {
    const std::lock_guard lock(mutex_);
    ridden_ += batch.count;
    if (watch_.on_progress) watch_.on_progress(ridden_, all_);
  }

  std::size_t all_;
  std::size_t handful_;
  const RideWatch& watch_;
  std::mutex mutex_;
  std::size_t next_ = 0;
  std::size_t ridden_ = 0;
};

}  // namespace

std::vector<std::optional<Result>> ride_all(std::span<const ReadyRide> rides,
                                            const RideWatch& watch) {
  std::vector<std::optional<Result>> results(rides.size());
  RideTeam(rides.size(), 1, watch).run([&] {
    return [&](const Batch& batch) {
      results[batch.first] = ride_one(rides[batch.first]);
      return true;
    };
  });
  return results;
}

void ride_each(std::span<const ReadyRide> rides, const RideTaker& taker, const RideWatch& watch) {
  RideTeam(rides.size(), 1, watch).run([&] {
    return [&](const Batch& batch) {
      const std::size_t ride = batch.first;
      const auto sink = [&](const std::vector<Channel>& block) { taker.block(ride, block); };
      taker.result(ride, ride_one(rides[ride], sink));
      return true;
    };
  });
}

std::vector<std::optional<RideRow>> ride_in_lanes(std::span<const ReadyRide> rides,
                                                  const Keep& keep, const RideWatch& watch,
                                                  InstructionSet set) {
  const std::vector<PlannedRide> planned = planned_rides(rides);
  std::vector<std::optional<RideRow>> rows(rides.size());
  RideTeam team(rides.size(), kHandful, watch);
  team.run([&] {
    return [&, rider = ManyRides(keep, set)](const Batch& batch) mutable {
      auto ridden = rider.ride(std::span(planned).subspan(batch.first, batch.count),
                               [&] { return team.stopping(); });
      if (!ridden) return false;
      for (std::size_t i = 0; i < batch.count; ++i) rows[batch.first + i] = std::move((*ridden)[i]);
      return true;
    };
  });
  return rows;
}

}  // namespace plunge
