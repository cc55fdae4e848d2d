#include "sim/fit/fork_file.hpp"

#include <fmt/core.h>

#include <cmath>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {
namespace {

constexpr std::string_view kFork = "fork.";

std::string value_text(double value, std::string_view unit, std::string_view said) {
  const std::string number = fmt::format("{:.9g}", in_common_unit(value, said));
  if (unit == "1" && said == "1") return number;
  return toml_quoted(number + " " + std::string(said));
}

std::string share_text(double share) { return fmt::format("\"{:.4g} %\"", 100.0 * share); }

// Lines by the table that they belong to, the file's own keys first.
class Tables {
 public:
  // "fork.air.main_volume": its table is "air", its key "main_volume".
  void put(std::string_view dotted, const std::string& value) {
    const std::string_view name = dotted.substr(kFork.size());
    const std::size_t dot = name.rfind('.');
    const bool own = dot == std::string_view::npos;
    line(own ? "" : name.substr(0, dot)) +=
        fmt::format("{} = {}\n", own ? name : name.substr(dot + 1), value);
  }
  void put_lines(std::string_view table, const std::string& lines) { line(table) += lines; }

  std::string text(const char* within) const {
    std::string all;
    for (const auto& [table, lines] : tables_) {
      if (lines.empty()) continue;
      if (table.empty() && *within == '\0') {
        all = lines + all;
      } else {
        all += fmt::format("\n[{}{}{}]\n{}", within, table.empty() || *within == '\0' ? "" : ".",
                           table, lines);
      }
    }
    return all;
  }

 private:
  std::string& line(std::string_view table) {
    for (auto& [name, lines] : tables_) {
      if (name == table) return lines;
    }
    return tables_.emplace_back(std::string(table), "").second;
  }
  std::vector<std::pair<std::string, std::string>> tables_;
};

template <class Row>
std::string rows_text(std::string_view key, const std::vector<Row>& rows,
                      std::span<const Field<Row>> fields) {
  if (rows.empty()) return {};
  std::string text = fmt::format("{} = [\n", key);
  for (const Row& row : rows) {
    std::string cells;
    for (const auto& field : fields) {
      const double value = field.get(row);
      if (std::isnan(value)) continue;
      cells += fmt::format("{}{} = {}", cells.empty() ? "" : ", ", field.name,
                           value_text(value, field.unit, field.said));
    }
    text += "  {" + cells + "},\n";
  }
  return text + "]\n";
}

void put_numbers(const Setup& setup, const Knowledge& knowledge, Tables& tables) {
  for (const auto& choice : choices()) {
    const int word = choice.get(setup);
    if (!choice.name.starts_with(kFork) || word == 0) continue;
    tables.put(choice.name, toml_quoted(choice.values[static_cast<std::size_t>(word)].name));
  }
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.get(setup);
    if (!parameter.name.starts_with(kFork) || std::isnan(value) || !is_read(parameter, setup)) {
      continue;
    }
    const bool known = knowledge.find(parameter.name) < knowledge.size();
    if (value == parameter.fallback && !known) continue;
    tables.put(parameter.name, value_text(value, parameter.unit, parameter.said));
  }
  for (const auto& [table, damper] : {std::pair("compression", &setup.fork.compression),
                                      std::pair("rebound", &setup.fork.rebound)}) {
    std::string lines;
    for_each_table(*damper, [&](const char* name, const char*, bool, const auto& rows,
                                auto fields) { lines += rows_text(name, rows, fields); });
    tables.put_lines(table, lines);
  }
}

std::string joint_text(const Knowledge& knowledge) {
  std::vector<std::size_t> joint;
  for (const std::size_t i : knowledge.uncertain()) {
    bool alone = true;
    for (const std::size_t j : knowledge.uncertain()) {
      alone = alone && (i == j || knowledge.covariance(i, j) == 0.0);
    }
    if (!alone) joint.push_back(i);
  }
  if (joint.empty()) return {};
  std::string text = "\n[joint]\nnames = [";
  for (std::size_t i = 0; i < joint.size(); ++i) {
    text += i > 0 ? ", " : "";
    text += toml_quoted(knowledge.numbers()[joint[i]].name.substr(kFork.size()));
  }
  text += "]\ncorrelation = [\n";
  for (std::size_t i = 1; i < joint.size(); ++i) {
    text += "  [";
    for (std::size_t j = 0; j < i; ++j) {
      const double correlation = knowledge.covariance(joint[i], joint[j]) /
                                 (knowledge.spread(joint[i]) * knowledge.spread(joint[j]));
      text += fmt::format("{}{:.6g}", j > 0 ? ", " : "", correlation);
    }
    text += "],\n";
  }
  return text + "]\n";
}

std::string list_text(const std::vector<std::string>& texts) {
  std::string text = "[\n";
  for (const std::string& item : texts) text += "  " + toml_quoted(item) + ",\n";
  return text + "]";
}

