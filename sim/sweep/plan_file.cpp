#include "sim/sweep/plan_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <set>
#include <stdexcept>
#include <string_view>
#include <tuple>
#include <unordered_map>
#include <utility>

#include "models/setup/judge.hpp"
#include "models/setup/statics.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/toml_file.hpp"
#include "sim/text/version.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

constexpr std::string_view kFileAxes[] = {"fork", "rider", "bike"};
constexpr std::string_view kHoldAxis = "hold.sag";

// The numbers of a bike that the path of its wheel follows from (terrain.hpp).
constexpr std::string_view kGroundNumbers[] = {"bike.wheel_radius", "bike.contact_length"};

// A number that an axis puts into a Setup, found once.
struct Target {
  std::string name;
  std::string_view unit;
  std::string_view said;
  std::string_view meaning;
  bool whole = false;
  double low = kUnset;
  double high = kUnset;
  const Parameter* parameter = nullptr;
  const FeatureField* feature = nullptr;
  const EventField* event = nullptr;
  std::size_t index = 0;  // of the feature or event

  bool is_hold() const { return name == kHoldAxis; }
  bool shapes_ground() const {
    return feature != nullptr ||
           std::ranges::find(kGroundNumbers, name) != std::end(kGroundNumbers);
  }
  void put(Setup& setup, double value) const {
    if (parameter != nullptr) parameter->set(setup, value);
    if (feature != nullptr) feature->set(setup.terrain[index], value);
    if (event != nullptr) event->set(setup.events[index], value);
  }
  // An optional number counts as read.
  bool is_read(const Setup& setup) const {
    const auto reads = [](const auto& field, const auto& owner) {
      return field.needed == nullptr || field.needed(owner);
    };
    if (parameter != nullptr) return reads(*parameter, setup);
    if (feature != nullptr) return reads(*feature, setup.terrain[index]);
    if (event != nullptr) return reads(*event, setup.events[index]);
    return true;
  }
};

template <class Owner>
void take_field(const Field<Owner>& field, Target& target) {
  target.unit = field.unit;
  target.said = field.said;
  target.meaning = field.meaning;
  target.whole = field.whole;
  target.low = field.low;
  target.high = field.high;
}

// Throws InputError for a name that the Setup does not have.
Target find_target(const Setup& setup, const std::string& name) {
  Target target;
  target.name = name;
  if (name == kHoldAxis) {
    target.unit = "1";
    target.said = "%";
    target.meaning = "sag that is held, as a share of the travel";
    return target;
  }
  Setup copy = setup;
  find_slot(copy, name);
  if ((target.parameter = find_parameter(name)) != nullptr) {
    take_field(*target.parameter, target);
    return target;
  }
  // "terrain[2].height" or "event[0].at"
  const std::size_t open = name.find('[');
  const std::string_view field = std::string_view(name).substr(name.find("].") + 2);
  target.index = std::stoul(name.substr(open + 1));
  if (name.starts_with("terrain")) {
    target.feature = &*std::ranges::find(feature_fields(), field, &FeatureField::name);
    take_field(*target.feature, target);
  } else {
    target.event = &*std::ranges::find(event_fields(), field, &EventField::name);
    take_field(*target.event, target);
  }
  return target;
}

// One combination of scene, fork, rider and bike.
struct Base {
  Setup setup;
  double hold_sag = kUnset;  // share of the travel to hold; unset: the pressure as given
  std::uint64_t ground = 0;  // bases of the same ground and wheel have the same number
  std::string label;         // "drop-to-flat, teasel-150"
};

// "key = value: rule", the first few of them.
std::string in_words(const Faults& faults) {
  constexpr std::size_t kMostSaid = 3;
  std::string text;
  for (std::size_t i = 0; i < std::min(faults.size(), kMostSaid); ++i) {
    Fault fault = faults[i];
    fault.place = {};
    text += (text.empty() ? "" : "; ") + to_string(fault);
  }
  if (faults.size() > kMostSaid) {
    text += fmt::format("; and {} faults more", faults.size() - kMostSaid);
  }
  return text;
}

std::string numbers_text(const std::vector<double>& values) {
  return fmt::format("{}", fmt::join(values, " "));
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
  return text;
}

// The facts of a scene's canonical text, "fork.spacers: 2", one a line after a prefix.
std::string facts_of(const Setup& setup, double sag, const std::string& prefix) {
  Setup nameless = setup;
  nameless.name.clear();
  nameless.fork.name.clear();
  nameless.rider.name.clear();
  nameless.bike.name.clear();
  const std::string text = to_scene_text(nameless, sag);
  std::map<std::string, int> entries;  // of each list so far
  std::string table;
  std::string facts;
  for (std::size_t start = 0; start < text.size();) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    const std::string_view line = std::string_view(text).substr(start, end - start);
    start = end + 1;
    if (line.empty() || line.starts_with("type = ") || line.starts_with("format = ")) continue;
    const std::size_t sign = line.find(" = ");
    if (line.starts_with("[[")) {
      const std::string list(line.substr(2, line.size() - 4));
      table = fmt::format("{}[{}].", list, entries[list]++);
    } else if (line.front() == '[') {
      table = std::string(line.substr(1, line.size() - 2)) + ".";
    } else if (line.front() == ' ' || line.front() == ']') {
      facts += line;  // a list goes on
    } else {
      facts +=
          fmt::format("\n{} {}{}: {}", prefix, table, line.substr(0, sign), line.substr(sign + 3));
    }
  }
  return facts;
}

}  // namespace

struct Plan::Parts {
  std::string path;
  std::string name;
  std::vector<GridAxis> grid;
  std::vector<std::optional<Target>> targets;  // of the grid's axes; none: of files
  std::vector<SampledNumber> sampled;
  std::vector<Target> sampled_targets;
  Design design = Design::none;
  std::size_t base_points = 1;
  std::size_t points = 1;
  std::uint64_t seed = 0;
  std::vector<double> sample;  // [row, number]
  double hold_sag = kUnset;
  Keep keep;
  std::size_t size = 1;
  std::size_t shard_size = 1;
  std::vector<Base> bases;  // the files' axes in the order of the grid, the last one fastest
  std::string resolved;

