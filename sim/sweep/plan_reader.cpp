#include "sim/sweep/plan_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string_view>
#include <utility>
#include <vector>

#include "models/setup/judge.hpp"
#include "models/setup/keys.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/draws.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/settle.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/plan_axes.hpp"
#include "sim/sweep/plan_facts.hpp"
#include "sim/sweep/plan_tables.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

// Rows of a joint sample, which are kept; the seed that `ride` draws its bands with.
constexpr double kMostJointRows = 1'000'000;
constexpr double kJointSeed = 1.0;

class PlanReader {
 public:
  PlanReader(const TextFiles& files, const std::string& path)
      : files_(files), tables_(parse_toml(files_.read(path), path)) {
    content_->path = path;
  }

  std::shared_ptr<const PlanContent> read() {
    read_heading();
    tables_.stop_at_faults();
    axes_.emplace(tables_, *content_, files_, set_names_);
    axes_->read_files();
    read_sample_file();
    tables_.stop_at_faults();
    load_bases();
    tables_.stop_at_faults();
    axes_->read_numbers();
    axes_->read_roles();
    read_hold();
    read_sample();
    read_keep();
    tables_.stop_at_faults();
    count_rides();
    read_sweep();
    tables_.stop_at_faults();
    draw_sample();
    tables_.stop_at_faults();
    judge_bases();
    tables_.stop_at_faults();
    number_grounds();
    content_->resolved = resolved_text(*content_);
    content_->texts = files_.texts();
    return content_;
  }

 private:
  const std::vector<std::vector<std::string>>& paths() const { return axes_->paths(); }

