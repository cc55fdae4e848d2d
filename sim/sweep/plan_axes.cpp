#include "sim/sweep/plan_axes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>
#include <string_view>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/input/overrides.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

constexpr std::string_view kFileAxes[] = {"fork", "rider", "bike"};

constexpr DistributionKind kKinds[] = {DistributionKind::uniform, DistributionKind::log_uniform,
                                       DistributionKind::triangular, DistributionKind::normal,
                                       DistributionKind::log_normal};

}  // namespace

PlanAxes::PlanAxes(PlanTables& tables, PlanContent& content, const TextFiles& files,
                   std::set<std::string> set_names)
    : tables_(tables), content_(content), files_(files), set_names_(std::move(set_names)) {}

void PlanAxes::read_files() {
  const TomlNode& root = tables_.file().root;
  const TomlNode* scenes = root.find("scenes");
  if (scenes == nullptr) {
    tables_.missing(root, "scenes", "must be given: the paths of one or more scene files");
  } else {
    read_file_list(*scenes, "scenes", "scene", "scene that is ridden");
  }
  list_tables();
  for (const AxisTable& axis : axes_) {
    if (axis.of_files) read_file_axis(axis);
  }
}

void PlanAxes::read_numbers() {
  for (const AxisTable& axis : axes_) {
    if (!axis.of_files) read_number_axis(axis);
  }
  put_in_order();
}

void PlanAxes::read_roles() {
  std::map<std::string, Role> roles;
  for (const AxisTable& axis : axes_) {
    Role role = Role::none;
    if (read_role(axis, role)) roles[axis.name] = role;
  }
  if (roles.empty()) return;
  for (const AxisTable& axis : axes_) {
    if (axis.node->find("role") != nullptr) continue;
    tables_.missing(*axis.node, axis.key + ".role",
                    "must be given, as another axis has one: \"chosen\" or \"varies\"");
  }
  for (GridAxis& axis : content_.grid) {
    axis.role = axis.name == "scene" ? Role::varies : roles[axis.name];
  }
  for (SampledNumber& number : content_.sampled) number.role = roles[number.name];
  demand_one_role_of_sample();
}

bool PlanAxes::read_role(const AxisTable& axis, Role& role) {
  const TomlNode* word = axis.node->find("role");
  if (word == nullptr) return false;
  const std::string_view names[] = {to_string(Role::chosen), to_string(Role::varies)};
  for (const Role known : {Role::chosen, Role::varies}) {
    if (word->kind != Kind::text || word->text != to_string(known)) continue;
    role = known;
    return true;
  }
  tables_.blame(*word, axis.key + ".role",
                "must be \"chosen\" or \"varies\"" + (word->kind == Kind::text
                                                          ? suggestion(word->text, names)
                                                          : "; found " + describe(*word)));
  return false;
}

// A row of the sample has a value of every sampled number, so that no two of its choices would be
// ridden under the same circumstances.
void PlanAxes::demand_one_role_of_sample() {
  for (const SampledNumber& number : content_.sampled) {
    const Role first = content_.sampled.front().role;
    if (number.role == first || number.role == Role::none || first == Role::none) continue;
    const auto axis = std::ranges::find(axes_, number.name, &AxisTable::name);
    tables_.blame(*axis->node->find("role"), axis->key + ".role",
                  fmt::format("must be \"{}\" as that of {}, because they share the rows of one "
                              "sample: give what is chosen as values",
                              to_string(first), content_.sampled.front().name));
    return;
  }
}

// The sound tables [[axis]].
void PlanAxes::list_tables() {
  const TomlNode* list = tables_.file().root.find("axis");
  if (list == nullptr) return;
  if (list->kind != Kind::array) {
    tables_.blame(*list, "axis", "must be an array of tables, [[axis]]; found " + describe(*list));
    return;
  }
  if (list->items.size() > kMostAxes) {
    tables_.blame(*list, "axis", fmt::format("must be at most {} axes", kMostAxes));
    return;
  }
  std::set<std::string> names;
  for (std::size_t i = 0; i < list->items.size(); ++i) {
    const std::string key = fmt::format("axis[{}]", i);
    if (tables_.demand_table(list->items[i], key)) list_table(list->items[i], key, names);
  }
}

