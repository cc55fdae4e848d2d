// ForkSettings of one fork ridden over all the scenes of a brief, in the lanes.
//
// A trial is a setting and what luck adds to it:
//   gauge    error of the pump's gauge, on top of the pressure [Pa]
//   mass     on top of the rider's [kg]
//   speed    factor on every speed of the scenes [1]
//   heights  factor on what stands in the way: heights of bumps, drops and measured profiles, the
//            square root of a roughness [1]
//   fork     numbers of the fork by their dotted names, drawn together [SI]
// ForkSettings without luck are ridden once and remembered. The numbers of a trial follow from it
// and the instruction set alone, whatever rides beside it.
//
// A setting that breaks a limit or a relation (models/setup/judge.hpp) is not ridden: its outcome
// says why. Throws SearchStopped where `stop` says so.
#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/setup.hpp"
#include "sim/search/demands.hpp"
#include "sim/search/settings.hpp"
#include "sim/sweep/ride_many.hpp"

namespace plunge {

// Numbers of a Setup that are drawn together, by dotted name [SI].
using KnobDraw = std::vector<std::pair<std::string, double>>;

struct Luck {
  double gauge = 0.0;
  double mass = 0.0;
  double speed = 1.0;
  double heights = 1.0;
  KnobDraw fork;
};

struct Trial {
  ForkSettings settings;
  const Luck* luck = nullptr;  // none: as it is
};

class SearchStopped : public RunError {
 public:
  SearchStopped() : RunError("interrupted; nothing was suggested") {}
};

struct SearchWatch {
  std::function<bool()> stop;  // as of RideWatch
  // Rides so far, and `most`.
  std::function<void(std::size_t ridden, std::size_t most)> on_progress;
  std::size_t most = 0;     // rides that it takes at most, as suggest() works out
  std::size_t threads = 0;  // 0: one for each core
  InstructionSet lanes = best_instruction_set();
};

class TrialRides {
 public:
  // `scenes`: judged but for the settings, at least one.
  TrialRides(std::vector<Setup> scenes, std::vector<std::string> metrics, SearchWatch watch = {});

  std::vector<Outcome> ride(std::span<const Trial> trials);
  Outcome ride(const ForkSettings& settings);

  const std::vector<Setup>& scenes() const { return scenes_; }
  const std::vector<std::string>& metrics() const { return metrics_; }
  // Rides so far, and settings that were ridden without luck.
  std::size_t ridden() const { return ridden_; }
  std::size_t settings() const { return known_.size(); }

 private:
  void ride_new(std::span<const Trial> trials, std::vector<Outcome>& outcomes);

  std::vector<Setup> scenes_;
  std::vector<std::string> metrics_;
  SearchWatch watch_;
  std::map<ForkSettings, Outcome> known_;
  std::size_t ridden_ = 0;
};

// A scene with a trial's settings and luck, not judged.
Setup setup_of(const Setup& scene, const Trial& trial);

}  // namespace plunge
