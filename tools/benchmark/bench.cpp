// What a ride costs, in plunge's integrator and in integrators made for any equation.
//
// One rough ride of 10 s (ISO 8608 and a drop: lift-offs and bottom-outs) in several set-ups of
// spacers, pressure, rider and damper. Every method integrates the same equations from the same
// start and gives the travel and the forces at the same samples; errors are the largest difference
// in travel over all set-ups from CVODE with located switches at 1e-11. A time is processor time:
// the median over repeats of one set-up, then the mean over set-ups. Slow methods ride fewer
// set-ups; the table says how many. Evaluations are those of all forces, at samples too. plunge
// integrates its energy audit as well; the others, unless they say so, only what moves.
// Prints to stdout: machine, table, what each method needs for 0.01 mm.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <fstream>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sim/run.hpp"
#include "tests/outside/reference.hpp"

namespace plunge {
namespace {

constexpr double kEnough = 0.01e-3;  // error that is asked for [m]
constexpr std::size_t kSetups = 16;
constexpr std::size_t kFewSetups = 4;  // for methods that take long

struct Case {
  Prepared prepared;
  double sample_rate = 0.0;
  std::vector<double> travel;  // of the reference
};

std::vector<Case> make_cases() {
  std::vector<Case> cases;
  for (std::size_t i = 0; i < kSetups; ++i) {
    // Spread so that the first few span all of it too.
    const std::size_t spread = i * 5 % kSetups;
    const auto part = [&](std::size_t step) {
      return static_cast<double>(spread / step % 4) / 3.0;  // 0, 1/3, 2/3 or 1
    };
    Setup setup = worked_design_point();
    setup.rider.sprung_mass = kUnset;
    setup.rider.body_mass = kUnset;
    setup.rider.mass = 60.0 + 35.0 * part(1);
    setup.fork.spacers = std::round(3.0 * part(4));
    setup.fork.pressure = (55.0 + 12.0 * part(1) - 2.0 * part(4)) * kPsi;
    setup.fork.compression.low_speed = 200.0 + 300.0 * part(2);
    setup.fork.rebound.low_speed = 500.0 + 400.0 * part(2);
    setup.ride.speed = 7.0;
    setup.ride.duration = 10.0;
    Feature level;
    level.length = 3.0;
    Feature rough;
    rough.kind = FeatureKind::rough;
    rough.length = 32.0;
    rough.roughness = 1024e-6;
    rough.seed = 7.0;
    rough.longest = 12.0;
    Feature drop;
    drop.kind = FeatureKind::drop;
    drop.height = 0.9;
    setup.terrain = {level, rough, drop, level, rough};
    setup.terrain.back().seed = 8.0;
    for (Feature& feature : setup.terrain) fill_defaults(feature);
    fill_defaults(setup);
    cases.push_back({prepare(setup), setup.ride.sample_rate, {}});
  }
  return cases;
}

Task task_of(const Case& one) {
  return {one.prepared.rider, one.prepared.ground.path, one.prepared.line, one.prepared.start,
          one.sample_rate};
}

struct Trial {
  std::vector<double> travel;
  std::uint64_t steps = 0;
  std::uint64_t evaluations = 0;
};

Trial ride_plunge(const Case& one, double tolerance) {
  Trial trial;
  trial.travel.reserve(one.travel.size());
  Watch watch;
  watch.sample_rate = one.sample_rate;
  std::vector<double> fork;
  fork.reserve(one.travel.size());
  watch.on_sample = [&](const Instant& i) {
    trial.travel.push_back(i.state[kTravel]);
    fork.push_back(i.forces.fork);
  };
  SolverCount count;
  ride(one.prepared.rider, one.prepared.ground.path, one.prepared.line, one.prepared.start,
       tolerance, watch, count);
  trial.steps = count.steps;
  trial.evaluations = count.evaluations;
  return trial;
}

Trial ride_other(const Case& one, const Method& method) {
  SecondOpinion opinion = ride_by(method, task_of(one));
  return {std::move(opinion.travel), opinion.steps, opinion.evaluations};
}

// One method at one tolerance over its set-ups.
struct Row {
  double tolerance = 0.0;
  std::size_t setups = 0;
  double error = 0.0;         // [m]
  double milliseconds = 0.0;  // of one ride
  double steps = 0.0;         // per ride
  double evaluations = 0.0;
};

double largest_difference(const std::vector<double>& a, const std::vector<double>& b) {
  double largest = 0.0;
  for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i) {
    largest = std::max(largest, std::abs(a[i] - b[i]));
  }
  return a.size() == b.size() ? largest : kUnset;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

Row measure(const std::vector<Case>& cases, std::size_t setups, std::size_t repeats,
            double tolerance, const std::function<Trial(const Case&, double)>& go) {
  Row row;
  row.tolerance = tolerance;
  row.setups = setups;
  const double share = 1.0 / static_cast<double>(setups);
  for (std::size_t i = 0; i < setups; ++i) {
    std::vector<double> times;
    for (std::size_t repeat = 0; repeat < repeats; ++repeat) {
      const std::clock_t begin = std::clock();
      const Trial trial = go(cases[i], tolerance);
      times.push_back(1e3 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC);
      if (repeat > 0) continue;
      const double error = largest_difference(trial.travel, cases[i].travel);
      if (!(error <= row.error)) row.error = error;
      row.steps += share * static_cast<double>(trial.steps);
      row.evaluations += share * static_cast<double>(trial.evaluations);
    }
    row.milliseconds += share * median(times);
  }
  return row;
}

// Time at which a method's error is kEnough: between the rows on either side, straight in
// logarithms. A method whose loosest row is good enough needs that row's time.
std::optional<double> time_for_enough(const std::vector<Row>& rows) {
  if (rows.front().error <= kEnough) return rows.front().milliseconds;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (!(rows[i].error <= kEnough)) continue;
    const Row& a = rows[i - 1];
    const Row& b = rows[i];
    const double part = std::log(a.error / kEnough) / std::log(a.error / b.error);
    return a.milliseconds * std::pow(b.milliseconds / a.milliseconds, part);
  }
  return std::nullopt;
}

struct Contestant {
  std::string name;
  std::size_t setups = kSetups;
  std::size_t repeats = 5;
  std::vector<double> tolerances;  // falling
  std::function<Trial(const Case&, double)> go;
};

Contestant other(const std::string& name, Library library, bool events, bool energies,
                 std::size_t setups, std::vector<double> tolerances) {
  return {
      name, setups, 3, std::move(tolerances), [=](const Case& one, double tolerance) {
        return ride_other(
            one,
            {.library = library, .tolerance = tolerance, .events = events, .energies = energies});
      }};
}

std::vector<Contestant> contestants() {
  return {
      {"plunge", kSetups, 5, {1e-4, 3e-5, 1e-5, 1e-6, 1e-7}, ride_plunge},
      other("Odeint dopri5", Library::odeint, false, false, kSetups,
            {1e-3, 1e-4, 1e-5, 1e-6, 1e-7}),
      other("Odeint, with energies", Library::odeint, false, true, kSetups,
            {1e-3, 1e-4, 1e-5, 1e-6}),
      other("CVODE Adams", Library::cvode_adams, false, false, kFewSetups,
            {1e-3, 1e-4, 1e-5, 1e-6, 1e-7}),
      other("CVODE BDF", Library::cvode_bdf, false, false, kFewSetups,
            {1e-3, 1e-4, 1e-5, 1e-6, 1e-7}),
      other("CVODE Adams, roots", Library::cvode_adams, true, false, kFewSetups,
            {1e-3, 1e-4, 1e-5, 1e-6, 1e-7}),
      other("CVODE BDF, roots", Library::cvode_bdf, true, false, kFewSetups,
            {1e-3, 1e-4, 1e-5, 1e-6, 1e-7}),
      other("GSL rkf45", Library::gsl_rkf45, false, false, kFewSetups, {1e-4, 1e-5, 1e-6}),
      other("GSL rk8pd", Library::gsl_rk8pd, false, false, kFewSetups, {1e-4, 1e-5, 1e-6}),
      other("GSL msadams", Library::gsl_msadams, false, false, kFewSetups, {1e-4, 1e-5, 1e-6}),
  };
}

std::string processor() {
  std::ifstream file("/proc/cpuinfo");
  for (std::string line; std::getline(file, line);) {
    if (line.starts_with("model name")) return line.substr(line.find(':') + 2);
  }
  return "unknown";
}

std::string compiler() {
#ifdef __clang__
  return __VERSION__;  // says that it is clang
#else
  return std::string("gcc ") + __VERSION__;
#endif
}

// What the rides hold, so that the comparison is not of idle ones.
void print_rides(const std::vector<Case>& cases, const std::vector<SecondOpinion>& opinions) {
  int lift_offs = 0;
  int bumper_contacts = 0;
  int metal_contacts = 0;
  for (const SecondOpinion& opinion : opinions) {
    lift_offs += opinion.lift_offs;
    bumper_contacts += opinion.bumper_contacts;
    metal_contacts += opinion.metal_contacts;
  }
  fmt::print(
      "{} set-ups of one rough ride of {:.0f} s, sampled at {:.0f} Hz; together {} lift-offs, "
      "{} bumper and {} metal contacts.\n",
      cases.size(), cases.front().prepared.line.duration(), cases.front().sample_rate, lift_offs,
      bumper_contacts, metal_contacts);
}

void run_bench() {
  std::vector<Case> cases = make_cases();
  std::vector<SecondOpinion> opinions;
  for (Case& one : cases) {
    opinions.push_back(ride_by(
        {.library = Library::cvode_adams, .tolerance = 1e-11, .events = true, .longest_step = 1e-3},
        task_of(one)));
    one.travel = opinions.back().travel;
  }

  fmt::print("{}, one thread; compiler {}\n", processor(), compiler());
  print_rides(cases, opinions);
  fmt::print("\n{:22} {:>9} {:>7} {:>10} {:>9} {:>7} {:>8} {:>8} {:>9}\n", "method", "tolerance",
             "set-ups", "error mm", "ms a ride", "steps", "evals", "evals/ms", "ns/eval");

  struct Verdict {
    std::string name;
    std::size_t setups;
    std::optional<double> enough;
    double plunge;  // on the same set-ups
  };
  std::vector<Verdict> verdicts;
  const std::vector<Contestant> all = contestants();
  std::vector<Row> few_of_plunge;
  for (const double tolerance : all.front().tolerances) {
    few_of_plunge.push_back(measure(cases, kFewSetups, 5, tolerance, ride_plunge));
  }
  std::optional<double> plunge_all;
  for (const Contestant& contestant : all) {
    std::vector<Row> rows;
    for (const double tolerance : contestant.tolerances) {
      rows.push_back(
          measure(cases, contestant.setups, contestant.repeats, tolerance, contestant.go));
      const Row& row = rows.back();
      fmt::print("{:22} {:9.0e} {:7} {:10.6f} {:9.3f} {:7.0f} {:8.0f} {:8.0f} {:9.0f}\n",
                 contestant.name, row.tolerance, row.setups, row.error * 1e3, row.milliseconds,
                 row.steps, row.evaluations, row.evaluations / row.milliseconds,
                 row.milliseconds * 1e6 / row.evaluations);
    }
    const std::optional<double> enough = time_for_enough(rows);
    if (!plunge_all) plunge_all = enough;
    const std::optional<double> plunge =
        contestant.setups == kFewSetups ? time_for_enough(few_of_plunge) : plunge_all;
    verdicts.push_back({contestant.name, contestant.setups, enough, plunge.value_or(kUnset)});
  }

  fmt::print("\nAt an error of {:.2f} mm:\n", kEnough * 1e3);
  for (const Verdict& verdict : verdicts) {
    if (verdict.enough) {
      fmt::print("{:22} {:9.3f} ms a ride, {:6.2f} times plunge ({} set-ups)\n", verdict.name,
                 *verdict.enough, *verdict.enough / verdict.plunge, verdict.setups);
    } else {
      fmt::print("{:22} does not get there\n", verdict.name);
    }
  }
}

}  // namespace
}  // namespace plunge

int main() {
  plunge::run_bench();
  return 0;
}
