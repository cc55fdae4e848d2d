#include "sim/fit/fork_fit.hpp"

#include <fmt/core.h>

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <functional>
#include <span>
#include <utility>

#include "models/laws/constants.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/statics.hpp"
#include "sim/fit/least_squares.hpp"

namespace plunge {
namespace {

using Vector = Eigen::VectorXd;
using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

constexpr int kRounds = 3;            // searches, each with the spreads of the one before
constexpr double kSettled = 1e-9;     // change of chi-square over itself
constexpr double kSameSpread = 1e-3;  // change of a spread over itself that moves nothing
constexpr double kStep = 0.02;        // of the differences, in spreads
constexpr double kTie = 0.9;          // a pull of this share of the largest is as suspect

// Chance that chi-square with that many degrees of freedom is larger.
double chance_above(double chi_square, double freedom) {
  return boost::math::gamma_q(0.5 * freedom, 0.5 * chi_square);
}

// The unknowns and how a fork follows from them.
class Unknowns {
 public:
  Unknowns(Setup setup, const Knowledge& knowledge, double gauge)
      : setup_(std::move(setup)), gauge_(gauge) {
    places_ = knowledge.uncertain();
    const std::size_t n = places_.size();
    std::vector<double> covariance(n * n);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) {
        covariance[i * n + j] = knowledge.covariance(places_[i], places_[j]);
      }
      parameters_.push_back(find_parameter(knowledge.numbers()[places_[i]].name));
      medians_.push_back(parameters_.back()->get(setup_));
    }
    const std::vector<double> lower = lower_factor(covariance, n);
    if (lower.size() != n * n) {
      throw RunError("the spreads of the fork's numbers contradict each other");
    }
    factor_ = Matrix::Zero(static_cast<Eigen::Index>(size()), static_cast<Eigen::Index>(size()));
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) factor_(index(i), index(j)) = lower[i * n + j];
    }
    factor_(index(n), index(n)) = gauge_;
  }

  std::size_t numbers() const { return places_.size(); }
  std::size_t size() const { return numbers() + 1; }
  const Matrix& factor() const { return factor_; }
  const Parameter& parameter(std::size_t i) const { return *parameters_[i]; }
  std::size_t place(std::size_t i) const { return places_[i]; }
  double median(std::size_t i) const { return medians_[i]; }

  Setup fork(const Vector& u) const {
    const Vector logs = factor_ * u;
    Setup setup = setup_;
    for (std::size_t i = 0; i < numbers(); ++i) {
      parameters_[i]->set(setup, medians_[i] * std::exp(logs(index(i))));
    }
    return setup;
  }
  double gain(const Vector& u) const { return std::exp((factor_ * u)(index(numbers()))); }

  static Eigen::Index index(std::size_t i) { return static_cast<Eigen::Index>(i); }

 private:
  Setup setup_;
  double gauge_;
  std::vector<std::size_t> places_;
  std::vector<const Parameter*> parameters_;
  std::vector<double> medians_;
  Matrix factor_;
};

Vector vector_of(std::span<const double> x) {
  return Eigen::Map<const Vector>(x.data(), static_cast<Eigen::Index>(x.size()));
}

// Slow force of the spring at full travel, filled to a pressure on the gauge.
double full_force(Setup setup, double gain, double pressure, double spacers) {
  setup.fork.spacers = spacers;
  setup.fork.pressure = pressure * gain;
  const Rider rider = assemble(setup, Damper<double>{});
  if (!(rider.air.main.volume_at(rider.travel) > 0.0)) return kUnset;
  return slow_spring_force(rider, rider.travel);
}

// What the gauge must show for a sag.
double pressure_for(Setup setup, double gain, double share) {
  setup.fork.pressure_limit = find_parameter("fork.pressure_limit")->high;
  try {
    hold_sag(setup, share);
  } catch (const InputError&) {
    return kUnset;
  }
  return setup.fork.pressure / gain;
}

std::string counted_spacers(double spacers) {
  return counted(static_cast<std::size_t>(spacers), "spacer");
}

// A number that is asked about, at the unknowns u.
struct Question {
  Prediction prediction;
  std::function<double(const Vector&)> value;
};

