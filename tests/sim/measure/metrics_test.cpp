#include "sim/measure/metrics.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <set>
#include <string>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/numerics/statistics.hpp"
#include "sim/ride/run.hpp"
#include "tests/builders.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"

namespace plunge::metrics_test {
namespace {

Result ride_of(const std::string& name, const std::vector<std::string>& set = {}) {
  return run_ride(shipped_setup(name, set));
}

std::map<std::string, double> by_name(const Result& result) {
  std::map<std::string, double> values;
  for (const Metric& m : result.metrics) values[m.name] = m.value;
  return values;
}

TEST(Metrics, EachHasANameOfItsOwnAUnitAndADefinition) {
  const Result result = ride_of("braking-bumps");
  std::set<std::string> names;
  for (const Metric& m : result.metrics) {
    EXPECT_TRUE(names.insert(m.name).second) << m.name;
    EXPECT_FALSE(m.unit.empty()) << m.name;
    EXPECT_GT(m.long_name.size(), 3u) << m.name;
  }
  EXPECT_GT(names.size(), 40u);
}

TEST(Metrics, EachIsCalledAndSaidInItsOwnWay) {
  // Labels, said units and agreements that a table can be printed and a sweep be judged by.
  std::set<std::string> labels;
  for (const MetricRow& row : metric_rows()) {
    EXPECT_TRUE(labels.insert(row.label).second) << row.label;
    EXPECT_EQ(find_metric(row.name), &row);
    EXPECT_GE(row.decimals, 0) << row.name;
    if (row.said != "1") {
      ASSERT_NE(find_common_unit(row.said), nullptr) << row.name;
      EXPECT_EQ(find_common_unit(row.said)->unit, row.unit) << row.name;
    }
    // What is counted or follows from the set-up is exact; all else has an allowance.
    const bool exact = row.group == Group::rest || (row.unit == "1" && row.said == "1");
    EXPECT_EQ(row.agreement.kind == Agreement::Kind::exact, exact) << row.name;
    EXPECT_EQ(row.agreement.tolerance > 0.0, !exact) << row.name;
    EXPECT_FALSE(heading(row.group).empty());
  }
  EXPECT_EQ(find_metric("axle"), nullptr);
}

TEST(Metrics, ThePageOfResultsTellsOfMetricsThatAreThereInTheirUnits) {
  std::ifstream page("scenarios/results.md");
  std::string line;
  while (std::getline(page, line) && line != "| metric | unit | meaning |") {
  }
  std::getline(page, line);
  int told = 0;
  while (std::getline(page, line) && line.starts_with("| `")) {
    const std::size_t names_end = line.find(" | ");
    const std::string units =
        line.substr(names_end + 3, line.find(" | ", names_end + 3) - names_end - 3);
    for (std::size_t at = 3; at < names_end;) {
      const std::size_t end = line.find('`', at);
      const MetricRow* const row = find_metric(line.substr(at, end - at));
      ASSERT_NE(row, nullptr) << line;
      EXPECT_NE(units.find(row->unit), std::string::npos) << line;
      ++told;
      const std::size_t next = line.find('`', end + 1);
      if (next == std::string::npos) break;
      at = next + 1;
    }
  }
  EXPECT_EQ(told, 12);
}

TEST(Metrics, StandInTheOrderOfTheirGroups) {
  // So that printing a group prints consecutive rows.
  const std::vector<MetricRow>& rows = metric_rows();
  EXPECT_TRUE(std::ranges::is_sorted(rows, {}, &MetricRow::group));
}

TEST(Metrics, PeaksAreAtLeastTheLargestSamples) {
  // And little above them: samples stand 1 ms apart.
  const Result result = ride_of("drop-to-flat");
  const auto metric = by_name(result);
  for (const auto& [name, trace] :
       {std::pair{"travel_max", "travel"}, std::pair{"ground_force_max", "ground_force"},
        std::pair{"axle_force_max", "axle_force"}, std::pair{"fork_force_max", "fork_force"}}) {
    const auto& values = channel(result, trace);
    const double largest = *std::max_element(values.begin(), values.end());
    EXPECT_GE(metric.at(name), largest) << name;
    EXPECT_LT(metric.at(name), 1.01 * largest) << name;
  }
  EXPECT_EQ(metric.at("travel_use"), metric.at("travel_max") / 0.15);
}

TEST(Metrics, SharesOfTravelAddUpToAllTheTime) {
  const auto metric = by_name(ride_of("rock-garden"));
  double all = 0.0;
  for (int tenth = 0; tenth < 10; ++tenth) {
    all += metric.at("travel_share_" + std::to_string(10 * tenth) + "_" +
                     std::to_string(10 * (tenth + 1)));
  }
  EXPECT_NEAR(all, 1.0, 1e-12);
}

TEST(Metrics, MetalContactTellsClosingSpeedAndEnergy) {
  const Result result = ride_of("drop-to-landing", {"fork.spacers=0"});
  const auto metric = by_name(result);
  ASSERT_GE(metric.at("metal_contacts"), 1.0);
  // By hand: m_u = 3.8 kg, m_s = 0.4 (76 + 15) - 3.8 - 0.8 0.4 76 = 8.28 kg, theta = 65 degrees:
  // m_x = 3.8 + 0.2/0.35^2 cos^2 - (3.8 sin)^2/12.08 = 3.1097 kg.
  const double speed = metric.at("metal_speed_max");
  EXPECT_GT(speed, 0.5);
  EXPECT_NEAR(metric.at("metal_energy_max"), 0.5 * 3.1097 * speed * speed, 1e-3);
  int located = 0;
  for (const Located& event : result.located) located += event.what == "metal_contact" ? 1 : 0;
  EXPECT_EQ(located, metric.at("metal_contacts"));
}

TEST(Metrics, TheForceOfMetalComesWithItsBandAndWithoutMetalNotAtAll) {
  const auto hit = by_name(ride_of("drop-to-landing", {"fork.spacers=0"}));
  EXPECT_LT(hit.at("metal_force_low"), hit.at("fork_force_max"));
  EXPECT_GT(hit.at("metal_force_high"), hit.at("fork_force_max"));
  EXPECT_EQ(hit.at("metal_reserve"), 0.0);
  EXPECT_EQ(hit.at("metal_reserve_drop"), 0.0);
  const auto none = by_name(ride_of("drop-to-flat"));
  EXPECT_EQ(none.at("metal_energy_max"), 0.0);
  EXPECT_FALSE(none.contains("metal_force_low"));
  EXPECT_FALSE(none.contains("metal_force_high"));
}

TEST(Metrics, TheReserveIsWhatALowerDropLeaves) {
  const auto low = by_name(ride_of("drop-to-flat"));
  const double reserve = low.at("metal_reserve_drop");
  ASSERT_GT(reserve, 0.05);
  EXPECT_GT(low.at("metal_reserve"), 20.0);
  // Raised by it the fork does not reach metal: damper and friction take more in a harder hit.
  const std::string raised = "terrain[1].height=" + std::to_string(0.4 + reserve) + " m";
  const auto higher = by_name(ride_of("drop-to-flat", {raised}));
  EXPECT_EQ(higher.at("metal_contacts"), 0.0);
  EXPECT_GT(higher.at("travel_max"), low.at("travel_max") + 5e-3);
  EXPECT_LT(higher.at("metal_reserve"), low.at("metal_reserve"));
  // Where no drop is, or the deepest travel is another's, there is no such height.
  EXPECT_FALSE(by_name(ride_of("square-edge")).contains("metal_reserve_drop"));
  plunge::Setup braked = shipped_setup("drop-to-flat");
  braked.terrain[1].height = 0.02;
  braked.events = {braking(8.0, 4.0, 3.0, 0.3)};
  EXPECT_FALSE(by_name(run_ride(braked)).contains("metal_reserve_drop"));
}

TEST(Metrics, FasterReboundReturnsSoonerAndOvershootsMore) {
  // Common practice, no source. The quarry drop: from more than half a second to a third, and from
  // none to 17 mm.
  double time = 1.0;
  double overshoot = -1e-9;
  for (const int clicks : {0, 4, 8, 12, 16}) {
    const auto metric =
        by_name(ride_of("drop-to-landing", {"fork.rebound.clicks=" + std::to_string(clicks)}));
    EXPECT_LT(metric.at("return_time"), time) << clicks;
    EXPECT_GT(metric.at("return_overshoot"), overshoot) << clicks;
    time = metric.at("return_time");
    overshoot = metric.at("return_overshoot");
    if (clicks == 0) {
      EXPECT_NEAR(time, 0.579, 0.02);
      EXPECT_NEAR(overshoot, 0.0, 1e-3);
    }
  }
  EXPECT_NEAR(time, 0.337, 0.01);
  EXPECT_NEAR(overshoot, 0.0173, 1e-3);
}

TEST(Metrics, TheForkComesBackAfterBrakingAndHowFastIsTold) {
  // Slower rebound comes back later; a ride that ends with the brake tells nothing.
  const auto after = [](const std::string& clicks) {
    return by_name(ride_of("drop-to-landing", {"fork.rebound.clicks=" + clicks}))
        .at("brake_recovery");
  };
  EXPECT_GT(after("0"), after("9") + 0.05);
  EXPECT_GT(after("9"), 0.05);
  EXPECT_FALSE(
      by_name(ride_of("drop-to-landing", {"ride.duration=4.2 s"})).contains("brake_recovery"));
}

TEST(Metrics, RideHeightIsLostOverRoughGroundAndNotByBraking) {
  // The brake comes on before the bumps and goes off among them: by hand what is behind it counts.
  const plunge::Setup setup = shipped_setup("braking-bumps");
  const Prepared prepared = prepare(setup);
  const Result result = run_ride(setup, prepared);
  const double begin = prepared.line.time_at(15.0);
  const double end = prepared.line.time_at(15.0 + feature_length(setup.terrain[1]));
  const double off = prepared.line.event_ends().front();
  ASSERT_LT(prepared.line.event_starts().front(), begin);
  ASSERT_LT(begin, off);
  ASSERT_LT(off, end);
  const auto loss_from = [&](double from) {
    return mean_between(channel(result, "travel"), setup.ride.sample_rate, {from, end}) -
           prepared.start[kTravel];
  };
  const double loss = by_name(result).at("ride_height_loss");
  EXPECT_NEAR(loss, loss_from(off), 1e-12);
  EXPECT_LT(loss, loss_from(begin) - 5e-3);
  for (const char* rough : {"roots", "rock-garden", "corner"}) {
    EXPECT_TRUE(by_name(ride_of(rough)).contains("ride_height_loss")) << rough;
  }
  for (const char* smooth : {"drop-to-flat", "square-edge", "g-out"}) {
    EXPECT_FALSE(by_name(ride_of(smooth)).contains("ride_height_loss")) << smooth;
  }
}

TEST(Metrics, StrokesPastNinetyPercentAreCountedAMinute) {
  const Result result = ride_of("drop-to-landing", {"fork.spacers=0"});
  const auto metric = by_name(result);
  ASSERT_GT(metric.at("travel_use"), 0.9);
  EXPECT_NEAR(metric.at("strokes_past_90") * result.time.back(), 1.0, 1e-3);
  EXPECT_EQ(by_name(ride_of("drop-to-flat")).at("strokes_past_90"), 0.0);
}

TEST(Metrics, ALightTyreIsOneThatStillTouches) {
  // By hand from the samples, which stand 1 ms apart.
  const Result result = ride_of("rock-garden");
  const auto metric = by_name(result);
  const Rider rider = assemble(result.setup);
  const double light = 0.3 * (rider.sprung_mass + rider.unsprung_mass + rider.body_mass) * kGravity;
  double below = 0.0;
  double ground = 0.0;
  for (const double force : channel(result, "ground_force")) {
    ground += force > 0.0 ? 1.0 : 0.0;
    below += force > 0.0 && force <= light ? 1.0 : 0.0;
  }
  ASSERT_GT(below, 20.0);
  EXPECT_NEAR(metric.at("light_tyre"), below / ground, 0.005);
}

TEST(Metrics, StrokesDoNotDependOnTheSampleRate) {
  for (const char* name : {"braking-bumps", "corner", "descent", "drop-to-flat", "drop-to-landing",
                           "g-out", "rock-garden", "roots", "square-edge"}) {
    plunge::Setup setup = shipped_setup(name);
    setup.ride.duration = std::min(12.0, prepare(setup).line.duration());
    std::map<std::string, double> metric[2];
    for (const int fine : {0, 1}) {
      setup.ride.sample_rate = fine == 1 ? 16e3 : 1e3;
      metric[fine] = by_name(run_ride(setup));
    }
    for (const auto& [what, tolerance] :
         {std::pair{"return_time", 1e-3}, std::pair{"return_overshoot", 1e-5},
          std::pair{"ride_height_loss", 1e-5}, std::pair{"metal_reserve", 1e-9},
          std::pair{"metal_reserve_drop", 1e-9}, std::pair{"light_tyre", 2e-3},
          std::pair{"strokes_past_90", 1e-3}, std::pair{"brake_recovery", 1e-3}}) {
      ASSERT_EQ(metric[0].contains(what), metric[1].contains(what)) << name << ", " << what;
      if (metric[0].contains(what)) {
        EXPECT_NEAR(metric[0].at(what), metric[1].at(what), tolerance) << name << ", " << what;
      }
    }
  }
}

TEST(Metrics, AShortRideHasNumbersOrNone) {
  // From one sample on; nothing of it is no number.
  for (const char* name : {"braking-bumps", "drop-to-landing", "rock-garden"}) {
    for (const double duration : {1e-6, 0.001, 0.0015, 0.01, 0.1, 1.0, 3.0}) {
      plunge::Setup setup = shipped_setup(name);
      setup.ride.duration = duration;
      for (const Metric& m : run_ride(setup).metrics) {
        EXPECT_TRUE(std::isfinite(m.value)) << name << ", " << duration << " s: " << m.name;
      }
    }
  }
}

TEST(Metrics, TimeOffTheGroundIsTheTimeBetweenLiftOffAndTouchDown) {
  const Result result = ride_of("drop-to-flat");
  const auto metric = by_name(result);
  double airborne = 0.0;
  double since = 0.0;
  for (const Located& event : result.located) {
    if (event.what == "lift_off") since = event.time;
    if (event.what == "touch_down") airborne += event.time - since;
  }
  ASSERT_GT(airborne, 0.2);
  // The ride's length is known to a sample.
  EXPECT_NEAR(metric.at("time_off_ground") * result.time.back(), airborne, 2e-3 * airborne);
  // By hand: from a lip of height 0.4 m a wheel that rolls off it falls for at least
  // sqrt(2 0.4/g) = 0.2856 s less what the tyre and the fork reach down.
  EXPECT_NEAR(airborne, 0.2856, 0.06);
}

// The travel at which the springs carry a level bike that rides on with these forces by hand: along
// the legs N sin + B cos - m_u (a cos + g sin), with N of the moments about the rear contact, the
// dive's part included. Spin and friction apart.
double dives_to(const Rider& rider, double a, double speed, double brake_share, double gravity) {
  const BikeLine<double>& bike = rider.bike;
  const double air = bike.drag * speed * speed;
  const double held = -(bike.total_mass * a + bike.rolling + air);
  const double brake = brake_share * std::max(0.0, held);
  double x = sag(rider);
  for (int pass = 0; pass < 60; ++pass) {
    const double load = bike.front_mass * gravity + held * bike.cg_lever +
                        bike.rolling * bike.axle_lever +
                        bike.dive_lever * gravity * bike.sine * (x - sag(rider));
    x = travel_under(rider, load * bike.sine + brake * bike.cosine +
                                rider.unsprung_mass * (a * bike.cosine - gravity * bike.sine) +
                                rider.spin_mass * bike.cosine * a);
  }
  return x;
}

TEST(Metrics, SteadyBrakingDivesAsTheStaticsSay) {
  // Level ground, 2 m/s2 long enough to settle, by the equations of motion at rest. Walls that take
  // the heat at once, next to no friction.
  const Result result =
      ride_of("braking-bumps",
              {"terrain[1].height=1 mm", "terrain[1].count=1", "terrain[2].length=40 m",
               "terrain[0].length=40 m", "event[0].at=10 m", "event[0].rate=2 m/s2",
               "event[0].to_speed=10 km/h", "fork.friction.bushing=0", "fork.friction.seal=0.1 N",
               "fork.air.main_time=0.05 s", "fork.air.negative_time=0.05 s"});
  const auto metric = by_name(result);
  const Rider rider = assemble(result.setup);
  const double share = result.setup.events[0].front_share;
  // The speed, and with it the drag, falls on the way: 36 to 10 km/h.
  const double before = dives_to(rider, 0.0, result.setup.ride.speed, share, kGravity);
  const double least = dives_to(rider, -2.0, result.setup.ride.speed, share, kGravity) - before;
  const double most = dives_to(rider, -2.0, 10.0 / 3.6, share, kGravity) - before;
  ASSERT_GT(least, 0.01);
  EXPECT_LT(most, 1.25 * least);
  EXPECT_GT(metric.at("brake_dive_steady"), 0.98 * least);
  EXPECT_LT(metric.at("brake_dive_steady"), 1.02 * most);
  EXPECT_GE(metric.at("brake_dive_max"), metric.at("brake_dive_steady"));
  EXPECT_TRUE(std::isfinite(metric.at("brake_dive_settle")));
}

TEST(Metrics, ACornerLoadsTheForkByOneOverTheCosine) {
  // Level ground at 40 degrees of lean: weight and load along the legs grow by 1/cos(40).
  const Result result = ride_of(
      "corner", {"terrain[1].roughness=0.001 cm3", "fork.air.main_time=0.05 s",
                 "fork.air.negative_time=0.05 s", "event[0].length=30 m", "terrain[2].length=30 m",
                 "fork.friction.bushing=0", "fork.friction.seal=0.1 N"});
  const auto metric = by_name(result);
  const Rider rider = assemble(result.setup);
  const double speed = result.setup.ride.speed;
  const double dive = dives_to(rider, 0.0, speed, 0.0, kGravity / std::cos(40.0 * kPi / 180.0)) -
                      dives_to(rider, 0.0, speed, 0.0, kGravity);
  EXPECT_NEAR(metric.at("corner_dive_steady"), dive, 0.02 * dive);
}

TEST(Metrics, ABumpTrainThatComesFasterThanReboundPacksTheFork) {
  // Common practice, no source: slow rebound packs down over repeated bumps, fast rebound does not.
  const std::vector<std::string> level = {"event[0].at=34 m", "event[0].to_speed=30 km/h"};
  std::vector<std::string> slow = level;
  slow.push_back("fork.rebound.clicks=0");
  std::vector<std::string> fast = level;
  fast.push_back("fork.rebound.clicks=18");
  EXPECT_GT(by_name(ride_of("braking-bumps", slow)).at("packing"),
            by_name(ride_of("braking-bumps", fast)).at("packing") + 1e-3);
}

TEST(Metrics, StaticFiguresAreThoseOfTheStatics) {
  Scene scene = load_scene("scenarios/scenes/drop-to-landing.toml");
  hold_sag(scene.setup, 0.22);
  const Rider rider = assemble(scene.setup);
  std::map<std::string, double> metric;
  for (const Metric& m : static_metrics(rider, scene.setup)) metric[m.name] = m.value;
  EXPECT_NEAR(metric.at("sag"), 0.033, 1e-9);
  EXPECT_NEAR(metric.at("sag_share"), 0.22, 1e-9);
  // By hand: 198 - 9 - 3 = 186 cm3 and a hose of 2 cm3.
  EXPECT_NEAR(metric.at("pressure_reattached"), metric.at("pressure") * 186.0 / 188.0, 1e-6);
  EXPECT_GT(metric.at("stiffness_fast"), metric.at("stiffness_slow"));
  EXPECT_EQ(metric.at("breakaway_force"), breakaway_force(rider));
  EXPECT_EQ(metric.at("sag_least"), sag_band(rider).least);
  EXPECT_EQ(metric.at("sag_most"), sag_band(rider).most);
}

// Both vibration metrics from the speed of the sprung mass, sampled at a rate.
std::pair<double, double> vibration(const Setup& setup, const std::vector<double>& speed,
                                    double rate) {
  const Rider rider;
  const RideLine line{{.speed = 1.0, .duration = 1.0}, {}, 1.0};
  const Record record;
  Traces traces;
  traces.rate = rate;
  traces.sprung_speed = speed;
  Ridden ridden(rider, line, setup, traces, record);
  const auto value = [&](const std::string& name) {
    return find_metric(name)->value(ridden).value();
  };
  return {value("hand_acceleration"), value("vibration_dose")};
}

TEST(Metrics, VibrationDoesNotDependOnTheSampleRate) {
  // One ride sampled at 16 kHz, and every 16th of those samples: within 0.3 % on every shipped
  // scene, and where metal meets metal, whose millisecond of some 1000 m/s2 samples of the
  // acceleration would catch or miss.
  constexpr double kFine = 16e3;
  const auto compare = [&](const plunge::Setup& setup, const std::string& what) {
    const Prepared prepared = prepare(setup);
    std::vector<double> fine;
    int knocks = 0;
    Watch watch;
    watch.sample_rate = kFine;
    watch.on_sample = [&](const Instant& i) { fine.push_back(i.state[kSprungSpeed]); };
    watch.on_switch = [&](const Switched& s) {
      knocks += s.which == kMetalTouches && s.on ? 1 : 0;
    };
    SolverCount count;
    ride(prepared.rider, prepared.ground, prepared.line, prepared.start, setup.ride.tolerance,
         watch, count);
    std::vector<double> coarse;
    for (std::size_t i = 0; i < fine.size(); i += 16) coarse.push_back(fine[i]);
    const auto [hand, dose] = vibration(setup, fine, kFine);
    const auto [coarse_hand, coarse_dose] = vibration(setup, coarse, kFine / 16);
    EXPECT_GT(hand, 0.1) << what;
    EXPECT_NEAR(coarse_hand, hand, 0.003 * hand) << what;
    EXPECT_NEAR(coarse_dose, dose, 0.003 * dose) << what;
    return knocks;
  };
  for (const char* name : {"braking-bumps", "corner", "descent", "drop-to-flat", "drop-to-landing",
                           "g-out", "rock-garden", "roots", "square-edge"}) {
    compare(shipped_setup(name), name);
  }
  for (double psi = 52.0; psi <= 56.0; psi += 0.5) {
    Scene scene =
        load_scene("scenarios/scenes/drop-to-landing.toml",
                   {"fork.spacers=0", "fork.compression.clicks=15", "fork.rebound.clicks=18",
                    "fork.pressure=" + std::to_string(psi) + " psi"});
    EXPECT_GT(compare(scene.setup, std::to_string(psi) + " psi"), 0) << psi;
  }
}

TEST(Metrics, SpeedPercentilesCountAMovingForkAlone) {
  // By hand: a rise from rest to 100 mm/s spends its time past 1 mm/s evenly over 1 to 100 mm/s,
  // with a median of 50.5; a fork at rest that creeps to and fro by rounding changes nothing.
  std::vector<double> moving;
  for (int i = 0; i <= 100; ++i) moving.push_back(1e-3 * i);
  std::vector<double> resting(1000, 1e-12);
  for (std::size_t i = 0; i < resting.size(); i += 2) resting[i] = -9e-4;
  resting.insert(resting.end(), moving.begin(), moving.end());
  const Rider rider;
  const RideLine line{{.speed = 1.0, .duration = 1.0}, {}, 1.0};
  const plunge::Setup setup;
  const Record record;
  for (const std::vector<double>& speeds : {moving, resting}) {
    Traces traces;
    traces.travel_speed = speeds;
    Ridden ridden(rider, line, setup, traces, record);
    EXPECT_NEAR(ridden.speed_percentile(1.0, 50.0), 0.0505, 1e-12);
    EXPECT_EQ(ridden.speed_percentile(-1.0, 50.0), 0.0);
  }
}

}  // namespace
}  // namespace plunge::metrics_test
