#include "sim/search/brief.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <optional>
#include <utility>

#include "models/setup/judge.hpp"
#include "models/setup/knob.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/settle.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/plan_tables.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

constexpr std::size_t kMostScenes = 12;   // chosen: answered in seconds
constexpr double kLongestTrail = 1000.0;  // of all scenes together [m]; chosen likewise
constexpr char kNoBrief[] = "type = \"brief\"\nformat = [1, 0]\n";

// A key of [today]: its flag, and what it sets.
struct TodayKey {
  std::string_view key;
  std::string_view option;
  std::string BriefFlags::*flag;
  std::string_view knob;
};

constexpr TodayKey kTodayKeys[] = {
    {"spacers", "--spacers", &BriefFlags::spacers, "fork.spacers"},
    {"pressure", "--pressure", &BriefFlags::pressure, "fork.pressure"},
    {"sag", "--sag", &BriefFlags::sag, "hold.sag"},
    {"compression", "--compression", &BriefFlags::compression, "fork.compression.clicks"},
    {"rebound", "--rebound", &BriefFlags::rebound, "fork.rebound.clicks"},
};

class BriefReader {
 public:
  BriefReader(const TextFiles& files, const std::string& path, const BriefFlags& flags)
      : files_(files),
        flags_(flags),
        folder_(path.empty() ? "" : files.folder_of(path)),
        tables_(parse_toml(path.empty() ? kNoBrief : files.read(path), path)) {}

  Brief read() {
    read_heading();
    tables_.stop_at_faults();
    read_today();
    read_demands();
    read_comfort();
    read_complaints();
    load_scenes();
    tables_.stop_at_faults();
    settle_scenes();
    tables_.stop_at_faults();
    return std::move(brief_);
  }

 private:
  const TomlNode& root() const { return tables_.file().root; }

  void read_heading() {
    const std::string type = read_type(tables_.file(), tables_.faults());
    if (type.empty()) return;
    if (type != "brief") {
      tables_.blame(*root().find("type"), "type", "must be \"brief\" here");
      return;
    }
    tables_.refuse_unknown_keys(root(), "",
                                {"type", "format", "note", "name", "fork", "rider", "bike",
                                 "scenes", "today", "demands", "comfort", "complaints", "chance"});
    read_words("note");
    brief_.name = read_words("name").value_or("");
    if (const TomlNode* chance = root().find("chance")) {
      if (read_number(tables_.file(), *chance, "chance", {"1"}, brief_.chance, tables_.faults()) &&
          !(brief_.chance >= 0.05 && brief_.chance <= 0.99)) {
        tables_.blame(*chance, "chance", "must be 5 % to 99 %");
      }
    }
  }

  // A key that is text; nothing where it is not there or is none.
  std::optional<std::string> read_words(const char* key) {
    const TomlNode* node = root().find(key);
    if (node == nullptr) return std::nullopt;
    if (node->kind == Kind::text) return node->text;
    tables_.blame(*node, key, "must be text; found " + describe(*node));
    return std::nullopt;
  }

  // What is wrong with a file is said of that file, that there is none of who names it.
  void demand_there(const std::string& path, const TomlNode& node, const std::string& key) {
    if (!files_.has(path)) tables_.blame(node, key, path + " does not exist");
  }

  // The path that a key or its flag names; empty: neither.
  std::string path_of(const char* key, const std::string& flag) {
    if (!flag.empty()) return flag;
    const auto name = read_words(key);
    if (!name) return {};
    std::string path = files_.beside(folder_, *name);
    demand_there(path, *root().find(key), key);
    return path;
  }

