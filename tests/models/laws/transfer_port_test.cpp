#include "models/laws/transfer_port.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "models/laws/gas_chamber.hpp"
#include "tests/support.hpp"

namespace plunge::transfer_port_test {
namespace {

constexpr double kRoom = 293.15;  // [K]

template <class S = double>
TransferPort<S> port() {
  return {6e-3, 2e-3, 2e-6};
}

TEST(TransferPort, GasFlowsFromHighToLowPressure) {
  const auto p = port();
  EXPECT_GT(p.flow(5e-3, 6e5, kRoom, 5e5, kRoom), 0.0);
  EXPECT_LT(p.flow(5e-3, 5e5, kRoom, 6e5, kRoom), 0.0);
  EXPECT_EQ(p.flow(5e-3, 5e5, kRoom, 5e5, kRoom), 0.0);
  // Equal pressure is balance even between hot and cold.
  EXPECT_EQ(p.flow(5e-3, 5e5, 400.0, 5e5, kRoom), 0.0);
}

TEST(TransferPort, ChambersThatTradePlacesTurnTheFlowRound) {
  const auto p = port();
  EXPECT_DOUBLE_EQ(p.flow(5e-3, 7e5, 350.0, 4e5, kRoom), -p.flow(5e-3, 4e5, kRoom, 7e5, 350.0));
}

TEST(TransferPort, ItIsShutOutsideItsWindow) {
  const auto p = port();
  EXPECT_NEAR(p.shallow_edge(), 4e-3, 1e-15);
  EXPECT_NEAR(p.deep_edge(), 6e-3, 1e-15);
  for (const double x : {-1e-3, 0.0, 3.999e-3, 6.001e-3, 0.1}) {
    EXPECT_EQ(p.flow(x, 9e5, kRoom, 1e5, kRoom), 0.0) << x;
  }
  // By hand: wide open in the middle, (1 - 1/4)^2 = 9/16 half-way to an edge.
  EXPECT_NEAR(p.window(5e-3), 1.0, 1e-14);
  EXPECT_NEAR(p.window(4.5e-3), 0.5625, 1e-12);
  EXPECT_NEAR(p.window(5.5e-3), 0.5625, 1e-12);
}

TEST(TransferPort, ItOpensAndShutsWithoutAJumpOfSlope) {
  // By hand: next to an edge, with e the distance over half the length, the window is (2e)^2 and
  // its slope 8e/(l/2): both vanish with e.
  const auto p = port<Dual>();
  for (const double e : {1e-6, 1e-4}) {
    for (const double x : {4e-3 + e * 1e-3, 6e-3 - e * 1e-3}) {
      const Dual window = p.window(Dual(x, 1.0));
      EXPECT_NEAR(window.value, 4.0 * e * e, 1.1 * 4.0 * e * e * e + 1e-15);
      EXPECT_NEAR(std::abs(window.slope), 8.0 * e / 1e-3, 0.02 * 8.0 * e / 1e-3);
    }
  }
}

TEST(TransferPort, ItIsChokedTowardsVacuum) {
  // ISO 6358: into vacuum the flow is C p/sqrt(R T), whatever lies beyond; here less by
  // 1/sqrt(1 + e), 0.05 %.
  const auto p = port();
  const double choked = 2e-6 * 7e5 / std::sqrt(kAirConstant * kRoom);
  EXPECT_NEAR(p.flow(5e-3, 7e5, kRoom, 0.0, kRoom), choked / std::sqrt(1.001), 1e-12 * choked);
  EXPECT_NEAR(p.flow(5e-3, 7e5, kRoom, 1e3, kRoom), choked, 6e-4 * choked);
}

TEST(TransferPort, FarFromBalanceItIsAnEllipse) {
  // ISO 6358-1 with critical ratio 0: w/w_choked = sqrt(1 - r^2); at r = 0.6 that is 0.8.
  const auto p = port();
  const double choked = 2e-6 * 5e5 / std::sqrt(kAirConstant * kRoom);
  EXPECT_NEAR(p.flow(5e-3, 5e5, kRoom, 3e5, kRoom), 0.8 * choked, 1e-3 * choked);
}

TEST(TransferPort, NearBalanceItIsLaminar) {
  // Closed form: dw/dp+ at balance = 2 C/sqrt(R T e).
  const auto p = port<Dual>();
  const Dual flow = p.flow(5e-3, Dual(5e5, 1.0), kRoom, 5e5, kRoom);
  EXPECT_NEAR(flow.slope, 4e-6 / std::sqrt(kAirConstant * kRoom * 1e-3), 1e-15);
}

TEST(TransferPort, InsulatedChambersEndAtOnePressure) {
  // Closed form: energy is kept in rigid insulated chambers, so the shared pressure is
  // (p+ V+ + p- V-)/(V+ + V-), whatever the temperatures become.
  const auto p = port();
  const GasChamber<double> main{195e-6, -7.5e-4, 1e12, kRoom};
  const GasChamber<double> negative{15e-6, 6.7e-4, 1e12, kRoom};
  const double x = 5e-3;
  const double total = main.mass_at(7e5, kRoom, x) + negative.mass_at(2e5, kRoom, x);
  using Three = std::array<double, 3>;  // main mass, temperatures
  const auto pressures = [&](const Three& y) -> std::array<double, 2> {
    return {main.pressure(y[0], y[1], x), negative.pressure(total - y[0], y[2], x)};
  };
  const auto rates = [&](double, const Three& y) -> Three {
    const auto [high, low] = pressures(y);
    const double flow = p.flow(x, high, y[1], low, y[2]);
    const double upstream = flow > 0.0 ? y[1] : y[2];
    return {-flow, GasChamber<double>::flow_heating(-flow, y[0], y[1], upstream),
            GasChamber<double>::flow_heating(flow, total - y[0], y[2], upstream)};
  };
  const Three start{main.mass_at(7e5, kRoom, x), kRoom, kRoom};
  const Three end = integrate(start, 0.3, 30'000, rates);
  const double main_volume = main.volume_at(x);
  const double negative_volume = negative.volume_at(x);
  const double shared =
      (7e5 * main_volume + 2e5 * negative_volume) / (main_volume + negative_volume);
  const auto [high, low] = pressures(end);
  EXPECT_NEAR(high / shared, 1.0, 1e-9);
  EXPECT_NEAR(low / shared, 1.0, 1e-9);
  // What fills the small chamber is warmed by it: the exchange is not isothermal.
  EXPECT_GT(end[2], kRoom + 20.0);
}

}  // namespace
}  // namespace plunge::transfer_port_test