  bool holds_axis = false;      // the sag is on an axis
  bool samples_ground = false;  // each row has its own ground

  // What judge_ground() says about grounds seen so far, by their number.
  mutable std::mutex mutex;
  mutable std::unordered_map<std::uint64_t, std::string> ground_failures;

  std::string judged_ground(std::uint64_t ground, const Setup& setup) const {
    constexpr std::size_t kMostKept = 100'000;
    if (samples_ground) return in_words(judge_ground(setup.terrain, setup.bike));
    {
      const std::lock_guard lock(mutex);
      const auto found = ground_failures.find(ground);
      if (found != ground_failures.end()) return found->second;
    }
    const std::string failure = in_words(judge_ground(setup.terrain, setup.bike));
    const std::lock_guard lock(mutex);
    if (ground_failures.size() < kMostKept) ground_failures.emplace(ground, failure);
    return failure;
  }
};

namespace {

// Reads a plan file into the parts of a Plan.
class PlanReader {
 public:
  explicit PlanReader(const std::string& path)
      : file_(parse_toml(read_text_file(path), path)),
        folder_(std::filesystem::path(path).parent_path().string()) {
    parts_->path = path;
  }

  std::shared_ptr<const Plan::Parts> read() {
    read_heading();
    stop_at_faults();
    read_scenes();
    const std::vector<AxisTable> axes = axis_tables();
    for (const AxisTable& axis : axes) {
      if (axis.of_files) read_file_axis(axis);
    }
    stop_at_faults();
    load_bases();
    stop_at_faults();
    for (const AxisTable& axis : axes) {
      if (!axis.of_files) read_number_axis(axis);
    }
    put_in_order(axes);
    read_hold();
    read_sample();
    read_keep();
    stop_at_faults();
    count_rides();
    read_sweep();
    stop_at_faults();
    draw_sample();
    stop_at_faults();
    judge_bases();
    stop_at_faults();
    number_grounds();
    resolve();
    return parts_;
  }

 private:
  // A table [[axis]] that names its axis.
  struct AxisTable {
    const TomlNode* node;
    std::string key;  // "axis[2]"
    std::string name;
    bool of_files;
  };

  void stop_at_faults() {
    if (!faults_.empty()) throw InputError(std::move(faults_));
  }

  // Once: combinations repeat the faults of the files that they share.
  void add(const Fault& fault) {
    const bool known = std::ranges::any_of(faults_, [&](const Fault& other) {
      return std::tie(other.key, other.rule, other.place.file, other.place.line,
                      other.place.column) == std::tie(fault.key, fault.rule, fault.place.file,
                                                      fault.place.line, fault.place.column);
    });
    if (!known) faults_.push_back(fault);
  }

  void blame(const TomlNode& node, std::string key, std::string rule) {
    plunge::blame(file_, node, std::move(key), std::move(rule), faults_);
  }

  // A key that should be in a table; the file itself has no line.
  void missing(const TomlNode& table, std::string key, std::string rule) {
    const Place place = &table == &file_.root ? Place{file_.file, 0, 0} : file_.place(table);
    faults_.push_back({std::move(key), "", std::move(rule), place});
  }

  bool demand_table(const TomlNode& node, const std::string& key) {
    if (node.kind == Kind::table) return true;
    blame(node, key, "must be a table; found " + describe(node));
    return false;
  }

  void refuse_unknown_keys(const TomlNode& table, const std::string& prefix,
                           const std::vector<std::string_view>& known) {
    for (const TomlMember& member : table.members) {
      if (std::ranges::find(known, member.key) != known.end()) continue;
      faults_.push_back({prefix + member.key,
                         written(member.value),
                         "is no known key" + suggestion(member.key, known),
                         {file_.file, member.line, member.column}});
    }
  }

  // A table of the plan; null where it is not there or is none.
  const TomlNode* table_of(const std::string& key, const std::vector<std::string_view>& known) {
    const TomlNode* table = file_.root.find(key);
    if (table == nullptr || !demand_table(*table, key)) return nullptr;
    refuse_unknown_keys(*table, key + ".", known);
    return table;
  }

  void read_heading() {
    const std::string type = read_type(file_, faults_);
    if (type.empty()) return;
    if (type != "plan") {
      blame(*file_.root.find("type"), "type", "must be \"plan\" here");
      return;
    }
    refuse_unknown_keys(file_.root, "",
                        {"type", "format", "note", "name", "scenes", "axis", "sample", "set",
                         "hold", "keep", "sweep"});
    for (const char* key : {"name", "note"}) {
      const TomlNode* node = file_.root.find(key);
      if (node == nullptr) continue;
      if (node->kind != Kind::text) {
        blame(*node, key, "must be text; found " + describe(*node));
      } else if (std::string_view(key) == "name") {
        parts_->name = node->text;
      }
    }
    if (const TomlNode* set = file_.root.find("set"); set && demand_table(*set, "set")) set_ = set;
    if (set_ != nullptr) list_set_names(*set_, "");
  }

  void list_set_names(const TomlNode& table, const std::string& prefix) {
    for (const TomlMember& member : table.members) {
      if (member.value.kind == Kind::table) {
        list_set_names(member.value, prefix + member.key + ".");
      } else {
        set_names_.insert(prefix + member.key);
      }
    }
  }

