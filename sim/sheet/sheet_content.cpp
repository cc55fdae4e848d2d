#include "sim/sheet/sheet_content.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "models/setup/atmosphere.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/ride_bands.hpp"
#include "sim/ride/ready.hpp"
#include "sim/ride/run.hpp"
#include "sim/search/settings.hpp"
#include "sim/text/band_text.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr std::size_t kCurvePlaces = 61;
constexpr double kColder = 10.0;  // [K]
// What is predicted, as far as the scenes tell of it.
constexpr std::string_view kPredicted[] = {
    "travel_use",        "metal_contacts",     "fork_force_max", "hand_force_max",
    "brake_dive_steady", "corner_dive_steady", "return_time"};

std::string number_text(double value, std::string_view said, int decimals) {
  return fmt::format("{:.{}f}", in_common_unit(value, said), decimals);
}

// A pressure as a gauge shows it, a whole psi where it is one.
std::string gauge_text(double pressure, bool bar) {
  if (std::isnan(pressure)) return {};
  if (bar) return number_text(pressure, "bar", 2) + " bar";
  const double psi = in_common_unit(pressure, "psi");
  return number_text(pressure, "psi", std::abs(psi - std::round(psi)) < 0.05 ? 0 : 1) + " psi";
}

std::string both_units(double pressure, bool bar) {
  return fmt::format("{} ({})", gauge_text(pressure, bar), gauge_text(pressure, !bar));
}

std::string air_text(const AirState& air) {
  return fmt::format("{:.0f} °C, {:.0f} m", in_common_unit(air.temperature, "degC"), air.altitude);
}

// A number as far as it is known, and what that mostly comes from.
std::string known_text(double value, const OpenNumber& open, std::string_view said, int decimals) {
  std::string text = with_band(in_common_unit(value, said), in_common_unit(open.band.low, said),
                               in_common_unit(open.band.high, said), decimals) +
                     " " + std::string(said);
  if (!open.causes.empty()) text += ", mostly from " + open.causes.front().words;
  return text;
}

// What the same air reads at full extension, brought from one place to another.
double gauge_elsewhere(double gauge, const AirState& from, const AirState& to) {
  return (gauge + ambient_pressure(from.altitude)) * to.temperature / from.temperature -
         ambient_pressure(to.altitude);
}

double value_of(const std::vector<Metric>& metrics, std::string_view name) {
  const auto found = std::ranges::find(metrics, name, &Metric::name);
  return found == metrics.end() ? kUnset : found->value;
}

// The fork at rest under its rider.
struct AtRest {
  explicit AtRest(const Setup& setup)
      : setup(&setup), rider(assemble(setup)), metrics(static_metrics(rider, setup)) {}

  double of(std::string_view name) const { return value_of(metrics, name); }

  const Setup* setup;
  Rider rider;
  std::vector<Metric> metrics;
};

// What is not known leaves open of a number at rest. The pressure is what the gauge is set to, so
// that nothing of it is unknown; `hold`: a sag that is set in its place.
OpenNumber open_number(const Setup& setup, Knowledge knowledge, const HoldSetup& hold,
                       const std::string& metric) {
  const std::size_t pressure = knowledge.find("fork.pressure");
  if (pressure < knowledge.size()) knowledge.remove(pressure);
  ReadyRides all;
  all.knowledge = std::move(knowledge);
  all.rides.emplace_back();
  all.rides.front().setup = setup;
  all.rides.front().hold = hold;
  const RideBands bands = bands_at_rest(all, {metric}, [&metric](const ReadyRide& drawn) {
    return std::vector<double>{
        value_of(static_metrics(assemble(drawn.setup), drawn.setup), metric)};
  });
  return bands.empty() ? OpenNumber{} : *bands.rides.front().find(metric);
}

class Content {
 public:
  Content(const SheetCase& sheet, bool bar)
      : sheet_(sheet), bar_(bar), after_(sheet.after), fork_(sheet.after.fork) {
    if (sheet.before) before_.emplace(*sheet.before);
  }

  SheetContent all() {
    content_.fork = shown(fork_.name);
    content_.rider = shown(sheet_.after.rider.name);
    content_.bike = shown(sheet_.after.bike.name);
    content_.has_before = before_.has_value();
    content_.task = sheet_.task.empty() ? "set it up as it stands below" : shown(sheet_.task);
    put_rows();
    put_cautions();
    if (before_) content_.before = curve_of(*before_);
    content_.after = curve_of(after_);
    put_predictions();
    put_service();
    return std::move(content_);
  }

 private:
  // A row of numbers: how one is said, and what is said beside them.
  template <class Say>
  SheetRow& row(const char* name, const std::string& label, double before, double after,
                const Say& say, const std::string& note) {
    SheetRow row{name, label, "", say(after), note, before, after, {}};
    if (before_) row.before = say(before);
    content_.rows.push_back(std::move(row));
    return content_.rows.back();
  }

