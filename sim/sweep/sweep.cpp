#include "sim/sweep/sweep.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <filesystem>
#include <mutex>
#include <system_error>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/disk/reading_process.hpp"
#include "sim/sweep/claims.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/shard_queue.hpp"
#include "sim/sweep/team.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;
using Clock = Team::Clock;

constexpr auto kTick = std::chrono::milliseconds(500);
constexpr auto kLook = std::chrono::seconds(1);     // between readings of the folder
constexpr auto kWindow = std::chrono::seconds(60);  // over which the rate is taken
constexpr auto kWait = std::chrono::milliseconds(200);
constexpr int kPauses = 50;                          // between readings, in times of what one takes
constexpr auto kAsk = std::chrono::milliseconds(1);  // between polls of riders elsewhere

constexpr std::size_t kMostReasons = 100;  // kinds that are counted apart

// Rides per second over the last minute.
class RecentRate {
 public:
  // `rides`: done by now. 0: unknown.
  double at(Clock::time_point time, std::size_t rides) {
    history_.emplace_back(time, rides);
    while (time - history_.front().first > kWindow && history_.size() > 2) history_.pop_front();
    const double span = std::chrono::duration<double>(time - history_.front().first).count();
    const std::size_t before = history_.front().second;
    return rides > before && span > 0.0 ? static_cast<double>(rides - before) / span : 0.0;
  }

 private:
  std::deque<std::pair<Clock::time_point, std::size_t>> history_;
};

// One process at work in a folder.
class Runner : private HandOut {
 public:
  Runner(const Plan& plan, const SweepOptions& options, const SweepFolder& folder)
      : plan_(plan),
        options_(options),
        folder_(folder),
        claims_(folder_.path, ByteLocks::For::taking),
        tallies_(folder_.path, folder_.shards, Tallies::For::writing),
        place_(claims_.take_place()),
        note_(folder_.path, place_),
        queue_(folder_, claims_, options.part, options.parts),
        counted_(folder_.shards) {}
  ~Runner() override { sweep_up(folder_.path); }
  Runner(const Runner&) = delete;
  Runner& operator=(const Runner&) = delete;

  SweepState run() {
    sweep_up(folder_.path);
    look();
    to_check_ = queue_.done_shards();
    begin_reading(threads_for(to_check_.size()));
    team(to_check_.size(), [this] { check_some(); });
    const bool all_checked = checked_ == to_check_.size();
    const std::size_t missing = queue_.missing();
    riding_since_ = Clock::now();
    now();  // from where the rate is taken
    const bool helped = options_.elsewhere && missing > 0;
    if (helped) note_.begin();
    team(
        missing, [this] { ride_some(); }, helped);
    look();
    SweepState state = now();
    state.interrupted = !all_checked || state.shards_done < state.shards;
    if (!state.interrupted) count_the_rest();
    state = now();
    state.interrupted = !all_checked || state.shards_done < state.shards;
    return state;
  }

 private:
  // True once nothing new shall be begun.
  bool ending() {
    if (stopping() || team_.failed()) return true;
    const std::lock_guard lock(asking_);
    if (!ending_ && options_.finish && options_.finish()) ending_ = true;
    return ending_;
  }

  bool stopping() override {
    if (stopping_) return true;
    const std::lock_guard lock(asking_);
    if (!stopping_ && options_.stop && options_.stop()) stopping_ = true;
    return stopping_;
  }

  // Marks the shards that are there.
  void look() {
    const std::vector<bool> there = shards_there(folder_);
    const std::lock_guard lock(mutex_);
    queue_.mark(there);
    looked_ = Clock::now();
  }

  std::size_t threads_for(std::size_t tasks) const {
    return std::min(tasks, threads_or_cores(options_.threads));
  }

  // Runs `work` in as many threads as are wanted and of use; this one watches, and where it is
  // helped looks after the riders elsewhere.
  void team(std::size_t tasks, const std::function<void()>& work, bool helped = false) {
    // A look at the folder reads what all its workers say: many at once on a slow file system would
    // do little else.
    Clock::time_point ticked = Clock::now();
    Clock::duration pause = kTick;
    const auto watch = [&] {
      const bool others = helped && look_after_others();
      if (const Clock::time_point begun = Clock::now(); begun - ticked >= pause) {
        tick();
        ticked = Clock::now();
        pause = std::max<Clock::duration>(kTick, kPauses * (ticked - begun));
      }
      return others;
    };
    team_.run(threads_for(tasks), work, watch,
              helped ? Clock::duration(kAsk) : Clock::duration(kTick));
  }