  void read_heading() {
    const std::string type = read_type(tables_.file(), tables_.faults());
    if (type.empty()) return;
    if (type != "plan") {
      tables_.blame(*tables_.file().root.find("type"), "type", "must be \"plan\" here");
      return;
    }
    tables_.refuse_unknown_keys(tables_.file().root, "",
                                {"type", "format", "note", "name", "scenes", "axis", "sample",
                                 "set", "hold", "keep", "sweep"});
    for (const char* key : {"name", "note"}) {
      const TomlNode* node = tables_.file().root.find(key);
      if (node == nullptr) continue;
      if (node->kind != Kind::text) {
        tables_.blame(*node, key, "must be text; found " + describe(*node));
      } else if (std::string_view(key) == "name") {
        content_->name = node->text;
      }
    }
    if (const TomlNode* set = tables_.file().root.find("set");
        set && tables_.demand_table(*set, "set"))
      set_ = set;
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

  void load_bases() {
    std::size_t count = 1;
    for (const auto& paths : paths()) {
      count *= paths.size();
      if (count > kMostCombinations) {
        tables_.missing(
            tables_.file().root, "scenes",
            fmt::format("must make at most {} combinations of scene, fork, rider and bike",
                        kMostCombinations));
        return;
      }
    }
    for (std::size_t number = 0; number < count; ++number) {
      Overlay overlay;
      overlay.file = &tables_.file();
      overlay.set = set_;
      std::vector<std::string> labels(paths().size());
      std::string scene;
      std::size_t rest = number;
      for (std::size_t i = paths().size(); i-- > 0;) {
        const std::size_t k = rest % paths()[i].size();
        rest /= paths()[i].size();
        labels[i] = content_->grid[i].labels[k];
        if (i == 0) {
          scene = paths()[i][k];
        } else {
          overlay.files[content_->grid[i].name] = paths()[i][k];
        }
      }
      if (!sample_file_.empty()) overlay.files["fork"] = sample_file_;
      try {
        OverlaidScene loaded = load_scene(files_, scene, overlay);
        if (content_->guesses.empty()) content_->guesses = guesses_note(loaded.scene.knowledge);
        if (number == 0) knowledge_ = loaded.scene.knowledge;
        content_->bases.push_back({std::move(loaded.scene.setup), 0, joined(labels)});
        locate_.push_back(std::move(loaded.locate));
      } catch (const InputError& error) {
        for (const Fault& fault : error.faults()) tables_.add(fault);
      }
    }
  }

  // The name of the pressure or preload that the plan gives itself; empty: none.
  std::string given_spring() const {
    for (const std::string& name : set_names_) {
      if (sets_spring(name)) return name;
    }
    for (const auto& [name, place] : axes_->places()) {
      if (sets_spring(name)) return name;
    }
    return {};
  }

  void read_hold() {
    const TomlNode* hold = tables_.table_of("hold", {"sag"});
    const std::string given = given_spring();
    const std::string sag_name = sag_knob().name;
    if (content_->holds_axis && !given.empty()) {
      tables_.faults().push_back({sag_name, "", rule_beside(given), axes_->places().at(sag_name)});
    }
    if (hold == nullptr) {
      if (given.empty() && !content_->holds_axis) return;
      for (PlanBase& base : content_->bases) base.setup.hold = {};
      return;
    }
    const TomlNode* sag = hold->find("sag");
    if (sag == nullptr) {
      tables_.missing(*hold, "hold.sag", "must be given, a share of the travel such as \"22 %\"");
      return;
    }
    if (!read_sag(tables_.file(), *sag, "hold.sag", content_->hold, tables_.faults())) return;
    hold_place_ = tables_.file().place(*sag);
    if (std::isnan(content_->hold.sag_length)) {
      for (const Fault& fault : judge_hold(content_->hold.sag)) {
        tables_.blame(*sag, "hold.sag", fault.rule);
      }
    }
    if (content_->holds_axis) {
      tables_.blame(*sag, "hold.sag", "is on an axis already: leave one out");
    }
    if (!given.empty()) {
      tables_.blame(*sag, "hold.sag", rule_beside(given));
    }
    for (PlanBase& base : content_->bases) base.setup.hold = content_->hold;
  }

  // The fork whose uncertain numbers are drawn, ridden in place of every scene's own.
  void read_sample_file() {
    const TomlNode* sample = tables_.file().root.find("sample");
    const TomlNode* file = sample == nullptr ? nullptr : sample->find("file");
    if (file == nullptr) return;
    if (file->kind != Kind::text) {
      tables_.blame(*file, "sample.file",
                    "must be the path of a fork file; found " + describe(*file));
      return;
    }
    const std::string path = files_.beside(files_.folder_of(content_->path), file->text);
    if (file->text.empty() || !files_.has(path)) {
      tables_.blame(*file, "sample.file", path + " is no file");
    } else if (std::ranges::find(content_->grid, "fork", &GridAxis::name) != content_->grid.end()) {
      tables_.blame(*file, "sample.file", "is ridden in place of every fork: leave its axis out");
    } else {
      sample_file_ = path;
    }
  }

  // A sample of what is not known of a fork.
  void read_joint_sample(const TomlNode& sample) {
    const TomlNode& file = *sample.find("file");
    if (!content_->sampled.empty()) {
      tables_.blame(file, "sample.file",
                    fmt::format("is drawn alone: leave it out, or the distribution of {}",
                                content_->sampled.front().name));
      return;
    }
    if (const TomlNode* method = sample.find("method")) {
      tables_.blame(*method, "sample.method", "is not read beside file: its numbers go together");
    }
    for (std::size_t i = knowledge_.size(); i-- > 0;) {
      if (!knowledge_.numbers()[i].name.starts_with("fork.")) knowledge_.remove(i);
    }
    const std::vector<std::size_t> places = knowledge_.uncertain();
    if (places.empty()) {
      tables_.blame(file, "sample.file",
                    "must be a fork that says how well its numbers are known: [family] or [known]");
      return;
    }
    const Setup& setup = content_->bases.front().setup;
    const bool roles = std::ranges::any_of(
        content_->grid, [](const GridAxis& axis) { return axis.role != Role::none; });
    for (const std::size_t i : places) {
      const Knob knob = find_knob(setup, knowledge_.numbers()[i].name);
      if (axes_->places().contains(knob.name)) {
        tables_.blame(file, "sample.file",
                      fmt::format("draws {}, which is on an axis: leave one out", knob.name));
      }
      Distribution distribution;
      distribution.kind = DistributionKind::log_normal;
      distribution.median = knob.get(setup);
      distribution.deviation = knowledge_.spread(i);
      content_->sampled.push_back(
          {knob, knob.whole, distribution, roles ? Role::varies : Role::none});
      content_->sampled_knobs.push_back(knob);
      for (const std::size_t j : places) {
        content_->covariance.push_back(knowledge_.covariance(i, j));
      }
    }
    content_->design = Design::joint;
  }

  void read_sample() {
    const TomlNode* sample = tables_.table_of("sample", {"method", "points", "seed", "file"});
    if (tables_.file().root.find("sample") == nullptr) {
      if (!content_->sampled.empty()) {
        tables_.missing(
            tables_.file().root, "sample",
            "must be given where an axis has a distribution: [sample] with method and points");
      }
      return;
    }
    if (sample == nullptr) return;
    if (!sample_file_.empty()) {
      read_joint_sample(*sample);
      read_rows(*sample, kMostJointRows, kJointSeed);
      return;
    }
    if (content_->sampled.empty()) {
      // An axis with a fault may be what is sampled.
      if (tables_.faults().empty())
        tables_.blame(*sample, "sample", "is not read: no axis has a distribution");
      return;
    }
    const TomlNode* method = sample->find("method");
    const std::vector<std::string_view> names = {"sobol", "latin_hypercube", "pick_freeze"};
    for (const Design design : {Design::sobol, Design::latin_hypercube, Design::pick_freeze}) {
      if (method != nullptr && method->kind == Kind::text && method->text == to_string(design)) {
        content_->design = design;
      }
    }
    if (method == nullptr) {
      tables_.missing(*sample, "sample.method",
                      "must be given: sobol, latin_hypercube or pick_freeze");
    } else if (content_->design == Design::none) {
      tables_.blame(*method, "sample.method",
                    "must be sobol, latin_hypercube or pick_freeze" +
                        (method->kind == Kind::text ? suggestion(method->text, names)
                                                    : "; found " + describe(*method)));
    }
    read_rows(*sample, kMostRides, content_->design == Design::latin_hypercube ? 1.0 : 0.0);
  }

  void read_rows(const TomlNode& sample, double most, double seed) {
    double points = kUnset;
    if (sample.find("points") == nullptr) {
      tables_.missing(sample, "sample.points", "must be given, a whole number such as 1024");
    } else if (tables_.read_whole(sample, "sample.", "points", 1, most, points)) {
      const std::size_t numbers = content_->sampled.size();
      content_->base_points = static_cast<std::size_t>(points);
      content_->points = rows_of(content_->design, content_->base_points, numbers);
      if (content_->points > kMostRides) {
        tables_.blame(*sample.find("points"), "sample.points",
                      fmt::format("must make at most {} rows", kMostRides));
      }
    }
    constexpr double kLargestSeed = 4294967295.0;
    tables_.read_whole(sample, "sample.", "seed", 0, kLargestSeed, seed);
    content_->seed = static_cast<std::uint64_t>(seed);
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
      tables_.blame(node, key, "must be \"all\" or a list of names; found " + describe(node));
      return names;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      const TomlNode& item = node.items[i];
      const std::string item_key = fmt::format("{}[{}]", key, i);
      if (item.kind != Kind::text) {
        tables_.blame(item, item_key, "must be a name; found " + describe(item));
      } else if (std::ranges::find(candidates, item.text) == candidates.end()) {
        tables_.blame(item, item_key,
                      "is nothing that a sweep can keep" + suggestion(item.text, candidates));
      } else if (std::ranges::find(names, item.text) != names.end()) {
        tables_.blame(item, item_key, "must be there once");
      } else {
        names.push_back(item.text);
      }
    }
    return names;
  }

