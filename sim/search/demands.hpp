// What a brief demands of a setting, and the one number by which settings are ranked.
//
// A demand bounds one metric of the rides (sim/measure/metrics.hpp) to [low, high]. With the value
// v that counts over the scenes and the tolerance t of its row, its margin is
//   m = min(v - low, high - v)/t        in tolerances; below 0 it is broken, by b = max(0, -m)
// and a demand that no scene tells of is neither met nor broken (m unset).
//
// Comfort, less is better; 1 is as today's set-up is:
//   c = mean over scenes of  w F_h/F_h0 + (1 - w) V/V0
// F_h: hand_force_rms, V: tyre_load_variation, 0: of the reference, w: the weight of the hands.
//
// Merit, less is better: first what breaks least, then comfort against margin.
//   merit = 10 max b + sum b + 5 c - 0.1 min(kMostMargin, min m)      the last where nothing breaks
// One tolerance of breach weighs as two times the comfort; a tolerance of margin as 2 % of it. The
// weights are ours, chosen; a ride that failed has no merit (infinite).
//
// Tolerances are what a workshop can tell apart, engineering estimates. Each row says which scene
// counts: `largest`: the largest value of all; `deepest`: the one of the scene with the deepest
// travel; `each`: the scene with the least margin.
#pragma once

#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

inline constexpr double kMostMargin = 5.0;
inline constexpr double kNoMerit = std::numeric_limits<double>::infinity();

enum class Counts { largest, deepest, each };

struct DemandRow {
  std::string_view key;     // of a brief: "travel"
  std::string_view metric;  // "travel_use"
  Counts counts;
  bool window;               // from low to high; else at most high
  double tolerance;          // in the metric's unit
  std::string_view meaning;  // "use of travel on the hardest"
};

std::span<const DemandRow> demand_rows();
const DemandRow* find_demand(std::string_view key);

struct Demand {
  const DemandRow* row = nullptr;
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
};

// What demands and comfort read of a ride, and where.
std::vector<std::string> metrics_of_demands(std::span<const Demand> demands);

// Metrics of one setting: of each scene a value for each name; NaN does not apply.
struct Outcome {
  std::vector<std::vector<double>> scenes;
  std::string failure;  // why it could not be ridden; empty: it was
};

struct Met {
  double value = kUnset;   // that counts
  double margin = kUnset;  // [tolerances]
  std::size_t scene = 0;   // that it comes from
};

struct Verdict {
  std::vector<Met> met;      // of each demand
  double worst = 0.0;        // largest breach [tolerances]
  double total = 0.0;        // of all breaches
  double margin = 0.0;       // least of the demands, below 0 where one is broken
  std::size_t tightest = 0;  // the demand with it
  double comfort = kUnset;
  double merit = kNoMerit;

  bool all_met() const { return merit < kNoMerit && worst == 0.0; }
};

class Judge {
 public:
  // `names`: of the metrics in every outcome. `reference`: whose comfort is 1; a scene in which it
  // has no comfort is left out. Throws std::invalid_argument for a metric that is not among them.
  Judge(std::vector<Demand> demands, double hands, std::vector<std::string> names,
        const Outcome& reference);

  Verdict operator()(const Outcome& outcome) const;
  const std::vector<Demand>& demands() const { return demands_; }
  // The value of a metric in one scene.
  double value(const Outcome& outcome, std::size_t scene, std::string_view metric) const;

 private:
  std::size_t column(std::string_view name) const;
  Met met(const Demand& demand, const Outcome& outcome) const;
  double comfort(const Outcome& outcome) const;

  std::vector<Demand> demands_;
  double hands_;
  std::vector<std::string> names_;
  Outcome reference_;
};

}  // namespace plunge