  // An axis of files: scenes, forks, riders or bikes.
  void read_files(const TomlNode& list, const std::string& key, std::string name,
                  std::string meaning) {
    if (list.kind != Kind::array || list.items.empty()) {
      blame(list, key,
            fmt::format("must be an array of one or more {} files; found {}", name,
                        list.kind == Kind::array ? "an empty one" : describe(list)));
      return;
    }
    GridAxis axis{std::move(name), "1", "", std::move(meaning), {}, {}};
    std::vector<std::string> paths;
    for (std::size_t i = 0; i < list.items.size(); ++i) {
      const TomlNode& item = list.items[i];
      const std::string item_key = fmt::format("{}[{}]", key, i);
      if (item.kind != Kind::text) {
        blame(item, item_key,
              fmt::format("must be the path of a {} file; found {}", axis.name, describe(item)));
        continue;
      }
      const std::filesystem::path path =
          (std::filesystem::path(folder_) / item.text).lexically_normal();
      if (std::ranges::find(paths, path.string()) != paths.end()) {
        blame(item, item_key, "must not be there twice");
        continue;
      }
      std::error_code error;
      if (item.text.empty() || !std::filesystem::is_regular_file(path, error)) {
        blame(item, item_key,
              item.text.empty() ? "is no name of a file" : path.string() + " is no file");
        continue;
      }
      paths.push_back(path.string());
      // Files of one name in different folders are told apart by a number.
      const std::string stem = shown(path.stem().string());
      std::string label = stem;
      for (int k = 2; std::ranges::find(axis.labels, label) != axis.labels.end(); ++k) {
        label = fmt::format("{}-{}", stem, k);
      }
      axis.values.push_back(static_cast<double>(axis.labels.size()));
      axis.labels.push_back(label);
    }
    files_.push_back(std::move(paths));
    parts_->grid.push_back(std::move(axis));
    parts_->targets.emplace_back();
  }

  void read_scenes() {
    const TomlNode* scenes = file_.root.find("scenes");
    if (scenes == nullptr) {
      missing(file_.root, "scenes", "must be given: the paths of one or more scene files");
    } else {
      read_files(*scenes, "scenes", "scene", "scene that is ridden");
    }
  }

  // The sound tables [[axis]].
  std::vector<AxisTable> axis_tables() {
    std::vector<AxisTable> axes;
    const TomlNode* list = file_.root.find("axis");
    if (list == nullptr) return axes;
    if (list->kind != Kind::array) {
      blame(*list, "axis", "must be an array of tables, [[axis]]; found " + describe(*list));
      return axes;
    }
    if (list->items.size() > kMostAxes) {
      blame(*list, "axis", fmt::format("must be at most {} axes", kMostAxes));
      return axes;
    }
    std::set<std::string> names;
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const TomlNode& axis = list->items[i];
      const std::string key = fmt::format("axis[{}]", i);
      if (!demand_table(axis, key)) continue;
      refuse_unknown_keys(
          axis, key + ".",
          {"name", "values", "distribution", "low", "high", "mode", "mean", "median", "deviation"});
      const TomlNode* name = axis.find("name");
      if (name == nullptr) {
        missing(axis, key + ".name",
                "must be given: a number such as \"fork.spacers\", or one of "
                "\"fork\", \"rider\", \"bike\"");
      } else if (name->kind != Kind::text) {
        blame(*name, key + ".name", "must be text; found " + describe(*name));
      } else if (!names.insert(name->text).second) {
        blame(*name, key + ".name", "must be on one axis only");
      } else if (set_names_.contains(name->text)) {
        blame(*name, key + ".name", "is in [set] already: leave one out");
      } else if (name->text == "scene" || name->text == "scenes") {
        blame(*name, key + ".name", "is no axis of its own: list the scenes under \"scenes\"");
      } else if (name->text == "terrain") {
        blame(*name, key + ".name",
              "is no axis: give each terrain a scene of its own under \"scenes\"");
      } else {
        const bool has_values = axis.find("values") != nullptr;
        const bool has_distribution = axis.find("distribution") != nullptr;
        if (has_values == has_distribution) {
          missing(axis, key,
                  has_values ? "must have values or a distribution, not both"
                             : "must have values, such as \"0..4\", or a distribution");
        } else {
          axes.push_back({&axis, key, name->text,
                          std::ranges::find(kFileAxes, name->text) != std::end(kFileAxes)});
        }
      }
    }
    return axes;
  }

  // The grid's axes as the file has them: those of files are read first. The scenes lead.
  void put_in_order(const std::vector<AxisTable>& axes) {
    std::vector<GridAxis> grid;
    std::vector<std::optional<Target>> targets;
    const auto take = [&](std::string_view name) {
      for (std::size_t i = 0; i < parts_->grid.size(); ++i) {
        if (parts_->grid[i].name != name) continue;
        grid.push_back(parts_->grid[i]);
        targets.push_back(parts_->targets[i]);
      }
    };
    take("scene");
    for (const AxisTable& axis : axes) take(axis.name);
    parts_->grid = std::move(grid);
    parts_->targets = std::move(targets);
  }

  // Where a grid axis has a key of a distribution.
  void refuse_numbers_of_distribution(const AxisTable& axis) {
    for (const TomlMember& member : axis.node->members) {
      if (member.key == "name" || member.key == "values") continue;
      blame(member.value, axis.key + "." + member.key, "belongs to a distribution, not to values");
    }
  }

  void read_file_axis(const AxisTable& axis) {
    if (const TomlNode* values = axis.node->find("values")) {
      refuse_numbers_of_distribution(axis);
      read_files(*values, axis.key + ".values", axis.name, axis.name + " that is ridden");
    } else {
      blame(*axis.node->find("distribution"), axis.key + ".distribution",
            "does not belong to an axis of files: list them under \"values\"");
    }
  }

