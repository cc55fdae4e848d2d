#include "sim/log/log_kinds.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/measure/metrics.hpp"

namespace plunge {
namespace {

LogField text_field(std::string_view name, std::string_view meaning, bool needed = false) {
  return {name, FieldType::text, needed, meaning};
}

LogField reference(std::string_view name, std::string_view kind, std::string_view meaning,
                   bool needed = false) {
  return {name, FieldType::entry, needed, meaning, {}, {}, kUnset, kUnset, kind};
}

// A length of travel: no fork has more than its parameter may be.
LogField travel_field(std::string_view name, std::string_view meaning) {
  const Parameter& travel = *find_parameter("fork.travel");
  return {name, FieldType::quantity, false, meaning, travel.unit, travel.said, 0.0, travel.high};
}

LogKind thing(std::string_view name, std::string_view meaning, std::string_view prefix) {
  return {name,
          meaning,
          {{"name", FieldType::name, true, "what it is called"},
           {"file", FieldType::kept, false, "its TOML file, kept whole"},
           text_field("remarks", "anything else")},
          NumbersBy::parameter,
          prefix};
}

std::vector<LogKind> all_kinds() {
  const Parameter& mass = *find_parameter("rider.mass");
  const double most_spacers = find_parameter("fork.spacer_limit")->high;
  constexpr double kMostBottomOuts = 1000.0;  // felt in one ride: chosen
  return {
      thing("bike", "a bike", "bike."),
      thing("rider", "a rider, with clothing and pack", "rider."),
      thing("fork", "a fork", "fork."),
      {"setting",
       "how a fork was set up, never changed: what is set anew is another setting",
       {{"name", FieldType::name, false, "what it is called"},
        reference("fork", "fork", "whose it is", true),
        reference("rider", "rider", "who rides it"),
        reference("bike", "bike", "what it is on"),
        reference("parent", "setting", "what it was made from"),
        text_field("remarks", "anything else")},
       NumbersBy::parameter},
      {"ride",
       "a ride on the trail",
       {reference("setting", "setting", "how the fork was set up", true),
        text_field("scene", "which trail, or scene"),
        travel_field("ring", "travel used, by the ring on the leg"),
        {"bottom_outs", FieldType::whole, false, "bottom-outs felt", "1", "1", 0.0,
         kMostBottomOuts},
        text_field("remarks", "what the rider says")},
       NumbersBy::none},
      {"reading",
       "what was read off a fork, for plunge fit",
       {text_field("what",
                   "what was read; plunge fit takes its own kinds of readings: sag, push, ...",
                   true),
        reference("fork", "fork", "whose it is", true),
        reference("setting", "setting", "how it was set up"),
        {"value", FieldType::measured, true, "what it came to"},
        {"spread", FieldType::measured, false, "its standard deviation"},
        travel_field("travel", "travel at which it was read"),
        {"load", FieldType::quantity, false, "mass that rested on the fork", mass.unit, mass.said,
         0.0, mass.high},
        text_field("moving", "which way the fork came there: settled, down or up"),
        {"count", FieldType::whole, false, "spacers that were measured together", "1", "1", 1.0,
         most_spacers},
        text_field("instrument", "with what"),
        text_field("remarks", "anything else")},
       NumbersBy::parameter},
      {"prediction",
       "what plunge said of a setting, or of a ride",
       {reference("setting", "setting", "for which it was made"),
        reference("ride", "ride", "for which it was made"),
        text_field("scene", "trail that it holds for; none: every ride of the setting"),
        travel_field("ring_low", "the ring is lower in one ride of twenty"),
        travel_field("ring_high", "the ring is higher in one ride of twenty"),
        text_field("file", "name of the result file"),
        text_field("history", "command that rode it"),
        text_field("program", "version of plunge that rode it"),
        text_field("remarks", "anything else")},
       NumbersBy::metric},
      {"note",
       "anything else",
       {text_field("text", "what it says", true),
        reference("about", "", "the entry that it is about")}},
      {kUndo,
       "marks an entry as undone",
       {reference("entry", "", "what is undone", true)},
       NumbersBy::none,
       {},
       true},
      {kRedo,
       "takes an undo back",
       {reference("undo", kUndo, "what is taken back", true)},
       NumbersBy::none,
       {},
       true},
  };
}

std::string_view type_words(FieldType type) {
  switch (type) {
    case FieldType::name:
      return "name";
    case FieldType::text:
      return "text";
    case FieldType::kept:
      return "text of a file";
    case FieldType::whole:
      return "whole number";
    case FieldType::quantity:
      return "quantity";
    case FieldType::measured:
      return "quantity with its unit";
    case FieldType::entry:
      return "entry";
  }
  return "";
}

std::string range_words(const LogField& field) {
  if (field.type == FieldType::whole) return fmt::format("{:.0f} to {:.0f}", field.low, field.high);
  if (field.type == FieldType::quantity) return say_range(field.low, field.high, field.said);
  if (field.type == FieldType::entry) {
    return field.refers.empty() ? "any" : one_of(field.refers);
  }
  return "";
}

}  // namespace

const LogField* LogKind::find(std::string_view field) const {
  const auto found = std::ranges::find(fields, field, &LogField::name);
  return found == fields.end() ? nullptr : &*found;
}

std::span<const LogKind> log_kinds() {
  static const std::vector<LogKind> kinds = all_kinds();
  return kinds;
}

const LogKind* find_kind(std::string_view name) {
  for (const LogKind& kind : log_kinds()) {
    if (name == kind.name || name == std::string(kind.name) + "s") return &kind;
  }
  return nullptr;
}

const LogKind& demand_kind(std::string_view name) {
  if (const LogKind* kind = find_kind(name)) return *kind;
  std::vector<std::string_view> names;
  for (const LogKind& kind : log_kinds()) names.push_back(kind.name);
  throw InputError(
      Fault{"kind", std::string(name), "is no kind of entry" + suggestion(name, names), {}});
}

std::string one_of(std::string_view kind) {
  const bool vowel = !kind.empty() && std::string_view("aeiou").find(kind[0]) != kind.npos;
  return fmt::format("{} {}", vowel ? "an" : "a", kind);
}

NumberUnit unit_of_number(std::string_view name) {
  if (const Parameter* parameter = find_parameter(name)) {
    return {std::string(parameter->unit), std::string(parameter->said)};
  }
  if (const MetricRow* row = find_metric(name)) return {row->unit, row->said};
  return {};
}

std::string log_page() {
  std::string text;
  for (const LogKind& kind : log_kinds()) {
    text += fmt::format("### {}\n\n{}.", kind.name, kind.meaning);
    if (kind.numbers == NumbersBy::parameter) {
      text += fmt::format(" Numbers by name: parameters{}.",
                          kind.prefix.empty() ? "" : fmt::format(" `{}*`", kind.prefix));
    }
    if (kind.numbers == NumbersBy::metric) text += " Numbers by name: metrics.";
    text += "\n\n| field | holds | | range | meaning |\n|---|---|---|---|---|\n";
    for (const LogField& field : kind.fields) {
      text += fmt::format("| `{}` | {} | {} | {} | {} |\n", field.name, type_words(field.type),
                          field.needed ? "needed" : "", range_words(field), field.meaning);
    }
    text += "\n";
  }
  return text;
}

}  // namespace plunge
