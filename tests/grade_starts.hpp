// Rides that begin on a steady grade, with each kind of spring, with friction and without.
#pragma once

#include <string>
#include <vector>

#include "models/setup/parameters.hpp"
#include "tests/support.hpp"

namespace plunge {

struct GradeStart {
  std::string name;
  Setup setup;
  double undisturbed = 0.0;  // time before which nothing happens [s]
};

inline std::vector<GradeStart> grade_starts() {
  std::vector<GradeStart> starts;
  const auto springs = [] {
    std::vector<GradeStart> list(5, {"air", standard_setup(), 0.0});
    list[1].name = "air with a coil negative";
    list[1].setup.fork.negative = NegativeSpring::coil;
    list[1].setup.fork.negative_coil = {6e3, 0.03};
    list[2].name = "air without a negative";
    list[2].setup.fork.negative = NegativeSpring::none;
    list[2].setup.fork.pressure = 3.5e5;
    list[3].name = "coil";
    list[3].setup.fork.spring = Spring::coil;
    list[3].setup.fork.coil = {9e3, 20.0};
    list[4].name = "air in the legs too";
    list[4].setup.fork.air.leg_area = 4e-4;
    list[4].setup.fork.air.leg_volume = 150e-6;
    return list;
  };
  for (const GradeStart& spring : springs()) {
    for (const double degrees : {-15.0, -9.0, -2.0, 0.0, 4.0, 15.0}) {
      for (const bool rubs : {true, false}) {
        GradeStart start = spring;
        start.name += " on " + std::to_string(degrees) + " deg" + (rubs ? "" : ", no friction");
        Setup& setup = start.setup;
        if (!rubs) setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
        Feature grade;
        grade.length = 12.0;
        grade.grade = degrees * kPi / 180.0;
        Feature bump;
        bump.kind = FeatureKind::bump;
        bump.length = 0.5;
        bump.height = 0.05;
        setup.terrain = {grade, bump};
        setup.ride.duration = 3.0;
        fill_defaults(setup);
        // The round wheel meets the bump at most a radius before it, the bike feels the end of the
        // grade within the length that it is smoothed over.
        start.undisturbed = (grade.length - setup.bike.line_length) / setup.ride.speed;
        starts.push_back(start);
      }
    }
  }
  return starts;
}

}  // namespace plunge
