#include "sim/search/trial_rides.hpp"

#include <cmath>
#include <set>

#include "models/setup/knob.hpp"
#include "sim/input/settle.hpp"

namespace plunge {
namespace {

void put_luck(Setup& setup, const Luck& luck) {
  for (const auto& [name, value] : luck.fork) find_knob(setup, name).put(setup, value);
  setup.fork.pressure += luck.gauge;
  setup.rider.mass += luck.mass;
  setup.ride.speed *= luck.speed;
  for (RideEvent& event : setup.events) {
    if (event.kind != EventKind::corner) event.to_speed *= luck.speed;
  }
  if (luck.heights == 1.0) return;
  for (Feature& feature : setup.terrain) {
    feature.height *= luck.heights;
    feature.roughness *= luck.heights * luck.heights;
    if (feature.kind == FeatureKind::profile) feature.scale *= luck.heights;
  }
}

}  // namespace

Setup setup_of(const Setup& scene, const Trial& trial) {
  Setup setup = scene;
  put_settings(setup.fork, trial.settings);
  if (trial.luck != nullptr) put_luck(setup, *trial.luck);
  return setup;
}

TrialRides::TrialRides(std::vector<Setup> scenes, std::vector<std::string> metrics,
                       SearchWatch watch)
    : scenes_(std::move(scenes)), metrics_(std::move(metrics)), watch_(std::move(watch)) {}

std::vector<Outcome> TrialRides::ride(std::span<const Trial> trials) {
  std::vector<Trial> fresh;
  std::set<ForkSettings> asked;
  for (const Trial& trial : trials) {
    const bool lucky = trial.luck != nullptr;
    if (lucky || (!known_.contains(trial.settings) && asked.insert(trial.settings).second)) {
      fresh.push_back(trial);
    }
  }
  std::vector<Outcome> ridden(fresh.size());
  ride_new(fresh, ridden);
  std::vector<Outcome> outcomes(trials.size());
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    if (fresh[i].luck == nullptr) known_[fresh[i].settings] = std::move(ridden[i]);
  }
  std::size_t next = 0;
  for (std::size_t i = 0; i < trials.size(); ++i) {
    if (trials[i].luck == nullptr) {
      outcomes[i] = known_.at(trials[i].settings);
      continue;
    }
    while (fresh[next].luck == nullptr) ++next;
    outcomes[i] = std::move(ridden[next++]);
  }
  return outcomes;
}

Outcome TrialRides::ride(const ForkSettings& settings) {
  const Trial trial{settings, nullptr};
  return ride(std::span(&trial, 1)).front();
}

void TrialRides::ride_new(std::span<const Trial> trials, std::vector<Outcome>& outcomes) {
  std::vector<ReadyRide> rides;
  std::vector<std::pair<std::size_t, std::size_t>> whose;  // trial and scene of each ride
  for (std::size_t i = 0; i < trials.size(); ++i) {
    outcomes[i].scenes.assign(scenes_.size(), std::vector<double>(metrics_.size(), kUnset));
  }
  for (std::size_t k = 0; k < scenes_.size(); ++k) {
    for (std::size_t i = 0; i < trials.size(); ++i) {
      ReadyRide ride;
      ride.setup = setup_of(scenes_[k], trials[i]);
      const Faults faults = settle(ride.setup, {}, {});
      if (!faults.empty()) {
        outcomes[i].failure = to_string(faults.front());
        continue;
      }
      rides.push_back(std::move(ride));
      whose.emplace_back(i, k);
    }
  }
  RideWatch watch;
  watch.stop = watch_.stop;
  watch.threads = watch_.threads;
  if (watch_.on_progress) {
    watch.on_progress = [&](std::size_t done, std::size_t) {
      watch_.on_progress(ridden_ + done, watch_.most);
    };
  }
  auto rows = ride_in_lanes(rides, {metrics_, {}, kUnset}, watch, watch_.lanes);
  ridden_ += rides.size();
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const auto [trial, scene] = whose[r];
    if (!rows[r]) throw SearchStopped();
    if (!rows[r]->failure.empty()) outcomes[trial].failure = rows[r]->failure;
    outcomes[trial].scenes[scene] = std::move(rows[r]->metrics);
  }
  for (Outcome& outcome : outcomes) {
    if (!outcome.failure.empty()) continue;
    for (auto& scene : outcome.scenes) scene.resize(metrics_.size(), kUnset);
  }
}

}  // namespace plunge
