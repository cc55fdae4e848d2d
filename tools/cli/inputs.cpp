#include "tools/cli/inputs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <string_view>

#include "models/setup/parameters.hpp"
#include "sim/measure/metrics.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

constexpr char kMissing[] = "-";
constexpr char kPressure[] = "fork.pressure";

// Numbers that follow from others where they are not given themselves.
struct Follower {
  std::string_view name;
  std::string_view from;  // how the names of the others begin
};
constexpr std::array kFollowers = {
    Follower{"rider.sprung_mass", "rider.mass"},
    Follower{"rider.sprung_mass", "rider.front_share"},
    Follower{"rider.sprung_mass", "rider.body_share"},
    Follower{"rider.sprung_mass", "bike.mass"},
    Follower{"rider.sprung_mass", "fork.unsprung_mass"},
    Follower{"rider.body_mass", "rider.mass"},
    Follower{"rider.body_mass", "rider.front_share"},
    Follower{"rider.body_mass", "rider.body_share"},
    Follower{"total_mass", "rider.mass"},
    Follower{"total_mass", "bike.mass"},
    Follower{"pumped.altitude", "ambient.altitude"},
    Follower{"pumped.temperature", "ambient.temperature"},
    Follower{"fork.compression.low_speed", "fork.compression.clicks"},
    Follower{"fork.compression.high_speed", "fork.compression.clicks"},
    Follower{"fork.compression.high_speed", "fork.compression.high_speed_clicks"},
    Follower{"fork.rebound.low_speed", "fork.rebound.clicks"},
    Follower{"fork.rebound.high_speed", "fork.rebound.clicks"},
    Follower{"fork.rebound.high_speed", "fork.rebound.high_speed_clicks"},
    Follower{"fork.compression.bleed_closed", "fork.compression.bleed_clicks"},
    Follower{"fork.rebound.bleed_closed", "fork.rebound.bleed_clicks"},
};

std::string said_of(const std::string& name, const std::string& unit) {
  if (const Parameter* parameter = find_parameter(name)) return std::string(parameter->said);
  const std::string field = name.substr(std::min(name.find("].") + 2, name.size()));
  if (name.starts_with("terrain[")) {
    const auto found = std::ranges::find(feature_fields(), field, &FeatureField::name);
    if (found != feature_fields().end()) return std::string(found->said);
  }
  if (name.starts_with("event[")) {
    const auto found = std::ranges::find(event_fields(), field, &EventField::name);
    if (found != event_fields().end()) return std::string(found->said);
  }
  if (name == "hold.sag") return unit == "1" ? "%" : "mm";
  return unit;
}

// The value of an input in one ride.
struct Given {
  std::string unit;
  double value = kUnset;
  std::string text;
  bool there = false;
};

Given given(const FileRide& ride, const std::string& name) {
  for (const UsedParameter& used : ride.parameters) {
    if (used.name != name) continue;
    return {used.unit, used.value, used.text, std::isfinite(used.value) || !used.text.empty()};
  }
  for (const NamedValue& set : ride.ride.set) {
    if (set.name == name) return {set.unit, set.value, "", true};
  }
  return {};
}

// Every input of the rides, those of the table in its order, then others as they come.
std::vector<std::string> input_names(const std::vector<const FileRide*>& rides) {
  std::vector<std::string> names;
  std::set<std::string> known;
  const auto add = [&](const std::string& name) {
    if (known.insert(name).second) names.push_back(name);
  };
  std::set<std::string> used;
  for (const FileRide* ride : rides) {
    for (const UsedParameter& parameter : ride->parameters) used.insert(parameter.name);
  }
  for (const std::string_view name : {"fork.name", "bike.name", "rider.name"}) {
    if (used.contains(std::string(name))) add(std::string(name));
  }
  for (const std::string_view name : dotted_names()) {
    if (used.contains(std::string(name))) add(std::string(name));
  }
  for (const std::string& name : used) add(name);
  for (const FileRide* ride : rides) {
    for (const NamedValue& set : ride->ride.set) add(set.name);
  }
  return names;
}

bool held_in_all(const std::vector<const FileRide*>& rides, const std::string& name) {
  return std::ranges::all_of(rides, [&](const FileRide* ride) {
    return std::ranges::find(ride->ride.held, name, &NamedValue::name) != ride->ride.held.end();
  });
}

// The values of an input in people's words: with as many digits as tell them apart.
std::vector<std::string> said_values(const std::vector<Given>& values, const std::string& said) {
  constexpr int kLeastDigits = 4;
  constexpr int kMostDigits = 9;
  std::set<double> different;
  for (const Given& one : values) {
    if (one.there && one.text.empty()) different.insert(one.value);
  }
  std::vector<std::string> texts;
  for (int digits = kLeastDigits; digits <= kMostDigits; ++digits) {
    texts.clear();
    std::set<std::string> numbers;
    for (const Given& one : values) {
      const double number = in_common_unit(one.value, said);
      const bool is_number = one.there && one.text.empty();
      texts.push_back(!one.there  ? kMissing
                      : is_number ? fmt::format("{:.{}g}", number + 0.0, digits)
                                  : one.text);
      if (is_number) numbers.insert(texts.back());
    }
    if (numbers.size() == different.size()) break;
  }
  return texts;
}