  double was(std::string_view name) const { return before_ ? before_->of(name) : kUnset; }

  bool is_guessed(std::string_view name) const {
    const std::size_t place = sheet_.knowledge.find(name);
    return place < sheet_.knowledge.size() &&
           sheet_.knowledge.numbers()[place].evidence == Evidence::guessed;
  }

  std::string limit_source(std::string_view name) const {
    return is_guessed(name) ? "a guess: look into the maker's manual" : "by this fork's file";
  }

  void put_rows() {
    const auto whole = [](double value) {
      return std::isnan(value) ? std::string() : fmt::format("{:.0f}", value);
    };
    const double spacers = before_ ? before_->setup->fork.spacers : kUnset;
    row("fork.spacers", "Volume spacers", spacers, fork_.spacers, whole,
        fmt::format("at most {:.0f}, {}", fork_.spacer_limit, limit_source("fork.spacer_limit")));
    put_pressures();
    put_sag();
    put_clicks("fork.compression", "Compression", &ForkSetup::compression);
    put_clicks("fork.rebound", "Rebound", &ForkSetup::rebound);
  }

  void put_pressures() {
    const auto say = [this](double pressure) { return gauge_text(pressure, bar_); };
    const AirState pump = pumped_air(sheet_.after);
    const AirState ride = sheet_.after.ambient;
    HoldSetup hold;
    hold.sag = after_.of("sag_share");
    const OpenNumber open = open_number(sheet_.after, sheet_.knowledge, hold, "pressure");
    std::string note = fmt::format("{}; set at {}, legs extended",
                                   gauge_text(fork_.pressure, !bar_), air_text(pump));
    if (open.band.known()) {
      note +=
          "; for this sag " + known_text(fork_.pressure, open, bar_ ? "bar" : "psi", bar_ ? 2 : 0);
    }
    const double before = before_ ? before_->setup->fork.pressure : kUnset;
    row("fork.pressure", "Pressure to set, pump on", before, fork_.pressure, say, note).band =
        open.band;
    row("pressure_reattached", "Reads with the hose back on", was("pressure_reattached"),
        after_.of("pressure_reattached"), say,
        fmt::format("a hose of {} cm3 fills from the fork: no leak",
                    number_text(fork_.air.hose_volume, "cm3", 1)));
    const bool same = pump.altitude == ride.altitude && pump.temperature == ride.temperature;
    AirState there = ride;
    if (same) there.temperature -= kColder;
    const auto elsewhere = [&](double gauge) { return gauge_elsewhere(gauge, pump, there); };
    row(same ? "pressure_colder" : "pressure_ride",
        same ? fmt::format("The same air {:.0f} °C colder", kColder)
             : "The same air at " + air_text(ride),
        elsewhere(before), elsewhere(fork_.pressure), say,
        same ? "no leak either: set it again where it is ridden"
             : "what it reads where it is ridden: no leak");
  }

  void put_sag() {
    const auto say = [](double sag) {
      return std::isnan(sag) ? std::string() : number_text(sag, "mm", 1) + " mm";
    };
    std::string note = fmt::format(
        "{} % of {} mm; friction leaves it from {} to {} mm",
        number_text(after_.of("sag_share"), "%", 1), number_text(fork_.travel, "mm", 0),
        number_text(after_.of("sag_least"), "mm", 0), number_text(after_.of("sag_most"), "mm", 0));
    const OpenNumber open = open_number(sheet_.after, sheet_.knowledge, {}, "sag");
    if (open.band.known()) note += "; " + known_text(after_.of("sag"), open, "mm", 0);
    row("sag", "Sag under the rider, level", was("sag"), after_.of("sag"), say, note).band =
        open.band;
  }

  void put_clicks(const std::string& name, const std::string& label,
                  DamperSetup ForkSetup::*direction) {
    const DamperSetup& damper = fork_.*direction;
    const DamperSetup* const old = before_ ? &(before_->setup->fork.*direction) : nullptr;
    const auto say = [](double clicks) {
      return std::isnan(clicks) ? std::string() : fmt::format("{:.0f}", clicks);
    };
    if (!has_clicks(damper)) {
      row((name + ".clicks").c_str(), label, kUnset, kUnset, say,
          "the fork's file has no adjuster: count here if the fork has one");
      return;
    }
    constexpr char kCount[] = "clicks from closed: close gently, then count back";
    row((name + ".clicks").c_str(), label, old ? old->clicks : kUnset, damper.clicks, say, kCount);
    if (std::isnan(damper.high_speed_clicks)) return;
    row((name + ".high_speed_clicks").c_str(), label + ", high speed",
        old ? old->high_speed_clicks : kUnset, damper.high_speed_clicks, say, kCount);
  }