  void read_keep() {
    Keep& kept = content_->keep;
    kept.metrics = usual_metrics();
    const TomlNode* keep = tables_.table_of("keep", {"metrics", "traces", "trace_rate"});
    if (keep == nullptr) return;
    if (const TomlNode* metrics = keep->find("metrics")) {
      kept.metrics = read_names(*metrics, "keep.metrics", metric_rows());
    }
    if (const TomlNode* traces = keep->find("traces")) {
      kept.traces = read_names(*traces, "keep.traces", keepable_traces());
    }
    if (kept.metrics.empty() && kept.traces.empty() && tables_.faults().empty()) {
      tables_.blame(*keep, "keep", "must keep a metric or a trace");
    }
    const TomlNode* rate = keep->find("trace_rate");
    if (rate == nullptr) {
      if (!kept.traces.empty()) {
        tables_.missing(*keep, "keep.trace_rate",
                        "must be given beside traces, such as \"100 Hz\"");
      }
      return;
    }
    if (!read_number(tables_.file(), *rate, "keep.trace_rate", {"Hz"}, kept.trace_rate,
                     tables_.faults()))
      return;
    if (keep->find("traces") == nullptr) {
      tables_.blame(*rate, "keep.trace_rate", "is not read: no traces are kept");
      return;
    }
    if (axes_->places().contains("ride.sample_rate")) {
      tables_.blame(*rate, "keep.trace_rate",
                    "cannot be held while ride.sample_rate is on an axis");
      return;
    }
    for (const PlanBase& base : content_->bases) {
      const double ratio = base.setup.ride.sample_rate / kept.trace_rate;
      if (kept.trace_rate > 0.0 && ratio >= 1.0 && ratio == std::floor(ratio)) continue;
      tables_.blame(*rate, "keep.trace_rate",
                    fmt::format("must go into ride.sample_rate, {}, a whole number of times",
                                say(base.setup.ride.sample_rate, "Hz")));
      return;
    }
  }

