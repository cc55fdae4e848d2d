#include "tools/cli/damper_curves.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string_view>
#include <utility>

#include "models/setup/parameters.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

ClickReadings by_click(const DirectionCurve& curve, const OilSetup& oil, const Adjuster& adjuster) {
  ClickReadings readings{adjuster, curve.damper.*adjuster.position, {}};
  DamperSetup damper = curve.damper;
  for (double clicks = adjuster.first; clicks <= adjuster.last; ++clicks) {
    damper.*adjuster.position = clicks;
    ClickReading one{clicks, {}, {}};
    one.reading.force.fill(kUnset);
    if (!is_locked(damper, oil)) {
      one.reading = read_damper(damper, oil);
      one.force = damper_curve(damper, oil).force;
    }
    readings.clicks.push_back(std::move(one));
  }
  return readings;
}

DirectionCurve direction_curve(const std::string& name, const DamperSetup& damper,
                               const OilSetup& oil, bool with_clicks) {
  DamperCurve over_speed = damper_curve(damper, oil);
  DirectionCurve curve{name,
                       damper,
                       read_damper(damper, oil),
                       std::move(over_speed.speed),
                       std::move(over_speed.force),
                       {}};
  if (!with_clicks) return curve;
  for (const Adjuster& adjuster : adjusters_of(damper)) {
    curve.adjusters.push_back(by_click(curve, oil, adjuster));
  }
  return curve;
}

// "hydraulic; low-speed adjuster at 8 clicks from closed of 16, high-speed adjuster at ...".
std::string position_words(const DirectionCurve& curve) {
  const Choice<Setup>& kinds = *find_choice("fork.compression.kind");
  std::string text = fmt::format("{}: {}", curve.name,
                                 kinds.values[static_cast<std::size_t>(curve.damper.kind)].name);
  const std::vector<Adjuster> adjusters = adjusters_of(curve.damper);
  if (adjusters.empty()) text += ", no adjuster";
  for (const Adjuster& adjuster : adjusters) {
    text += fmt::format(", {} {} of {} clicks from closed", to_string(adjuster.adjusts),
                        curve.damper.*adjuster.position, adjuster.last);
  }
  return text;
}

Table reading_table(const std::string& first, const std::string& unit) {
  Table table;
  table.column(first, unit);
  table.column("slope at rest", "N.s/m");
  table.column("knee", "m/s");
  table.column("force at the knee", "N", true);
  for (const double speed : kReadSpeeds) table.column(fmt::format("{} m/s", speed), "N");
  return table;
}

void add_reading(Table& table, const std::string& first, const DamperReading& reading) {
  std::vector<std::string> cells{first, in_unit(reading.slope_at_rest, "N.s/m", 0),
                                 in_unit(reading.knee, "m/s", 3),
                                 in_unit(reading.knee_force, "N", 0)};
  for (const double force : reading.force) cells.push_back(in_unit(force, "N", 0));
  table.row(cells);
}

// "compression by its low-speed adjuster, high-speed adjuster at 6".
std::string click_heading(const DirectionCurve& curve, const ClickReadings& readings) {
  std::string text = fmt::format("{} by its {}", curve.name, to_string(readings.adjuster.adjusts));
  for (const ClickReadings& other : curve.adjusters) {
    if (other.adjuster.adjusts == readings.adjuster.adjusts) continue;
    text += fmt::format(", {} at {}", to_string(other.adjuster.adjusts), other.as_set);
  }
  return text;
}

std::string clicks_text(const DirectionCurve& curve, const ClickReadings& readings) {
  Table table = reading_table("clicks", "from closed");
  bool locked = false;
  for (const ClickReading& one : readings.clicks) {
    const char* remark = one.clicks == readings.as_set ? ", as set" : "";
    add_reading(table, fmt::format("{}{}", one.clicks, remark), one.reading);
    locked = locked || one.force.empty();
  }
  std::string text = wrapped(click_heading(curve, readings), line_width()) + "\n\n" + table.text();
  if (locked) {
    text += wrapped("without numbers: the damper is locked there and is not ridden", line_width()) +
            "\n";
  }
  return text;
}

std::string one_damper_text(const DamperCurves& damper) {
  std::string text;
  for (const DirectionCurve& curve : damper.directions) {
    text += wrapped(position_words(curve), line_width(), 2) + "\n";
  }
  Table table = reading_table("", "");
  for (const DirectionCurve& curve : damper.directions) {
    add_reading(table, curve.name, curve.reading);
  }
  text += "\n" + table.text();
  for (const DirectionCurve& curve : damper.directions) {
    for (const ClickReadings& readings : curve.adjusters) {
      text += "\n" + clicks_text(curve, readings);
    }
  }
  return text;
}

// The label of a variant without what was varied in the other direction, of which this one knows
// nothing: behind the fork one part of the label belongs to each variation.
std::string label_of(const DamperCurves& damper, const std::string& other) {
  constexpr std::string_view kBetween = ", ";
  std::string label = damper.fork;
  std::string_view rest = damper.label;
  if (!label.empty()) rest.remove_prefix(std::min(rest.size(), label.size() + kBetween.size()));
  for (const NamedValue& set : damper.set) {
    const std::string_view part = rest.substr(0, rest.find(kBetween));
    rest.remove_prefix(std::min(rest.size(), part.size() + kBetween.size()));
    if (set.name.starts_with("fork." + other + ".")) continue;
    label += (label.empty() ? "" : kBetween);
    label += part;
  }
  return label.empty() ? "in all" : label;
}

std::string side_by_side_text(const std::vector<DamperCurves>& dampers) {
  std::string text;
  for (const std::size_t way : {0U, 1U}) {
    const std::string& other = dampers.front().directions[1 - way].name;
    Table table = reading_table(dampers.front().directions[way].name, "");
    std::set<std::string> labels;
    for (const DamperCurves& damper : dampers) {
      const std::string label = label_of(damper, other);
      if (labels.insert(label).second) add_reading(table, label, damper.directions[way].reading);
    }
    text += (text.empty() ? "" : "\n") + table.text();
  }
  return text;
}

}  // namespace

DamperCurves damper_curves(const ReadyRide& variant, const std::string& fork, bool by_click) {
  const ForkSetup& numbers = variant.setup.fork;
  return {variant.label,
          fork,
          variant.set,
          {direction_curve("compression", numbers.compression, numbers.oil, by_click),
           direction_curve("rebound", numbers.rebound, numbers.oil, by_click)}};
}

std::string damper_text(const std::vector<DamperCurves>& dampers) {
  return dampers.size() == 1 ? one_damper_text(dampers.front()) : side_by_side_text(dampers);
}

}  // namespace plunge
