#include "tools/cli/log_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/log/log_json.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/utf8.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kLineLetters = 60;  // of a text that stands in a line with others
constexpr std::string_view kShownMetric = "travel_max";

// The unit in which a workshop says what it has measured, by the SI unit.
std::string said_unit(const std::string& unit) {
  static const std::map<std::string_view, std::string_view> said = {
      {"Pa", "psi"}, {"m", "mm"}, {"m2", "cm2"}, {"m3", "cm3"}, {"rad", "deg"}, {"K", "degC"}};
  const auto found = said.find(unit);
  return found == said.end() ? unit : std::string(found->second);
}

// A number in SI with so many digits as people need, or with all of them.
std::string number_text(double value, const std::string& said, LogNumbers numbers) {
  const double number = find_common_unit(said) != nullptr ? in_common_unit(value, said) : value;
  return numbers == LogNumbers::all ? fmt::format("{:.8g}", number) : fmt::format("{:.4g}", number);
}

std::string with_its_unit(const std::string& number, const std::string& said) {
  return said == "1" || said.empty() ? number : number + " " + said;
}

// A number by name; its unit is that of its table.
std::string said_number(const std::string& name, double value, bool bar) {
  if (const MetricRow* row = find_metric(name)) {
    const Label label = in_bar(*row, bar);
    return with_its_unit(in_said(value, label), label.said);
  }
  const std::string said = in_bar(unit_of_number(name).said, bar);
  return with_its_unit(number_text(value, said, LogNumbers::said), said);
}

std::string said_reference(const LogContent& log, std::int64_t number) {
  const LogEntry* entry = log.find(number);
  const std::string name = entry == nullptr ? "" : entry->text("name");
  return name.empty() ? std::to_string(number) : name;
}

// A field as people read it, its unit behind it.
std::string said_value(const LogContent& log, const LogField& field, const LogValue& value,
                       bool bar) {
  switch (field.type) {
    case FieldType::name:
    case FieldType::text:
      return std::get<std::string>(value);
    case FieldType::kept:
      return fmt::format("kept, {}", counted(std::get<std::string>(value).size(), "byte"));
    case FieldType::whole:
      return std::to_string(std::get<std::int64_t>(value));
    case FieldType::quantity: {
      const std::string said = in_bar(std::string(field.said), bar);
      return with_its_unit(number_text(std::get<double>(value), said, LogNumbers::said), said);
    }
    case FieldType::measured: {
      const auto& [number, unit] = std::get<Measured>(value);
      const std::string said = in_bar(said_unit(unit), bar);
      return with_its_unit(number_text(number, said, LogNumbers::said), said);
    }
    case FieldType::entry:
      return said_reference(log, std::get<std::int64_t>(value));
  }
  return "";
}

// The same without a unit, for a column that has one.
std::string cell_of(const LogContent& log, const LogField& field, const LogValue& value, bool bar,
                    LogNumbers numbers) {
  if (field.type == FieldType::quantity) {
    return number_text(std::get<double>(value), in_bar(std::string(field.said), bar), numbers);
  }
  if (field.type == FieldType::measured && numbers == LogNumbers::all) {
    const auto& [number, unit] = std::get<Measured>(value);
    const std::string said = in_bar(said_unit(unit), bar);
    return with_its_unit(number_text(number, said, numbers), said);
  }
  if (field.type == FieldType::kept && numbers == LogNumbers::all) {
    return std::get<std::string>(value);
  }
  return said_value(log, field, value, bar);
}

// Names of numbers that some of the entries have, in the order of their tables.
std::vector<std::string> numbers_of(const LogKind& kind,
                                    const std::vector<const LogEntry*>& entries,
                                    LogNumbers numbers) {
  std::vector<std::string> names;
  const auto take = [&](std::string_view name) {
    const bool shows =
        kind.numbers == NumbersBy::parameter || numbers == LogNumbers::all || name == kShownMetric;
    const bool some = std::ranges::any_of(
        entries, [&](const LogEntry* entry) { return entry->numbers.contains(name); });
    if (shows && some) names.emplace_back(name);
  };
  for (const Parameter& parameter : parameters()) take(parameter.name);
  for (const MetricRow& row : metric_rows()) take(row.name);
  return names;
}

