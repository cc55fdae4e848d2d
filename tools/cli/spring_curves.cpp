#include "tools/cli/spring_curves.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <span>
#include <utility>

#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "tools/cli/band_words.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

const Label kForce{"", "N", "", "N", 0, ""};
constexpr int kPoints = 101;  // of a drawn curve

// Forces that are printed beside the metrics, as --json names their bands.
std::string slow_name(std::size_t percent) { return fmt::format("slow_force_{}", percent); }
constexpr char kFast[] = "fast_force_100";
constexpr char kPreload[] = "fork.coil.preload";

// Where a fast stroke starts.
double fast_from(const Rider& rider, bool with_rider) {
  return with_rider ? sag(rider) : std::max(0.0, rider.air.port.deep_edge());
}

// What its spring is set to.
std::vector<NamedValue> settings_of(const Setup& setup) {
  std::vector<NamedValue> settings;
  for (const char* name : {"fork.spacers", "fork.pressure", "fork.coil.rate", kPreload}) {
    const Parameter& parameter = *find_parameter(name);
    if (!is_read(parameter, setup)) continue;
    settings.push_back({name, std::string(parameter.unit), parameter.get(setup)});
  }
  return settings;
}

CurveTable curve_of(const ReadyRide& variant, const std::string& fork, bool with_rider) {
  const Setup& setup = variant.setup;
  const Rider rider = assemble(setup);
  CurveTable curve;
  curve.label = variant.label;
  curve.fork = fork;
  curve.set = variant.set;
  curve.held = variant.held;
  curve.settings = settings_of(setup);
  curve.metrics = static_metrics(rider, setup);
  if (with_rider) {
    curve.load = static_load(rider);
  } else {
    std::erase_if(curve.metrics,
                  [](const Metric& m) { return (find_metric(m.name)->needs & kNeedsRider) != 0; });
  }
  const double from = fast_from(rider, with_rider);
  for (int i = 0; i < kPoints; ++i) {
    const double x = rider.travel * i / (kPoints - 1);
    curve.travel.push_back(x);
    curve.slow.push_back(slow_spring_force(rider, x));
    curve.fast.push_back(fast_spring_force(rider, from, x));
  }
  return curve;
}

// What is printed of a curve, by the names of its numbers.
constexpr const char* kPrinted[] = {"pressure",        "sag",        "sag_least", "sag_most",
                                    "breakaway_force", "progression"};

bool alike(double a, double b) {
  constexpr double kRounding = 1e-9;  // of a sag that is solved for, chosen
  if (!std::isfinite(a) || !std::isfinite(b)) return std::isfinite(a) == std::isfinite(b);
  return std::abs(a - b) <= kRounding * std::max(std::abs(a), std::abs(b));
}

// Whether nothing that is printed or drawn tells two curves apart.
bool alike(const CurveTable& a, const CurveTable& b) {
  const auto same_number = [&](const char* name) {
    return alike(metric(a.metrics, name), metric(b.metrics, name));
  };
  const auto same = [](double one, double other) { return alike(one, other); };
  return std::ranges::all_of(kPrinted, same_number) && alike(a.load, b.load) &&
         alike(setting(a, kPreload), setting(b, kPreload)) &&
         std::ranges::equal(a.travel, b.travel, same) && std::ranges::equal(a.slow, b.slow, same) &&
         std::ranges::equal(a.fast, b.fast, same);
}

// The fork of a curve and all that is set in it but for one number.
std::pair<std::string, std::vector<double>> beside(const CurveTable& curve, std::string_view name) {
  std::pair<std::string, std::vector<double>> others{curve.fork, {}};
  for (const NamedValue& number : curve.set) {
    if (number.name != name) others.second.push_back(number.value);
  }
  return others;
}