std::string service_text(const Service& service) {
  if (service.empty()) return {};
  std::string text = "\n[service]\n";
  const auto put = [&](const char* key, const std::string& value) {
    text += fmt::format("{} = {}\n", key, value);
  };
  if (!service.cap.empty()) put("cap", toml_quoted(service.cap));
  if (!std::isnan(service.torque)) {
    put("torque", value_text(service.torque, "N m", "N.m"));
    put("torque_source", toml_quoted(service.torque_source));
  }
  if (!service.tools.empty()) put("tools", list_text(service.tools));
  if (!service.steps.empty()) put("steps", list_text(service.steps));
  return text;
}

// Under "fork.travel" in place of where it was set.
void demand(const Parameter& parameter, double value, Faults& faults) {
  if (std::isnan(value) || in_range(value, parameter.low, parameter.high)) return;
  faults.push_back({std::string(parameter.name),
                    say(value, parameter),
                    "must be " + say_range(parameter.low, parameter.high, parameter.said),
                    {}});
}

}  // namespace

std::string fork_file_text(const Setup& setup, const Knowledge& knowledge, std::string_view note,
                           const Service& service) {
  std::string text =
      fmt::format("type = \"fork\"\nformat = [{}, {}]\n", kSceneFormatMajor, kSceneFormatMinor);
  if (!note.empty()) text += fmt::format("note = {}\n", toml_quoted(note));
  if (!setup.fork.name.empty()) text += fmt::format("name = {}\n", toml_quoted(setup.fork.name));
  Tables numbers;
  numbers.put_lines("", "");
  put_numbers(setup, knowledge, numbers);
  Tables marks;
  for (std::size_t i = 0; i < knowledge.size(); ++i) {
    const KnownNumber& number = knowledge.numbers()[i];
    const std::string spread =
        knowledge.spread(i) == 0.0 ? std::string("0") : share_text(knowledge.spread(i));
    marks.put(number.name,
              fmt::format("{{from = \"{}\", spread = {}, source = {}}}", to_string(number.evidence),
                          spread, toml_quoted(number.source)));
  }
  return text + numbers.text("") + service_text(service) + marks.text("known") +
         joint_text(knowledge);
}

std::string part_file_text(const Setup& setup, std::string_view type, std::string_view name) {
  std::string text =
      fmt::format("type = \"{}\"\nformat = [{}, {}]\n", type, kSceneFormatMajor, kSceneFormatMinor);
  if (!name.empty()) text += fmt::format("name = {}\n", toml_quoted(name));
  const std::string prefix = std::string(type) + ".";
  for (const auto& choice : choices()) {
    const int word = choice.get(setup);
    if (!choice.name.starts_with(prefix) || word == 0) continue;
    text += fmt::format("{} = {}\n", choice.name.substr(prefix.size()),
                        toml_quoted(choice.values[static_cast<std::size_t>(word)].name));
  }
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.get(setup);
    if (!parameter.name.starts_with(prefix) || std::isnan(value) || value == parameter.fallback ||
        !is_read(parameter, setup)) {
      continue;
    }
    text += fmt::format("{} = {}\n", parameter.name.substr(prefix.size()),
                        value_text(value, parameter.unit, parameter.said));
  }
  return text;
}

BegunFork begin_fork(const ForkStart& start) {
  BegunFork begun;
  ForkSetup& fork = begun.setup.fork;
  Faults faults = judge(start.family);
  if (!in_range(start.travel, kFamilyTravel[0], kFamilyTravel[1])) {
    faults.push_back({"fork.travel",
                      std::isnan(start.travel) ? "" : say(start.travel, "mm"),
                      "must be " + say_range(kFamilyTravel[0], kFamilyTravel[1], "mm"),
                      {}});
  }
  demand(*find_parameter("fork.air.spacer_volume"), start.spacer_volume, faults);
  demand(*find_parameter("fork.spacer_limit"), start.spacer_limit, faults);
  demand(*find_parameter("fork.pressure_limit"), start.pressure_limit, faults);
  if (!faults.empty()) throw InputError(std::move(faults));
  fork.name = start.name;
  const auto given = [&](const char* name, double value, double spread, const char* source) {
    if (std::isnan(value)) return;
    find_parameter(name)->set(begun.setup, value);
    begun.knowledge.add({name, Evidence::measured, source}, spread);
  };
  given("fork.travel", start.travel, 0.0, "given");
  given("fork.spacer_limit", start.spacer_limit, 0.0, "given");
  given("fork.pressure_limit", start.pressure_limit, 0.0, "given");
  given("fork.air.spacer_volume", start.spacer_volume, 0.05, "given, of one spacer");
  fill_from_family(start.family, false, begun.setup, begun.knowledge);
  if (!std::isnan(start.family.bore)) {
    begun.knowledge.set_evidence(begun.knowledge.find("fork.air.main_area"), Evidence::measured,
                                 "bore of " + say(start.family.bore, "mm") + ", given");
  }
  fill_defaults(begun.setup);
  if (Faults found = judge(fork); !found.empty()) throw InputError(std::move(found));
  return begun;
}

}  // namespace plunge