bool all_equal(const std::vector<std::string>& values) {
  return std::ranges::all_of(values, [&](const std::string& v) { return v == values.front(); });
}

// Ground and events, as far as no input of its own tells them apart: which of them a ride has.
DifferingInput differing_part(const std::vector<const FileRide*>& rides, const std::string& part) {
  DifferingInput input{part, "", {}};
  std::vector<std::string> kinds;
  for (const FileRide* ride : rides) {
    const bool varied = std::ranges::any_of(
        ride->ride.set, [&](const NamedValue& set) { return set.name.starts_with(part + "["); });
    std::string own;
    const std::string begin = "[[" + part + "]]";
    const std::string& text = ride->ride.scene_text;
    for (std::size_t at = varied ? std::string::npos : text.find(begin); at != std::string::npos;) {
      const std::size_t end = text.find("\n[", at + begin.size());
      own += text.substr(at, end == std::string::npos ? end : end + 1 - at);
      at = end == std::string::npos ? end : text.find(begin, end);
    }
    auto kind = std::ranges::find(kinds, own);
    if (kind == kinds.end()) kind = kinds.insert(kinds.end(), own);
    input.values.push_back(fmt::format("no. {}", kind - kinds.begin() + 1));
  }
  return input;
}

}  // namespace

std::vector<DifferingInput> differing_inputs(const std::vector<const FileRide*>& rides, bool bar) {
  std::vector<DifferingInput> inputs;
  for (const std::string& name : input_names(rides)) {
    if (held_in_all(rides, name)) continue;
    DifferingInput input{name, "", {}};
    std::vector<Given> values;
    for (const FileRide* ride : rides) {
      values.push_back(given(*ride, name));
      const Given& last = values.back();
      if (last.there && last.text.empty()) input.said = in_bar(said_of(name, last.unit), bar);
    }
    input.values = said_values(values, input.said);
    if (!all_equal(input.values)) inputs.push_back(std::move(input));
  }
  const auto differs = [&](std::string_view name) {
    return std::ranges::find(inputs, name, &DifferingInput::name) != inputs.end();
  };
  std::vector<std::string_view> following;
  for (const Follower& follower : kFollowers) {
    if (differs(follower.from)) following.push_back(follower.name);
  }
  std::erase_if(inputs, [&](const DifferingInput& input) {
    return std::ranges::find(following, input.name) != following.end();
  });
  if (held_in_all(rides, kPressure) && !differs("hold.sag")) {
    DifferingInput sag{"hold.sag", "%", {}};
    for (const FileRide* ride : rides) {
      sag.values.push_back(in_unit(metric(ride->ride, "sag_share"), "%", 1));
    }
    if (!all_equal(sag.values)) inputs.push_back(std::move(sag));
  }
  for (const char* part : {"terrain", "event"}) {
    DifferingInput input = differing_part(rides, part);
    if (!all_equal(input.values)) inputs.push_back(std::move(input));
  }
  return inputs;
}

Sifted sift(const std::vector<const Result*>& rides, unsigned shown, bool bar,
            const std::vector<std::string>& open) {
  Sifted sifted;
  for (const MetricRow& row : metric_rows()) {
    if ((row.shown & shown) == 0) continue;
    const Label label = in_bar(row, bar);
    if (std::ranges::find(open, row.name) != open.end()) {
      sifted.differ.push_back(label);
      continue;
    }
    std::vector<std::string> values;
    for (const Result* ride : rides) values.push_back(in_said(metric(*ride, row.name), label));
    const std::string& first = values.front();
    if (first == kMissing && all_equal(values)) continue;
    const bool is_zero = first.find_first_not_of("0.") == std::string::npos;
    if (!all_equal(values) || (rides.size() == 1 && !is_zero)) {
      sifted.differ.push_back(label);
    } else if (!is_zero) {
      const std::string unit = unit_of(label.said);
      sifted.same.push_back(
          fmt::format("{} {}{}{}", label.label, first, unit.empty() ? "" : " ", unit));
    } else if (label.said == "1" && label.decimals == 0) {
      sifted.none.push_back(label.label);
    }
  }
  return sifted;
}

std::string remarks(const Sifted& sifted) {
  std::string text;
  const auto add = [&](const char* what, const std::vector<std::string>& list) {
    if (list.empty()) return;
    text += wrapped(fmt::format("{}: {}", what, fmt::join(list, "; ")), line_width(), 2) + "\n";
  };
  add("the same in all", sifted.same);
  add("in none", sifted.none);
  return text;
}

}  // namespace plunge