// What is not known leaves open of the numbers of one fork's curves.
void put_bands_of(const ReadyRides& all, bool with_rider, std::span<CurveTable> curves) {
  std::vector<std::string> names;
  for (const Metric& metric : curves.front().metrics) names.push_back(metric.name);
  const std::size_t metrics = names.size();
  for (std::size_t percent = 25; percent <= 100; percent += 25) names.push_back(slow_name(percent));
  names.emplace_back(kFast);
  names.emplace_back(kPreload);
  const auto read = [&](const ReadyRide& drawn) {
    const Rider rider = assemble(drawn.setup);
    std::vector<double> numbers(metrics, kUnset);
    for (const Metric& metric : static_metrics(rider, drawn.setup)) {
      const auto found = std::find(names.begin(), names.end(), metric.name);
      if (found != names.end())
        numbers[static_cast<std::size_t>(found - names.begin())] = metric.value;
    }
    for (int quarter = 1; quarter <= 4; ++quarter) {
      numbers.push_back(slow_spring_force(rider, rider.travel * quarter / 4.0));
    }
    numbers.push_back(fast_spring_force(rider, fast_from(rider, with_rider), rider.travel));
    numbers.push_back(drawn.setup.fork.coil.preload);
    return numbers;
  };
  const RideBands bands = bands_at_rest(all, names, read);
  if (bands.empty()) return;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    curves[i].bands = {bands.draws, bands.knowledge, {bands.rides[i]}};
  }
}

// Curves side by side as people read them, fork by fork.
class CurvePrint {
 public:
  CurvePrint(const std::vector<CurveTable>& curves, bool with_rider, bool bar)
      : side_by_side_(curves.size() > 1), with_rider_(with_rider), bar_(bar) {
    const auto any = [&](auto&& has) { return std::ranges::any_of(curves, has); };
    has_pressure_ = any(
        [](const CurveTable& curve) { return std::isfinite(metric(curve.metrics, "pressure")); });
    has_preload_ =
        any([](const CurveTable& curve) { return std::isfinite(setting(curve, kPreload)); });
    add_columns();
  }

  // The rows of one fork, and the account of what is not known of it.
  void add(const ReadyRides& all, std::span<const CurveTable> curves, bool forks_side_by_side) {
    printed_.clear();
    RideBands whole;
    for (const CurveTable& curve : curves) {
      add_row(curve, curves.front());
      if (curve.bands.empty()) continue;
      whole.draws = curve.bands.draws;
      whole.knowledge = curve.bands.knowledge;
      whole.rides.push_back(curve.bands.rides.front());
    }
    if (whole.empty()) return;
    account_ += "\n";
    if (forks_side_by_side) account_ += wrapped(shown(all.name) + ":", line_width()) + "\n";
    account_ += band_account(whole, all.rides.front().setup, printed_, true);
  }

  std::string text() const { return table_.text() + account_; }

 private:
  Label label(const char* name) const { return in_bar(*find_metric(name), bar_); }

  void add_columns() {
    const auto column = [&](const char* name) {
      table_.column(label(name).label, unit_of(label(name).said));
    };
    table_.column("", "");
    if (has_pressure_) column("pressure");
    if (has_preload_) table_.column("preload", kForce.said);
    if (with_rider_) {
      column("sag");
      table_.column("rests at", unit_of(label("sag").said));
    }
    column("breakaway_force");
    for (int percent = 25; percent <= 100; percent += 25) {
      table_.column(fmt::format("at {} %", percent), "N slow");
    }
    table_.column("at 100 %", "N fast");
    column("progression");
  }

  // A number, or what it changes of the first one's where that is known.
  std::string number(const CurveTable& curve, double value, double first, const std::string& name,
                     const Label& said) {
    const OpenNumber* const open =
        curve.bands.empty() ? nullptr : curve.bands.rides.front().find(name);
    printed_.push_back({said.label, open});
    return banded_change(value, first, said, open);
  }

