#include "tools/cli/plot_traces.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "models/setup/fault.hpp"
#include "sim/ride/run.hpp"

namespace plunge {
namespace {

constexpr const char* kDrawn[] = {"distance",     "travel",     "fork_force",
                                  "ground_force", "hand_force", "path_height"};
constexpr std::size_t kStretches = 2000;      // of a long ride
constexpr std::size_t kManySamples = 20'000;  // samples up to which all are drawn
constexpr double kAround = 0.5;               // before and after the deepest travel [s]

constexpr std::size_t kTravelTrace = 1;  // of kDrawn

using Drawn = PlotTraces::Drawn;

// In the order of kDrawn.
Drawn drawn_of(const std::vector<Channel>& block) {
  Drawn traces;
  for (const char* name : kDrawn) {
    traces.push_back(&std::ranges::find(block, name, &Channel::name)->values);
  }
  return traces;
}

// The places in a stretch where a drawn trace is largest or least, rising.
std::vector<std::size_t> extremes(const Drawn& block, std::size_t first, std::size_t end) {
  std::vector<std::size_t> places;
  for (const std::vector<double>* values : block) {
    const auto at = [&](std::size_t k) { return values->begin() + static_cast<std::ptrdiff_t>(k); };
    const auto [least, largest] = std::minmax_element(at(first), at(end));
    places.push_back(static_cast<std::size_t>(least - values->begin()));
    places.push_back(static_cast<std::size_t>(largest - values->begin()));
  }
  std::ranges::sort(places);
  places.erase(std::unique(places.begin(), places.end()), places.end());
  return places;
}

Result without_traces(const ReadyRide& ride) {
  Result drawn;
  drawn.label = ride.label;
  drawn.setup = ride.setup;
  for (const char* name : kDrawn) drawn.channels.push_back({name, "", "", {}});
  return drawn;
}

void add_sample(Result& drawn, const Drawn& block, std::size_t sample, double time) {
  for (std::size_t i = 0; i < block.size(); ++i) {
    drawn.channels[i].values.push_back((*block[i])[sample]);
  }
  drawn.time.push_back(time);
}

void keep_last(Result& drawn, std::size_t samples) {
  if (drawn.time.size() <= 2 * samples) return;
  const auto shorten = [samples](std::vector<double>& values) {
    values.erase(values.begin(), values.end() - static_cast<std::ptrdiff_t>(samples));
  };
  for (Channel& channel : drawn.channels) shorten(channel.values);
  shorten(drawn.time);
}

}  // namespace

void demand_drawable(std::size_t rides) {
  if (rides <= kMostDrawn) return;
  throw InputError(Fault{"--plot",
                         fmt::format("{} rides", rides),
                         fmt::format("must be at most {} in one picture", kMostDrawn),
                         {}});
}

void demand_drawn_traces(const Result& ride, const std::string& file) {
  std::string missing;
  for (const char* name : kDrawn) {
    if (std::ranges::count(ride.channels, name, &Channel::name) > 0) continue;
    missing += fmt::format("{}{}", missing.empty() ? "" : ", ", name);
  }
  if (missing.empty()) return;
  throw InputError(Fault{"--plot", "", "draws traces that the file does not hold: " + missing,
                         Place{file, 0, 0}});
}

PlotTraces::PlotTraces(const ReadyRides& all) {
  demand_drawable(all.rides.size());
  for (const ReadyRide& ride : all.rides) {
    Taken taken;
    taken.ride = taken.recent = taken.moment = without_traces(ride);
    taken.rate = ride.setup.ride.sample_rate;
    const std::size_t samples = most_samples(ride.setup);
    taken.stretch = samples > kManySamples ? samples / kStretches : 1;
    taken_.push_back(std::move(taken));
  }
}

// Keeps what is around the deepest travel of a long ride at every sample.
void PlotTraces::watch(Taken& taken, const Drawn& block, std::size_t sample) const {
  const auto around = static_cast<std::size_t>(kAround * taken.rate);
  const double time = static_cast<double>(taken.samples + sample) / taken.rate;
  add_sample(taken.recent, block, sample, time);
  keep_last(taken.recent, around);
  const double travel = (*block[kTravelTrace])[sample];
  if (travel > taken.deepest) {
    taken.deepest = travel;
    if (taken.awaited == 0) {
      taken.moment.time.clear();
      for (Channel& channel : taken.moment.channels) channel.values.clear();
    }
    const bool begins = taken.moment.time.empty();
    taken.awaited = around;
    if (begins) {
      taken.moment.time = taken.recent.time;
      taken.moment.channels = taken.recent.channels;
      return;
    }
  }
  if (taken.awaited == 0) return;
  --taken.awaited;
  add_sample(taken.moment, block, sample, time);
}

void PlotTraces::take(std::size_t ride, const std::vector<Channel>& block) {
  Taken& taken = taken_.at(ride);
  const Drawn drawn = drawn_of(block);
  const std::size_t count = block.front().values.size();
  const auto add = [&](std::size_t k) {
    add_sample(taken.ride, drawn, k, static_cast<double>(taken.samples + k) / taken.rate);
  };
  if (taken.stretch == 1) {
    for (std::size_t k = 0; k < count; ++k) add(k);
  } else {
    for (std::size_t first = 0; first < count; first += taken.stretch) {
      const std::size_t end = std::min(first + taken.stretch, count);
      for (const std::size_t k : extremes(drawn, first, end)) add(k);
    }
    for (std::size_t k = 0; k < count; ++k) watch(taken, drawn, k);
  }
  taken.samples += count;
}

void PlotTraces::add_numbers(const std::vector<Result>& ridden) {
  for (std::size_t i = 0; i < ridden.size() && i < taken_.size(); ++i) {
    taken_[i].ride.set = ridden[i].set;
    taken_[i].ride.metrics = ridden[i].metrics;
  }
}

std::vector<DrawnRide> PlotTraces::rides() const {
  std::vector<DrawnRide> rides;
  for (const Taken& taken : taken_) {
    if (taken.ride.time.empty()) continue;
    rides.push_back({&taken.ride, taken.stretch > 1 ? &taken.moment : &taken.ride});
  }
  return rides;
}

}  // namespace plunge
