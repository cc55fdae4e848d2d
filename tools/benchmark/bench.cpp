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
#if defined(__x86_64__)
#include <immintrin.h>
#endif

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <ctime>
#include <fstream>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <thread>
#include <vector>

#include "sim/lanes/lanes.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/ride/run.hpp"
#include "tests/outside/reference.hpp"
#include "tests/random_plan.hpp"
#include "tests/support.hpp"

namespace plunge {
namespace {

// Errors of travel that are asked for [m]: a ride's own, and what a sweep is held to.
constexpr double kErrors[] = {0.01e-3, 0.05e-3};
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
  return {one.prepared.rider, one.prepared.ground, one.prepared.line, one.prepared.start,
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
  ride(one.prepared.rider, one.prepared.ground, one.prepared.line, one.prepared.start, tolerance,
       watch, count);
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

// Time at which a method's error is `enough`: between the rows on either side, straight in
// logarithms. A method whose loosest row is good enough needs that row's time.
std::optional<double> time_for(const std::vector<Row>& rows, double enough) {
  if (rows.front().error <= enough) return rows.front().milliseconds;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (!(rows[i].error <= enough)) continue;
    const Row& a = rows[i - 1];
    const Row& b = rows[i];
    const double part = std::log(a.error / enough) / std::log(a.error / b.error);
    return a.milliseconds * std::pow(b.milliseconds / a.milliseconds, part);
  }
  return std::nullopt;
}

// All set-ups side by side in the lanes, kLaneCopies times over so that the lanes stay full.
constexpr std::size_t kLaneCopies = 8;

using RideLanes = void (*)(std::span<const LaneRide>, const LaneWish&, std::span<LaneOutcome>);

struct LaneCases {
  std::vector<WheelPiece> path;  // one ground under all of them, as in a sweep
  std::vector<LaneRide> rides;

