#include "sim/lanes/lane_rider.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstddef>
#include <functional>
#include <memory>
#include <set>
#include <vector>

#include "sim/lanes/lane_law.hpp"
#include "sim/lanes/lane_pack.hpp"
#include "tests/lane_rides.hpp"

namespace plunge::lane_rider_test {
namespace {

// A scalar that says where it was made.
struct Traced {
  static std::vector<const Traced*>& made() {
    static std::vector<const Traced*> list;
    return list;
  }
  Traced() { made().push_back(this); }
  [[maybe_unused]] friend bool operator>(const Traced&, const Traced&) { return false; }
};

TEST(LaneRider, EveryScalarOfARiderIsANumber) {
  // Counted where they are made, not by what each_number() knows of: a number of a law that it
  // passed by would lie in none of those that it calls for.
  Traced::made().clear();
  const auto rider = std::make_unique<QuarterRider<Traced>>();
  const std::vector<const Traced*> made = Traced::made();
  const std::less<const void*> before;
  const auto* begin = reinterpret_cast<const std::byte*>(rider.get());
  std::set<const void*> numbers;
  std::size_t held = 0;
  each_number(*rider, [&](auto& number) {
    numbers.insert(&number);
    const auto* const from = reinterpret_cast<const std::byte*>(&number);
    held += static_cast<std::size_t>(std::ranges::count_if(made, [&](const Traced* scalar) {
      return !before(scalar, from) && before(scalar, from + sizeof number);
    }));
  });
  std::size_t inside = 0;
  for (const Traced* scalar : made) {
    if (!before(scalar, begin) && before(scalar, begin + sizeof *rider)) ++inside;
  }
  EXPECT_EQ(held, inside);
  EXPECT_EQ(numbers.size(), kRiderNumbers);
  EXPECT_GT(kRiderNumbers, 60u);
}

TEST(LaneRider, ANumberPutIntoALaneIsThereAlone) {
  using S = Pack<xsimd::batch<float, xsimd::default_arch>, 1>;
  RiderNumbers numbers{};
  for (std::size_t i = 0; i < kRiderNumbers; ++i) numbers[i] = 1.0 + static_cast<double>(i);
  QuarterRider<S> lanes;
  for (std::size_t l = 0; l < S::kSize; ++l) put_numbers(lanes, l, numbers);
  for (std::size_t changed = 0; changed < kRiderNumbers; ++changed) {
    RiderNumbers others = numbers;
    others[changed] = 0.5;
    put_numbers(lanes, S::kSize - 1, others);
    std::size_t i = 0;
    each_number(lanes, [&](auto& number) {
      typename S::Real row[S::kSize];
      const S value = number;
      value.store(row);
      for (std::size_t l = 0; l < S::kSize; ++l) {
        const double due = l + 1 == S::kSize ? others[i] : numbers[i];
        EXPECT_EQ(static_cast<double>(row[l]), due) << "number " << i << ", lane " << l;
      }
      ++i;
    });
  }
}

// A ride on which every part of a fork acts: air on both sides with its port, air in the legs, both
// coils, a hydraulic stop; a slope to brake on harder than the tyre grips, then a drop so high that
// rim and metal are hit, and the fork tops out in the air.
struct Everything {
  Setup setup = [] {
    Setup drop = shipped("drop-to-flat");
    RideEvent brake;
    brake.kind = EventKind::brake;
    brake.at = 0.2;
    brake.rate = 5.0;
    brake.to_speed = 0.8 * drop.ride.speed;
    brake.rise = 0.05;
    brake.front_share = 1.0;
    drop.events = {brake};
    drop.terrain[0].grade = -0.06;
    drop.terrain[1].height = 0.6;
    drop.ride.speed *= 1.5;
    drop.ride.duration = 1.6;
    return drop;
  }();
  Kept kept{setup};

  Everything() {
    Rider& rider = kept.prepared.rider;
    rider.has_leg_air = true;
    rider.air.leg = {3e-4, -3e-4, 0.5, 293.0};
    rider.leg_gas_mass = 3e-4;
    rider.gas_mass *= 0.7;
    rider.air.negative.area *= 0.5;
    rider.coil = {500.0, 20.0};
    rider.negative_coil = {3000.0, 0.03};
    rider.hydraulic_stop = {0.4 * rider.travel, 2e3};
    rider.bumper.start = 0.4 * rider.travel;
    rider.bumper.length = 0.02 * rider.travel;
    rider.metal.limit = 0.43 * rider.travel;
    rider.friction.reach = 0.01;
    rider.friction.viscous = 5.0;
    rider.tyre.onset = 2e-3;
    rider.tyre.rim_depth = 0.015;
    rider.bike.grip = 0.3;
    kept.tabled = false;
  }
};

TEST(LaneRider, ARideNoticesEveryNumber) {
  // Changed by 1 %, side by side with the ride that it is held against.
  const Everything all;
  LaneWish wish;
  wish.tolerance = 2e-5;
  wish.sample_rate = 1000.0;
  for (bool& channel : wish.channels) channel = true;
  std::vector<Rider> riders(kRiderNumbers + 1, all.kept.prepared.rider);
  std::set<std::size_t> unread;  // what a set-up is judged or filled by, and no force follows from
  for (std::size_t changed = 0; changed < kRiderNumbers; ++changed) {
    Rider& rider = riders[changed];
    std::size_t i = 0;
    each_number(rider, [&](auto& number) {
      if (i == changed) {
        EXPECT_NE(number, 0.0) << "number " << i << " of the ride";
        number = 1.01 * number;
        const void* const address = &number;
        if (address == &rider.travel || address == &rider.main_mass_at_port) unread.insert(i);
      }
      ++i;
    });
  }
  EXPECT_EQ(unread.size(), 2u);
  std::vector<LaneRide> lanes(riders.size(), all.kept.lane());
  for (std::size_t i = 0; i < riders.size(); ++i) lanes[i].rider = &riders[i];
  for (const Way& way : ways_here()) {
    std::vector<LaneOutcome> outcomes(lanes.size());
    way.ride(lanes, wish, outcomes);
    const LaneOutcome& same = outcomes.back();
    EXPECT_EQ(same.doubts & kDoubtStuck, 0u);
    EXPECT_GT(same.record.rim_strikes, 0);
    EXPECT_GT(same.record.metal.size(), 0u);
    EXPECT_GT(same.record.top_outs, 0);
    for (std::size_t i = 0; i < kRiderNumbers; ++i) {
      // The wheel's share moves nothing: it shows in the force at the axle alone.
      const bool noticed = !std::ranges::equal(outcomes[i].samples, same.samples) ||
                           outcomes[i].record.peaks.axle_force != same.record.peaks.axle_force;
      EXPECT_EQ(noticed, !unread.contains(i)) << "number " << i << ", " << way.name;
    }
  }
}

}  // namespace
}  // namespace plunge::lane_rider_test