std::vector<Question> questions_of(const Unknowns& unknowns, const Setup& setup,
                                   const FitWishes& wishes) {
  const double pressure = std::isnan(wishes.pressure) ? setup.fork.pressure : wishes.pressure;
  const double spaced =
      std::isnan(wishes.spacers) ? std::min(4.0, setup.fork.spacer_limit) : wishes.spacers;
  std::vector<Question> questions;
  for (const double spacers : {0.0, spaced}) {
    Question question;
    question.prediction.name = fmt::format("force_full_{:.0f}", spacers);
    question.prediction.label =
        fmt::format("force at full travel, {}, {}", counted_spacers(spacers),
                    say(std::round(in_common_unit(pressure, "psi") * 10.0) / 10.0 *
                            find_common_unit("psi")->to_si(1.0),
                        "psi"));
    question.prediction.unit = question.prediction.said = "N";
    question.value = [&unknowns, pressure, spacers](const Vector& u) {
      return full_force(unknowns.fork(u), unknowns.gain(u), pressure, spacers);
    };
    questions.push_back(std::move(question));
  }
  Question sag;
  sag.prediction.name = "pressure";
  sag.prediction.label = fmt::format("pressure for {:.3g} % sag, {}", 100.0 * wishes.sag,
                                     counted_spacers(setup.fork.spacers));
  sag.prediction.unit = "Pa";
  sag.prediction.said = "psi";
  sag.value = [&unknowns, share = wishes.sag](const Vector& u) {
    return pressure_for(unknowns.fork(u), unknowns.gain(u), share);
  };
  questions.push_back(std::move(sag));
  return questions;
}

// d ln q/du; NaN where q does not exist.
Vector slope_of(const std::function<double(const Vector&)>& value, const Vector& u) {
  Vector slope(u.size());
  for (Eigen::Index k = 0; k < u.size(); ++k) {
    Vector less = u;
    Vector more = u;
    less(k) -= kStep;
    more(k) += kStep;
    slope(k) = std::log(value(more) / value(less)) / (2.0 * kStep);
  }
  return slope;
}

double spread_along(const Matrix& covariance, const Vector& slope) {
  return std::sqrt(slope.dot(covariance * slope));
}

double largest_change(const std::vector<double>& before, const std::vector<double>& after) {
  double largest = 0.0;
  for (std::size_t i = 0; i < before.size(); ++i) {
    largest = std::max(largest, std::abs(after[i] / before[i] - 1.0));
  }
  return largest;
}

// The search: residuals of the readings, then u itself.
class Search {
 public:
  Search(const Unknowns& unknowns, const Instruments& instruments,
         const std::vector<BenchReading>& readings, const std::function<void(std::size_t)>& on_ride)
      : unknowns_(unknowns), readings_(readings), instruments_(instruments), on_ride_(on_ride) {
    u_ = Vector::Zero(static_cast<Eigen::Index>(unknowns.size()));
    weigh();
    for (std::size_t i = 0; i < readings.size(); ++i) demand_readable(i);
  }

  void run() {
    for (int round = 0; round < kRounds; ++round) {
      const std::vector<double> before = spreads_;
      if (round > 0) weigh();
      if (round > 0 && largest_change(before, spreads_) < kSameSpread) return;
      LeastSquares problem;
      problem.residuals = readings_.size() + unknowns_.size();
      problem.start.assign(u_.data(), u_.data() + u_.size());
      problem.step.assign(unknowns_.size(), kStep);
      problem.tolerance = kSettled;
      problem.evaluate = [this](std::span<const double> x, std::span<double> residuals) {
        return evaluate(vector_of(x), residuals);
      };
      solved_ = solve(problem);
      u_ = vector_of(solved_.x);
    }
  }

  const Vector& u() const { return u_; }
  const Solved& solved() const { return solved_; }
  const std::vector<double>& spreads() const { return spreads_; }
  Matrix covariance() const {
    return Eigen::Map<const Matrix>(solved_.covariance.data(), u_.size(), u_.size());
  }
  Vector slope(std::size_t reading) const {
    return vector_of(
        std::span(solved_.jacobian).subspan(reading * unknowns_.size(), unknowns_.size()));
  }

 private:
  void weigh() {
    spreads_.clear();
    const Setup fork = unknowns_.fork(u_);
    for (const BenchReading& reading : readings_) {
      spreads_.push_back(whole_spread(fork, unknowns_.gain(u_), instruments_, reading));
    }
  }

  void demand_readable(std::size_t i) const {
    if (std::isfinite(predicted(unknowns_.fork(u_), unknowns_.gain(u_), readings_[i]))) return;
    const Reading& reading = readings_[i].reading;
    throw InputError(
        Fault{reading.label, "",
              "cannot be read off this fork: it has no room for air there, nothing moves it, "
              "or its ride fails",
              reading.place});
  }