  void add_row(const CurveTable& curve, const CurveTable& first) {
    const auto value = [&](const char* name) {
      return number(curve, metric(curve.metrics, name), metric(first.metrics, name), name,
                    label(name));
    };
    const auto force = [&](double newton, double of_first, const std::string& name,
                           const std::string& words) {
      Label said = kForce;
      said.label = words;
      return number(curve, newton, of_first, name, said);
    };
    std::vector<std::string> cells{side_by_side_ ? curve.label : ""};
    if (has_pressure_) cells.push_back(value("pressure"));
    if (has_preload_) {
      cells.push_back(
          force(setting(curve, kPreload), setting(first, kPreload), kPreload, "preload"));
    }
    if (with_rider_) {
      cells.push_back(value("sag"));
      cells.push_back(resting_place(curve));
    }
    cells.push_back(value("breakaway_force"));
    for (std::size_t i = 25; i <= 100; i += 25) {
      cells.push_back(force(curve.slow[i], first.slow[i], slow_name(i), fmt::format("at {} %", i)));
    }
    cells.push_back(force(curve.fast[100], first.fast[100], kFast, "at 100 % fast"));
    cells.push_back(value("progression"));
    table_.row(cells);
  }

  std::string resting_place(const CurveTable& curve) const {
    const auto open = [&](const char* name) {
      return curve.bands.empty() ? nullptr : curve.bands.rides.front().find(name);
    };
    return banded_between(metric(curve.metrics, "sag_least"), metric(curve.metrics, "sag_most"),
                          label("sag"), open("sag_least"), open("sag_most"));
  }

  bool side_by_side_;
  bool with_rider_;
  bool bar_;
  bool has_pressure_ = false;
  bool has_preload_ = false;
  Table table_;
  std::vector<PrintedNumber> printed_;  // of the fork whose rows come last
  std::string account_;
};

// Takes each fork with its curves.
template <class Curve, class Take>
void for_each_fork(const std::vector<ReadyRides>& forks, std::span<Curve> curves,
                   const Take& take) {
  std::size_t at = 0;
  for (const ReadyRides& fork : forks) {
    take(fork, curves.subspan(at, fork.rides.size()));
    at += fork.rides.size();
  }
}

}  // namespace

double setting(const CurveTable& curve, std::string_view name) {
  const auto found = std::ranges::find(curve.settings, name, &NamedValue::name);
  return found == curve.settings.end() ? kUnset : found->value;
}

std::vector<CurveTable> spring_curves(const std::vector<ReadyRides>& forks, bool with_rider) {
  std::vector<CurveTable> curves;
  for (const ReadyRides& fork : forks) {
    for (const ReadyRide& variant : fork.rides) {
      curves.push_back(curve_of(variant, fork.name, with_rider));
    }
  }
  return curves;
}

bool is_idle(const std::vector<CurveTable>& curves, std::string_view name) {
  std::map<std::pair<std::string, std::vector<double>>, const CurveTable*> first;
  bool several = false;
  for (const CurveTable& curve : curves) {
    if (std::ranges::count(curve.set, name, &NamedValue::name) == 0) continue;
    const auto [place, is_new] = first.emplace(beside(curve, name), &curve);
    if (!is_new && !alike(*place->second, curve)) return false;
    several = several || !is_new;
  }
  return several;
}

void put_bands(const std::vector<ReadyRides>& forks, bool with_rider,
               std::vector<CurveTable>& curves) {
  for_each_fork(forks, std::span(curves), [&](const ReadyRides& fork, std::span<CurveTable> own) {
    put_bands_of(fork, with_rider, own);
  });
}

std::string spring_text(const std::vector<ReadyRides>& forks, const std::vector<CurveTable>& curves,
                        bool with_rider, bool bar) {
  CurvePrint print(curves, with_rider, bar);
  for_each_fork(forks, std::span(curves),
                [&](const ReadyRides& fork, std::span<const CurveTable> own) {
                  print.add(fork, own, forks.size() > 1);
                });
  return print.text();
}

}  // namespace plunge