  // True while some are still at work; where one is in trouble, those left are heard to their end.
  bool look_after_others() {
    try {
      return options_.elsewhere(*this);
    } catch (...) {
      team_.fail();
      return true;
    }
  }

  const SweepFolder& folder() const override { return folder_; }

  std::string mark() const override { return note_.mark(); }

  std::optional<std::size_t> next() override {
    if (ending()) return std::nullopt;
    const std::lock_guard lock(mutex_);
    const bool waiting = queue_.all_asked_for() && Clock::now() - asked_ < kWait;
    if (waiting) return std::nullopt;
    asked_ = Clock::now();
    return queue_.next();
  }

  void done(std::size_t shard, const ShardTally& tally) override {
    finish(shard, tally);
    changed_.notify_all();
  }

  void dropped(std::size_t shard) override {
    const std::lock_guard lock(mutex_);
    queue_.drop(shard);
    ++dropped_;
  }

  void tick() {
    ending();
    if (Clock::now() - looked_ >= kLook) {
      look();
      note_.say(ridden_, own_rate());
    }
    if (options_.on_progress) options_.on_progress(now());
  }

  double own_rate() const {
    const double seconds = std::chrono::duration<double>(Clock::now() - riding_since_).count();
    return seconds > 0.0 ? static_cast<double>(ridden_) / seconds : 0.0;
  }

  SweepState now() {
    SweepState state;
    const std::vector<Tallies::Entry> tallies = tallies_.all();
    state.workers = running_workers(folder_.path, claims_, place_);
    const std::lock_guard lock(mutex_);
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      if (!queue_.mine(shard)) continue;
      ++state.shards;
      state.rides += rides_in(folder_, shard);
      if (queue_.done(shard)) state.count(rides_in(folder_, shard), tallies[shard]);
    }
    state.locks = claims_.work();
    state.to_check = to_check_.size();
    state.checked = checked_;
    state.ridden = ridden_;
    state.damaged = damaged_;
    state.dropped = dropped_;
    state.reasons = reasons_.by_frequency();
    const Clock::time_point time = Clock::now();
    state.seconds = std::chrono::duration<double>(time - started_).count();
    if (checked_ == to_check_.size()) state.set_rate(rate_.at(time, state.rides_done));
    return state;
  }

  // Counts the failures of a shard; the mutex is held.
  void count(std::size_t shard, const ShardTally& tally) {
    counted_[shard] = true;
    for (std::size_t i = 0; i < tally.failed.size(); ++i) {
      reasons_.count(tally.failed[i], tally.failed_with[i]);
    }
  }

  void check_some() {
    while (!ending()) {
      const std::size_t index = next_to_check_++;
      if (index >= to_check_.size()) return;
      check(to_check_[index]);
      ++checked_;
    }
  }

  // True: the shard is good and counted.
  bool is_good(std::size_t shard, std::string& fault) {
    try {
      const ShardTally tally =
          read_shard_tally(shard_path(folder_, shard), plan_, folder_.fingerprint);
      tallies_.put(shard, tally);
      const std::lock_guard lock(mutex_);
      count(shard, tally);
      return true;
    } catch (const InputError& error) {
      fault = error.what();
      return false;
    }
  }

  // A bad shard is set aside under its lock, and only if it is still bad then: another process may
  // have done it again meanwhile.
  void check(std::size_t shard) {
    std::string fault;
    if (is_good(shard, fault)) return;
    const bool ours = claims_.take_shard(shard);
    std::error_code error;
    if (ours && fs::exists(fs::symlink_status(shard_path(folder_, shard), error))) {
      if (is_good(shard, fault)) {
        claims_.give_shard(shard);
        return;
      }
      const std::string damage = set_shard_aside(folder_, shard, fault);
      tallies_.forget(shard);
      const std::lock_guard lock(mutex_);
      damaged_.push_back(damage);
    }
    if (ours) claims_.give_shard(shard);
    const std::lock_guard lock(mutex_);
    queue_.mark_missing(shard);
  }

  // The next shard for a thread; none when nothing is left or all shall stop. While other processes
  // ride the last ones it waits: if they end before their time, there is more to do.
  std::optional<std::size_t> next_shard() {
    std::unique_lock lock(mutex_);
    while (!ending()) {
      if (const std::optional<std::size_t> shard = queue_.next()) return shard;
      if (!queue_.others_ride()) return std::nullopt;
      changed_.wait_for(lock, kWait);
    }
    return std::nullopt;
  }

  void ride_some() {
    ManyRides rider(plan_.keep(), folder_.lanes);
    const auto stop = [this] { return stopping(); };
    while (const std::optional<std::size_t> shard = next_shard()) {
      if (const auto tally = ride_shard(plan_, folder_, *shard, rider, stop)) {
        finish(*shard, *tally);
      } else {
        dropped(*shard);
      }
    }
  }

  // A shard is written, here or by a rider elsewhere.
  void finish(std::size_t shard, const ShardTally& tally) {
    tallies_.put(shard, tally);
    ridden_ += rides_in(folder_, shard);
    const std::lock_guard lock(mutex_);
    count(shard, tally);
    queue_.finish(shard);
  }

  // Counts the failures in shards that other processes did.
  void count_the_rest() {
    const std::vector<Tallies::Entry> tallies = tallies_.all();
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      const bool none_failed = tallies[shard].known() && tallies[shard].failed() == 0;
      if (!queue_.mine(shard) || counted_[shard] || none_failed) continue;
      std::string fault;
      if (!is_good(shard, fault)) throw RunError(fault + "; run the sweep again");
    }
  }

  const Plan& plan_;
  const SweepOptions& options_;
  const SweepFolder folder_;
  Claims claims_;
  const Tallies tallies_;
  const std::size_t place_;  // of this worker among those that run
  WorkerNote note_;
  Team team_;
  const Clock::time_point started_ = Clock::now();
  Clock::time_point riding_since_ = started_;
  Clock::time_point looked_;
  RecentRate rate_;  // of rides done by all

  std::mutex asking_;  // one thread at a time asks whether to end
  std::atomic<bool> ending_{false};
  std::atomic<bool> stopping_{false};
  std::atomic<std::size_t> ridden_{0};
  std::vector<std::size_t> to_check_;
  std::atomic<std::size_t> next_to_check_{0};
  std::atomic<std::size_t> checked_{0};

  std::mutex mutex_;  // of what follows
  std::condition_variable changed_;
  ShardQueue queue_;
  std::vector<bool> counted_;  // in reasons_
  Clock::time_point asked_;    // when riders elsewhere last had none
  std::vector<std::string> damaged_;
  std::size_t dropped_ = 0;
  ReasonCounts reasons_{kMostReasons};
};

