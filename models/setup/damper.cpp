#include "models/setup/damper.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string_view>
#include <tuple>

#include "models/setup/oil.hpp"
#include "models/setup/parameters.hpp"

namespace plunge {

namespace {

// Largest relative error of a hydraulic table against the equations [1].
constexpr double kTableError = 1e-6;

// A damper that needs more pressure than this at kFastestStroke [Pa] has no opening worth the name.
constexpr double kLargestPressure = 1e12;

// A damper that resists so much at rest is locked, 1000 N moving it by 0.1 mm/s, and takes an
// integrator for ever [N.s/m]: engineering estimate. Asked of closed needles.
constexpr double kLockedSlope = 1e7;

void demand(Faults& faults, bool holds, const std::string& key, double value, std::string_view unit,
            std::string rule) {
  if (holds && std::isfinite(value)) return;
  std::string text;
  if (!std::isnan(value)) text = fmt::format("{:.6g}{}{}", value, unit.empty() ? "" : " ", unit);
  faults.push_back({key, std::move(text), std::move(rule), {}});
}

// A column of a table at a position, linear between its rows.
template <class Row>
double at_clicks(const std::vector<Row>& table, double clicks, double Row::*column) {
  std::size_t k = 1;
  while (k + 1 < table.size() && clicks > table[k].clicks) ++k;
  const Row& a = table[k - 1];
  const Row& b = table[k];
  return std::lerp(a.*column, b.*column, (clicks - a.clicks) / (b.clicks - a.clicks));
}

// The slopes of the monotone cubic at its knots, which must be three or more.
void set_monotone_slopes(std::vector<ForceKnot>& knots) {
  const std::size_t last = knots.size() - 1;
  const auto width = [&](std::size_t k) { return knots[k + 1].speed - knots[k].speed; };
  const auto secant = [&](std::size_t k) {
    return (knots[k + 1].force - knots[k].force) / width(k);
  };
  // The parabola through three knots gives the end slope, but never a falling one. As all secants
  // are positive it is at most twice the end secant, so the end piece rises.
  const auto end_slope = [](double h0, double h1, double d0, double d1) {
    return positive_part(((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1));
  };
  const auto set = [&](std::size_t k, double slope) {
    knots[k].slope_before = knots[k].slope_after = slope;
  };
  set(0, end_slope(width(0), width(1), secant(0), secant(1)));
  for (std::size_t k = 1; k < last; ++k) {
    const double w0 = 2.0 * width(k) + width(k - 1);
    const double w1 = width(k) + 2.0 * width(k - 1);
    set(k, (w0 + w1) / (w0 / secant(k - 1) + w1 / secant(k)));
  }
  set(last, end_slope(width(last - 1), width(last - 2), secant(last - 1), secant(last - 2)));
}

std::vector<ForceKnot> knots_through(const std::vector<SpeedForce>& points) {
  std::vector<ForceKnot> knots(1);
  for (const SpeedForce& point : points) knots.push_back({point.speed, point.force, 0.0, 0.0});
  set_monotone_slopes(knots);
  return knots;
}

// Halves each span of pressure between two corners until its cubic agrees with the equations and
// is sure to rise (slopes at most three times the secant). Pressure is the running variable, as
// speed and slope follow from it without solving.
std::vector<ForceKnot> knots_of(const Hydraulics& hydraulics) {
  const double area = hydraulics.piston_area;
  const double highest = hydraulics.pressure(kFastestStroke);
  std::vector<double> pending{highest};
  const std::vector<double> corners = hydraulics.corners();
  for (auto corner = corners.rbegin(); corner != corners.rend(); ++corner) {
    if (*corner < pending.back() * (1.0 - 1e-9) && *corner > highest * 1e-12) {
      pending.push_back(*corner);
    }
  }

  const auto speed = [&](double pressure) { return hydraulics.flow(pressure) / area; };
  const auto slope = [&](double pressure, double inside) {
    return square(area) / hydraulics.flow_slope(pressure, inside);
  };
  std::vector<ForceKnot> knots(1);
  double from = 0.0;
  while (!pending.empty()) {
    const double to = pending.back();
    const double middle = 0.5 * (from + to);
    ForceKnot a = knots.back();
    ForceKnot b{speed(to), area * to, slope(to, middle), 0.0};
    a.slope_after = slope(from, middle);
    b.slope_after = b.slope_before;
    const ForcePiece piece = cubic_between(a, b);
    const double secant = (b.force - a.force) / (b.speed - a.speed);
    bool fits = a.slope_after <= 3.0 * secant && b.slope_before <= 3.0 * secant;
    for (const double share : {0.25, 0.5, 0.75}) {
      const double pressure = from + share * (to - from);
      fits = fits &&
             std::abs(piece.at(speed(pressure)) - area * pressure) <= kTableError * area * pressure;
    }
    if (fits || to - from < 1e-9 * to) {
      knots.back() = a;
      knots.push_back(b);
      from = to;
      pending.pop_back();
    } else {
      pending.push_back(middle);
    }
  }
  return knots;
}

void judge_slopes(Faults& faults, const std::string& prefix, double low_speed, double high_speed) {
  demand(faults, low_speed >= 0.0, prefix + ".low_speed", low_speed, "N.s/m", "must be 0 or more");
  const bool both_zero = low_speed == 0.0 && high_speed == 0.0;
  demand(faults, high_speed >= 0.0 && !both_zero, prefix + ".high_speed", high_speed, "N.s/m",
         both_zero ? "must be above 0 where low_speed is 0" : "must be 0 or more");
}

// Rows that rise in clicks from closed, two or more.
template <class Row>
void judge_rows(Faults& faults, const std::vector<Row>& table, const std::string& key) {
  if (table.size() < 2) {
    faults.push_back({key, counted(table.size(), "row"), "must have at least 2 rows", {}});
  }
  for (std::size_t k = 0; k < table.size(); ++k) {
    const std::string row = fmt::format("{}[{}]", key, k);
    if (k == 0) {
      demand(faults, table[k].clicks >= 0.0, row + ".clicks", table[k].clicks, "",
             "must be 0 or more (clicks from closed)");
    } else {
      const double before = table[k - 1].clicks;
      demand(faults, table[k].clicks > before || std::isnan(before), row + ".clicks",
             table[k].clicks, "",
             fmt::format("must be above {:.6g}, that of the row before it", before));
    }
  }
}

// A position within the rows of its table.
template <class Row>
void judge_position(Faults& faults, const std::vector<Row>& table, double clicks,
                    const std::string& key, const char* what) {
  const double first = table.front().clicks;
  const double last = table.back().clicks;
  demand(faults, clicks >= first && clicks <= last, key, clicks, "",
         fmt::format("must be within the {}, {:.6g} to {:.6g}", what, first, last));
}

void judge_click_table(Faults& faults, const DamperSetup& damper, const std::string& prefix) {
  const std::vector<ClickRow>& table = damper.click_table;
  const std::string key = prefix + ".click_table";
  judge_rows(faults, table, key);
  for (std::size_t k = 0; k < table.size(); ++k) {
    judge_slopes(faults, fmt::format("{}[{}]", key, k), table[k].low_speed, table[k].high_speed);
  }
  if (!faults.empty()) return;
  judge_position(faults, table, damper.clicks, prefix + ".clicks", "click table");
}

// A slope that has an adjuster of its own, or none and is given directly.
struct OwnSlope {
  const char* name;  // "low_speed"
  const char* position_name;
  const char* table_words;
  const std::vector<SlopeRow>& table;
  double position;
  double given;
};

void judge_own_slope(Faults& faults, const OwnSlope& slope, const std::string& prefix) {
  if (slope.table.empty()) {
    demand(faults, slope.given >= 0.0, fmt::format("{}.{}", prefix, slope.name), slope.given,
           "N.s/m", "must be 0 or more");
    return;
  }
  const std::size_t faults_before = faults.size();
  const std::string key = fmt::format("{}.{}_table", prefix, slope.name);
  judge_rows(faults, slope.table, key);
  for (std::size_t k = 0; k < slope.table.size(); ++k) {
    demand(faults, slope.table[k].slope >= 0.0, fmt::format("{}[{}].slope", key, k),
           slope.table[k].slope, "N.s/m", "must be 0 or more");
  }
  if (faults.size() > faults_before) return;
  judge_position(faults, slope.table, slope.position,
                 fmt::format("{}.{}", prefix, slope.position_name), slope.table_words);
}

// The slopes of a damper with an adjuster for each, or for one of the two.
void judge_own_slopes(Faults& faults, const DamperSetup& damper, const std::string& prefix) {
  judge_own_slope(faults,
                  {"low_speed", "clicks", "low-speed table", damper.low_speed_table, damper.clicks,
                   damper.low_speed},
                  prefix);
  judge_own_slope(faults,
                  {"high_speed", "high_speed_clicks", "high-speed table", damper.high_speed_table,
                   damper.high_speed_clicks, damper.high_speed},
                  prefix);
  if (!faults.empty()) return;
  const auto [low, high] = slopes_at(damper);
  const bool tabled = !damper.high_speed_table.empty();
  demand(faults, low > 0.0 || high > 0.0, prefix + (tabled ? ".high_speed_clicks" : ".high_speed"),
         tabled ? damper.high_speed_clicks : high, tabled ? "" : "N.s/m",
         "must leave a slope above 0 where that of low speed is 0");
}

void judge_points(Faults& faults, const DamperSetup& damper, const std::string& prefix) {
  const std::vector<SpeedForce>& points = damper.points;
  if (points.size() < 2) {
    faults.push_back(
        {prefix + ".points", counted(points.size(), "point"), "must have at least 2 points", {}});
  }
  SpeedForce before{0.0, 0.0};
  for (std::size_t k = 0; k < points.size(); ++k) {
    const std::string point = fmt::format("{}.points[{}]", prefix, k);
    const auto rule = [&](double value, const char* unit) {
      return k == 0
                 ? std::string("must be above 0")
                 : fmt::format("must be above {:.6g} {}, that of the point before it", value, unit);
    };
    demand(faults, points[k].speed > before.speed || std::isnan(before.speed), point + ".speed",
           points[k].speed, "m/s", rule(before.speed, "m/s"));
    demand(faults, points[k].force > before.force || std::isnan(before.force), point + ".force",
           points[k].force, "N", rule(before.force, "N"));
    before = points[k];
  }
}

void judge_hydraulics(Faults& faults, const DamperSetup& damper, const OilSetup& oil,
                      const std::string& prefix) {
  const auto positive = [&](const char* name, double value, const char* unit) {
    demand(faults, value > 0.0, prefix + "." + name, value, unit, "must be above 0");
  };
  const auto not_negative = [&](const char* name, double value, const char* unit,
                                const char* rule) {
    demand(faults, value >= 0.0, prefix + "." + name, value, unit, rule);
  };
  const std::size_t faults_before = faults.size();
  const auto position = [&](const char* name, double clicks, const char* whole_name, double whole) {
    demand(faults, clicks >= 0.0, prefix + "." + name, clicks, "",
           "must be 0 or more (clicks from closed)");
    if (whole > 0.0 && clicks > whole) {
      demand(faults, false, prefix + "." + name, clicks, "",
             fmt::format("must be at most {:.6g} ({})", whole, whole_name));
    }
  };
  positive("piston_area", damper.piston_area, "m2");
  positive("bleed_area", damper.bleed_area, "m2");
  positive("bleed_length", damper.bleed_length, "m");
  positive("bleed_clicks", damper.bleed_clicks, "");
  position("clicks", damper.clicks, "bleed_clicks", damper.bleed_clicks);
  if (damper.bleed_clicks > 0.0) {
    const double first_click = 1.0 / damper.bleed_clicks;
    const double closed = bleed_closed(damper);
    demand(
        faults, closed > 0.0 && in_range(closed, 0.0, first_click), prefix + ".bleed_closed",
        100.0 * closed, "%",
        fmt::format("must be above 0 and at most {} (what the first of {:.6g} bleed_clicks opens)",
                    say_at_most(first_click, "%"), damper.bleed_clicks));
  }
  not_negative("shim_area", damper.shim_area, "m2", "must be 0 (no shim stack) or more");
  if (damper.shim_area != 0.0) {
    not_negative("shim_preload", damper.shim_preload, "Pa", "must be 0 or more");
    positive("shim_slope", damper.shim_slope, "m2/Pa");
    if (!std::isnan(damper.shim_clicks)) {
      positive("shim_clicks", damper.shim_clicks, "");
      position("high_speed_clicks", damper.high_speed_clicks, "shim_clicks", damper.shim_clicks);
      demand(faults,
             damper.shim_preload_closed >= damper.shim_preload || std::isnan(damper.shim_preload),
             prefix + ".shim_preload_closed", damper.shim_preload_closed, "Pa",
             fmt::format("must be at least {} (shim_preload, with the adjuster wide open)",
                         say(damper.shim_preload, "bar")));
    }
  }
  not_negative("blow_off_slope", damper.blow_off_slope, "m2/Pa",
               "must be 0 (no blow-off valve) or more");
  if (damper.blow_off_slope != 0.0) {
    positive("blow_off_pressure", damper.blow_off_pressure, "Pa");
  }
  if (faults.size() > faults_before || !judge(oil, "oil").empty()) return;

  const Hydraulics hydraulics(damper, oil);
  const bool closed = damper.clicks == 0.0;
  const double slope = square(damper.piston_area) * hydraulics.resistance;
  demand(faults, !closed || slope <= kLockedSlope, prefix + ".clicks", damper.clicks, "",
         fmt::format("closes the needle to {} of its area (bleed_closed), which takes {:.3g} N.s/m "
                     "at rest and locks the damper; must take at most {:.3g} N.s/m",
                     say(bleed_closed(damper), "%"), slope, kLockedSlope));
  if (faults.size() > faults_before) return;
  const double highest = hydraulics.pressure(kFastestStroke);
  demand(faults, highest <= kLargestPressure, prefix + (closed ? ".clicks" : ".bleed_area"),
         closed ? damper.clicks : damper.bleed_area, closed ? "" : "m2",
         fmt::format("with {} must let piston_area move at {} m/s below {:.6g} Pa; it "
                     "takes {:.6g} Pa",
                     closed ? "bleed_closed and shim_area" : "shim_area", kFastestStroke,
                     kLargestPressure, highest));
}

}  // namespace

ForcePiece cubic_between(const ForceKnot& a, const ForceKnot& b) {
  const double h = b.speed - a.speed;
  const double secant = (b.force - a.force) / h;
  return {a.speed, a.force, a.slope_after,
          (3.0 * secant - 2.0 * a.slope_after - b.slope_before) / h,
          (a.slope_after + b.slope_before - 2.0 * secant) / square(h)};
}

ForceTable::ForceTable(const std::vector<ForceKnot>& knots) {
  if (knots.size() < 2 || knots.front().speed != 0.0 || knots.front().force != 0.0) {
    throw std::invalid_argument("a damper table needs (0, 0) and at least one more knot");
  }
  for (std::size_t k = 0; k + 1 < knots.size(); ++k) {
    if (!(knots[k + 1].speed > knots[k].speed && knots[k + 1].force > knots[k].force)) {
      throw std::invalid_argument(fmt::format("a damper table must rise after ({} m/s, {} N)",
                                              knots[k].speed, knots[k].force));
    }
    pieces_.push_back(cubic_between(knots[k], knots[k + 1]));
  }
  const ForceKnot& last = knots.back();
  pieces_.push_back({last.speed, last.force, last.slope_after, 0.0, 0.0});
  for (const ForcePiece& piece : pieces_) {
    if (!std::isfinite(piece.force + piece.slope + piece.c2 + piece.c3)) {
      throw std::invalid_argument(
          fmt::format("a damper table is not finite at {} m/s", piece.start));
    }
  }

  first_key_ = octave_key(knots[1].speed);
  last_key_ = octave_key(last.speed);
  std::uint32_t piece = 0;
  bucket_.push_back(piece);  // the first bucket reaches down to v = 0
  for (std::uint64_t key = first_key_ + 1; key <= last_key_; ++key) {
    const double edge = std::bit_cast<double>(key << 49);
    while (piece + 1 < pieces_.size() && edge >= pieces_[piece + 1].start) ++piece;
    bucket_.push_back(piece);
  }
  pieces_.push_back({kUnset, 0.0, 0.0, 0.0, 0.0});  // no speed lies beyond NaN, nor infinity
}

Hydraulics::Hydraulics(const DamperSetup& damper, const OilSetup& oil)
    : piston_area(damper.piston_area),
      shim_preload(shim_preload_at(damper)),
      shim_slope(damper.shim_slope),
      shim_area(damper.shim_area),
      blow_off_pressure(damper.blow_off_pressure),
      blow_off_slope(damper.blow_off_slope),
      jet(oil.discharge * std::sqrt(2.0 / oil.density)) {
  const double needle = std::max(damper.bleed_area * damper.clicks / damper.bleed_clicks,
                                 damper.bleed_area * bleed_closed(damper));
  resistance = 8.0 * kPi * dynamic_viscosity(oil) * damper.bleed_length / square(needle);
  orifice = 0.5 * oil.density / square(oil.discharge * needle);
}

double Hydraulics::flow(double pressure) const {
  const double root = std::sqrt(square(resistance) + 4.0 * orifice * pressure);
  double open = 0.0;
  if (shim_area > 0.0 && pressure > shim_preload) {
    open += std::min(shim_slope * (pressure - shim_preload), shim_area);
  }
  if (blow_off_slope > 0.0 && pressure > blow_off_pressure) {
    open += blow_off_slope * (pressure - blow_off_pressure);
  }
  return 2.0 * pressure / (resistance + root) + jet * std::sqrt(pressure) * open;
}

double Hydraulics::flow_slope(double pressure, double inside) const {
  double open = 0.0;     // area [m2]
  double opening = 0.0;  // its slope [m2/Pa]
  if (shim_area > 0.0 && inside > shim_preload) {
    if (shim_slope * (inside - shim_preload) < shim_area) {
      open += shim_slope * (pressure - shim_preload);
      opening += shim_slope;
    } else {
      open += shim_area;
    }
  }
  if (blow_off_slope > 0.0 && inside > blow_off_pressure) {
    open += blow_off_slope * (pressure - blow_off_pressure);
    opening += blow_off_slope;
  }
  double slope = 1.0 / std::sqrt(square(resistance) + 4.0 * orifice * pressure);
  if (pressure > 0.0) {
    slope += jet * (opening * std::sqrt(pressure) + 0.5 * open / std::sqrt(pressure));
  }
  return slope;
}

double Hydraulics::pressure(double speed) const {
  const double target = piston_area * speed;
  if (!(target > 0.0)) return 0.0;
  // The needle alone would need the most; Newton inside the bracket, halving where it is slow.
  double low = 0.0;
  double high = target * (resistance + orifice * target);
  if (!std::isfinite(high)) return std::numeric_limits<double>::infinity();
  double pressure = high;
  double step_before = high;
  double step = high;
  while (true) {
    const double excess = flow(pressure) - target;
    (excess > 0.0 ? high : low) = pressure;
    const double newton = -excess / flow_slope(pressure, pressure);
    const double next = pressure + newton;
    const bool slow = std::abs(newton) > 0.5 * std::abs(step_before);
    step_before = step;
    step = next > low && next < high && !slow ? newton : 0.5 * (low + high) - pressure;
    if (std::abs(step) <= 4.0 * std::numeric_limits<double>::epsilon() * pressure) {
      return pressure + step;
    }
    pressure += step;
  }
}

std::vector<double> Hydraulics::corners() const {
  std::vector<double> corners;
  if (shim_area > 0.0) {
    corners.push_back(shim_preload);
    corners.push_back(shim_preload + shim_area / shim_slope);
  }
  if (blow_off_slope > 0.0) corners.push_back(blow_off_pressure);
  std::sort(corners.begin(), corners.end());
  return corners;
}

std::pair<double, double> slopes_at(const DamperSetup& damper) {
  if (!damper.click_table.empty()) {
    return {at_clicks(damper.click_table, damper.clicks, &ClickRow::low_speed),
            at_clicks(damper.click_table, damper.clicks, &ClickRow::high_speed)};
  }
  const auto slope = [](const std::vector<SlopeRow>& table, double clicks, double given) {
    return table.empty() ? given : at_clicks(table, clicks, &SlopeRow::slope);
  };
  return {slope(damper.low_speed_table, damper.clicks, damper.low_speed),
          slope(damper.high_speed_table, damper.high_speed_clicks, damper.high_speed)};
}

double bleed_closed(const DamperSetup& damper) {
  constexpr double kPartOfFirstClick = 0.5;  // engineering estimate
  return std::isnan(damper.bleed_closed) ? kPartOfFirstClick / damper.bleed_clicks
                                         : damper.bleed_closed;
}

double shim_preload_at(const DamperSetup& damper) {
  if (std::isnan(damper.shim_clicks)) return damper.shim_preload;
  return std::lerp(damper.shim_preload_closed, damper.shim_preload,
                   damper.high_speed_clicks / damper.shim_clicks);
}

Faults judge(const DamperSetup& damper, const OilSetup& oil, const std::string& prefix) {
  Faults faults;
  switch (damper.kind) {
    case DamperKind::slopes:
      demand(faults, damper.knee > 0.0, prefix + ".knee", damper.knee, "m/s", "must be above 0");
      if (!damper.click_table.empty()) {
        judge_click_table(faults, damper, prefix);
      } else if (damper.low_speed_table.empty() && damper.high_speed_table.empty()) {
        judge_slopes(faults, prefix, damper.low_speed, damper.high_speed);
      } else {
        judge_own_slopes(faults, damper, prefix);
      }
      break;
    case DamperKind::points:
      judge_points(faults, damper, prefix);
      break;
    case DamperKind::hydraulic:
      judge_hydraulics(faults, damper, oil, prefix);
      break;
  }
  return faults;
}

Faults judge(const OilSetup& oil, const std::string& prefix) {
  Faults faults;
  demand(faults, oil.density > 0.0, prefix + ".density", oil.density, "kg/m3", "must be above 0");
  demand(faults, oil.viscosity_100 >= kThinnestOil, prefix + ".viscosity_100", oil.viscosity_100,
         "m2/s", fmt::format("must be {} or more", say(kThinnestOil, "cSt")));
  demand(faults, oil.viscosity_40 > oil.viscosity_100, prefix + ".viscosity_40", oil.viscosity_40,
         "m2/s", fmt::format("must be above {} (viscosity_100)", say(oil.viscosity_100, "cSt")));
  demand(faults, in_range(oil.temperature, kColdestOil, kHottestOil), prefix + ".temperature",
         oil.temperature, "K",
         fmt::format("must be {}", say_range(kColdestOil, kHottestOil, "degC")));
  demand(faults, oil.discharge > 0.0 && oil.discharge <= 1.0, prefix + ".discharge", oil.discharge,
         "", "must be above 0 and at most 1");
  return faults;
}

DamperLaw<double> make_damper(const DamperSetup& damper, const OilSetup& oil) {
  DamperLaw<double> law;
  switch (damper.kind) {
    case DamperKind::slopes:
      std::tie(law.low_speed, law.high_speed) = slopes_at(damper);
      law.knee = damper.knee;
      break;
    case DamperKind::points:
      law.table.table = std::make_shared<const ForceTable>(knots_through(damper.points));
      break;
    case DamperKind::hydraulic:
      law.table.table = std::make_shared<const ForceTable>(knots_of(Hydraulics(damper, oil)));
      break;
  }
  return law;
}

}  // namespace plunge
