#include "sim/ride/ready.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/modes.hpp"
#include "tests/grade_starts.hpp"
#include "tests/scratch.hpp"

namespace plunge::ready_test {
namespace {

constexpr char kDrop[] = "scenarios/scenes/drop-to-flat.toml";  // holds a sag of 22 %

ReadyRides drop(const Wishes& wishes = {}) { return ready(disk_files(), kDrop, wishes); }

std::string refusal(const Wishes& wishes) {
  return complaint([&] { drop(wishes); });
}

double share_of_sag(const ReadyRide& ride) {
  return sag(assemble(ride.setup)) / ride.setup.fork.travel;
}

TEST(Ready, ASceneIsJudgedAndHeld) {
  const ReadyRides all = drop();
  ASSERT_EQ(all.rides.size(), 1U);
  const ReadyRide& ride = all.rides.front();
  EXPECT_EQ(ride.label, all.name);
  EXPECT_NEAR(share_of_sag(ride), 0.22, 1e-6);
  EXPECT_EQ(all.hold.sag, 0.22);
  ASSERT_EQ(ride.held.size(), 1U);
  EXPECT_EQ(ride.held[0].name, "fork.pressure");
  EXPECT_EQ(ride.held[0].value, ride.setup.fork.pressure);
  EXPECT_TRUE(all.notes.empty());
}

// By hand: the last variation is the fastest.
TEST(Ready, VariationsAreCombinedAndEachHoldsItsSag) {
  Wishes wishes;
  wishes.vary = {"fork.spacers=0..1", "rider.mass=60 kg,90 kg"};
  wishes.hold = "sag=35mm";
  const ReadyRides all = drop(wishes);
  ASSERT_EQ(all.rides.size(), 4U);
  EXPECT_EQ(all.rides[1].label, "0 spacers, mass 90 kg");
  EXPECT_EQ(all.rides[2].label, "1 spacer, mass 60 kg");
  EXPECT_EQ(all.rides[2].set[0].name, "fork.spacers");
  EXPECT_EQ(all.rides[2].set[1].value, 60.0);
  for (const ReadyRide& ride : all.rides) EXPECT_NEAR(sag(assemble(ride.setup)), 0.035, 1e-8);
  EXPECT_EQ(say_sag(all.hold), "35.0 mm");
}

// A length is a share of each ride's own travel; a sag may be varied itself.
TEST(Ready, TheSagItselfMayBeVaried) {
  Wishes wishes;
  wishes.vary = {"hold.sag=20%..30%:5%"};
  const ReadyRides shares = drop(wishes);
  ASSERT_EQ(shares.rides.size(), 3U);
  EXPECT_NEAR(share_of_sag(shares.rides[2]), 0.30, 1e-6);
  EXPECT_EQ(shares.rides[2].label, "sag 30 %");
  EXPECT_EQ(say_sag(shares.hold), "");
  wishes.vary = {"hold.sag=30 mm,36 mm"};
  EXPECT_NEAR(sag(assemble(drop(wishes).rides[1].setup)), 0.036, 1e-8);
  wishes.hold = "sag=22%";
  EXPECT_NE(refusal(wishes).find("is not held beside --hold sag=22%"), std::string::npos);
}

TEST(Ready, APressureThatIsGivenIsNotSolvedFor) {
  Wishes wishes;
  wishes.set = {"fork.pressure=80 psi"};
  const ReadyRides all = drop(wishes);
  EXPECT_EQ(all.rides[0].setup.fork.pressure, find_common_unit("psi")->to_si(80.0));
  EXPECT_TRUE(all.rides[0].held.empty());
  ASSERT_EQ(all.notes.size(), 1U);
  EXPECT_EQ(all.notes[0], "fork.pressure is given, so the scene's sag of 22.0 % is not held");
  wishes.hold = "sag=25%";
  EXPECT_EQ(refusal(wishes),
            "--hold: sag=25%: cannot be held while fork.pressure is given: leave one out");
  wishes.hold = "pressure";
  EXPECT_TRUE(drop(wishes).notes.empty());
  // A hold stands in for a pressure that nobody gives.
  MemoryFiles files;
  const std::string text = R"(type = "scene"
format = [1, 0]
terrain = [{kind = "flat", length = "10 m"}]
ride = {speed = "5 m/s"}
rider = {mass = "80 kg"}
[fork]
travel = "150 mm"
spacer_limit = 5
pressure_limit = "150 psi"
air = {main_volume = "198 cm3", main_area = "7.5 cm2", negative_volume = "15 cm3", negative_area = "6.7 cm2"}
)";
  EXPECT_NE(complaint([&] { ready_text(files, text, "x"); }).find("fork.pressure: must be given"),
            std::string::npos);
  Wishes hold;
  hold.hold = "sag=22%";
  EXPECT_NEAR(share_of_sag(ready_text(files, text, "x", hold).rides[0]), 0.22, 1e-6);
  hold = {};
  hold.vary = {"hold.sag=20%,25%"};
  EXPECT_NEAR(share_of_sag(ready_text(files, text, "x", hold).rides[1]), 0.25, 1e-6);
}

TEST(Ready, WhatNothingReadsIsRefusedWithWhatWouldReadIt) {
  const auto set = [](std::vector<std::string> texts, Purpose purpose = Purpose::ride) {
    Wishes wishes;
    wishes.set = std::move(texts);
    wishes.purpose = purpose;
    return refusal(wishes);
  };
  EXPECT_EQ(set({"fork.coil.rate=9 N/mm"}),
            "--set: fork.coil.rate = 9 N/mm: nothing reads it: it belongs to a coil spring "
            "(fork.spring)");
  const std::string both = set({"fork.coil.rate=9 N/mm", "fork.negative_coil.rate=9 N/mm"});
  EXPECT_NE(both.find("fork.coil.rate"), std::string::npos);
  EXPECT_NE(both.find("fork.negative_coil.rate"), std::string::npos);
  EXPECT_EQ(set({"ride.speed=30 km/h"}), "");
  EXPECT_NE(set({"ride.speed=30 km/h"}, Purpose::curve), "");
  EXPECT_EQ(set({"ride.speed=30 km/h"}, Purpose::modes), "");
  EXPECT_NE(set({"terrain[1].height=30 cm"}, Purpose::modes), "");
  Wishes vary;
  vary.vary = {"fork.negative_coil.length=10mm..30mm:10mm"};
  EXPECT_EQ(refusal(vary),
            "--vary: fork.negative_coil.length = 10mm..30mm:10mm: nothing reads it: it belongs to "
            "an air spring with a negative coil (fork.spring, fork.negative)");
}

TEST(Ready, AForkAloneStandsUnderARiderOrUnderNone) {
  const std::string fork = "scenarios/forks/teasel-150.toml";
  Wishes wishes;
  wishes.hold = "sag=22%";
  const ReadyRides ridden = ready_fork(disk_files(), fork, "scenarios/riders/wren.toml", wishes);
  EXPECT_NEAR(share_of_sag(ridden.rides[0]), 0.22, 1e-6);
  EXPECT_EQ(complaint([&] { ready_fork(disk_files(), fork, "", wishes); }),
            "--hold = sag=22%: needs a rider: give --rider FILE");
  wishes = {};
  wishes.set = {"ambient.temperature=0 degC"};
  EXPECT_EQ(ready_fork(disk_files(), fork, "", wishes).rides[0].setup.ambient.temperature, 273.15);
}

constexpr char kAir[] = "scenarios/forks/teasel-150.toml";
constexpr char kCoil[] = "scenarios/forks/teasel-150-coil.toml";

std::vector<std::string> labels_of(const ReadyRides& all) {
  std::vector<std::string> labels;
  for (const ReadyRide& ride : all.rides) labels.push_back(ride.label);
  return labels;
}

TEST(Ready, ForksSideBySideAreVariedWhereTheyReadIt) {
  Wishes wishes;
  wishes.spacers = "0..1";
  wishes.set = {"fork.coil.rate=9 N/mm"};
  wishes.vary = {"fork.friction.seal=8 N,12 N"};
  const std::vector<ReadyRides> forks = ready_forks(disk_files(), {kAir, kCoil}, "", wishes);
  ASSERT_EQ(forks.size(), 2U);
  EXPECT_EQ(forks[0].name, "teasel 150");
  EXPECT_EQ(
      labels_of(forks[0]),
      (std::vector<std::string>{
          "teasel 150, 0 spacers, friction seal 8 N", "teasel 150, 0 spacers, friction seal 12 N",
          "teasel 150, 1 spacer, friction seal 8 N", "teasel 150, 1 spacer, friction seal 12 N"}));
  EXPECT_EQ(labels_of(forks[1]), (std::vector<std::string>{"teasel 150 coil, friction seal 8 N",
                                                           "teasel 150 coil, friction seal 12 N"}));
  EXPECT_EQ(forks[1].rides[0].setup.fork.coil.rate, 9e3);
  EXPECT_EQ(forks[0].notes,
            std::vector<std::string>{
                "fork.coil.rate is left out for teasel 150, which does not read it"});
  EXPECT_EQ(forks[1].notes,
            std::vector<std::string>{
                "fork.spacers is left out for teasel 150 coil, which does not read it"});
}

TEST(Ready, ForksSideBySideMustReadWhatIsAskedForInOneOfThem) {
  const auto refused = [](const Wishes& wishes, const std::string& rider = "") {
    return complaint([&] { ready_forks(disk_files(), {kAir, kCoil}, rider, wishes); });
  };
  Wishes wishes;
  wishes.vary = {"fork.negative_coil.rate=3 N/mm,4 N/mm"};
  EXPECT_NE(refused(wishes).find("nothing reads it: it belongs to an air spring with a negative"),
            std::string::npos);
  wishes.vary = {"fork.rebound.clicks=2..4"};
  EXPECT_NE(refused(wishes).find("this is about a fork at rest without a rider"),
            std::string::npos);
  // The fork at fault is named.
  wishes.vary = {};
  wishes.spacers = "4..6";
  EXPECT_EQ(refused(wishes),
            "--spacers: fork.spacers = 6: must be 0 to 5 (fork.spacer_limit) (with teasel 150, 6 "
            "spacers)");
}

// Both carry the rider at one sag, each by what its spring has for it.
TEST(Ready, ASagIsHeldByAirAndByACoil) {
  Wishes wishes;
  wishes.hold = "sag=22%";
  const std::vector<ReadyRides> forks =
      ready_forks(disk_files(), {kAir, kCoil}, "scenarios/riders/hazel.toml", wishes);
  EXPECT_EQ(forks[0].rides[0].held.at(0).name, "fork.pressure");
  EXPECT_EQ(forks[1].rides[0].held.at(0).name, "fork.coil.preload");
  for (const ReadyRides& fork : forks) EXPECT_NEAR(share_of_sag(fork.rides[0]), 0.22, 1e-6);
}

TEST(Ready, ForksOfOneNameAreToldApartByTheirFiles) {
  const ScratchDirectory scratch;
  const std::string copy = scratch / "copy.toml";
  std::ofstream(copy) << bytes_of(kAir);
  const std::vector<ReadyRides> forks = ready_forks(disk_files(), {kAir, copy}, "", {});
  EXPECT_EQ(forks[0].rides[0].label, kAir);
  EXPECT_EQ(forks[1].rides[0].label, copy);
}

TEST(Ready, WhereItIsRiddenAndWhereItWasPumpedAreToldApartInLabels) {
  Wishes wishes;
  wishes.vary = {"ambient.temperature=0 degC", "pumped.temperature=20 degC"};
  EXPECT_EQ(drop(wishes).rides[0].label, "ambient temperature 0 degC, pumped temperature 20 degC");
}

TEST(Ready, ClicksOfTwoAdjustersAreToldApartInLabels) {
  const auto label = [](const std::string& fork, const std::string& vary) {
    Wishes wishes;
    wishes.purpose = Purpose::damper;
    wishes.vary = {vary};
    return ready_fork(disk_files(), "scenarios/forks/" + fork + ".toml", "", wishes).rides[0].label;
  };
  EXPECT_EQ(label("bracken-200", "fork.compression.clicks=3"), "compression low speed 3");
  EXPECT_EQ(label("bracken-200", "fork.rebound.high_speed_clicks=0"), "rebound high speed 0");
  EXPECT_EQ(label("teasel-150", "fork.compression.clicks=3"), "compression clicks 3");
}

TEST(Ready, ADamperIsAskedAboutItsOwnNumbersAlone) {
  Wishes wishes;
  wishes.purpose = Purpose::damper;
  const auto refused = [&](const char* set) {
    wishes.set = {set};
    return complaint(
        [&] { ready_fork(disk_files(), "scenarios/forks/bracken-200.toml", "", wishes); });
  };
  EXPECT_EQ(refused("fork.oil.temperature=0 degC"), "");
  EXPECT_EQ(refused("fork.rebound.clicks=0"), "");
  EXPECT_EQ(refused("fork.spacers=1"),
            "--set: fork.spacers = 1: nothing reads it: this is about the force of a damper over "
            "speed");
}

// A ride says what it was: its label, its scene, what was varied and held.
TEST(Ready, AResultIsLabelled) {
  Wishes wishes;
  wishes.set = {"ride.duration=0.1 s"};
  wishes.vary = {"fork.spacers=2"};
  const ReadyRides all = drop(wishes);
  Result result = ride_one(all.rides[0]);
  EXPECT_EQ(result.label, "2 spacers");
  EXPECT_EQ(result.set.at(0).value, 2.0);
  EXPECT_EQ(result.held.at(0).name, "fork.pressure");
  // The scene is one without a hold, which rides again to the same numbers.
  const ReadyRides again = ready_text(MemoryFiles(), result.scene_text, "again");
  EXPECT_EQ(again.rides[0].setup.fork.pressure, all.rides[0].setup.fork.pressure);
  EXPECT_TRUE(again.rides[0].held.empty());
  EXPECT_TRUE(unread_variations(result).empty());
  result.set.push_back({"fork.coil.rate", "N m-1", 9000.0});
  ASSERT_EQ(unread_variations(result).size(), 1U);
  EXPECT_EQ(unread_variations(result)[0].key, "fork.coil.rate");
}

// What a purpose puts out, as numbers.
// Held with the brakes, so that all that holds a speed shows [rad].
constexpr double kDescent = -0.15;

std::vector<double> output_of(const plunge::Setup& setup, Purpose purpose) {
  std::vector<double> numbers;
  if (purpose == Purpose::modes) {
    const ModeReport report = find_modes(setup, {0.5, 2.0, 8.0, 20.0}, kDescent);
    for (const Mode& mode : report.modes) {
      numbers.insert(numbers.end(), {mode.real, mode.imaginary});
    }
    for (const Transmissibility& row : report.transmissibility) {
      numbers.insert(numbers.end(), {row.frame, row.body, row.travel, row.ground_force});
    }
    return numbers;
  }
  const Rider rider = assemble(setup);
  if (purpose == Purpose::damper) {
    for (const double v : {0.01, 0.1, 0.5, 2.0, 6.0}) {
      numbers.insert(numbers.end(), {rider.damper.force(v, true), rider.damper.force(-v, false)});
    }
    return numbers;
  }
  const bool bare = purpose == Purpose::bare_curve;
  if (bare) {
    plunge::Setup alone = setup;
    alone.rider = {};
    numbers.push_back(breakaway_force(assemble(alone)));
  }
  for (const Metric& metric : static_metrics(rider, setup)) {
    const bool of_rider = (find_metric(metric.name)->needs & kNeedsRider) != 0;
    // A fork alone has no load on its bushings.
    const bool loaded = metric.name == "breakaway_force";
    if (!bare || !(of_rider || loaded)) numbers.push_back(metric.value);
  }
  const double from = bare ? std::max(0.0, rider.air.port.deep_edge()) : sag(rider);
  for (int i = 0; i <= 10; ++i) {
    const double x = 0.1 * i * rider.travel;
    numbers.insert(numbers.end(), {slow_spring_force(rider, x), fast_spring_force(rider, from, x)});
  }
  return numbers;
}

TEST(Ready, APurposeRefusesJustWhatChangesNothing) {
  // Every number of several set-ups, changed a little: what is refused changes no number of the
  // output, and what is not refused changes one in some set-up, but for what only judges (limits)
  // or acts past the travel (stops) or past the grip, where no such set-up rests.
  std::set<std::string> starts;
  std::vector<plunge::Setup> setups;
  for (const GradeStart& start : grade_starts()) {
    if (starts.insert(start.name.substr(0, start.name.find(" on "))).second) {
      setups.push_back(start.setup);
    }
  }
  ASSERT_EQ(setups.size(), 5U);
  setups.push_back(drop().rides.front().setup);
  const auto acts_elsewhere = [](const std::string& name) {
    return name.ends_with("_limit") || name.starts_with("fork.stops.") ||
           name == "bike.tyre_onset" || name == "bike.tyre_height" || name == "bike.tyre_grip" ||
           name == "fork.air.port_length" || name == "fork.hydraulic_stop.length" ||
           name == "fork.hydraulic_stop.damping";
  };
  for (const Purpose purpose :
       {Purpose::modes, Purpose::curve, Purpose::bare_curve, Purpose::damper}) {
    std::map<std::string, bool> acts;
    for (const plunge::Setup& setup : setups) {
      const std::vector<double> before = output_of(setup, purpose);
      const std::string text = to_scene_text(setup);
      for (const Parameter& parameter : parameters()) {
        const double value = parameter.get(setup);
        if (!(parameter.needed != nullptr && parameter.needed(setup)) || value == 0.0) continue;
        plunge::Setup changed = setup;
        parameter.set(changed, parameter.whole ? value + 1.0 : 1.001 * value);
        if (!judge(changed, Held::nothing).empty()) parameter.set(changed, 0.999 * value);
        const std::string name(parameter.name);
        Wishes wishes;
        wishes.purpose = purpose;
        wishes.set = {parameter.unit == "1" ? fmt::format("{}={}", name, value)
                                            : fmt::format("{}={} {}", name, value, parameter.unit)};
        const std::string said = complaint([&] { ready_text(disk_files(), text, "x", wishes); });
        const bool refused = said.find("this is about") != std::string::npos;
        const bool moved = output_of(changed, purpose) != before;
        if (refused) {
          EXPECT_FALSE(moved) << name << ", purpose " << static_cast<int>(purpose);
        } else {
          acts[name] |= moved;
        }
      }
    }
    for (const auto& [name, moved] : acts) {
      EXPECT_TRUE(moved || acts_elsewhere(name))
          << name << ", purpose " << static_cast<int>(purpose);
    }
  }
}

}  // namespace
}  // namespace plunge::ready_test