  void count_rides() {
    std::size_t total = content_->points;
    for (const GridAxis& axis : content_->grid) {
      if (total > kMostRides / axis.values.size()) {
        tables_.missing(tables_.file().root, "axis",
                        fmt::format("must ask for at most {} rides", kMostRides));
        return;
      }
      total *= axis.values.size();
    }
    content_->size = total;
  }

  void read_sweep() {
    // A shard is finished in minutes, and its file is neither tiny nor slow to write.
    constexpr std::size_t kLeast = 256;
    constexpr std::size_t kMost = 65536;
    constexpr std::size_t kShards = 2000;
    content_->shard_size = std::clamp(std::bit_ceil(content_->size / kShards), kLeast, kMost);
    if (const TomlNode* sweep = tables_.table_of("sweep", {"shard"})) {
      double shard = kUnset;
      if (tables_.read_whole(*sweep, "sweep.", "shard", 1, kLargestShard, shard)) {
        content_->shard_size = static_cast<std::size_t>(shard);
      }
    }
  }

  void draw_sample() {
    const std::size_t numbers = content_->sampled.size();
    if (numbers == 0) return;
    if (content_->design == Design::joint) {
      draw_joint();
      return;
    }
    content_->rows = DesignRows(content_->design, content_->base_points, numbers, content_->seed);
    for (std::size_t j = 0; j < numbers; ++j) judge_sampled(j);
  }

  // Draws about the first combination, as a ride of it is settled.
  void draw_joint() {
    Setup setup = content_->bases.front().setup;
    const Faults faults = settle(setup, {}, {});
    if (!faults.empty()) {
      for (Fault fault : faults) {
        locate_.front()(fault);
        tables_.add(fault);
      }
      return;
    }
    const std::vector<ForkDraw> draws =
        draw_forks(setup, knowledge_, content_->points, content_->seed);
    for (const ForkDraw& draw : draws) {
      for (const DrawnNumber& number : draw) content_->joint.push_back(number.value);
    }
  }

  // Refuses a number that comes up in the sample past what it may be. Where its distribution is cut
  // to that none can; else every row is looked at, if they are not too many.
  void judge_sampled(std::size_t j) {
    const SampledNumber& number = content_->sampled[j];
    const Knob& knob = content_->sampled_knobs[j];
    const auto fits = [&](double value) { return in_range(value, knob.low, knob.high); };
    const auto refuse = [&](const std::string& value, const std::string& when) {
      tables_.faults().push_back({number.name, value,
                                  fmt::format("{} of the sample and must be {}: give the axis low "
                                              "and high",
                                              when, say_range(knob.low, knob.high, knob.said)),
                                  axes_->places().at(number.name)});
    };
    const auto limit = [&](double value) { return number.whole ? std::round(value) : value; };
    if (fits(limit(number.distribution.low)) && fits(limit(number.distribution.high))) return;
    if (content_->points > kMostStoredShares / content_->sampled.size()) {
      refuse("", fmt::format("may come up in any of the {} rows", content_->points));
      return;
    }
    for (std::size_t row = 0; row < content_->points; ++row) {
      const double value = content_->sampled_value(row, j);
      if (fits(value)) continue;
      refuse(say(value, knob.said), fmt::format("comes up in row {}", row));
      return;
    }
  }

