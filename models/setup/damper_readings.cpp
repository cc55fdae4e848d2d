#include "models/setup/damper_readings.hpp"

#include <cmath>

#include "models/laws/numeric.hpp"
#include "models/setup/damper.hpp"

namespace plunge {
namespace {

constexpr int kCurvePoints = 241;

double knee_of(const DamperSetup& damper, const OilSetup& oil) {
  switch (damper.kind) {
    case DamperKind::slopes:
      return damper.knee;
    case DamperKind::points:
      return kUnset;
    case DamperKind::hydraulic:
      if (!(damper.shim_area > 0.0)) return kUnset;
      return Hydraulics(damper, oil).flow(shim_preload_at(damper)) / damper.piston_area;
  }
  return kUnset;
}

}  // namespace

std::string_view to_string(Adjusts adjusts) {
  switch (adjusts) {
    case Adjusts::both:
      return "adjuster";
    case Adjusts::low_speed:
      return "low-speed adjuster";
    case Adjusts::high_speed:
      return "high-speed adjuster";
  }
  return "";
}

std::string_view speed_of(Adjusts adjusts) {
  switch (adjusts) {
    case Adjusts::both:
      return "";
    case Adjusts::low_speed:
      return "low speed";
    case Adjusts::high_speed:
      return "high speed";
  }
  return "";
}

std::vector<Adjuster> adjusters_of(const DamperSetup& damper) {
  std::vector<Adjuster> adjusters;
  const auto add = [&](Adjusts adjusts, double first, double last) {
    const bool high = adjusts == Adjusts::high_speed;
    adjusters.push_back({adjusts, high ? "high_speed_clicks" : "clicks",
                         high ? &DamperSetup::high_speed_clicks : &DamperSetup::clicks, first,
                         last});
  };
  const auto add_table = [&](Adjusts adjusts, const auto& table) {
    if (!table.empty()) add(adjusts, table.front().clicks, table.back().clicks);
  };
  switch (damper.kind) {
    case DamperKind::slopes:
      add_table(Adjusts::both, damper.click_table);
      add_table(Adjusts::low_speed, damper.low_speed_table);
      add_table(Adjusts::high_speed, damper.high_speed_table);
      break;
    case DamperKind::points:
      break;
    case DamperKind::hydraulic:
      add(Adjusts::low_speed, 0.0, damper.bleed_clicks);
      if (damper.shim_area > 0.0 && !std::isnan(damper.shim_clicks)) {
        add(Adjusts::high_speed, 0.0, damper.shim_clicks);
      }
      break;
  }
  return adjusters;
}

double slope_at_rest(const DamperLaw<double>& law) {
  return law.table ? law.table.table->pieces().front().slope : law.low_speed;
}

bool is_locked(const DamperSetup& damper, const OilSetup& oil) {
  return !judge(damper, oil, "damper").empty();
}

DamperReading read_damper(const DamperSetup& damper, const OilSetup& oil) {
  const DamperLaw<double> law = make_damper(damper, oil);
  DamperReading reading;
  reading.slope_at_rest = slope_at_rest(law);
  reading.knee = knee_of(damper, oil);
  if (!std::isnan(reading.knee)) reading.knee_force = law.force(reading.knee);
  for (std::size_t k = 0; k < kReadSpeeds.size(); ++k) {
    reading.force[k] = law.force(kReadSpeeds[k]);
  }
  return reading;
}

DamperCurve damper_curve(const DamperSetup& damper, const OilSetup& oil) {
  const DamperLaw<double> law = make_damper(damper, oil);
  DamperCurve curve;
  for (int i = 0; i < kCurvePoints; ++i) {
    const double v = kReadSpeeds.back() * square(static_cast<double>(i) / (kCurvePoints - 1));
    curve.speed.push_back(v);
    curve.force.push_back(law.force(v));
  }
  return curve;
}

}  // namespace plunge