// `names`: of the axes so far.
void PlanAxes::list_table(const TomlNode& axis, const std::string& key,
                          std::set<std::string>& names) {
  tables_.refuse_unknown_keys(axis, key + ".",
                              {"name", "role", "values", "distribution", "low", "high", "mode",
                               "mean", "median", "deviation"});
  const TomlNode* name = axis.find("name");
  if (name == nullptr) {
    tables_.missing(axis, key + ".name",
                    "must be given: a number such as \"fork.spacers\", or one of "
                    "\"fork\", \"rider\", \"bike\"");
    return;
  }
  std::string rule;
  if (name->kind != Kind::text) {
    rule = "must be text; found " + describe(*name);
  } else if (!names.insert(name->text).second) {
    rule = "must be on one axis only";
  } else {
    rule = name_rule(name->text);
  }
  if (!rule.empty()) {
    tables_.blame(*name, key + ".name", rule);
    return;
  }
  const bool has_values = axis.find("values") != nullptr;
  const bool has_distribution = axis.find("distribution") != nullptr;
  if (has_values == has_distribution) {
    tables_.missing(axis, key,
                    has_values ? "must have values or a distribution, not both"
                               : "must have values, such as \"0..4\", or a distribution");
    return;
  }
  const bool of_files = std::ranges::find(kFileAxes, name->text) != std::end(kFileAxes);
  axes_.push_back({&axis, key, name->text, of_files});
}

std::string PlanAxes::name_rule(const std::string& name) const {
  if (set_names_.contains(name)) return "is in [set] already: leave one out";
  if (name == "scene" || name == "scenes") {
    return "is no axis of its own: list the scenes under \"scenes\"";
  }
  if (name == "terrain") {
    return "is no axis: give each terrain a scene of its own under \"scenes\"";
  }
  return {};
}

// An axis of files: scenes, forks, riders or bikes.
void PlanAxes::read_file_list(const TomlNode& list, const std::string& key, std::string name,
                              std::string meaning) {
  if (list.kind != Kind::array || list.items.empty()) {
    tables_.blame(list, key,
                  fmt::format("must be an array of one or more {} files; found {}", name,
                              list.kind == Kind::array ? "an empty one" : describe(list)));
    return;
  }
  GridAxis axis{{std::move(name), "1", "", std::move(meaning)}, {}, {}};
  std::vector<std::string> paths;
  for (std::size_t i = 0; i < list.items.size(); ++i) {
    read_path(list.items[i], fmt::format("{}[{}]", key, i), axis, paths);
  }
  paths_.push_back(std::move(paths));
  content_.grid.push_back(std::move(axis));
  content_.knobs.emplace_back();
}

// A file of an axis; after a fault it is left out.
void PlanAxes::read_path(const TomlNode& item, const std::string& key, GridAxis& axis,
                         std::vector<std::string>& paths) {
  if (item.kind != Kind::text) {
    tables_.blame(
        item, key,
        fmt::format("must be the path of a {} file; found {}", axis.name, describe(item)));
    return;
  }
  const std::string path = files_.beside(files_.folder_of(content_.path), item.text);
  if (std::ranges::find(paths, path) != paths.end()) {
    tables_.blame(item, key, "must not be there twice");
    return;
  }
  if (item.text.empty() || !files_.has(path)) {
    tables_.blame(item, key, item.text.empty() ? "is no name of a file" : path + " is no file");
    return;
  }
  // Files of one name in different folders are told apart by a number.
  const std::string stem = shown(std::filesystem::path(path).stem().string());
  std::string label = stem;
  for (int k = 2; std::ranges::find(axis.labels, label) != axis.labels.end(); ++k) {
    label = fmt::format("{}-{}", stem, k);
  }
  paths.push_back(path);
  axis.values.push_back(static_cast<double>(axis.labels.size()));
  axis.labels.push_back(label);
}

// Where a grid axis has a key of a distribution.
void PlanAxes::refuse_numbers_of_distribution(const AxisTable& axis) {
  for (const TomlMember& member : axis.node->members) {
    if (member.key == "name" || member.key == "values" || member.key == "role") continue;
    tables_.blame(member.value, axis.key + "." + member.key,
                  "belongs to a distribution, not to values");
  }
}

