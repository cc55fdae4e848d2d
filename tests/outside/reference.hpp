// Second opinions on a ride: the same equations in integrators made for any equation.
//
// The equations are QuarterRider::forces() and rates() with the friction's bristle as the
// differential equation that it is; nothing of sim/ride/integrator.cpp is used.
//   CVODE (SUNDIALS)  BDF or Adams, Newton with a dense difference-quotient Jacobian. With `events`
//                     the modes are held, every indicator and both ends of the path's stretch are
//                     root functions, and the integrator starts anew at each root and each phase
//                     of the rider's line.
//   Odeint            Dormand-Prince 5(4) with dense output.
//   GSL               Fehlberg 4(5), Prince-Dormand 8(9), Adams of variable order; has no dense
//                     output, so it stops at every sample.
// Without events the modes follow from the state in every call and the path is taken where the
// wheel is: the integrator's error control has to find every corner by itself.
//
// Tolerance: largest error of a step over the usual size of each state (kUsualSize), the root mean
// square of all states for CVODE. Not here: what is integrated (models/laws/quarter_rider.hpp).
// Sources: Hindmarsh and others 2005, ACM Trans. Math. Softw. 31, 363 (CVODE); Hiebert & Shampine
// 1980, Sandia report SAND80-0180 (its root finding).
#pragma once

#include <cvode/cvode.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <algorithm>
#include <array>
#include <boost/numeric/odeint/algebra/array_algebra.hpp>
#include <boost/numeric/odeint/algebra/default_operations.hpp>
#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/dense_output_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>
#include <cstdint>
#include <functional>
#include <limits>
#include <memory>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "models/setup/ride_line.hpp"
#include "sim/ground/wheel_path.hpp"
#include "sim/ride/integrator.hpp"
#include "tests/support.hpp"