  // A base with the first or the last value of every axis.
  Setup corner(const PlanBase& base, bool last) const {
    Setup setup = base.setup;
    for (std::size_t i = 0; i < content_->grid.size(); ++i) {
      const std::vector<double>& values = content_->grid[i].values;
      if (content_->knobs[i]) content_->knobs[i]->put(setup, last ? values.back() : values.front());
    }
    const std::size_t numbers = content_->sampled.size();
    const std::size_t row = last ? content_->points - 1 : 0;
    for (std::size_t j = 0; j < numbers; ++j) {
      content_->sampled_knobs[j].put(setup, content_->sampled_value(row, j));
    }
    fill_defaults(setup);
    return setup;
  }

  // Refuses axes that no ride reads, and faults that every ride of a file has at every value of the
  // axes. Those of some combinations only are in the failures of their rides.
  void judge_bases() {
    std::map<std::string, bool> read;
    std::vector<Faults> found(content_->bases.size());
    for (std::size_t b = 0; b < content_->bases.size(); ++b) {
      Faults both[2];
      for (const bool last : {false, true}) {
        const Setup setup = corner(content_->bases[b], last);
        for (const auto& knob : content_->knobs) {
          if (knob) read[knob->name] |= knob->is_read(setup);
        }
        for (const Knob& knob : content_->sampled_knobs) read[knob.name] |= knob.is_read(setup);
        both[last ? 1 : 0] = judge_ride(setup, Held::nothing);
      }
      for (Fault& fault : both[0]) {
        const bool always = std::ranges::any_of(both[1], [&](const Fault& other) {
          return other.key == fault.key && other.rule == fault.rule;
        });
        if (!always || axes_->places().contains(fault.key)) continue;
        if (fault.key == "hold.sag" && hold_place_) {
          fault.place = *hold_place_;
        } else {
          locate_[b](fault);
        }
        found[b].push_back(std::move(fault));
      }
    }
    for (const auto& [name, is_read] : read) {
      if (is_read || !axes_->places().contains(name)) continue;
      tables_.faults().push_back(
          {"axis", fmt::format("\"{}\"", name),
           "is read by no ride of the plan: leave it out, or give a set-up that has it",
           axes_->places().at(name)});
    }
    refuse_common(found);
  }

  // Faults that all combinations with one and the same file have.
  void refuse_common(const std::vector<Faults>& found) {
    std::size_t stride = content_->bases.size();
    for (const auto& paths : paths()) {
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
        for (const Fault& fault : *common) tables_.add(fault);
      }
    }
  }

  void number_grounds() {
    std::map<Key, std::uint64_t> numbers;
    for (PlanBase& base : content_->bases) {
      const Key key = ground_key(base.setup.terrain, base.setup.bike);
      base.ground = numbers.emplace(key, numbers.size()).first->second;
    }
    content_->samples_ground = std::ranges::any_of(content_->sampled_knobs, &Knob::shapes_ground);
  }

  NotedFiles files_;
  PlanTables tables_;
  std::shared_ptr<PlanContent> content_ = std::make_shared<PlanContent>();
  std::optional<PlanAxes> axes_;
  const TomlNode* set_ = nullptr;
  std::set<std::string> set_names_;
  std::string sample_file_;                          // whose numbers are drawn; empty: none
  Knowledge knowledge_;                              // of the first combination
  std::optional<Place> hold_place_;                  // of the plan's own sag
  std::vector<std::function<void(Fault&)>> locate_;  // of each base
};

}  // namespace

std::shared_ptr<const PlanContent> read_plan(const TextFiles& files, const std::string& path) {
  return PlanReader(files, path).read();
}

}  // namespace plunge
