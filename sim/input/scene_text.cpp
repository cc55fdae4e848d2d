#include "sim/input/scene_text.hpp"

#include <fmt/core.h>

#include <cmath>
#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "models/setup/knob.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {
namespace {

// One value of the canonical text: a bare number for the unit "1", else a text in SI.
std::string canonical(double value, std::string_view unit) {
  if (unit == "1") return toml_number(value);
  return fmt::format("\"{} {}\"", value, unit);
}

template <class Owner>
std::string canonical_row(const Owner& owner, std::span<const Field<Owner>> fields) {
  std::string text;
  for (const auto& field : fields) {
    if (std::isnan(field.get(owner))) continue;
    text += fmt::format("{}{} = {}", text.empty() ? "" : ", ", field.name,
                        canonical(field.get(owner), field.unit));
  }
  return "{" + text + "}";
}

template <class Row>
std::string canonical_rows(std::string_view key, const std::vector<Row>& rows,
                           std::span<const Field<Row>> fields) {
  if (rows.empty()) return {};
  std::string text = fmt::format("{} = [\n", key);
  for (const Row& row : rows) text += "  " + canonical_row(row, fields) + ",\n";
  return text + "]\n";
}

std::string canonical_lengths(std::string_view key, const std::vector<double>& lengths) {
  if (lengths.empty()) return {};
  constexpr std::size_t kPerLine = 10;
  std::string text = fmt::format("{} = [", key);
  for (std::size_t i = 0; i < lengths.size(); ++i) {
    text += i % kPerLine == 0 ? "\n  " : " ";
    text += toml_number(lengths[i]) + ",";
  }
  return text + "\n]\n";
}

template <class Owner>
std::string canonical_entry(std::string_view list, const Owner& owner,
                            std::span<const Choice<Owner>> owner_choices,
                            std::span<const Field<Owner>> fields) {
  std::string text = fmt::format("\n[[{}]]\n", list);
  for (const auto& choice : owner_choices) {
    if (!choice.needed(owner)) continue;
    const auto word = static_cast<std::size_t>(choice.get(owner));
    text += fmt::format("{} = \"{}\"\n", choice.name, choice.values[word].name);
  }
  for (const auto& field : fields) {
    if (std::isnan(field.get(owner))) continue;
    text += fmt::format("{} = {}\n", field.name, canonical(field.get(owner), field.unit));
  }
  return text;
}

// Lines of the canonical text, by the table that they belong to.
class CanonicalTables {
 public:
  void put(std::string_view dotted, const std::string& value) {
    const std::size_t dot = dotted.rfind('.');
    lines_of(dotted.substr(0, dot)) += fmt::format("{} = {}\n", dotted.substr(dot + 1), value);
  }
  void put_lines(std::string_view table, const std::string& lines) { lines_of(table) += lines; }
  std::string text() const {
    std::string all;
    for (const auto& [table, lines] : tables_) {
      if (!lines.empty()) all += fmt::format("\n[{}]\n{}", table, lines);
    }
    return all;
  }

 private:
  std::string& lines_of(std::string_view table) {
    for (auto& [name, lines] : tables_) {
      if (name == table) return lines;
    }
    return tables_.emplace_back(std::string(table), "").second;
  }
  std::vector<std::pair<std::string, std::string>> tables_;
};

}  // namespace

std::string to_scene_text(const Setup& setup) {
  std::string text =
      fmt::format("type = \"scene\"\nformat = [{}, {}]\n", kSceneFormatMajor, kSceneFormatMinor);
  CanonicalTables tables;
  Setup copy = setup;
  for (const NameField& name : name_fields()) {
    const std::string& value = name.at(copy);
    if (value.empty()) continue;
    if (name.key == "name") {
      text += fmt::format("name = {}\n", toml_quoted(value));
    } else {
      tables.put(name.key, toml_quoted(value));
    }
  }
  for (const auto& choice : choices()) {
    const auto word = static_cast<std::size_t>(choice.get(setup));
    tables.put(choice.name, fmt::format("\"{}\"", choice.values[word].name));
  }
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.get(setup);
    if (!std::isnan(value)) tables.put(parameter.name, canonical(value, parameter.unit));
  }
  for (const auto& [key, damper] : {std::pair("fork.compression", setup.fork.compression),
                                    std::pair("fork.rebound", setup.fork.rebound)}) {
    std::string lines;
    for_each_table(damper, [&](const char* name, const char*, bool, const auto& rows, auto fields) {
      lines += canonical_rows(name, rows, fields);
    });
    tables.put_lines(key, lines);
  }
  for (const Knob& sag : {sag_knob(), sag_length_knob()}) {
    const double value = sag.get(setup);
    if (!std::isnan(value)) tables.put(sag.name, canonical(value, sag.unit));
  }
  text += tables.text();
  for (const Feature& feature : setup.terrain) {
    text += canonical_entry("terrain", feature, feature_choices(), feature_fields());
    text += canonical_lengths("distance", feature.distance);
    text += canonical_lengths("elevation", feature.elevation);
  }
  for (const RideEvent& event : setup.events) {
    text += canonical_entry("event", event, event_choices(), event_fields());
  }
  return text;
}

}  // namespace plunge