  bool evaluate(const Vector& u, std::span<double> residuals) {
    const Setup fork = unknowns_.fork(u);
    const double gain = unknowns_.gain(u);
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      const double value = predicted(fork, gain, readings_[i]);
      if (readings_[i].reading.kind == ReadingKind::ring && on_ride_) on_ride_(++ridden_);
      residuals[i] = (value - readings_[i].reading.reads) / spreads_[i];
      if (!std::isfinite(residuals[i])) return false;
    }
    for (std::size_t k = 0; k < unknowns_.size(); ++k) {
      residuals[readings_.size() + k] = u(Unknowns::index(k));
    }
    return true;
  }

  const Unknowns& unknowns_;
  const std::vector<BenchReading>& readings_;
  const Instruments& instruments_;
  const std::function<void(std::size_t)>& on_ride_;
  std::size_t ridden_ = 0;
  Vector u_;
  std::vector<double> spreads_;
  Solved solved_;
};

// The readings and guesses that agree least with the rest.
std::optional<Alarm> alarm_of(const ForkFit& fit, const Unknowns& unknowns, const Vector& u,
                              const Matrix& covariance, const std::vector<BenchReading>& readings) {
  struct Pull {
    std::string whose;
    double pull;
  };
  std::vector<Pull> pulls;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    pulls.push_back({readings[i].reading.label, fit.readings[i].pull});
  }
  for (std::size_t k = 0; k < unknowns.size(); ++k) {
    const Eigen::Index at = Unknowns::index(k);
    const double freedom = 1.0 - covariance(at, at);
    const std::string name = k < unknowns.numbers()
                                 ? "what was known of " + std::string(unknowns.parameter(k).name)
                                 : "the gauge";
    // A guess that no reading speaks of cannot be wrong.
    if (freedom > 0.05) pulls.push_back({name, u(at) / std::sqrt(freedom)});
  }
  if (pulls.empty() || readings.empty()) return std::nullopt;
  std::ranges::stable_sort(pulls, std::greater<>(), [](const Pull& p) { return std::abs(p.pull); });
  const double largest = pulls.front().pull;
  const double of_largest =
      std::min(1.0, static_cast<double>(pulls.size()) * chance_above(largest * largest, 1.0));
  const double chance = std::min(of_largest, fit.chance);
  if (chance >= kRare) return std::nullopt;
  Alarm alarm{pulls.front().whose, largest, chance};
  for (std::size_t i = 1; i < pulls.size() && i < 3; ++i) {
    if (std::abs(pulls[i].pull) < kTie * std::abs(largest)) break;
    alarm.culprit += ", or " + pulls[i].whose;
  }
  return alarm;
}

// What a workshop might read next.
std::vector<BenchReading> menu(const Setup& setup, double spaced) {
  const auto psi = [](double value) { return find_common_unit("psi")->to_si(value); };
  const double whole = setup.fork.travel;
  std::vector<BenchReading> list;
  const auto add = [&](ReadingKind kind, double spread, const std::string& words,
                       const std::function<void(Reading&)>& conditions) {
    Reading reading;
    reading.kind = kind;
    reading.spread = spread;
    reading.angle = kPi / 2.0;
    reading.label = words;
    conditions(reading);
    list.push_back({reading, {}});
  };
  const auto at = [](double pressure, double spacers, double travel) {
    return [=](Reading& r) {
      r.pressure = pressure;
      r.spacers = spacers;
      r.travel = travel;
    };
  };
  for (const double spacers : {0.0, spaced}) {
    const std::string with = "with " + counted_spacers(spacers);
    add(ReadingKind::pump_on, psi(1.0), "pump left on, pressed to full travel from 70 psi " + with,
        at(psi(70.0), spacers, whole));
    add(ReadingKind::push, 1.0, "pushed onto a scale to full travel at 30 psi " + with,
        [&](Reading& r) {
          at(psi(30.0), spacers, whole)(r);
          r.moving = Moving::down;
        });
    add(ReadingKind::sag, 2e-3, "sag under 38 kg at 70 psi, going down, " + with, [&](Reading& r) {
      at(psi(70.0), spacers, kUnset)(r);
      r.weight = 38.0;
      r.moving = Moving::down;
    });
  }
  add(ReadingKind::push, 1.0, "pushed onto a scale to half the travel at 30 psi without spacers",
      [&](Reading& r) {
        at(psi(30.0), 0.0, 0.5 * whole)(r);
        r.moving = Moving::down;
      });
  add(ReadingKind::push, 1.0,
      "let come back on a scale to half the travel at 30 psi without spacers", [&](Reading& r) {
        at(psi(30.0), 0.0, 0.5 * whole)(r);
        r.moving = Moving::up;
      });
  add(ReadingKind::sag, 2e-3, "sag under 25 kg at 70 psi, going down, without spacers",
      [&](Reading& r) {
        at(psi(70.0), 0.0, kUnset)(r);
        r.weight = 25.0;
        r.moving = Moving::down;
      });
  add(ReadingKind::bore, 0.1e-3, "bore by a calliper", [](Reading&) {});
  if (spaced > 0.0) {
    add(ReadingKind::spacers, 0.5e-6, counted_spacers(spaced) + " together, by water",
        [&](Reading& r) { r.count = spaced; });
  }
  add(ReadingKind::wheel, 0.05, "front wheel on a scale", [](Reading&) {});
  return list;
}