  void load_bases() {
    std::size_t count = 1;
    for (const auto& paths : files_) {
      count *= paths.size();
      if (count > kMostCombinations) {
        missing(file_.root, "scenes",
                fmt::format("must make at most {} combinations of scene, fork, rider and bike",
                            kMostCombinations));
        return;
      }
    }
    for (std::size_t number = 0; number < count; ++number) {
      Overlay overlay;
      overlay.file = &file_;
      overlay.set = set_;
      std::vector<std::string> labels(files_.size());
      std::string scene;
      std::size_t rest = number;
      for (std::size_t i = files_.size(); i-- > 0;) {
        const std::size_t k = rest % files_[i].size();
        rest /= files_[i].size();
        labels[i] = parts_->grid[i].labels[k];
        if (i == 0) {
          scene = files_[i][k];
        } else {
          overlay.files[parts_->grid[i].name] = files_[i][k];
        }
      }
      try {
        OverlaidScene loaded = load_scene(scene, overlay);
        parts_->bases.push_back(
            {std::move(loaded.scene.setup), loaded.scene.hold_sag, 0, joined(labels)});
        locate_.push_back(std::move(loaded.locate));
      } catch (const InputError& error) {
        for (const Fault& fault : error.faults()) add(fault);
      }
    }
  }

  // The number that an axis names, in every scene; none after a fault.
  std::optional<Target> target_of(const AxisTable& axis) {
    const TomlNode& name = *axis.node->find("name");
    const bool is_word =
        std::ranges::find(choices(), axis.name, &Choice<Setup>::name) != choices().end();
    if (is_word || axis.name == "name" || axis.name.ends_with(".name")) {
      blame(name, axis.key + ".name",
            "is no number: axes are numbers, and files of forks, riders or bikes");
      return std::nullopt;
    }
    std::optional<Target> target;
    for (const Base& base : parts_->bases) {
      try {
        target = find_target(base.setup, axis.name);
      } catch (const InputError& error) {
        const std::string where = parts_->bases.size() > 1 ? " (in " + base.label + ")" : "";
        blame(name, axis.key + ".name", error.faults().front().rule + where);
        return std::nullopt;
      }
    }
    if (target->is_hold()) {
      target->low = kLeastSag;
      target->high = kMostSag;
    }
    return target;
  }

  void read_number_axis(const AxisTable& axis) {
    const std::optional<Target> target = target_of(axis);
    if (!target) return;
    axis_places_[axis.name] = file_.place(*axis.node->find("name"));
    if (target->is_hold()) parts_->holds_axis = true;
    if (axis.node->find("values") != nullptr) {
      read_values(axis, *target);
    } else {
      read_distribution(axis, *target);
    }
  }

  void read_values(const AxisTable& axis, const Target& target) {
    refuse_numbers_of_distribution(axis);
    const TomlNode& values = *axis.node->find("values");
    const std::string key = axis.key + ".values";
    GridAxis grid{target.name,
                  std::string(target.unit),
                  std::string(target.said),
                  std::string(target.meaning),
                  {},
                  {}};
    if (values.kind == Kind::text) {
      Slot slot{target.name, target.unit, target.said, target.meaning, target.whole, nullptr};
      try {
        grid.values = parse_values(values.text, slot);
      } catch (const InputError& error) {
        blame(values, key, error.faults().front().rule);
        return;
      }
    } else if (values.kind == Kind::array && !values.items.empty()) {
      if (values.items.size() > static_cast<std::size_t>(kMostVariants)) {
        blame(values, key, fmt::format("must be at most {} values", kMostVariants));
        return;
      }
      for (std::size_t i = 0; i < values.items.size(); ++i) {
        double number = kUnset;
        if (!read_number(file_, values.items[i], fmt::format("{}[{}]", key, i),
                         {target.unit, target.whole}, number, faults_)) {
          return;
        }
        grid.values.push_back(number);
      }
    } else {
      blame(values, key,
            fmt::format("must be a range such as \"0..4\" or a list of values; found {}",
                        values.kind == Kind::array ? "an empty list" : describe(values)));
      return;
    }
    std::set<double> seen;
    for (std::size_t i = 0; i < grid.values.size(); ++i) {
      const TomlNode& item = values.kind == Kind::array ? values.items[i] : values;
      const double value = grid.values[i];
      const std::string item_key = values.kind == Kind::array ? fmt::format("{}[{}]", key, i) : key;
      if (!in_range(value, target.low, target.high)) {
        blame(item, item_key, "must be " + say_range(target.low, target.high, target.said));
        return;
      }
      if (!seen.insert(value).second) {
        blame(item, item_key, "must have each value once");
        return;
      }
    }
    parts_->grid.push_back(std::move(grid));
    parts_->targets.emplace_back(target);
  }