  explicit LaneCases(const std::vector<Case>& cases)
      : path(lane_pieces(cases.front().prepared.ground.path)) {
    for (std::size_t copy = 0; copy < kLaneCopies; ++copy) {
      for (std::size_t i = 0; i < cases.size(); ++i) {
        const Prepared& prepared = cases[i].prepared;
        rides.push_back({&prepared.rider, &prepared.line, &prepared.start, &path,
                         &cases.front().prepared.ground.grade, nullptr, nullptr});
      }
    }
  }
};

Row measure_lanes(const std::vector<Case>& cases, const LaneCases& lanes, RideLanes ride,
                  double tolerance) {
  LaneWish wish;
  wish.tolerance = tolerance;
  wish.sample_rate = cases.front().sample_rate;
  wish.channels[kLaneTravel] = wish.channels[kLaneForkForce] = true;
  Row row;
  row.tolerance = tolerance;
  row.setups = cases.size();
  std::vector<LaneOutcome> outcomes(lanes.rides.size());
  std::vector<double> times;
  for (int repeat = 0; repeat < 7; ++repeat) {
    const std::clock_t begin = std::clock();
    ride(lanes.rides, wish, outcomes);
    times.push_back(1e3 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC);
  }
  row.milliseconds = median(times) / static_cast<double>(lanes.rides.size());
  const double share = 1.0 / static_cast<double>(cases.size());
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const std::vector<float>& travel = outcomes[i].samples[kLaneTravel];
    const double error = largest_difference(travel, cases[i].travel);
    if (!(error <= row.error)) row.error = error;
    row.steps += share * static_cast<double>(outcomes[i].steps);
    row.evaluations += share * 4.0 * static_cast<double>(outcomes[i].tries);
  }
  return row;
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

// A number that counts what is done with it.
struct Counting {
  double value = 0.0;
  Counting() = default;
  Counting(double v) : value(v) {}  // NOLINT: a plain number is a constant
  static inline std::uint64_t plain = 0;
  static inline std::uint64_t divisions = 0;
  static inline std::uint64_t exponentials = 0;
  static Counting did(double v) {
    ++plain;
    return v;
  }
  Counting& operator+=(Counting b) { return *this = *this + b; }
  Counting& operator-=(Counting b) { return *this = *this - b; }
  friend Counting operator-(Counting a) { return did(-a.value); }
  friend Counting operator+(Counting a, Counting b) { return did(a.value + b.value); }
  friend Counting operator-(Counting a, Counting b) { return did(a.value - b.value); }
  friend Counting operator*(Counting a, Counting b) { return did(a.value * b.value); }
  friend Counting operator/(Counting a, Counting b) {
    ++divisions;
    return a.value / b.value;
  }
  friend bool operator<(Counting a, Counting b) { return did(0.0).value + a.value < b.value; }
  friend bool operator>(Counting a, Counting b) { return b < a; }
  friend Counting sqrt(Counting a) {
    ++divisions;
    return std::sqrt(a.value);
  }
  friend Counting exp(Counting a) {
    ++exponentials;
    return std::exp(a.value);
  }
  friend Counting abs(Counting a) { return did(std::abs(a.value)); }
  friend Counting max(Counting a, Counting b) { return did(std::max(a.value, b.value)); }
  friend Counting select(bool mask, Counting a, Counting b) {
    return did(mask ? a.value : b.value);
  }
};

// Floating-point operations of one evaluation of all forces and rates, as the lanes make it: a
// division or a root counts as one, an exponential as the 20 that its polynomial takes.
double operations_of_a_look() {
  QuarterRider<Counting> rider;
  for (Counting* number : {&rider.sprung_mass, &rider.unsprung_mass, &rider.travel,
                           &rider.tyre.stiffness, &rider.damper.compression.knee,
                           &rider.damper.rebound.knee, &rider.bike.sine, &rider.bike.cosine}) {
    *number = 1.0;
  }
  rider.body_mass = 1.0;
  for (GasChamber<Counting>* chamber : {&rider.air.main, &rider.air.negative}) {
    *chamber = {1.0, 0.1, 1.0, 1.0};
  }
  rider.friction = {1.0, 0.1, 1.0, 1.0, 1.2, 1.0, 1.0, 1.0, 0.0};
  State<Counting> y{};
  y[kTravelSpeed] = 0.1;
  y[kMainMass] = 0.5;
  rider.gas_mass = 1.0;
  y[kMainTemperature] = y[kNegativeTemperature] = 1.0;
  Modes<Counting> mode{};
  mode[kTyreTouches] = mode[kCompresses] = mode[kPastPortTop] = mode[kPastPort] = true;
  StrokeStart<Counting> stroke;
  stroke.coulomb = stroke.slip_level = 1.0;
  Counting::plain = Counting::divisions = Counting::exponentials = 0;
  // The course is worked out for every second evaluation.
  const Course<Counting> line = rider.course({});
  Counting::plain /= 2;
  Counting::divisions /= 2;
  const GroundContact<Counting> contact = rider.ground_contact(y, line, {});
  const Forces<Counting> f =
      rider.forces_with(y, line, contact, mode, {Counting(0.0), 1},
                        [&](Counting way, Counting coulomb, Counting slip_level) {
                          return rider.friction.slid_evenly(stroke, Counting(0.1), y[kTravelSpeed],
                                                            way, coulomb, slip_level);
                        });
  const std::uint64_t before = Counting::plain;
  State<Counting> rate = rider.rates(y, line, {}, mode, f);
  // The thirteen integrals of the energy audit are left out by the lanes: half of the rates.
  const std::uint64_t in_rates = (Counting::plain - before) / 2;
  static_cast<void>(rate);
  return static_cast<double>(before + in_rates + Counting::divisions + 20 * Counting::exponentials);
}

#if defined(__x86_64__)
// Most fused multiply-adds that a core does, counted as two operations each [1/s].
__attribute__((target("avx512f"))) double peak_avx512() {
  __m512 sums[12];
  for (__m512& sum : sums) sum = _mm512_set1_ps(1.0F);
  const __m512 factor = _mm512_set1_ps(0.999F);
  const __m512 addend = _mm512_set1_ps(0.001F);
  constexpr int kTurns = 20'000'000;
  const std::clock_t begin = std::clock();
  for (int turn = 0; turn < kTurns; ++turn) {
    for (__m512& sum : sums) sum = _mm512_fmadd_ps(sum, factor, addend);
  }
  const double time = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
  __m512 total = sums[0];
  for (const __m512& sum : sums) total = _mm512_add_ps(total, sum);
  volatile float kept = _mm512_cvtss_f32(total);
  static_cast<void>(kept);
  return kTurns * 12.0 * 16.0 * 2.0 / time;
}
#endif

void bench_peak(const std::vector<Row>& rows) {
#if defined(__x86_64__)
  if (!runs_here(InstructionSet::avx512)) return;
  const double peak = peak_avx512();
  const double look = operations_of_a_look();
  const Row& row = *std::ranges::find(rows, 1e-4, &Row::tolerance);
  const double rate = look * row.evaluations / row.milliseconds * 1e3;
  fmt::print(
      "\nArithmetic: {:.0f} operations a look (counted), {:.1f} thousand million a second "
      "in the lanes, of {:.0f} that the core\nreaches in fused multiply-adds: {:.0f} %. "
      "The rest goes to divisions (a tenth of the rate), chains that wait,\nchoices "
      "between branches, peaks, events and samples.\n",
      look, rate / 1e9, peak / 1e9, 100.0 * rate / peak);
#else
  static_cast<void>(rows);
#endif
}

// Rides of the sweep's own making: prepared, ridden two or three times, compared, redone where
// in doubt.
void bench_sweep() {
  Keep keep;
  keep.metrics = usual_metrics();
  std::vector<PlannedRide> planned;
  for (std::uint64_t number = 0; number < 512; ++number) {
    planned.push_back({planned_setup(number), number % 8, ""});
    planned.back().setup.terrain = planned[number % 8].setup.terrain;
    planned.back().setup.bike = planned[number % 8].setup.bike;
    planned.back().setup.events = planned[number % 8].setup.events;
    planned.back().setup.ride = planned[number % 8].setup.ride;
  }
  const auto rides_a_second = [&](std::size_t threads) {
    std::vector<std::thread> team;
    std::atomic<std::size_t> redone{0};
    const auto begin = std::chrono::steady_clock::now();
    constexpr std::size_t kRounds = 4;
    for (std::size_t t = 0; t < threads; ++t) {
      team.emplace_back([&] {
        ManyRides rides(keep, best_instruction_set());
        for (std::size_t round = 0; round < kRounds; ++round) {
          for (const RideRow& row : rides.ride(planned)) {
            if (row.origin == Origin::adaptive) ++redone;
          }
        }
      });
    }
    for (std::thread& member : team) member.join();
    const std::chrono::duration<double> time = std::chrono::steady_clock::now() - begin;
    const auto rides = static_cast<double>(threads * kRounds * planned.size());
    return std::pair{rides / time.count(), static_cast<double>(redone) / rides};
  };
  // In turns, so that what else the machine does falls on both.
  const bool can_double = std::thread::hardware_concurrency() > 1;
  std::vector<double> one;
  std::vector<double> two;
  double share = 0.0;
  for (int turn = 0; turn < 5; ++turn) {
    const auto [rate, part] = rides_a_second(1);
    one.push_back(rate);
    share = part;
    if (can_double) two.push_back(rides_a_second(2).first);
  }
  fmt::print(
      "\nRides of random plans over shipped scenes, as a sweep does them (prepared, ridden "
      "twice, compared;\n{:.1f} % redone by the adaptive path): {:.0f} a second on one core",
      100.0 * share, median(one));
  if (can_double) {
    fmt::print(", {:.0f} on two: {:.2f} times", median(two), median(two) / median(one));
  }
  fmt::print("\n");
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
    std::vector<Row> rows;
  };
  std::vector<Verdict> verdicts;
  const auto print = [](const std::string& name, const Row& row) {
    fmt::print("{:22} {:9.0e} {:7} {:10.6f} {:9.3f} {:7.0f} {:8.0f} {:8.0f} {:9.0f}\n", name,
               row.tolerance, row.setups, row.error * 1e3, row.milliseconds, row.steps,
               row.evaluations, row.evaluations / row.milliseconds,
               row.milliseconds * 1e6 / row.evaluations);
  };
  const LaneCases lanes(cases);
  std::vector<Row> best;
  for (const auto& [set, ride] :
       {std::pair<InstructionSet, RideLanes>{InstructionSet::portable, ride_lanes_portable},
        std::pair<InstructionSet, RideLanes>{InstructionSet::avx2, ride_lanes_avx2},
        std::pair<InstructionSet, RideLanes>{InstructionSet::avx512, ride_lanes_avx512}}) {
    if (!runs_here(set)) continue;
    const std::string name = fmt::format("lanes, {}", to_string(set));
    best.clear();
    for (const double tolerance : {3e-3, 1e-3, 3e-4, 1e-4, 1e-5, 1e-6}) {
      best.push_back(measure_lanes(cases, lanes, ride, tolerance));
      print(name, best.back());
    }
    verdicts.push_back({name, kSetups, best});
  }
  for (const Contestant& contestant : contestants()) {
    std::vector<Row> rows;
    for (const double tolerance : contestant.tolerances) {
      rows.push_back(
          measure(cases, contestant.setups, contestant.repeats, tolerance, contestant.go));
      print(contestant.name, rows.back());
    }
    verdicts.push_back({contestant.name, contestant.setups, rows});
  }
  const auto plunge = std::ranges::find(verdicts, "plunge", &Verdict::name);
  for (const double enough : kErrors) {
    const std::optional<double> own = time_for(plunge->rows, enough);
    const std::optional<double> lane = time_for(best, enough);
    fmt::print("\nAt an error of {:.2f} mm:\n", enough * 1e3);
    for (const Verdict& verdict : verdicts) {
      const std::optional<double> time = time_for(verdict.rows, enough);
      if (time && own && lane) {
        fmt::print(
            "{:22} {:9.3f} ms a ride, {:7.2f} times plunge, {:7.1f} times the lanes ({} "
            "set-ups)\n",
            verdict.name, *time, *time / *own, *time / *lane, verdict.setups);
      } else {
        fmt::print("{:22} does not get there\n", verdict.name);
      }
    }
  }
  bench_peak(best);
  bench_sweep();
}

}  // namespace
}  // namespace plunge

int main() {
  plunge::run_bench();
  return 0;
}