void PlanAxes::read_file_axis(const AxisTable& axis) {
  if (const TomlNode* values = axis.node->find("values")) {
    refuse_numbers_of_distribution(axis);
    read_file_list(*values, axis.key + ".values", axis.name, axis.name + " that is ridden");
  } else {
    tables_.blame(*axis.node->find("distribution"), axis.key + ".distribution",
                  "does not belong to an axis of files: list them under \"values\"");
  }
}

// "5 K": a difference of temperatures, which "5 degC" is not.
bool PlanAxes::read_kelvins(const TomlNode& node, const std::string& key, double& number) {
  if (node.kind == Kind::text && node.text.ends_with("K")) {
    return read_number(tables_.file(), node, key, {"K"}, number, tables_.faults());
  }
  tables_.blame(node, key, "needs a difference of temperatures such as \"5 K\"");
  return false;
}

// The grid's axes as the file has them: those of files are read first. The scenes lead.
void PlanAxes::put_in_order() {
  std::vector<GridAxis> grid;
  std::vector<std::optional<Knob>> knobs;
  const auto take = [&](std::string_view name) {
    for (std::size_t i = 0; i < content_.grid.size(); ++i) {
      if (content_.grid[i].name != name) continue;
      grid.push_back(content_.grid[i]);
      knobs.push_back(content_.knobs[i]);
    }
  };
  take("scene");
  for (const AxisTable& axis : axes_) take(axis.name);
  content_.grid = std::move(grid);
  content_.knobs = std::move(knobs);
}

// The number that an axis names, in every scene; none after a fault.
std::optional<Knob> PlanAxes::knob_of(const AxisTable& axis) {
  const TomlNode& name = *axis.node->find("name");
  if (find_choice(axis.name) != nullptr || axis.name == "name" || axis.name.ends_with(".name")) {
    tables_.blame(name, axis.key + ".name",
                  "is no number: axes are numbers, and files of forks, riders or bikes");
    return std::nullopt;
  }
  // A sag is a share or a length, as its first value says.
  std::string first;
  for (const char* key : {"values", "low", "mean", "median"}) {
    const TomlNode* node = axis.node->find(key);
    if (node != nullptr && node->kind == Kind::array && !node->items.empty()) {
      node = &node->items.front();
    }
    if (node != nullptr && node->kind == Kind::text && first.empty()) first = node->text;
  }
  std::optional<Knob> knob;
  for (const PlanBase& base : content_.bases) {
    try {
      knob = knob_for_values(base.setup, axis.name, first);
    } catch (const InputError& error) {
      const std::string where = content_.bases.size() > 1 ? " (in " + base.label + ")" : "";
      tables_.blame(name, axis.key + ".name", error.faults().front().rule + where);
      return std::nullopt;
    }
  }
  return knob;
}

void PlanAxes::read_number_axis(const AxisTable& axis) {
  const std::optional<Knob> knob = knob_of(axis);
  if (!knob) return;
  places_[axis.name] = tables_.file().place(*axis.node->find("name"));
  if (knob->holds_sag()) content_.holds_axis = true;
  if (axis.node->find("values") != nullptr) {
    read_values(axis, *knob);
  } else {
    read_distribution(axis, *knob);
  }
}

void PlanAxes::read_values(const AxisTable& axis, const Knob& knob) {
  refuse_numbers_of_distribution(axis);
  const TomlNode& values = *axis.node->find("values");
  const std::string key = axis.key + ".values";
  GridAxis grid{knob, {}, {}};
  if (!list_values(values, key, knob, grid.values)) return;
  if (!judge_values(values, key, knob, grid.values)) return;
  content_.grid.push_back(std::move(grid));
  content_.knobs.emplace_back(knob);
}