  void read_distribution(const AxisTable& axis, const Target& target) {
    const TomlNode& word = *axis.node->find("distribution");
    constexpr DistributionKind kKinds[] = {DistributionKind::uniform, DistributionKind::log_uniform,
                                           DistributionKind::triangular, DistributionKind::normal,
                                           DistributionKind::log_normal};
    const auto kind = std::ranges::find_if(kKinds, [&](DistributionKind each) {
      return word.kind == Kind::text && word.text == to_string(each);
    });
    if (kind == std::end(kKinds)) {
      std::vector<std::string_view> names;
      for (const DistributionKind each : kKinds) names.push_back(to_string(each));
      blame(word, axis.key + ".distribution",
            "must be one of uniform, log_uniform, triangular, normal, log_normal" +
                (word.kind == Kind::text ? suggestion(word.text, names)
                                         : "; found " + describe(word)));
      return;
    }
    Distribution distribution;
    distribution.kind = *kind;
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
      if (deviation && target.unit == "K") {
        sound &= read_kelvins(*node, key, *number);
        continue;
      }
      const bool bare = deviation && *kind == DistributionKind::log_normal;
      sound &= read_number(file_, *node, key, {bare ? "1" : target.unit}, *number, faults_);
      const bool limit = number == &distribution.low || number == &distribution.high;
      if (sound && limit && !in_range(*number, target.low, target.high)) {
        blame(*node, key, "must be " + say_range(target.low, target.high, target.said));
        sound = false;
      }
    }
    if (!sound) return;
    const DistributionFault fault = judge_distribution(distribution);
    if (!fault.rule.empty()) {
      const TomlNode* node = axis.node->find(fault.key);
      if (node == nullptr) {
        missing(*axis.node, axis.key + "." + fault.key, fault.rule);
      } else {
        blame(*node, axis.key + "." + fault.key, fault.rule);
      }
      return;
    }
    parts_->sampled.push_back({target.name, std::string(target.unit), std::string(target.said),
                               std::string(target.meaning), target.whole, distribution});
    parts_->sampled_targets.push_back(target);
  }

  // "5 K": a difference of temperatures, which "5 degC" is not.
  bool read_kelvins(const TomlNode& node, const std::string& key, double& number) {
    if (node.kind == Kind::text && node.text.ends_with("K")) {
      return read_number(file_, node, key, {"K"}, number, faults_);
    }
    blame(node, key, "needs a difference of temperatures such as \"5 K\"");
    return false;
  }

  // The name of the pressure or preload that the plan gives itself; empty: none.
  std::string given_spring() const {
    for (const char* name : {"fork.pressure", "fork.coil.preload"}) {
      if (set_names_.contains(name) || axis_places_.contains(name)) return name;
    }
    return {};
  }

  void read_hold() {
    const TomlNode* hold = table_of("hold", {"sag"});
    const std::string given = given_spring();
    if (parts_->holds_axis && !given.empty()) {
      faults_.push_back({std::string(kHoldAxis), "",
                         fmt::format("cannot be held while {} is given: leave one out", given),
                         axis_places_[std::string(kHoldAxis)]});
    }
    if (hold == nullptr) {
      if (given.empty() && !parts_->holds_axis) return;
      for (Base& base : parts_->bases) base.hold_sag = kUnset;
      return;
    }
    const TomlNode* sag = hold->find("sag");
    if (sag == nullptr) {
      missing(*hold, "hold.sag", "must be given, a share of the travel such as \"22 %\"");
      return;
    }
    if (!read_number(file_, *sag, "hold.sag", {"1"}, parts_->hold_sag, faults_)) return;
    for (const Fault& fault : judge_hold(parts_->hold_sag)) blame(*sag, "hold.sag", fault.rule);
    if (parts_->holds_axis) blame(*sag, "hold.sag", "is on an axis already: leave one out");
    if (!given.empty()) {
      blame(*sag, "hold.sag",
            fmt::format("cannot be held while {} is given: leave one out", given));
    }
    for (Base& base : parts_->bases) base.hold_sag = parts_->hold_sag;
  }

  // A whole number of a table from `low` to `high`; false after a fault or where it is not there.
  bool read_whole(const TomlNode& table, const std::string& prefix, const char* key, double low,
                  double high, double& number) {
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

  void read_sample() {
    const TomlNode* sample = table_of("sample", {"method", "points", "seed"});
    if (file_.root.find("sample") == nullptr) {
      if (!parts_->sampled.empty()) {
        missing(file_.root, "sample",
                "must be given where an axis has a distribution: [sample] with method and points");
      }
      return;
    }
    if (sample == nullptr) return;
    if (parts_->sampled.empty()) {
      // An axis with a fault may be what is sampled.
      if (faults_.empty()) blame(*sample, "sample", "is not read: no axis has a distribution");
      return;
    }
    const TomlNode* method = sample->find("method");
    const std::vector<std::string_view> names = {"sobol", "latin_hypercube", "pick_freeze"};
    for (const Design design : {Design::sobol, Design::latin_hypercube, Design::pick_freeze}) {
      if (method != nullptr && method->kind == Kind::text && method->text == to_string(design)) {
        parts_->design = design;
      }
    }
    if (method == nullptr) {
      missing(*sample, "sample.method", "must be given: sobol, latin_hypercube or pick_freeze");
    } else if (parts_->design == Design::none) {
      blame(*method, "sample.method",
            "must be sobol, latin_hypercube or pick_freeze" +
                (method->kind == Kind::text ? suggestion(method->text, names)
                                            : "; found " + describe(*method)));
    }
    double points = kUnset;
    if (sample->find("points") == nullptr) {
      missing(*sample, "sample.points", "must be given, a whole number such as 1024");
    } else if (read_whole(*sample, "sample.", "points", 1, kMostShares, points)) {
      const std::size_t numbers = parts_->sampled.size();
      parts_->base_points = static_cast<std::size_t>(points);
      parts_->points = rows_of(parts_->design, parts_->base_points, numbers);
      if (parts_->points > kMostShares / numbers) {
        blame(*sample->find("points"), "sample.points",
              fmt::format("must make at most {} numbers; {} rows of {} are more", kMostShares,
                          parts_->points, numbers));
      }
    }
    constexpr double kLargestSeed = 4294967295.0;
    double seed = parts_->design == Design::latin_hypercube ? 1.0 : 0.0;
    read_whole(*sample, "sample.", "seed", 0, kLargestSeed, seed);
    parts_->seed = static_cast<std::uint64_t>(seed);
  }

  // Names out of a list of what can be kept.
  template <class Rows>
  std::vector<std::string> read_names(const TomlNode& node, const std::string& key,
                                      const Rows& known) {
    std::vector<std::string> names;
    std::vector<std::string_view> candidates;
    for (const Label& each : known) candidates.push_back(each.name);
    if (node.kind == Kind::text && node.text == "all") {
      return {candidates.begin(), candidates.end()};
    }
    if (node.kind != Kind::array) {
      blame(node, key, "must be \"all\" or a list of names; found " + describe(node));
      return names;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      const TomlNode& item = node.items[i];
      const std::string item_key = fmt::format("{}[{}]", key, i);
      if (item.kind != Kind::text) {
        blame(item, item_key, "must be a name; found " + describe(item));
      } else if (std::ranges::find(candidates, item.text) == candidates.end()) {
        blame(item, item_key,
              "is nothing that a sweep can keep" + suggestion(item.text, candidates));
      } else if (std::ranges::find(names, item.text) != names.end()) {
        blame(item, item_key, "must be there once");
      } else {
        names.push_back(item.text);
      }
    }
    return names;
  }

  void read_keep() {
    Keep& kept = parts_->keep;
    kept.metrics = usual_metrics();
    const TomlNode* keep = table_of("keep", {"metrics", "traces", "trace_rate"});
    if (keep == nullptr) return;
    if (const TomlNode* metrics = keep->find("metrics")) {
      kept.metrics = read_names(*metrics, "keep.metrics", metric_rows());
    }
    if (const TomlNode* traces = keep->find("traces")) {
      kept.traces = read_names(*traces, "keep.traces", keepable_traces());
    }
    if (kept.metrics.empty() && kept.traces.empty() && faults_.empty()) {
      blame(*keep, "keep", "must keep a metric or a trace");
    }
    const TomlNode* rate = keep->find("trace_rate");
    if (rate == nullptr) {
      if (!kept.traces.empty()) {
        missing(*keep, "keep.trace_rate", "must be given beside traces, such as \"100 Hz\"");
      }
      return;
    }
    if (!read_number(file_, *rate, "keep.trace_rate", {"Hz"}, kept.trace_rate, faults_)) return;
    if (keep->find("traces") == nullptr) {
      blame(*rate, "keep.trace_rate", "is not read: no traces are kept");
      return;
    }
    if (axis_places_.contains("ride.sample_rate")) {
      blame(*rate, "keep.trace_rate", "cannot be held while ride.sample_rate is on an axis");
      return;
    }
    for (const Base& base : parts_->bases) {
      const double ratio = base.setup.ride.sample_rate / kept.trace_rate;
      if (kept.trace_rate > 0.0 && ratio >= 1.0 && ratio == std::floor(ratio)) continue;
      blame(*rate, "keep.trace_rate",
            fmt::format("must go into ride.sample_rate, {}, a whole number of times",
                        say(base.setup.ride.sample_rate, "Hz")));
      return;
    }
  }

  void count_rides() {
    std::size_t total = parts_->points;
    for (const GridAxis& axis : parts_->grid) {
      if (total > kMostRides / axis.values.size()) {
        missing(file_.root, "axis", fmt::format("must ask for at most {} rides", kMostRides));
        return;
      }
      total *= axis.values.size();
    }
    parts_->size = total;
  }

  void read_sweep() {
    // A shard is finished in minutes, and its file is neither tiny nor slow to write.
    constexpr std::size_t kLeast = 256;
    constexpr std::size_t kMost = 65536;
    constexpr std::size_t kShards = 2000;
    parts_->shard_size = std::clamp(std::bit_ceil(parts_->size / kShards), kLeast, kMost);
    if (const TomlNode* sweep = table_of("sweep", {"shard"})) {
      double shard = kUnset;
      if (read_whole(*sweep, "sweep.", "shard", 1, kLargestShard, shard)) {
        parts_->shard_size = static_cast<std::size_t>(shard);
      }
    }
  }

  void draw_sample() {
    const std::size_t numbers = parts_->sampled.size();
    if (numbers == 0) return;
    // Shares first, in place their values.
    std::vector<double>& sample = parts_->sample;
    sample = draw(parts_->design, parts_->base_points, numbers, parts_->seed);
    for (std::size_t j = 0; j < numbers; ++j) {
      const SampledNumber& number = parts_->sampled[j];
      const Target& target = parts_->sampled_targets[j];
      for (std::size_t row = 0; row < parts_->points; ++row) {
        double value = quantile(number.distribution, sample[row * numbers + j]);
        if (number.whole) value = std::round(value);
        if (!in_range(value, target.low, target.high)) {
          faults_.push_back(
              {number.name, say(value, target.said),
               fmt::format("comes up in row {} of the sample and must be {}: give the axis low and "
                           "high",
                           row, say_range(target.low, target.high, target.said)),
               axis_places_[number.name]});
          break;
        }
        sample[row * numbers + j] = value;
      }
    }
  }

  // A base with the first or the last value of every axis.
  Setup corner(const Base& base, bool last) const {
    Setup setup = base.setup;
    for (std::size_t i = 0; i < parts_->grid.size(); ++i) {
      const std::vector<double>& values = parts_->grid[i].values;
      if (parts_->targets[i]) parts_->targets[i]->put(setup, last ? values.back() : values.front());
    }
    const std::size_t numbers = parts_->sampled.size();
    const std::size_t row = last ? parts_->points - 1 : 0;
    for (std::size_t j = 0; j < numbers; ++j) {
      parts_->sampled_targets[j].put(setup, parts_->sample[row * numbers + j]);
    }
    fill_defaults(setup);
    return setup;
  }

  // Refuses an axis that no ride reads, and what is wrong with every ride of a file whatever the
  // axes say. What is wrong with some combinations only is told by their rides.
  void judge_bases() {
    std::map<std::string, bool> read;
    std::vector<Faults> found(parts_->bases.size());
    for (std::size_t b = 0; b < parts_->bases.size(); ++b) {
      const Base& base = parts_->bases[b];
      const bool held = parts_->holds_axis || !std::isnan(base.hold_sag);
      Faults both[2];
      for (const bool last : {false, true}) {
        const Setup setup = corner(base, last);
        for (const auto& target : parts_->targets) {
          if (target) read[target->name] |= target->is_read(setup);
        }
        for (const Target& target : parts_->sampled_targets) {
          read[target.name] |= target.is_read(setup);
        }
        Faults& faults = both[last ? 1 : 0];
        if (!std::isnan(base.hold_sag)) faults = judge_hold(base.hold_sag);
        for (Fault& fault : judge(setup, held ? Held::sag : Held::nothing)) {
          faults.push_back(std::move(fault));
        }
        if (faults.empty()) faults = judge_ground(setup.terrain, setup.bike);
      }
      for (Fault& fault : both[0]) {
        const bool always = std::ranges::any_of(both[1], [&](const Fault& other) {
          return other.key == fault.key && other.rule == fault.rule;
        });
        if (!always || axis_places_.contains(fault.key)) continue;
        locate_[b](fault);
        found[b].push_back(std::move(fault));
      }
    }
    for (const auto& [name, is_read] : read) {
      if (is_read) continue;
      faults_.push_back({"axis", fmt::format("\"{}\"", name),
                         "is read by no ride of the plan: leave it out, or give a set-up that has "
                         "it",
                         axis_places_[name]});
    }
    refuse_common(found);
  }

  // Faults that all combinations with one and the same file have.
  void refuse_common(const std::vector<Faults>& found) {
    std::size_t stride = parts_->bases.size();
    for (const auto& paths : files_) {
      stride /= paths.size();
      for (std::size_t k = 0; k < paths.size(); ++k) {
        std::optional<Faults> common;
        for (std::size_t b = 0; b < found.size(); ++b) {
          if (b / stride % paths.size() != k) continue;
          if (!common) common = found[b];
          std::erase_if(*common, [&](const Fault& fault) {
            return std::ranges::none_of(found[b], [&](const Fault& other) {
              return other.key == fault.key && other.rule == fault.rule;
            });
          });
        }
        for (const Fault& fault : *common) add(fault);
      }
    }
  }

  void number_grounds() {
    std::map<std::string, std::uint64_t> numbers;
    for (Base& base : parts_->bases) {
      // Of the whole Setup only what the wheel's path follows from.
      Setup ground;
      ground.terrain = base.setup.terrain;
      ground.bike.contact = base.setup.bike.contact;
      ground.bike.wheel_radius = base.setup.bike.wheel_radius;
      ground.bike.contact_length = base.setup.bike.contact_length;
      base.ground = numbers.emplace(to_scene_text(ground), numbers.size()).first->second;
    }
    parts_->samples_ground = std::ranges::any_of(parts_->sampled_targets, &Target::shapes_ground);
  }

  void resolve() {
    std::vector<std::string> order;
    for (const GridAxis& axis : parts_->grid) order.push_back(axis.name);
    std::string text = fmt::format("plan format: {}.{}\nprogram: {}\n", kSceneFormatMajor,
                                   kSceneFormatMinor, kProgramVersion);
    text += fmt::format("rides: {}\nrides of a shard: {}\n", parts_->size, parts_->shard_size);
    text += fmt::format("order of the axes: {}\n", joined(order));
    for (const GridAxis& axis : parts_->grid) {
      const std::string values =
          axis.labels.empty() ? numbers_text(axis.values) : joined(axis.labels);
      text += fmt::format("axis {}: {}{}\n", axis.name, values, unit_fact(axis.unit));
    }
    for (const SampledNumber& number : parts_->sampled) text += sampled_fact(number);
    if (parts_->design != Design::none) {
      std::vector<std::string> names;
      for (const SampledNumber& number : parts_->sampled) names.push_back(number.name);
      text +=
          fmt::format("sample of: {}\nsample method: {}\nsample points: {}\nsample seed: {}\n",
                      joined(names), to_string(parts_->design), parts_->base_points, parts_->seed);
    }
    text += fmt::format("kept metrics: {}\n", joined(parts_->keep.metrics));
    text += fmt::format("kept traces: {}\n",
                        parts_->keep.traces.empty() ? "none" : joined(parts_->keep.traces));
    if (!parts_->keep.traces.empty()) {
      text += fmt::format("rate of the traces: {} Hz\n", parts_->keep.trace_rate);
    }
    for (const Base& base : parts_->bases) {
      // What an axis overwrites is no fact of the rides.
      Setup setup = base.setup;
      for (const auto& target : parts_->targets) {
        if (target) target->put(setup, kUnset);
      }
      for (const Target& target : parts_->sampled_targets) target.put(setup, kUnset);
      text += facts_of(setup, parts_->holds_axis ? kUnset : base.hold_sag, base.label + " |")
                  .substr(1) +
              "\n";
    }
    parts_->resolved = std::move(text);
  }

  static std::string unit_fact(const std::string& unit) {
    return unit == "1" ? "" : " [" + unit + "]";
  }

  static std::string sampled_fact(const SampledNumber& number) {
    const Distribution& d = number.distribution;
    std::string text = fmt::format("axis {}: {}", number.name, to_string(d.kind));
    const std::pair<const char*, double> numbers[] = {
        {"low", d.low},   {"high", d.high},     {"mode", d.mode},
        {"mean", d.mean}, {"median", d.median}, {"deviation", d.deviation}};
    for (const auto& [name, value] : numbers) {
      if (!std::isnan(value)) text += fmt::format(", {} {}", name, value);
    }
    return text + unit_fact(number.unit) + "\n";
  }

  TomlFile file_;
  std::string folder_;
  std::shared_ptr<Plan::Parts> parts_ = std::make_shared<Plan::Parts>();
  Faults faults_;
  const TomlNode* set_ = nullptr;
  std::set<std::string> set_names_;
  std::vector<std::vector<std::string>> files_;      // paths along each axis of files
  std::vector<std::function<void(Fault&)>> locate_;  // of each base
  std::map<std::string, Place> axis_places_;         // of axes over numbers, by name
};

}  // namespace