NextReading next_of(const Unknowns& unknowns, const Vector& u, const Matrix& covariance,
                    const Vector& asked, const Instruments& instruments, double spaced) {
  NextReading best;
  const Setup fork = unknowns.fork(u);
  const double variance = asked.dot(covariance * asked);
  for (const BenchReading& reading : menu(fork, spaced)) {
    const auto value = [&](const Vector& at) {
      return predicted(unknowns.fork(at), unknowns.gain(at), reading);
    };
    const double read = value(u);
    if (!(std::isfinite(read) && read > 0.0)) continue;
    const double spread = whole_spread(fork, unknowns.gain(u), instruments, reading) / read;
    const Vector slope = slope_of(value, u);
    const double shared = asked.dot(covariance * slope);
    const double left =
        variance - shared * shared / (spread * spread + slope.dot(covariance * slope));
    const double after = std::sqrt(std::max(0.0, left));
    if (std::isfinite(after) && !(after >= best.spread)) {
      best.words = reading.reading.label;
      best.spread = after;
    }
  }
  return best;
}

constexpr std::string_view kInIt = "; in it are";

bool is_of_fork(const KnownNumber& number) { return number.name.starts_with("fork."); }

// What is known of the fork after the fit. `ids`: of all readings that are then in it; they stand
// with the numbers that are fitted, now or before, or else with the first that is not known.
void remember(ForkFit& fit, const Unknowns& unknowns, const Matrix& covariance,
              const std::string& source, const std::string& ids) {
  const Matrix logs = unknowns.factor() * covariance * unknowns.factor().transpose();
  bool kept = false;
  const auto keep_ids = [&](std::size_t place) {
    const KnownNumber& number = fit.knowledge.numbers()[place];
    if (!is_of_fork(number)) return;
    const std::string words = number.source.substr(0, number.source.find(kInIt));
    fit.knowledge.set_evidence(place, number.evidence, words + ids);
    kept = true;
  };
  for (std::size_t i = 0; i < unknowns.numbers(); ++i) {
    const std::size_t place = unknowns.place(i);
    for (std::size_t j = 0; j <= i; ++j) {
      fit.knowledge.set_covariance(place, unknowns.place(j),
                                   logs(Unknowns::index(i), Unknowns::index(j)));
    }
    if (fit.numbers[i].determined) fit.knowledge.set_evidence(place, Evidence::fitted, source);
    if (fit.knowledge.numbers()[place].evidence == Evidence::fitted) keep_ids(place);
  }
  for (std::size_t i = 0; i < unknowns.numbers() && !kept; ++i) keep_ids(unknowns.place(i));
}

void account_of_numbers(ForkFit& fit, const Unknowns& unknowns, const Vector& u,
                        const Matrix& covariance) {
  const Matrix& factor = unknowns.factor();
  const Matrix before = factor * factor.transpose();
  const Matrix after = factor * covariance * factor.transpose();
  for (std::size_t i = 0; i < unknowns.size(); ++i) {
    const Eigen::Index at = Unknowns::index(i);
    FittedNumber number;
    const bool gauge = i == unknowns.numbers();
    number.name = gauge ? "gauge" : std::string(unknowns.parameter(i).name);
    number.value_before = gauge ? 1.0 : unknowns.median(i);
    number.value = number.value_before * std::exp((factor * u)(at));
    number.spread_before = std::sqrt(before(at, at));
    number.spread = std::sqrt(after(at, at));
    number.determined = number.spread <= kUndetermined * number.spread_before;
    fit.numbers.push_back(number);
  }
}

// Counted twice a reading would seem surer than it is.
void refuse_twice(const Knowledge& knowledge, const std::vector<BenchReading>& readings) {
  const std::vector<std::string> known = readings_in(knowledge);
  Faults faults;
  for (const BenchReading& bench : readings) {
    if (std::ranges::find(known, reading_id(bench.reading)) == known.end()) continue;
    faults.push_back({bench.reading.label, "",
                      "is in this fork's numbers already, and would be counted twice; one that was "
                      "read anew and came out the same has another name of its instrument",
                      bench.reading.place});
  }
  if (!faults.empty()) throw InputError(std::move(faults));
}