bool PlanAxes::list_values(const TomlNode& values, const std::string& key, const Knob& knob,
                           std::vector<double>& list) {
  if (values.kind == Kind::text) {
    try {
      list = parse_values(values.text, knob);
    } catch (const InputError& error) {
      tables_.blame(values, key, error.faults().front().rule);
      return false;
    }
    return true;
  }
  if (values.kind != Kind::array || values.items.empty()) {
    tables_.blame(values, key,
                  fmt::format("must be a range such as \"0..4\" or a list of values; found {}",
                              values.kind == Kind::array ? "an empty list" : describe(values)));
    return false;
  }
  if (values.items.size() > static_cast<std::size_t>(kMostVariants)) {
    tables_.blame(values, key, fmt::format("must be at most {} values", kMostVariants));
    return false;
  }
  for (std::size_t i = 0; i < values.items.size(); ++i) {
    double number = kUnset;
    if (!read_number(tables_.file(), values.items[i], fmt::format("{}[{}]", key, i),
                     {knob.unit, knob.whole}, number, tables_.faults())) {
      return false;
    }
    list.push_back(number);
  }
  return true;
}

bool PlanAxes::judge_values(const TomlNode& values, const std::string& key, const Knob& knob,
                            const std::vector<double>& list) {
  std::set<double> seen;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const bool listed = values.kind == Kind::array;
    const TomlNode& item = listed ? values.items[i] : values;
    std::string rule;
    if (!in_range(list[i], knob.low, knob.high)) {
      rule = "must be " + say_range(knob.low, knob.high, knob.said);
    } else if (!seen.insert(list[i]).second) {
      rule = "must have each value once";
    }
    if (rule.empty()) continue;
    tables_.blame(item, listed ? fmt::format("{}[{}]", key, i) : key, rule);
    return false;
  }
  return true;
}

void PlanAxes::read_distribution(const AxisTable& axis, const Knob& knob) {
  const auto kind = read_kind(axis);
  if (!kind) return;
  Distribution distribution;
  distribution.kind = *kind;
  if (!read_shape(axis, knob, distribution)) return;
  const DistributionFault fault = judge_distribution(distribution);
  if (!fault.rule.empty()) {
    const TomlNode* node = axis.node->find(fault.key);
    if (node == nullptr) {
      tables_.missing(*axis.node, axis.key + "." + fault.key, fault.rule);
    } else {
      tables_.blame(*node, axis.key + "." + fault.key, fault.rule);
    }
    return;
  }
  content_.sampled.push_back({knob, knob.whole, distribution});
  content_.sampled_knobs.push_back(knob);
}

std::optional<DistributionKind> PlanAxes::read_kind(const AxisTable& axis) {
  const TomlNode& word = *axis.node->find("distribution");
  std::vector<std::string_view> names;
  for (const DistributionKind kind : kKinds) {
    if (word.kind == Kind::text && word.text == to_string(kind)) return kind;
    names.push_back(to_string(kind));
  }
  tables_.blame(
      word, axis.key + ".distribution",
      "must be one of " + joined(names) +
          (word.kind == Kind::text ? suggestion(word.text, names) : "; found " + describe(word)));
  return std::nullopt;
}

bool PlanAxes::read_shape(const AxisTable& axis, const Knob& knob, Distribution& distribution) {
  const std::pair<const char*, double*> numbers[] = {
      {"low", &distribution.low},       {"high", &distribution.high},
      {"mode", &distribution.mode},     {"mean", &distribution.mean},
      {"median", &distribution.median}, {"deviation", &distribution.deviation}};
  bool sound = true;
  for (const auto& [name, number] : numbers) {
    const TomlNode* node = axis.node->find(name);
    if (node == nullptr) continue;
    const std::string key = axis.key + "." + name;
    // A deviation is a difference, and that of a log-normal number one of its logarithm.
    const bool deviation = std::string_view(name) == "deviation";
    if (deviation && knob.unit == "K") {
      sound &= read_kelvins(*node, key, *number);
      continue;
    }
    const bool bare = deviation && distribution.kind == DistributionKind::log_normal;
    sound &= read_number(tables_.file(), *node, key, {bare ? "1" : knob.unit}, *number,
                         tables_.faults());
    const bool limit = number == &distribution.low || number == &distribution.high;
    if (sound && limit && !in_range(*number, knob.low, knob.high)) {
      tables_.blame(*node, key, "must be " + say_range(knob.low, knob.high, knob.said));
      sound = false;
    }
  }
  return sound;
}

}  // namespace plunge