Plan::Plan(std::shared_ptr<const Parts> parts) : parts_(std::move(parts)) {}

const std::string& Plan::path() const { return parts_->path; }
const std::string& Plan::name() const { return parts_->name; }
const std::vector<GridAxis>& Plan::grid() const { return parts_->grid; }
const std::vector<SampledNumber>& Plan::sampled() const { return parts_->sampled; }
Design Plan::design() const { return parts_->design; }
std::size_t Plan::points() const { return parts_->points; }
std::size_t Plan::base_points() const { return parts_->base_points; }
double Plan::hold_sag() const { return parts_->hold_sag; }
const Keep& Plan::keep() const { return parts_->keep; }
std::size_t Plan::size() const { return parts_->size; }
std::size_t Plan::shard_size() const { return parts_->shard_size; }
std::size_t Plan::shards() const {
  return (parts_->size + parts_->shard_size - 1) / parts_->shard_size;
}
const std::string& Plan::resolved() const { return parts_->resolved; }

std::vector<std::size_t> Plan::place(std::size_t number) const {
  if (number >= parts_->size) throw std::out_of_range("a ride past the end of its plan");
  std::vector<std::size_t> place(parts_->grid.size() + 1);
  place.back() = number % parts_->points;
  number /= parts_->points;
  for (std::size_t i = parts_->grid.size(); i-- > 0;) {
    const std::size_t count = parts_->grid[i].values.size();
    place[i] = number % count;
    number /= count;
  }
  return place;
}