  void read_today() {
    const TomlNode* today =
        tables_.table_of("today", {"spacers", "pressure", "sag", "compression", "rebound"});
    for (const TodayKey& key : kTodayKeys) {
      const TomlNode* node = today == nullptr ? nullptr : today->find(key.key);
      const std::string name = "today." + std::string(key.key);
      const std::string& flag = flags_.*key.flag;
      const bool sag = key.key == "sag";
      const NumberRule rule{key.key == "pressure" ? "Pa" : "1", key.key != "pressure" && !sag};
      if (!flag.empty()) {
        read_flag(key, rule, flag);
      } else if (node != nullptr && sag) {
        if (read_sag(tables_.file(), *node, name, hold_, tables_.faults())) remember(key, *node);
      } else if (node != nullptr) {
        double number = kUnset;
        if (!read_number(tables_.file(), *node, name, rule, number, tables_.faults())) continue;
        given_[key.knob] = number;
        remember(key, *node);
      }
    }
    settle_spring(today);
  }

  void read_flag(const TodayKey& key, const NumberRule& rule, const std::string& text) {
    try {
      if (key.key == "sag") {
        hold_ = sag_from_text(text);
      } else {
        given_[key.knob] = number_from_text(text, rule);
      }
      places_[std::string(key.knob)] = {std::string(key.option), 0, 0};
    } catch (const InputError& error) {
      for (Fault fault : error.faults()) {
        fault.place = {std::string(key.option), 0, 0};
        fault.value = text;
        tables_.add(fault);
      }
    }
  }

  void remember(const TodayKey& key, const TomlNode& node) {
    places_[std::string(key.knob)] = tables_.file().place(node);
  }

  // Pressure or sag: a flag goes before the file, and only one of them is taken.
  void settle_spring(const TomlNode* today) {
    const bool sag_flag = !flags_.sag.empty();
    const bool pressure_flag = !flags_.pressure.empty();
    if (sag_flag && !pressure_flag) given_.erase("fork.pressure");
    if (pressure_flag && !sag_flag) hold_ = {};
    if (!given_.contains("fork.pressure") || !holds(hold_)) return;
    const TomlNode* sag = today == nullptr ? nullptr : today->find("sag");
    const std::string rule = rule_beside("the pressure");
    if (sag_flag || sag == nullptr) {
      tables_.add({"", flags_.sag, rule, {"--sag", 0, 0}});
    } else {
      tables_.blame(*sag, "today.sag", rule);
    }
  }

  void read_demands() {
    std::vector<std::string_view> keys;
    for (const DemandRow& row : demand_rows()) keys.push_back(row.key);
    if (root().find("demands") == nullptr) {
      brief_.demands = usual_demands();
      brief_.usual = true;
      return;
    }
    const TomlNode* demands = tables_.table_of("demands", keys);
    if (demands == nullptr) return;
    for (const DemandRow& row : demand_rows()) {
      const TomlNode* node = demands->find(row.key);
      if (node == nullptr) continue;
      Demand demand{&row};
      const std::string key = "demands." + std::string(row.key);
      if (row.window ? read_window(*node, key, demand) : read_bound(*node, key, row, demand.high)) {
        brief_.demands.push_back(demand);
      }
    }
    if (demands->members.empty()) {
      tables_.blame(*demands, "demands", "must demand something; leave it out for what is usual");
    }
  }

  bool read_bound(const TomlNode& node, const std::string& key, const DemandRow& row,
                  double& bound) {
    const MetricRow& metric = *find_metric(row.metric);
    const NumberRule rule{metric.unit, metric.name == "metal_contacts"};
    if (!read_number(tables_.file(), node, key, rule, bound, tables_.faults())) return false;
    if (bound >= 0.0) return true;
    tables_.blame(node, key, "must be 0 or more");
    return false;
  }

  bool read_window(const TomlNode& node, const std::string& key, Demand& demand) {
    if (node.kind != Kind::array || node.items.size() != 2) {
      tables_.blame(node, key, "must be two values, least and most; found " + describe(node));
      return false;
    }
    const bool low = read_bound(node.items[0], key + "[0]", *demand.row, demand.low);
    const bool high = read_bound(node.items[1], key + "[1]", *demand.row, demand.high);
    if (!low || !high) return false;
    if (demand.low < demand.high) return true;
    tables_.blame(node, key, "must rise: the least first, then the most");
    return false;
  }