std::string numbers_text(const LogEntry& entry, bool bar) {
  if (entry.kind->numbers == NumbersBy::metric) {
    const auto travel = entry.numbers.find(kShownMetric);
    if (travel == entry.numbers.end()) return counted(entry.numbers.size(), "metric");
    return "travel used " + said_number(travel->first, travel->second, bar);
  }
  std::vector<std::string> parts;
  for (const auto& [name, value] : entry.numbers) {
    parts.push_back(fmt::format("{} {}", name, said_number(name, value, bar)));
  }
  return fmt::format("{}", fmt::join(parts, ", "));
}

// How a prediction came about, which takes a line of its own.
bool is_origin(const LogField& field) { return field.name == "history" || field.name == "program"; }

std::string millimetres(double metres) { return in_unit(metres, "mm", 1); }

std::string sum_text(const char* which, const AccountSum& sum) {
  if (sum.rides == 0) return "";
  const std::string spread =
      std::isnan(sum.spread) ? "" : fmt::format(", spread {} mm", millimetres(sum.spread));
  const std::string inside =
      sum.banded == 0 ? "" : fmt::format("; {} of {} within its band", sum.inside, sum.banded);
  return fmt::format("{} {}: the ring read {} mm {} on average{}{}\n", counted(sum.rides, "ride"),
                     which, millimetres(std::abs(sum.mean)), sum.mean < 0.0 ? "less" : "more",
                     spread, inside);
}

Json sum_json(const AccountSum& sum) {
  return {{"rides", sum.rides},
          {"mean_error", json_number(sum.mean)},
          {"spread", json_number(sum.spread)},
          {"banded", sum.banded},
          {"inside", sum.inside}};
}

}  // namespace

std::vector<LogColumn> log_columns(const LogContent& log, const LogKind& kind,
                                   const std::vector<const LogEntry*>& entries, bool bar,
                                   LogNumbers numbers) {
  std::vector<LogColumn> columns;
  const auto column = [&](const std::string& name, const std::string& unit, bool is_number,
                          const auto& cell) {
    LogColumn made{name, unit, {}, is_number};
    bool some = false;
    for (const LogEntry* entry : entries) {
      made.cells.push_back(cell(*entry));
      some = some || !made.cells.back().empty();
    }
    if (some) columns.push_back(std::move(made));
  };
  column("number", "", true, [](const LogEntry& entry) { return std::to_string(entry.number); });
  column("added", "", false, [](const LogEntry& entry) { return entry.at; });
  column("", "", false, [](const LogEntry& entry) { return entry.undone ? "undone" : ""; });
  for (const LogField& field : kind.fields) {
    if (is_origin(field) && numbers == LogNumbers::said) continue;
    const std::string said = field.said == "1" ? "" : in_bar(std::string(field.said), bar);
    const bool is_number = field.type == FieldType::quantity || field.type == FieldType::whole;
    column(std::string(field.name), said, is_number, [&](const LogEntry& entry) {
      const LogValue* value = entry.find(field.name);
      if (value == nullptr) return std::string();
      const std::string text = cell_of(log, field, *value, bar, numbers);
      return numbers == LogNumbers::all ? text : printable(text, kLineLetters);
    });
  }
  for (const std::string& name : numbers_of(kind, entries, numbers)) {
    const std::string said = in_bar(unit_of_number(name).said, bar);
    column(name, unit_of(said), true, [&](const LogEntry& entry) {
      const auto found = entry.numbers.find(name);
      return found == entry.numbers.end() ? std::string()
                                          : number_text(found->second, said, numbers);
    });
  }
  return columns;
}