std::vector<double> Plan::sample(std::size_t row) const {
  if (row >= parts_->points) throw std::out_of_range("a row past the end of the sample");
  const std::size_t numbers = parts_->sampled.size();
  const auto first = parts_->sample.begin() + static_cast<std::ptrdiff_t>(row * numbers);
  return {first, first + static_cast<std::ptrdiff_t>(numbers)};
}

PlannedRide Plan::ride(std::size_t number) const {
  const std::vector<std::size_t> at = place(number);
  const Parts& parts = *parts_;
  std::size_t base_number = 0;
  for (std::size_t i = 0; i < parts.grid.size(); ++i) {
    if (!parts.targets[i]) base_number = base_number * parts.grid[i].values.size() + at[i];
  }
  const Base& base = parts.bases[base_number];
  PlannedRide ride;
  ride.setup = base.setup;
  ride.ground = base.ground;
  double sag = base.hold_sag;
  const auto put = [&](const Target& target, double value) {
    target.put(ride.setup, value);
    if (target.is_hold()) sag = value;
  };
  for (std::size_t i = 0; i < parts.grid.size(); ++i) {
    if (!parts.targets[i]) continue;
    put(*parts.targets[i], parts.grid[i].values[at[i]]);
    if (parts.targets[i]->shapes_ground()) {
      ride.ground = ride.ground * parts.grid[i].values.size() + at[i];
    }
  }
  const std::size_t numbers = parts.sampled.size();
  const std::size_t row = at.back();
  for (std::size_t j = 0; j < numbers; ++j) {
    put(parts.sampled_targets[j], parts.sample[row * numbers + j]);
  }
  if (parts.samples_ground) ride.ground = ride.ground * parts.points + row;
  fill_defaults(ride.setup);

  const auto refuse_unread = [&](const Target& target) {
    if (ride.failure.empty() && !target.is_read(ride.setup)) {
      ride.failure = fmt::format("{}: is not read by {}", target.name, base.label);
    }
  };
  for (const auto& target : parts.targets) {
    if (target) refuse_unread(*target);
  }
  for (const Target& target : parts.sampled_targets) refuse_unread(target);
  if (!ride.failure.empty()) return ride;

  const bool held = !std::isnan(sag);
  Faults faults = judge(ride.setup, held ? Held::sag : Held::nothing);
  if (faults.empty() && held) {
    try {
      plunge::hold_sag(ride.setup, sag);
      faults = judge(ride.setup);
    } catch (const InputError& error) {
      faults = error.faults();
    }
  }
  ride.failure = faults.empty() ? parts.judged_ground(ride.ground, ride.setup) : in_words(faults);
  return ride;
}