bool may_write(const std::string& folder) {
  return ::faccessat(AT_FDCWD, folder.c_str(), W_OK, AT_EACCESS) == 0;
}

// The state of a part that is finished, each shard of which is read; none: some are missing.
std::optional<SweepState> finished_part(const Plan& plan, const SweepOptions& options,
                                        const SweepFolder& folder) {
  const std::vector<bool> there = shards_there(folder);
  SweepState state;
  ReasonCounts reasons(kMostReasons);
  for (std::size_t shard = options.part; shard < folder.shards; shard += options.parts) {
    if (!there[shard]) return std::nullopt;
    const ShardTally tally = read_shard_tally(shard_path(folder, shard), plan, folder.fingerprint);
    for (std::size_t i = 0; i < tally.failed.size(); ++i) {
      reasons.count(tally.failed[i], tally.failed_with[i]);
    }
    const std::size_t rides = rides_in(folder, shard);
    ++state.shards;
    ++state.shards_done;
    state.rides += rides;
    state.rides_done += rides;
    state.failed += tally.failed.size();
    state.redone += tally.redone;
  }
  state.checked = state.to_check = state.shards;
  state.reasons = reasons.by_frequency();
  return state;
}

}  // namespace

std::optional<ShardTally> ride_shard(const Plan& plan, const SweepFolder& folder,
                                     std::size_t number, ManyRides& rider,
                                     const std::function<bool()>& stop) {
  Shard shard{number, number * folder.shard_size, {}};
  const std::size_t rides = rides_in(folder, number);
  std::vector<PlannedRide> planned;
  planned.reserve(rides);
  for (std::size_t k = 0; k < rides; ++k) {
    if (stop && stop()) return std::nullopt;
    planned.push_back(plan.ride(shard.first + k));
  }
  std::optional<std::vector<RideRow>> rows = rider.ride(planned, stop);
  if (!rows) return std::nullopt;
  shard.rows = std::move(*rows);
  write_shard(shard_path(folder, number), shard, plan, folder.fingerprint, folder.lanes);
  return tally(shard);
}

SweepState run_sweep(const Plan& plan, const SweepOptions& options) {
  set_up_hdf5();
  const SweepFolder folder = begin_sweep(plan, options.folder, options.lanes,
                                         options.best.value_or(best_instruction_set()));
  // One that is finished needs no more than to be read.
  if (!may_write(folder.path)) {
    if (const std::optional<SweepState> state = finished_part(plan, options, folder)) return *state;
  }
  return Runner(plan, options, folder).run();
}

}  // namespace plunge