  void read_comfort() {
    const TomlNode* comfort = tables_.table_of("comfort", {"hands"});
    const TomlNode* hands = comfort == nullptr ? nullptr : comfort->find("hands");
    if (hands == nullptr) return;
    if (!read_number(tables_.file(), *hands, "comfort.hands", {"1"}, brief_.hands,
                     tables_.faults())) {
      return;
    }
    if (in_range(brief_.hands, 0.0, 1.0)) return;
    tables_.blame(*hands, "comfort.hands", "must be 0 % to 100 %");
  }

  void read_complaints() {
    std::vector<std::string_view> known;
    for (const ComplaintRow& row : complaint_rows()) known.push_back(row.words);
    const auto take = [&](const std::string& words,
                          const std::function<void(std::string)>& refuse) {
      const ComplaintRow* row = find_complaint(words);
      if (row == nullptr) {
        std::string list;
        for (const std::string_view word : known) list += fmt::format(" \"{}\",", word);
        list.pop_back();
        refuse(fmt::format("is none of{}{}", list, suggestion(words, known)));
      } else if (std::ranges::find(brief_.complaints, row) == brief_.complaints.end()) {
        brief_.complaints.push_back(row);
      }
    };
    for (const std::string& words : flags_.complaints) {
      take(words, [&](const std::string& rule) {
        tables_.add({"", words, rule, {"--complaint", 0, 0}});
      });
    }
    each_text("complaints", [&](const TomlNode& item, const std::string& key) {
      take(item.text, [&](const std::string& rule) { tables_.blame(item, key, rule); });
    });
  }

  // Takes each text of a list.
  void each_text(const char* key,
                 const std::function<void(const TomlNode&, const std::string&)>& take) {
    const TomlNode* list = root().find(key);
    if (list == nullptr) return;
    if (list->kind != Kind::array) {
      tables_.blame(*list, key, "must be a list of texts; found " + describe(*list));
      return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const TomlNode& item = list->items[i];
      const std::string item_key = fmt::format("{}[{}]", key, i);
      if (item.kind == Kind::text) {
        take(item, item_key);
      } else {
        tables_.blame(item, item_key, "must be text; found " + describe(item));
      }
    }
  }

  void load_scenes() {
    Overlay overlay;
    for (const auto& [key, flag, needed] :
         {std::tuple{"fork", &flags_.fork, true}, std::tuple{"rider", &flags_.rider, true},
          std::tuple{"bike", &flags_.bike, false}}) {
      const std::string path = path_of(key, *flag);
      if (!path.empty()) {
        overlay.files[key] = path;
      } else if (needed && root().find(key) == nullptr) {
        tables_.missing(root(), key, fmt::format("must be given, a {} file, or --{}", key, key));
      }
    }
    std::vector<std::string> paths = flags_.scenes;
    if (paths.empty()) {
      each_text("scenes", [&](const TomlNode& item, const std::string& key) {
        paths.push_back(files_.beside(folder_, item.text));
        demand_there(paths.back(), item, key);
      });
    }
    if (paths.empty() || paths.size() > kMostScenes) {
      tables_.missing(root(), "scenes",
                      fmt::format("must be 1 to {} scene files, or --scene", kMostScenes));
    }
    tables_.stop_at_faults();
    for (const std::string& path : paths) {
      try {
        OverlaidScene loaded = load_scene(files_, path, overlay);
        keep_known(loaded.scene.knowledge);
        brief_.scenes.push_back(std::move(loaded.scene.setup));
        locate_.push_back(std::move(loaded.locate));
      } catch (const InputError& error) {
        for (const Fault& fault : error.faults()) tables_.add(fault);
      }
    }
    tables_.stop_at_faults();
    // What a scene sets on top of it is no setting of today's.
    const Scene fork = load_fork_file(files_, overlay.files.at("fork"));
    fork_ = fork.setup.fork;
    brief_.service = fork.service;
  }