std::string said_entry(const LogContent& log, const LogEntry& entry, bool bar) {
  std::vector<std::string> parts;
  for (const LogField& field : entry.kind->fields) {
    const LogValue* value = entry.find(field.name);
    if (value == nullptr || field.type == FieldType::kept || is_origin(field)) continue;
    const std::string text = printable(said_value(log, field, *value, bar), kLineLetters);
    const bool first = &field == &entry.kind->fields.front() && field.type != FieldType::entry;
    parts.push_back(first ? text : fmt::format("{} {}", field.name, text));
  }
  const std::string numbers = numbers_text(entry, bar);
  if (!numbers.empty()) parts.push_back(numbers);
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string entry_text(const LogContent& log, const LogEntry& entry, bool bar) {
  std::string text = fmt::format("{} {}, added {}{}\n", entry.kind->name, entry.number, entry.at,
                                 entry.undone ? ", undone" : "");
  std::vector<std::pair<std::string, std::string>> lines;
  for (const LogField& field : entry.kind->fields) {
    const LogValue* value = entry.find(field.name);
    if (value != nullptr) lines.emplace_back(field.name, said_value(log, field, *value, bar));
  }
  const LogEntry* parent = log.find(entry.reference("parent"));
  for (const auto& [name, value] : entry.numbers) {
    std::string said = said_number(name, value, bar);
    if (parent != nullptr) {
      const auto before = parent->numbers.find(name);
      const std::string was =
          before == parent->numbers.end() ? "" : said_number(name, before->second, bar);
      if (was.empty()) said += ", not set in its parent";
      if (!was.empty() && was != said) said += ", was " + was;
    }
    const MetricRow* row = find_metric(name);
    lines.emplace_back(row == nullptr ? name : row->label, said);
  }
  std::size_t widest = 0;
  for (const auto& [name, said] : lines) widest = std::max(widest, count_letters(name));
  for (const auto& [name, said] : lines) {
    text += fmt::format("  {}{}  {}\n", name, std::string(widest - count_letters(name), ' '),
                        shown(said));
  }
  return text;
}

std::string account_text(const LogContent& log, const LogAccount& account, bool with_rides) {
  if (account.rows.empty()) return "";
  std::string text;
  if (with_rides) {
    Table table;
    table.column("ride", "");
    table.column("setting", "");
    table.column("predicted", "mm");
    const auto said = [](const AccountRow& row) { return row.low <= row.high; };
    const bool banded = std::ranges::any_of(account.rows, said);
    if (banded) table.column("from", "mm");
    if (banded) table.column("to", "mm");
    table.column("ring", "mm");
    table.column("error", "mm");
    table.column("made", "");
    for (const AccountRow& row : account.rows) {
      std::vector<std::string> cells = {
          fmt::format("{} {}", row.ride, printable(row.scene, kLineLetters)),
          printable(said_reference(log, row.setting), kLineLetters), millimetres(row.predicted)};
      if (banded) cells.push_back(millimetres(row.low));
      if (banded) cells.push_back(millimetres(row.high));
      cells.push_back(millimetres(row.ring));
      cells.push_back(millimetres(row.error));
      cells.emplace_back(row.foretold ? "before" : "after");
      table.row(std::move(cells));
    }
    text += table.text();
  }
  text += sum_text("foretold", account.foretold);
  text += sum_text("predicted afterwards", account.afterwards);
  return text;
}

Json account_json(const LogAccount& account) {
  Json rides = Json::array();
  for (const AccountRow& row : account.rows) {
    rides.push_back({{"ride", row.ride},
                     {"setting", row.setting},
                     {"prediction", row.prediction},
                     {"scene", row.scene},
                     {"travel_max", json_number(row.predicted)},
                     {"ring", json_number(row.ring)},
                     {"error", json_number(row.error)},
                     {"ring_low", json_number(row.low)},
                     {"ring_high", json_number(row.high)},
                     {"foretold", row.foretold}});
  }
  return {{"rides", rides},
          {"foretold", sum_json(account.foretold)},
          {"afterwards", sum_json(account.afterwards)}};
}

std::string counts_text(const LogContent& log) {
  std::vector<std::string> parts;
  for (const LogKind& kind : log_kinds()) {
    const std::size_t count = log.of(kind.name).size();
    if (!kind.is_mark && count > 0) parts.push_back(counted(count, std::string(kind.name)));
  }
  return parts.empty() ? "nothing" : fmt::format("{}", fmt::join(parts, ", "));
}

}  // namespace plunge