namespace plunge {

enum class Library { cvode_bdf, cvode_adams, odeint, gsl_rkf45, gsl_rk8pd, gsl_msadams };

struct Method {
  Library library = Library::cvode_bdf;
  double tolerance = 1e-11;
  bool events = false;         // CVODE only
  bool energies = false;       // Odeint only: integrate the energy audit too, as ride() does
  bool peaks = false;          // look at the forces at the end of every step
  bool sample_forces = false;  // and at every sample, as the channels of a result need them
  double longest_step = 0.01;  // [s]
};

struct SecondOpinion {
  std::vector<double> travel;       // at k/sample_rate [m]
  std::vector<double> fork_sample;  // F_fork there, where asked for [N]
  double fork_force = 0.0;          // largest, at the ends of steps [N]
  double ground_force = 0.0;
  double hand_force = 0.0;
  int lift_offs = 0;  // with events
  int bumper_contacts = 0;
  int metal_contacts = 0;
  std::uint64_t steps = 0;
  std::uint64_t evaluations = 0;  // of the equations, Jacobians included
  std::uint64_t restarts = 0;     // at located events
};

// What is ridden.
struct Task {
  const Rider& rider;
  const Ground& ground;
  const RideLine& line;
  const State<double>& start;
  double sample_rate = 1000.0;  // [Hz]
};

inline constexpr double kUsualEnergy = 30.0;  // [J]
inline constexpr std::array<double, kMotionStates> kUsualSize = {
    0.1,   1.0,   0.1,   1.0, 0.1, 1.0,  // heights and travel [m], speeds [m/s]
    300.0, 300.0, 300.0,                 // temperatures [K]
    1e-3,  1e-3};                        // gas [kg], bristle [m]

namespace reference {

// Below this the fork has no direction: without it the located stops of a fork that has come to
// rest would never end [m/s].
inline constexpr double kNoDirection = 1e-7;

struct Look {
  double distance = 0.0;
  Course<double> course;
  PathPoint<double> point;
  Modes<double> mode{};
  Forces<double> forces{};
};

inline void see_line(Look& look, const Task& task, const RidePhase& phase, double t) {
  const Motion<double> motion = motion_at(task.ground.grade, phase, t);
  look.distance = motion.distance;
  look.course = task.rider.course(motion);
}

// Modes and path from the state.
inline Look look_free(const Task& task, const State<double>& y, double t) {
  Look look;
  see_line(look, task, task.line.phases()[task.line.phase_at(t)], t);
  look.point = task.ground.path.at(task.rider.wheel_position(y, look.distance, look.course));
  look.mode = modes_of_state(task.rider, y, look.course, look.point);
  look.forces = task.rider.forces(y, look.course, look.point, look.mode);
  return look;
}

template <std::size_t N>
State<double> full(const double* y) {
  State<double> state{};
  std::copy_n(y, N, state.begin());
  return state;
}

// dy/dt of the first N states; false where it is not a number.
template <std::size_t N>
bool free_rates(const Task& task, double t, const double* y, double* dydt) {
  const State<double> state = full<N>(y);
  const Look look = look_free(task, state, t);
  const State<double> rate =
      task.rider.rates(state, look.course, look.point, look.mode, look.forces);
  std::copy_n(rate.begin(), N, dydt);
  return std::isfinite(rate[kSprungSpeed] + rate[kTravelSpeed] + rate[kBodySpeed]);
}

inline void note_peaks(SecondOpinion& opinion, const Forces<double>& f) {
  opinion.fork_force = std::max(opinion.fork_force, f.fork);
  opinion.ground_force = std::max(opinion.ground_force, f.tyre);
  opinion.hand_force = std::max(opinion.hand_force, std::abs(f.hands));
}

// Samples at k/sample_rate that lie within the ride.
inline std::size_t sample_count(const Task& task) {
  const double duration = task.line.duration();
  auto last = static_cast<std::size_t>(duration * task.sample_rate) + 1;
  while (static_cast<double>(last) / task.sample_rate > duration) --last;
  return last + 1;
}

inline void note_sample(SecondOpinion& opinion, const Task& task, const Method& method,
                        const double* y) {
  opinion.travel.push_back(y[kTravel]);
  if (!method.sample_forces) return;
  const double t = static_cast<double>(opinion.travel.size() - 1) / task.sample_rate;
  ++opinion.evaluations;
  opinion.fork_sample.push_back(look_free(task, full<kMotionStates>(y), t).forces.fork);
}

// ---- CVODE

class Cvode {
 public:
  Cvode(const Task& task, const Method& method)
      : task_(task), method_(method), context_(new_context(), &Cvode::free_context) {
    SUNContext context = context_.get();
    y_.reset(N_VNew_Serial(kMotionStates, context));
    inside_.reset(N_VNew_Serial(kMotionStates, context));
    std::copy_n(task.start.begin(), kMotionStates, N_VGetArrayPointer(y_.get()));
    memory_.reset(CVodeCreate(method.library == Library::cvode_adams ? CV_ADAMS : CV_BDF, context));
    const auto error_weights = [](N_Vector, N_Vector weights, void* self) {
      const double tolerance = static_cast<Cvode*>(self)->method_.tolerance;
      for (std::size_t i = 0; i < kMotionStates; ++i) {
        N_VGetArrayPointer(weights)[i] = 1.0 / (tolerance * kUsualSize[i]);
      }
      return 0;
    };
    const auto rates = [](double t, N_Vector y, N_Vector dydt, void* self) {
      return static_cast<Cvode*>(self)->rates(t, N_VGetArrayPointer(y), N_VGetArrayPointer(dydt));
    };
    const auto roots = [](double t, N_Vector y, double* values, void* self) {
      static_cast<Cvode*>(self)->roots(t, N_VGetArrayPointer(y), values);
      return 0;
    };
    void* memory = memory_.get();
    check(CVodeInit(memory, rates, 0.0, y_.get()));
    check(CVodeSetUserData(memory, this));
    check(CVodeWFtolerances(memory, error_weights));
    matrix_.reset(SUNDenseMatrix(kMotionStates, kMotionStates, context));
    solver_.reset(SUNLinSol_Dense(y_.get(), matrix_.get(), context));
    check(CVodeSetLinearSolver(memory, solver_.get(), matrix_.get()));
    check(CVodeSetMaxStep(memory, method.longest_step));
    check(CVodeSetMaxNumSteps(memory, -1));
    if (method.events) {
      check(CVodeRootInit(memory, kRoots, roots));
      check(CVodeSetNoInactiveRootWarn(memory));
    }
  }