  // A number that a scene sets is no longer what its mark in the fork's file is of.
  void keep_known(const Knowledge& in_scene) {
    if (brief_.scenes.empty()) brief_.knowledge = in_scene;
    for (std::size_t i = brief_.knowledge.size(); i-- > 0;) {
      const std::string& name = brief_.knowledge.numbers()[i].name;
      if (in_scene.find(name) == in_scene.size()) brief_.knowledge.remove(i);
    }
  }

  void settle_scenes() {
    const ForkSetup& fork = fork_;
    refuse_what_nothing_turns(fork);
    if (!tables_.faults().empty()) return;
    ForkSettings today = settings_of(fork);
    const auto take = [&](const char* knob, double& value) {
      if (const auto found = given_.find(knob); found != given_.end()) value = found->second;
    };
    take("fork.spacers", today.spacers);
    take("fork.pressure", today.pressure);
    take("fork.compression.clicks", today.compression);
    take("fork.rebound.clicks", today.rebound);
    brief_.sag_held = holds(hold_);
    double ground = 0.0;
    for (std::size_t i = 0; i < brief_.scenes.size(); ++i) {
      Setup& scene = brief_.scenes[i];
      put_settings(scene.fork, today);
      // The first scene's bike is what the sag was measured on.
      scene.hold = i == 0 ? hold_ : HoldSetup{};
      for (Fault fault : settle(scene)) {
        if (const auto place = places_.find(fault.key); place != places_.end()) {
          fault.place = place->second;
        } else {
          locate_[i](fault);
        }
        tables_.add(fault);
      }
      if (!tables_.faults().empty()) return;
      today.pressure = scene.fork.pressure;
      ground += terrain_length(scene.terrain);
    }
    if (ground > kLongestTrail) {
      tables_.missing(root(), "scenes",
                      fmt::format("must be at most {:.0f} m of ground together, to be answered in "
                                  "seconds; they are {:.0f} m",
                                  kLongestTrail, ground));
    }
    brief_.today = today;
  }

  void refuse_what_nothing_turns(const ForkSetup& fork) {
    const auto refuse = [&](std::string_view knob, const std::string& rule) {
      Fault fault{std::string(knob), "", rule, {}};
      if (const auto place = places_.find(knob); place != places_.end())
        fault.place = place->second;
      tables_.add(fault);
    };
    if (fork.spring != Spring::air) {
      refuse("fork.spring", "must be air: spacers and pressure are what is suggested");
    }
    for (const auto& [knob, damper] : {std::pair("fork.compression.clicks", &fork.compression),
                                       std::pair("fork.rebound.clicks", &fork.rebound)}) {
      if (given_.contains(knob) && !has_clicks(*damper)) {
        refuse(knob, "nothing reads it: this fork has no such adjuster");
      }
    }
    if (std::isnan(fork.pressure) && !given_.contains("fork.pressure") && !holds(hold_)) {
      refuse("today.pressure", "must be given, or today.sag: the fork's file says none");
    }
  }

  const TextFiles& files_;
  const BriefFlags& flags_;
  std::string folder_;
  PlanTables tables_;
  Brief brief_;
  ForkSetup fork_;  // of its file
  HoldSetup hold_;
  std::map<std::string_view, double> given_;
  std::map<std::string, Place, std::less<>> places_;
  std::vector<std::function<void(Fault&)>> locate_;
};

}  // namespace

std::vector<Demand> usual_demands() {
  return {{find_demand("sag"), 0.18, 0.25},
          {find_demand("travel"), 0.85, 0.97},
          {find_demand("metal"), -std::numeric_limits<double>::infinity(), 0.0}};
}

Brief read_brief(const TextFiles& files, const std::string& path, const BriefFlags& flags) {
  return BriefReader(files, path, flags).read();
}

bool is_brief(const TextFiles& files, const std::string& path) {
  try {
    const TomlFile file = parse_toml(files.read(path), path);
    const TomlNode* type = file.root.find("type");
    return type != nullptr && type->kind == Kind::text && type->text == "brief";
  } catch (const InputError&) {
    return false;
  }
}

}  // namespace plunge
