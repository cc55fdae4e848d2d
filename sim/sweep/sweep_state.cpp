#include "sim/sweep/sweep_state.hpp"

#include <optional>

#include "sim/sweep/claims.hpp"

namespace plunge {

void SweepState::count(std::size_t rides_of_shard, const Tallies::Entry& tally) {
  ++shards_done;
  rides_done += rides_of_shard;
  failed += tally.failed();
  if (tally.known()) redone += tally.redone;
}

void SweepState::set_rate(double rides_per_second) {
  rate = rides_per_second;
  if (rate > 0.0) seconds_left = static_cast<double>(rides - rides_done) / rate;
}

SweepState sweep_state(const SweepFolder& folder) {
  SweepState state;
  state.shards = folder.shards;
  state.rides = folder.rides;
  const std::vector<bool> there = shards_there(folder);
  const std::vector<Tallies::Entry> tallies =
      Tallies(folder.path, folder.shards, Tallies::For::reading).all();
  for (std::size_t shard = 0; shard < folder.shards; ++shard) {
    if (there[shard]) state.count(rides_in(folder, shard), tallies[shard]);
  }
  const Claims claims(folder.path, ByteLocks::For::looking);
  state.workers = running_workers(folder.path, claims, std::nullopt);
  state.locks = claims.work();
  double rate = 0.0;
  for (const SweepWorker& worker : state.workers) rate += worker.rate;
  state.set_rate(rate);
  return state;
}

}  // namespace plunge
