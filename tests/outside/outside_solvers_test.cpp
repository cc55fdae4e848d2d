// The tools of the integrator on problems with published answers: Odeint's Dormand-Prince pair with
// its dense output, and the root finder that locates switches.
#include <gtest/gtest.h>

#include <array>
#include <boost/numeric/odeint/algebra/array_algebra.hpp>
#include <boost/numeric/odeint/algebra/default_operations.hpp>
#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/dense_output_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>
#include <cstddef>
#include <utility>

#include "models/setup/root.hpp"
#include "tests/outside/record.hpp"

namespace plunge::outside_solvers_test {
namespace {

namespace odeint = boost::numeric::odeint;

template <std::size_t kSize>
using Vector = std::array<double, kSize>;

template <std::size_t kSize>
auto dense_pair(double tolerance) {
  using Pair = odeint::runge_kutta_dopri5<Vector<kSize>, double, Vector<kSize>, double,
                                          odeint::array_algebra, odeint::default_operations>;
  using Controlled = odeint::controlled_runge_kutta<Pair>;
  return odeint::dense_output_runge_kutta<Controlled>(
      Controlled(typename Controlled::error_checker_type(tolerance, tolerance)));
}

template <std::size_t kSize, class Equations>
Vector<kSize> solved(Equations equations, const Vector<kSize>& start, double end,
                     double tolerance) {
  auto stepper = dense_pair<kSize>(tolerance);
  stepper.initialize(start, 0.0, 1e-6);
  while (stepper.current_time() < end) stepper.do_step(equations);
  Vector<kSize> y;
  stepper.calc_state(end, y);
  return y;
}

TEST(Solvers, HiresIsStiff) {
  // Source: IVP test set (Mazzia & Magherini 2008), High Irradiance RESponse.
  const auto hires = [](const Vector<8>& y, Vector<8>& d, double) {
    d[0] = -1.71 * y[0] + 0.43 * y[1] + 8.32 * y[2] + 0.0007;
    d[1] = 1.71 * y[0] - 8.75 * y[1];
    d[2] = -10.03 * y[2] + 0.43 * y[3] + 0.035 * y[4];
    d[3] = 8.32 * y[1] + 1.71 * y[2] - 1.12 * y[3];
    d[4] = -1.745 * y[4] + 0.43 * y[5] + 0.43 * y[6];
    d[5] = -280.0 * y[5] * y[7] + 0.69 * y[3] + 1.71 * y[4] - 0.43 * y[5] + 0.69 * y[6];
    d[6] = 280.0 * y[5] * y[7] - 1.81 * y[6];
    d[7] = -d[6];
  };
  const Vector<8> y =
      solved<8>(hires, {1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0057}, 321.8122, 1e-12);
  record({"HIRES: y1(321.8122)", "IVP test set", 0.7371312573325668e-3, y[0], 1e-12});
}

TEST(Solvers, SevenStarsPassEachOtherClosely) {
  // Source: IVP test set, Pleiades: masses 1 to 7 in a plane.
  const auto pleiades = [](const Vector<28>& y, Vector<28>& d, double) {
    for (std::size_t i = 0; i < 7; ++i) {
      d[i] = y[14 + i];
      d[7 + i] = y[21 + i];
      d[14 + i] = d[21 + i] = 0.0;
      for (std::size_t j = 0; j < 7; ++j) {
        if (i == j) continue;
        const double x = y[j] - y[i];
        const double z = y[7 + j] - y[7 + i];
        const double pull = static_cast<double>(j + 1) / std::pow(x * x + z * z, 1.5);
        d[14 + i] += pull * x;
        d[21 + i] += pull * z;
      }
    }
  };
  const Vector<28> start = {3, 3, -1, -3, 2, -2,   2,    3, -3, 2, 0,     0, -4, 4,
                            0, 0, 0,  0,  0, 1.75, -1.5, 0, 0,  0, -1.25, 1, 0,  0};
  record({"Pleiades: x1(3)", "IVP test set", 0.3706139143970502,
          solved<28>(pleiades, start, 3.0, 1e-13)[0], 1e-8});
}

TEST(Solvers, ABallBouncesToRest) {
  // Computed: from 1 m, e = 0.8, g = 9.81 m/s2. The instants of its impacts are located on the
  // dense output and the motion begins anew, as the integrator does at a switch.
  const auto falls = [](const Vector<2>& y, Vector<2>& d, double) {
    d[0] = y[1];
    d[1] = -9.81;
  };
  auto stepper = dense_pair<2>(1e-10);
  Vector<2> state = {1.0, 0.0};
  double time = 0.0;
  double first = 0.0;
  double second = 0.0;
  for (int impacts = 0; impacts < 100;) {
    // The first step is a quarter of the flight to come, so it ends in the air.
    stepper.initialize(state, time, impacts == 0 ? 0.1 : 0.5 * state[1] / 9.81);
    std::pair<double, double> step;
    do {
      step = stepper.do_step(falls);
    } while (stepper.current_state()[0] > 0.0);
    const auto height = [&](double t) {
      Vector<2> y;
      stepper.calc_state(t, y);
      return y[0];
    };
    time =
        find_root(height, step.first, step.second, height(step.first), height(step.second), 1e-15);
    stepper.calc_state(time, state);
    ++impacts;
    state = {0.0, -0.8 * state[1]};
    if (impacts == 1) first = time;
    if (impacts == 2) second = time;
  }
  record({"bouncing ball: first impact [s]", "computed", 0.451523641, first, 1e-9});
  record({"bouncing ball: second impact [s]", "computed", 1.173961467, second, 1e-9});
  record({"bouncing ball: at rest [s]", "computed", 4.063712769, time, 1e-8});
}

}  // namespace
}  // namespace plunge::outside_solvers_test