  SecondOpinion ride() {
    const double duration = task_.line.duration();
    const std::size_t samples = sample_count(task_);
    opinion_.travel.reserve(samples);
    if (method_.sample_forces) opinion_.fork_sample.reserve(samples);
    double t = 0.0;
    if (method_.events) {
      begin_phase(0.0);
      const State<double> state = full<kMotionStates>(values());
      Look look;
      see_line(look, task_, task_.line.phases()[phase_], 0.0);
      stretch_ = task_.ground.path.stretch_at(
          task_.rider.wheel_position(state, look.distance, look.course));
      mode_ = look_free(task_, state, 0.0).mode;
    }
    note_sample(opinion_, task_, method_, values());
    while (opinion_.travel.size() < samples || t < duration) {
      const int flag = CVode(memory_.get(), kForEver, y_.get(), &t, CV_ONE_STEP);
      if (flag < 0) {
        throw std::runtime_error("CVODE stopped at " + std::to_string(t) +
                                 " s: " + std::to_string(flag));
      }
      sample_until(t, samples);
      if (method_.peaks) note_peaks(opinion_, look(t, values()).forces);
      if (flag == CV_ROOT_RETURN) flip_found(t);
      if (flag == CV_ROOT_RETURN || flag == CV_TSTOP_RETURN) restart(t);
    }
    count_steps();
    return std::move(opinion_);
  }

 private:
  static constexpr int kStretchEnd = static_cast<int>(kSwitches);
  static constexpr int kStretchBegin = kStretchEnd + 1;
  static constexpr int kRoots = kStretchEnd + 2;
  static constexpr double kForEver = 1e9;  // [s]

  struct Free {
    void operator()(N_Vector v) const { N_VDestroy(v); }
    void operator()(SUNMatrix m) const { SUNMatDestroy(m); }
    void operator()(SUNLinearSolver s) const { SUNLinSolFree(s); }
    void operator()(void* memory) const { CVodeFree(&memory); }
  };

  static SUNContext new_context() {
    SUNContext context = nullptr;
    SUNContext_Create(nullptr, &context);
    return context;
  }
  static void free_context(SUNContext context) { SUNContext_Free(&context); }
  static void check(int flag) {
    if (flag < 0) throw std::runtime_error("CVODE refused a setting: " + std::to_string(flag));
  }

  double* values() { return N_VGetArrayPointer(y_.get()); }

  Look look(double t, const double* y) const {
    const State<double> state = full<kMotionStates>(y);
    if (!method_.events) return look_free(task_, state, t);
    Look look;
    see_line(look, task_, task_.line.phases()[phase_], t);
    const double s = task_.rider.wheel_position(state, look.distance, look.course);
    const WheelPath& path = task_.ground.path;
    const std::size_t stretch = mode_[kTyreTouches] ? stretch_ : path.stretch_at(s);
    look.point = path.at(s, path.stretches()[stretch]);
    look.mode = mode_;
    look.forces = task_.rider.forces(state, look.course, look.point, mode_);
    return look;
  }

  int rates(double t, const double* y, double* dydt) {
    ++opinion_.evaluations;
    const State<double> state = full<kMotionStates>(y);
    const Look at = look(t, y);
    const State<double> rate = task_.rider.rates(state, at.course, at.point, at.mode, at.forces);
    std::copy_n(rate.begin(), kMotionStates, dydt);
    const double sum = rate[kSprungSpeed] + rate[kTravelSpeed] + rate[kBodySpeed];
    return std::isfinite(sum) ? 0 : 1;
  }

  void roots(double t, const double* y, double* value) const {
    const State<double> state = full<kMotionStates>(y);
    const Look at = look(t, y);
    const Indicators<double> indicator = task_.rider.indicators(state, at.course, at.forces, mode_);
    std::copy(indicator.begin(), indicator.end(), value);
    value[kCompresses] += mode_[kCompresses] ? kNoDirection : -kNoDirection;
    value[kStretchEnd] = value[kStretchBegin] = 1.0;
    if (mode_[kTyreTouches]) {
      const double s = task_.rider.wheel_position(state, at.distance, at.course);
      const Stretch& stretch = task_.ground.path.stretches()[stretch_];
      value[kStretchEnd] = std::min(stretch.end - s, 1.0);
      value[kStretchBegin] = std::min(s - stretch.begin, 1.0);
    }
  }

  void flip(std::size_t which, double t) {
    bool& on = mode_[which];
    on = !on;
    if (which == kTyreTouches) {
      if (on) {
        const State<double> state = full<kMotionStates>(values());
        Look look;
        see_line(look, task_, task_.line.phases()[phase_], t);
        stretch_ = task_.ground.path.stretch_at(
            task_.rider.wheel_position(state, look.distance, look.course));
      } else {
        ++opinion_.lift_offs;
      }
    }
    if (on && which == kBumperTouches) ++opinion_.bumper_contacts;
    if (on && which == kMetalTouches) ++opinion_.metal_contacts;
  }

