// Stick-slip of the friction law in a ridden fork.
//
// The law's authors pull 1 kg over a friction surface by a spring of 2 N/m whose end moves at
// 0.1 m/s. Here the fork's spring and its friction hold the mass to the wheel, and the ground rises
// with t^3, so that the load on the mass grows as that of the spring would: k 0.1 m/s t. The travel
// is the way over the surface. A mass of 1 kg on 2 N/m is far from any fork, so the scene is read
// without judging.
#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "tests/outside/rig.hpp"

namespace plunge::outside_friction_test {
namespace {

struct StickSlip {
  double period = kUnset;  // [s]
  double slip = kUnset;    // [m]
};

StickSlip ride_stick_slip(const std::string& tolerance) {
  const double pull = 0.1;       // [m/s]
  const double speed = 400.0;    // [m/s], so that the ground is nearly level
  const double duration = 34.0;  // [s]
  const double natural_squared = 2.0;
  // h'' = (k/m) pull t; knots far enough past the end that the spline's own end does not matter.
  Points points;
  for (int i = 0; i <= 400; ++i) {
    const double t = 0.1 * i;
    points.emplace_back(speed * t, natural_squared * pull * t * t * t / 6.0);
  }
  Scene scene = load_scene(
      "tests/outside/data/stick-slip.toml",
      {fmt::format("ride.duration={} s", duration), "ride.tolerance=" + tolerance}, false);
  scene.setup.terrain = road_through(points);
  scene.setup.ride.speed = speed;
  const Result result = ridden(scene.setup);
  EXPECT_EQ(number_in(result, "lift_offs"), 0.0);

  // A slip begins and ends where the speed passes the Stribeck speed; read between samples of
  // 0.5 ms.
  const std::vector<double>& v = channel(result, "travel_speed");
  const std::vector<double>& x = channel(result, "travel");
  const double slips = 1e-3;
  std::vector<double> begins;
  std::vector<double> from;
  std::vector<double> ways;
  for (std::size_t i = 0; i + 1 < v.size(); ++i) {
    const double share = (slips - v[i]) / (v[i + 1] - v[i]);
    const double place = x[i] + share * (x[i + 1] - x[i]);
    if (v[i] < slips && v[i + 1] >= slips) {
      begins.push_back(result.time[i] + share * (result.time[i + 1] - result.time[i]));
      from.push_back(place);
    } else if (v[i] >= slips && v[i + 1] < slips && !from.empty()) {
      ways.push_back(place - from.back());
    }
  }
  if (begins.size() < 4 || ways.size() < 4) return {};
  return {begins[3] - begins[2], ways[2]};
}

TEST(LuGre, StickSlipOfItsAuthors) {
  // Computed from the equations of Canudas de Wit and others, 1995.
  const StickSlip fine = ride_stick_slip("1e-9");
  record({"LuGre stick-slip: period [s]", "computed", 6.3627, fine.period, 2e-4});
  record({"LuGre stick-slip: slip [m]", "computed", 0.636203, fine.slip, 2e-5});
  // At a tolerance looser than a ride's default.
  const StickSlip usual = ride_stick_slip("1e-6");
  record({"LuGre stick-slip: period, tolerance 1e-6 [s]", "computed", 6.3627, usual.period, 2e-3});
  record({"LuGre stick-slip: slip, tolerance 1e-6 [m]", "computed", 0.636203, usual.slip, 2e-4});
}

}  // namespace
}  // namespace plunge::outside_friction_test