std::string with_ids(const Knowledge& knowledge, const std::vector<BenchReading>& readings) {
  std::vector<std::string> ids = readings_in(knowledge);
  for (const BenchReading& bench : readings) ids.push_back(reading_id(bench.reading));
  std::string text;
  for (const std::string& id : ids) text += " " + id;
  return text.empty() ? text : std::string(kInIt) + text;
}

}  // namespace

std::vector<std::string> readings_in(const Knowledge& knowledge) {
  std::vector<std::string> ids;
  for (const KnownNumber& number : knowledge.numbers()) {
    const std::size_t at = number.source.find(kInIt);
    if (at == std::string::npos) continue;
    for (std::size_t start = at + kInIt.size() + 1; start < number.source.size(); start += 9) {
      const std::string id = number.source.substr(start, 8);
      if (std::ranges::find(ids, id) == ids.end()) ids.push_back(id);
    }
  }
  return ids;
}

ForkFit fit_fork(const Setup& setup, const Knowledge& knowledge, const Instruments& instruments,
                 const std::vector<BenchReading>& readings, const FitWishes& wishes,
                 const std::string& source) {
  // A gauge that cannot be off at all is one that can by a part in a million.
  const Unknowns unknowns(setup, knowledge, std::max(instruments.gauge, 1e-6));
  refuse_twice(knowledge, readings);
  Search search(unknowns, instruments, readings, wishes.on_ride);
  search.run();
  const Vector& u = search.u();
  const Matrix covariance = search.covariance();

  ForkFit fit;
  fit.converged = search.solved().converged;
  fit.setup = unknowns.fork(u);
  fit.knowledge = knowledge;
  fit.chi_square = search.solved().sum_of_squares;
  if (!readings.empty()) {
    fit.chance = chance_above(fit.chi_square, static_cast<double>(readings.size()));
  }
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const double residual = search.solved().residuals[i];
    const double spread = search.spreads()[i];
    const Vector slope = search.slope(i);
    const double freedom = 1.0 - slope.dot(covariance * slope);
    fit.readings.push_back({readings[i].reading.reads + residual * spread, spread,
                            -residual / std::sqrt(std::max(freedom, 1e-9))});
  }
  account_of_numbers(fit, unknowns, u, covariance);
  const std::vector<Question> questions = questions_of(unknowns, setup, wishes);
  const Vector nothing = Vector::Zero(u.size());
  std::vector<Vector> slopes;
  for (const Question& question : questions) {
    Prediction prediction = question.prediction;
    slopes.push_back(slope_of(question.value, u));
    prediction.value = question.value(u);
    prediction.spread = spread_along(covariance, slopes.back());
    prediction.spread_before = slope_of(question.value, nothing).norm();
    prediction.low = prediction.value * std::exp(-kTwoSided * prediction.spread);
    prediction.high = prediction.value * std::exp(kTwoSided * prediction.spread);
    fit.predictions.push_back(prediction);
  }
  const double spaced =
      std::isnan(wishes.spacers) ? std::min(4.0, setup.fork.spacer_limit) : wishes.spacers;
  fit.next = next_of(unknowns, u, covariance, slopes[static_cast<std::size_t>(wishes.asked)],
                     instruments, spaced);
  fit.next.asked = wishes.asked;
  fit.alarm = alarm_of(fit, unknowns, u, covariance, readings);
  remember(fit, unknowns, covariance, source, with_ids(knowledge, readings));
  // A fork's file says nothing of its rider.
  for (std::size_t i = fit.knowledge.size(); i-- > 0;) {
    if (!is_of_fork(fit.knowledge.numbers()[i])) fit.knowledge.remove(i);
  }
  return fit;
}

NextReading helpful_reading(const Setup& setup, const Knowledge& knowledge,
                            const std::vector<double>& slope) {
  const Instruments instruments = usual_instruments();
  const Unknowns unknowns(setup, knowledge, instruments.gauge);
  const auto size = static_cast<Eigen::Index>(unknowns.size());
  Vector asked = Vector::Zero(size);
  for (std::size_t k = 0; k < slope.size(); ++k) asked(Unknowns::index(k)) = slope[k];
  NextReading next = next_of(unknowns, Vector::Zero(size), Matrix::Identity(size, size), asked,
                             instruments, std::min(4.0, setup.fork.spacer_limit));
  next.spread /= asked.norm();
  return next;
}

}  // namespace plunge