  void flip_found(double t) {
    std::array<int, kRoots> found{};
    check(CVodeGetRootInfo(memory_.get(), found.data()));
    for (std::size_t which = 0; which < kSwitches; ++which) {
      // A sign that came back to the mode's own side is no switch.
      if (found[which] != 0 && (found[which] > 0) != mode_[which]) flip(which, t);
    }
    if (found[kStretchEnd] < 0) ++stretch_;
    if (found[kStretchBegin] < 0) --stretch_;
  }

  // A new start at (t, y). A force that jumped may have left other indicators on the wrong side.
  void restart(double t) {
    begin_phase(t);
    for (int pass = 0; pass < 4; ++pass) {
      std::array<double, kRoots> value{};
      roots(t, values(), value.data());
      bool clean = true;
      for (std::size_t which = 0; which < kSwitches; ++which) {
        if (mode_[which] ? value[which] < 0.0 : value[which] > 0.0) {
          flip(which, t);
          clean = false;
          break;
        }
      }
      if (clean) break;
    }
    if (method_.peaks) note_peaks(opinion_, look(t, values()).forces);
    count_steps();
    check(CVodeReInit(memory_.get(), t, y_.get()));
    ++opinion_.restarts;
  }

  // The phase that holds at t, passed or nearly so those before it.
  void begin_phase(double t) {
    constexpr double kNearly = 1e-10;  // [s]
    const std::vector<RidePhase>& phases = task_.line.phases();
    while (phase_ + 1 < phases.size() && phases[phase_ + 1].start <= t + kNearly) ++phase_;
    const bool last = phase_ + 1 == phases.size();
    check(CVodeSetStopTime(memory_.get(), last ? kForEver : phases[phase_ + 1].start));
  }

  void sample_until(double t, std::size_t samples) {
    while (opinion_.travel.size() < samples) {
      const double next = static_cast<double>(opinion_.travel.size()) / task_.sample_rate;
      if (next > t) return;
      check(CVodeGetDky(memory_.get(), next, 0, inside_.get()));
      note_sample(opinion_, task_, method_, N_VGetArrayPointer(inside_.get()));
    }
  }

  void count_steps() {
    long steps = 0;
    CVodeGetNumSteps(memory_.get(), &steps);
    opinion_.steps += static_cast<std::uint64_t>(steps);
  }

  const Task& task_;
  const Method& method_;
  std::unique_ptr<std::remove_pointer_t<SUNContext>, void (*)(SUNContext)> context_;
  std::unique_ptr<std::remove_pointer_t<N_Vector>, Free> y_;
  std::unique_ptr<std::remove_pointer_t<N_Vector>, Free> inside_;
  std::unique_ptr<std::remove_pointer_t<SUNMatrix>, Free> matrix_;
  std::unique_ptr<std::remove_pointer_t<SUNLinearSolver>, Free> solver_;
  std::unique_ptr<void, Free> memory_;
  Modes<double> mode_{};
  std::size_t stretch_ = 0;
  std::size_t phase_ = 0;
  SecondOpinion opinion_;
};

// ---- Odeint

namespace odeint = boost::numeric::odeint;

template <std::size_t N>
struct ScaledError {
  using value_type = double;
  using algebra_type = odeint::array_algebra;
  using operations_type = odeint::default_operations;
  double tolerance = 1e-6;