  void put_cautions() {
    const Service& service = sheet_.service;
    content_.cautions = {
        "Eye protection on. Bike held fast, hands clear of wheel and brake.",
        "Let all air out at the valve, cycle the fork, let out again. Press the valve core: no "
        "hiss. Only then may a tool touch the cap.",
        "Seal and threads of the cap clean and whole, or it stays off. Start it by hand."};
    const std::string torque =
        std::isnan(service.torque)
            ? "the maker's manual: ............ N·m. This fork's file says none."
            : fmt::format("the maker's manual. This fork's file says {:.4g} N·m ({}).",
                          service.torque, shown(service.torque_source));
    content_.cautions.push_back("Torque of the cap by " + torque);
    content_.cautions.push_back(fmt::format(
        "Never more than {}, {}.", counted(static_cast<std::size_t>(fork_.spacer_limit), "spacer"),
        limit_source("fork.spacer_limit")));
    content_.cautions.push_back(fmt::format("Never more than {}, {}.",
                                            both_units(fork_.pressure_limit, bar_),
                                            limit_source("fork.pressure_limit")));
    content_.closing =
        "The maker's manual and local rules go before this sheet; in doubt a qualified mechanic. "
        "A prediction is no safety certificate.";
    content_.guesses = guesses_note(sheet_.knowledge);
  }

  static SheetCurve curve_of(const AtRest& fork) {
    SheetCurve curve;
    const double from = sag(fork.rider);
    for (std::size_t i = 0; i < kCurvePlaces; ++i) {
      const double x = fork.rider.travel * static_cast<double>(i) / (kCurvePlaces - 1);
      curve.travel.push_back(x);
      curve.slow.push_back(slow_spring_force(fork.rider, x));
      curve.fast.push_back(fast_spring_force(fork.rider, from, x));
    }
    return curve;
  }

  void put_predictions() {
    std::vector<std::vector<Metric>> before;
    std::vector<std::vector<Metric>> after;
    for (const SheetScene& scene : sheet_.scenes) {
      if (before_) before.push_back(ridden(scene.before));
      after.push_back(ridden(scene.after));
      const double ring = value_of(after.back(), "travel_max");
      content_.rings.push_back({shown(scene.after.name), ring_text(ring, scene), ring});
    }
    std::ranges::stable_sort(content_.rings, std::ranges::greater{}, [](const SheetRing& ring) {
      return std::isnan(ring.value) ? -1.0 : ring.value;
    });
    for (const std::string_view name : kPredicted) put_prediction(name, before, after);
    const std::size_t count = sheet_.scenes.size();
    if (count == 1) content_.predicted_for = content_.rings.front().scene;
    if (count > 1) content_.predicted_for = fmt::format("the largest of {} scenes", count);
  }

  static std::vector<Metric> ridden(const Setup& setup) {
    const Result ride = run_ride(setup);
    return ride.failure.empty() ? ride.metrics : std::vector<Metric>{};
  }

  static std::string ring_text(double ring, const SheetScene& scene) {
    if (std::isnan(ring)) return {};
    const auto mm = [](double value) { return number_text(value, "mm", 0); };
    std::string text = mm(ring) + " mm";
    if (!std::isnan(scene.ring_low) && !std::isnan(scene.ring_high)) {
      text += fmt::format(" ({} to {})", mm(scene.ring_low), mm(scene.ring_high));
    }
    return text;
  }

  void put_prediction(std::string_view name, const std::vector<std::vector<Metric>>& before,
                      const std::vector<std::vector<Metric>>& after) {
    const auto most = [name](const std::vector<std::vector<Metric>>& rides) {
      double largest = kUnset;
      for (const auto& metrics : rides) largest = std::fmax(largest, value_of(metrics, name));
      return largest;
    };
    const MetricRow& metric = *find_metric(name);
    const auto say = [&metric](double value) {
      if (std::isnan(value)) return std::string("-");
      const std::string text = number_text(value, metric.said, metric.decimals);
      return metric.said == "1" ? text : text + " " + metric.said;
    };
    const double was = most(before);
    const double is = most(after);
    if (std::isnan(is)) return;
    content_.predictions.push_back(
        {std::string(name), metric.label, before_ ? say(was) : "", say(is), was, is});
  }

  void put_service() {
    const Service& service = sheet_.service;
    std::vector<std::string> tools;
    if (!service.cap.empty()) tools.push_back(shown(service.cap));
    for (const std::string& tool : service.tools) tools.push_back(shown(tool));
    content_.tools = joined(tools);
    for (const std::string& step : service.steps) content_.steps.push_back(shown(step));
  }

  const SheetCase& sheet_;
  bool bar_;
  AtRest after_;
  std::optional<AtRest> before_;
  const ForkSetup& fork_;
  SheetContent content_;
};

}  // namespace

SheetContent sheet_content(const SheetCase& sheet, bool bar) { return Content(sheet, bar).all(); }

}  // namespace plunge