Plan load_plan(const std::string& path) { return Plan(PlanReader(path).read()); }

Faults check_plan(const std::string& path) {
  try {
    load_plan(path);
  } catch (const InputError& error) {
    return error.faults();
  }
  return {};
}

std::string plan_difference(const std::string& before, const std::string& now) {
  constexpr std::size_t kMostLines = 20;
  constexpr std::size_t kLongest = 80;
  // Facts by what they are about, in the order of the text.
  using Facts = std::vector<std::pair<std::string, std::string>>;
  const auto facts_in = [](const std::string& text) {
    Facts facts;
    for (std::size_t start = 0; start < text.size();) {
      const std::size_t end = std::min(text.find('\n', start), text.size());
      const std::string line = text.substr(start, end - start);
      start = end + 1;
      const std::size_t sign = line.find(": ");
      if (line.empty()) continue;
      facts.emplace_back(line.substr(0, sign),
                         sign == std::string::npos ? "" : line.substr(sign + 2));
    }
    return facts;
  };
  const auto shortened = [](const std::string& value) {
    return value.size() <= kLongest ? value : value.substr(0, kLongest) + "...";
  };
  const Facts old_facts = facts_in(before);
  const Facts new_facts = facts_in(now);
  const std::map<std::string, std::string> old_by_key(old_facts.begin(), old_facts.end());
  const std::map<std::string, std::string> new_by_key(new_facts.begin(), new_facts.end());
  std::vector<std::string> lines;
  for (const auto& [key, was] : old_facts) {
    const auto found = new_by_key.find(key);
    if (found == new_by_key.end()) {
      lines.push_back(fmt::format("{}: was {}, is not there now", key, shortened(was)));
    } else if (found->second != was) {
      lines.push_back(
          fmt::format("{}: was {}, is {}", key, shortened(was), shortened(found->second)));
    }
  }
  for (const auto& [key, is] : new_facts) {
    if (old_by_key.contains(key)) continue;
    lines.push_back(fmt::format("{}: was not there, is {}", key, shortened(is)));
  }
  std::string text;
  for (std::size_t i = 0; i < std::min(lines.size(), kMostLines); ++i) text += lines[i] + "\n";
  if (lines.size() > kMostLines) text += fmt::format("and {} more\n", lines.size() - kMostLines);
  return text;
}

}  // namespace plunge