  template <class X, class Dxdt, class Err, class Time>
  double error(const X&, const Dxdt&, Err& error, Time) const {
    double worst = 0.0;
    for (std::size_t i = 0; i < N; ++i) {
      const double scale = i < kMotionStates ? kUsualSize[i] : kUsualEnergy;
      const double scaled = std::abs(error[i]) / (tolerance * scale);
      if (!(scaled <= worst)) worst = scaled;
    }
    return worst < 1e10 ? worst : 1e10;  // NaN counts as a failed step
  }
  template <class X, class Dxdt, class Err, class Time>
  double error(algebra_type&, const X& x, const Dxdt& dxdt, Err& err, Time dt) const {
    return error(x, dxdt, err, dt);
  }
};

template <std::size_t N>
SecondOpinion ride_odeint(const Task& task, const Method& method) {
  using Values = std::array<double, N>;
  using Pair = odeint::runge_kutta_dopri5<Values, double, Values, double, odeint::array_algebra,
                                          odeint::default_operations>;
  using Adjuster = odeint::default_step_adjuster<double, double>;
  using Controlled = odeint::controlled_runge_kutta<Pair, ScaledError<N>, Adjuster>;
  odeint::dense_output_runge_kutta<Controlled> stepper(
      Controlled(ScaledError<N>{method.tolerance}, Adjuster(method.longest_step)));

  SecondOpinion opinion;
  const std::size_t samples = sample_count(task);
  opinion.travel.reserve(samples);
  if (method.sample_forces) opinion.fork_sample.reserve(samples);
  const auto rates = [&](const Values& y, Values& dydt, double t) {
    ++opinion.evaluations;
    free_rates<N>(task, t, y.data(), dydt.data());
  };
  Values y{};
  std::copy_n(task.start.begin(), N, y.begin());
  stepper.initialize(y, 0.0, 1e-4);
  note_sample(opinion, task, method, y.data());
  const double duration = task.line.duration();
  while (opinion.travel.size() < samples || stepper.current_time() < duration) {
    stepper.do_step(std::ref(rates));
    ++opinion.steps;
    while (opinion.travel.size() < samples) {
      const double next = static_cast<double>(opinion.travel.size()) / task.sample_rate;
      if (next > stepper.current_time()) break;
      stepper.calc_state(next, y);
      note_sample(opinion, task, method, y.data());
    }
    if (method.peaks && stepper.current_time() <= duration) {
      const double t = stepper.current_time();
      const State<double> state = full<N>(stepper.current_state().data());
      note_peaks(opinion, look_free(task, state, t).forces);
    }
  }
  return opinion;
}

// ---- GSL

inline SecondOpinion ride_gsl(const Task& task, const Method& method) {
  SecondOpinion opinion;
  struct Call {
    const Task& task;
    SecondOpinion& opinion;
  } call{task, opinion};
  const auto rates = [](double t, const double* y, double* dydt, void* given) -> int {
    Call& to = *static_cast<Call*>(given);
    ++to.opinion.evaluations;
    return free_rates<kMotionStates>(to.task, t, y, dydt) ? GSL_SUCCESS : GSL_EBADFUNC;
  };
  gsl_odeiv2_system system{rates, nullptr, kMotionStates, &call};
  const gsl_odeiv2_step_type* type = method.library == Library::gsl_rkf45 ? gsl_odeiv2_step_rkf45
                                     : method.library == Library::gsl_rk8pd
                                         ? gsl_odeiv2_step_rk8pd
                                         : gsl_odeiv2_step_msadams;
  const std::unique_ptr<gsl_odeiv2_driver, void (*)(gsl_odeiv2_driver*)> driver(
      gsl_odeiv2_driver_alloc_scaled_new(&system, type, 1e-5, method.tolerance, 0.0, 1.0, 0.0,
                                         kUsualSize.data()),
      gsl_odeiv2_driver_free);
  gsl_odeiv2_driver_set_hmax(driver.get(), method.longest_step);

  const std::size_t samples = sample_count(task);
  opinion.travel.reserve(samples);
  if (method.sample_forces) opinion.fork_sample.reserve(samples);
  std::array<double, kMotionStates> y{};
  std::copy_n(task.start.begin(), kMotionStates, y.begin());
  note_sample(opinion, task, method, y.data());
  double t = 0.0;
  while (opinion.travel.size() < samples) {
    const double next = static_cast<double>(opinion.travel.size()) / task.sample_rate;
    const int flag = gsl_odeiv2_driver_apply(driver.get(), &t, next, y.data());
    if (flag != GSL_SUCCESS) {
      throw std::runtime_error("GSL stopped at " + std::to_string(t) + " s: " + gsl_strerror(flag));
    }
    note_sample(opinion, task, method, y.data());
    if (method.peaks) {
      note_peaks(opinion, look_free(task, full<kMotionStates>(y.data()), t).forces);
    }
  }
  opinion.steps = driver->e->count;
  return opinion;
}

}  // namespace reference

inline SecondOpinion ride_by(const Method& method, const Task& task) {
  switch (method.library) {
    case Library::cvode_bdf:
    case Library::cvode_adams:
      return reference::Cvode(task, method).ride();
    case Library::odeint:
      return method.energies ? reference::ride_odeint<kStates>(task, method)
                             : reference::ride_odeint<kMotionStates>(task, method);
    default:
      return reference::ride_gsl(task, method);
  }
}

}  // namespace plunge
