#include "sim/report/ride_to_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cstdint>
#include <new>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_room.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/report/result_stream.hpp"
#include "sim/report/used_parameters.hpp"
#include "sim/sweep/team.hpp"

namespace plunge {
namespace {

void demand_one_rate(const std::vector<ReadyRide>& rides) {
  const ReadyRide& first = rides.front();
  for (const ReadyRide& ride : rides) {
    if (ride.setup.ride.sample_rate == first.setup.ride.sample_rate) continue;
    throw InputError(Fault{"ride.sample_rate",
                           fmt::format("{} Hz in {}", ride.setup.ride.sample_rate, ride.label),
                           fmt::format("must be the same for all rides of one file ({} Hz in {})",
                                       first.setup.ride.sample_rate, first.label),
                           {}});
  }
}

ResultOutline outline_of(const ReadyRides& all, const std::string& history) {
  ResultOutline outline{all.name, history, all.rides.size(), {}, empty_channels(), kMostWaiting};
  std::size_t samples = 0;
  for (const ReadyRide& ride : all.rides) samples = std::max(samples, most_samples(ride.setup));
  const double rate = all.rides.front().setup.ride.sample_rate;
  outline.time.reserve(samples);
  for (std::size_t k = 0; k < samples; ++k) outline.time.push_back(static_cast<double>(k) / rate);
  return outline;
}

// The words that every ride has alike are in the tables of metrics.
void keep_numbers(std::vector<Metric>& metrics) {
  std::vector<Metric> kept;
  kept.reserve(metrics.size());
  for (Metric& metric : metrics) kept.push_back({std::move(metric.name), "", "", metric.value});
  metrics = std::move(kept);
}

// What riding takes, roughly [byte].
std::uint64_t memory_for(const ReadyRides& all, std::size_t threads) {
  constexpr std::uint64_t kRide = 20'000;
  constexpr std::uint64_t kSample = 200;
  std::uint64_t samples = 0;
  for (const ReadyRide& ride : all.rides) {
    samples = std::max<std::uint64_t>(samples, most_samples(ride.setup));
  }
  const std::uint64_t at_once = threads_or_cores(threads);
  const std::uint64_t block = sizeof(double) * kTraceBlock * empty_channels().size();
  return kRide * all.rides.size() +
         std::min<std::uint64_t>(at_once, all.rides.size()) * (kSample * samples + 2 * block);
}

std::vector<Result> ride_and_write(const std::string& path, const ReadyRides& all,
                                   const RideFileOptions& options) {
  ResultStream stream(path, outline_of(all, options.history));
  std::vector<Result> results(all.rides.size());
  RideTaker taker;
  taker.block = [&](std::size_t ride, const std::vector<Channel>& block) {
    stream.block(ride, block);
    if (options.on_block) options.on_block(ride, block);
  };
  taker.result = [&](std::size_t ride, Result&& result) {
    stream.finish(ride, result);
    result.setup = {};
    result.scene_text = {};
    for (auto* metrics : {&result.metrics, &result.energy, &result.solver}) keep_numbers(*metrics);
    results[ride] = std::move(result);
  };
  ride_each(all.rides, taker, options.watch);
  results.resize(stream.finished());
  if (results.empty()) return results;
  const auto setup = [&](std::size_t ride) -> const Setup& { return all.rides[ride].setup; };
  stream.save({[&](std::size_t ride) { return used_parameters(setup(ride)); },
               [&](std::size_t ride) { return used_tables(setup(ride)); },
               [&](std::size_t ride) { return to_scene_text(setup(ride)); }});
  return results;
}

}  // namespace

std::vector<Result> ride_to_file(const std::string& path, const ReadyRides& all,
                                 const RideFileOptions& options) {
  demand_one_rate(all.rides);
  try {
    return ride_and_write(path, all, options);
  } catch (const std::bad_alloc&) {
    throw RunError(fmt::format("not enough memory for {}: about {} are needed",
                               counted(all.rides.size(), "ride"),
                               say_bytes(memory_for(all, options.watch.threads))));
  }
}

}  // namespace plunge
