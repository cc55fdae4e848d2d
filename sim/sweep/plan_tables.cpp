#include "sim/sweep/plan_tables.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <tuple>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"

namespace plunge {

void PlanTables::stop_at_faults() {
  if (!faults_.empty()) throw InputError(std::move(faults_));
}

void PlanTables::add(const Fault& fault) {
  const bool known = std::ranges::any_of(faults_, [&](const Fault& other) {
    return std::tie(other.key, other.rule, other.place.file, other.place.line,
                    other.place.column) ==
           std::tie(fault.key, fault.rule, fault.place.file, fault.place.line, fault.place.column);
  });
  if (!known) faults_.push_back(fault);
}

void PlanTables::blame(const TomlNode& node, std::string key, std::string rule) {
  plunge::blame(file_, node, std::move(key), std::move(rule), faults_);
}

void PlanTables::missing(const TomlNode& table, std::string key, std::string rule) {
  const Place place = &table == &file_.root ? Place{file_.file, 0, 0} : file_.place(table);
  faults_.push_back({std::move(key), "", std::move(rule), place});
}

bool PlanTables::demand_table(const TomlNode& node, const std::string& key) {
  if (node.kind == TomlNode::Kind::table) return true;
  blame(node, key, "must be a table; found " + describe(node));
  return false;
}

void PlanTables::refuse_unknown_keys(const TomlNode& table, const std::string& prefix,
                                     const std::vector<std::string_view>& known) {
  for (const TomlMember& member : table.members) {
    if (std::ranges::find(known, member.key) != known.end()) continue;
    faults_.push_back({prefix + member.key,
                       written(member.value),
                       "is no known key" + suggestion(member.key, known),
                       {file_.file, member.line, member.column}});
  }
}

const TomlNode* PlanTables::table_of(const std::string& key,
                                     const std::vector<std::string_view>& known) {
  const TomlNode* table = file_.root.find(key);
  if (table == nullptr || !demand_table(*table, key)) return nullptr;
  refuse_unknown_keys(*table, key + ".", known);
  return table;
}

bool PlanTables::read_whole(const TomlNode& table, const std::string& prefix, const char* key,
                            double low, double high, double& number) {
  const TomlNode* node = table.find(key);
  if (node == nullptr) return false;
  double found = kUnset;
  if (!read_number(file_, *node, prefix + key, {"1", true}, found, faults_)) return false;
  if (!(found >= low && found <= high)) {
    blame(*node, prefix + key, fmt::format("must be {:.0f} to {:.0f}", low, high));
    return false;
  }
  number = found;
  return true;
}

}  // namespace plunge
