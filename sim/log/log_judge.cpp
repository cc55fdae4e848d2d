#include "sim/log/log_judge.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "sim/fit/readings.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/log/log_setups.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/text_files.hpp"
#include "sim/text/units.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

bool is_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = character_length(text, at);
    if (length == 0 || text[at] == '\0') return false;
    at += length;
  }
  return true;
}

class LogJudge {
 public:
  LogJudge(const LogContent& log, std::size_t first) : log_(log), first_(first) {}

  Faults judge() {
    for (std::size_t i = first_; i < log_.entries.size(); ++i) one(log_.entries[i]);
    if (faults_.empty()) marks();
    if (faults_.empty()) whole();
    return std::move(faults_);
  }

 private:
  void blame(const LogEntry& entry, std::string_view field, std::string value, std::string rule) {
    faults_.push_back(
        {entry.where + printable(field, kShownLetters), std::move(value), std::move(rule), {}});
  }

  void one(const LogEntry& entry) {
    const std::size_t before = faults_.size();
    for (const LogField& field : entry.kind->fields) {
      const LogValue* value = entry.find(field.name);
      if (value != nullptr) {
        this->field(entry, field, *value);
      } else if (field.needed) {
        blame(entry, field.name, "", fmt::format("must be given: {}", field.meaning));
      }
    }
    numbers(entry);
    if (faults_.size() != before) return;
    // What it rests on may be at fault itself.
    if (entry.kind->name == "setting" && faults_.empty()) setting(entry);
    if (entry.kind->name == "prediction") prediction(entry);
    if (entry.kind->name == "reading") reading(entry);
    if (entry.find("file") != nullptr && entry.kind->find("file")->type == FieldType::kept) {
      kept(entry);
    }
  }

  void field(const LogEntry& entry, const LogField& field, const LogValue& value) {
    switch (field.type) {
      case FieldType::name:
        name(entry, field, std::get<std::string>(value));
        break;
      case FieldType::text:
        text(entry, field, std::get<std::string>(value), kLongestText);
        break;
      case FieldType::kept:
        text(entry, field, std::get<std::string>(value), kLongestKept);
        break;
      case FieldType::whole:
        whole_number(entry, field, std::get<std::int64_t>(value));
        break;
      case FieldType::quantity:
        quantity(entry, field, std::get<double>(value));
        break;
      case FieldType::measured: {
        const auto& [number, unit] = std::get<Measured>(value);
        if (unit != "1" && (unit.empty() || si_unit_of(unit) != unit)) {
          blame(entry, field.name, quoted_start(unit), "must be in SI units");
        } else if (!(std::abs(number) <= kLargestNumber)) {
          blame(entry, field.name, fmt::format("{} {}", number, unit),
                fmt::format("must be at most {:g} in size", kLargestNumber));
        }
        break;
      }
      case FieldType::entry:
        reference(entry, field, std::get<std::int64_t>(value));
        break;
    }
  }

  bool text(const LogEntry& entry, const LogField& field, const std::string& text,
            std::size_t longest) {
    if (!is_utf8(text)) {
      blame(entry, field.name, quoted_start(text), "must be UTF-8 without NUL");
    } else if (text.empty()) {
      blame(entry, field.name, "", "must not be empty");
    } else if (count_letters(text) > longest) {
      blame(entry, field.name, quoted_start(text),
            fmt::format("must be at most {} letters, and has {}", longest, count_letters(text)));
    } else {
      return true;
    }
    return false;
  }

  void name(const LogEntry& entry, const LogField& field, const std::string& name) {
    if (!text(entry, field, name, kLongestName)) return;
    if (shown(name) != name || name.front() == ' ' || name.back() == ' ') {
      blame(entry, field.name, quoted_start(name),
            "must be one line of letters that show, without blanks at its ends");
    }
  }

  void whole_number(const LogEntry& entry, const LogField& field, std::int64_t value) {
    if (in_range(static_cast<double>(value), field.low, field.high)) return;
    blame(entry, field.name, std::to_string(value),
          fmt::format("must be {:.0f} to {:.0f}", field.low, field.high));
  }

  void quantity(const LogEntry& entry, const LogField& field, double value) {
    if (in_range(value, field.low, field.high)) return;
    blame(entry, field.name, say(value, field.said),
          fmt::format("must be {}", say_range(field.low, field.high, field.said)));
  }

  void reference(const LogEntry& entry, const LogField& field, std::int64_t number) {
    const LogEntry* named = number < entry.number ? log_.find(number) : nullptr;
    if (named == nullptr) {
      blame(entry, field.name, std::to_string(number), "must be an entry that is there before it");
    } else if (!field.refers.empty() && named->kind->name != field.refers) {
      blame(entry, field.name, std::to_string(number),
            fmt::format("must be {}, and is {}", one_of(field.refers), one_of(named->kind->name)));
    } else if (field.refers.empty() && named->kind->is_mark) {
      blame(entry, field.name, std::to_string(number),
            fmt::format("must be no {}", named->kind->name));
    }
  }

  void numbers(const LogEntry& entry) {
    if (entry.numbers.size() > kMostNumbers) {
      blame(entry, "numbers", std::to_string(entry.numbers.size()),
            fmt::format("must be at most {}", kMostNumbers));
      return;
    }
    for (const auto& [name, value] : entry.numbers) {
      if (entry.kind->numbers == NumbersBy::parameter) {
        parameter(entry, name, value);
      } else if (entry.kind->numbers == NumbersBy::metric) {
        metric(entry, name, value);
      } else {
        blame(entry, name, "", fmt::format("is no field of {}", one_of(entry.kind->name)));
      }
    }
  }

  void parameter(const LogEntry& entry, const std::string& name, double value) {
    const Parameter* parameter = find_parameter(name);
    if (parameter == nullptr) {
      blame(entry, name, "", "is no known name" + suggestion(name, dotted_names()));
    } else if (!name.starts_with(entry.kind->prefix)) {
      blame(entry, name, "",
            fmt::format("is nothing of a {}: its numbers are {}*", entry.kind->name,
                        entry.kind->prefix));
    } else if (!in_range(value, parameter->low, parameter->high)) {
      blame(entry, name, say(value, *parameter),
            fmt::format("must be {}", say_range(parameter->low, parameter->high, parameter->said)));
    } else if (parameter->whole && value != std::floor(value)) {
      blame(entry, name, say(value, *parameter), "must be a whole number");
    }
  }

  void metric(const LogEntry& entry, const std::string& name, double value) {
    if (find_metric(name) == nullptr) {
      std::vector<std::string_view> names;
      for (const MetricRow& row : metric_rows()) names.emplace_back(row.name);
      blame(entry, name, "", "is no metric" + suggestion(name, names));
    } else if (!(std::abs(value) <= kLargestNumber)) {
      blame(entry, name, fmt::format("{}", value),
            fmt::format("must be at most {:g} in size", kLargestNumber));
    }
  }

  // The file of a thing is one that plunge reads.
  void kept(const LogEntry& entry) {
    MemoryFiles files;
    const std::string place = entry.where + "file";
    files.put(place, entry.text("file"));
    try {
      static_cast<void>(load_part(files, place, entry.kind->name));
    } catch (const InputError& error) {
      faults_.insert(faults_.end(), error.faults().begin(), error.faults().end());
    }
  }

  // A setting's own numbers, by what its fork, rider and bike are.
  void setting(const LogEntry& entry) {
    const Setup setup = setup_of_setting(log_, entry);
    Faults found = plunge::judge(setup.fork);
    for (const Faults& more : {plunge::judge(setup.rider), plunge::judge(setup.bike)}) {
      found.insert(found.end(), more.begin(), more.end());
    }
    for (Fault& fault : found) {
      if (!entry.numbers.contains(fault.key)) continue;
      fault.key.insert(0, entry.where);
      faults_.push_back(std::move(fault));
    }
    const LogEntry* fork = log_.find(entry.reference("fork"));
    if (fork->find("file") == nullptr) return;
    for (const auto& [name, value] : entry.numbers) {
      const Parameter& parameter = *find_parameter(name);
      if (!name.starts_with(fork->kind->prefix) || is_read(parameter, setup)) continue;
      blame(entry, name, say(value, parameter),
            fmt::format("nothing of {} reads it: it belongs to {}", name_of(*fork),
                        reader_of(parameter)));
    }
  }

  void prediction(const LogEntry& entry) {
    if (entry.reference("setting") < 0 && entry.reference("ride") < 0) {
      blame(entry, "setting", "", "must be given, or a ride: what the prediction is for");
    } else if (entry.numbers.empty()) {
      blame(entry, "travel_max", "", "must be given, or a result file: what is predicted");
    } else if (entry.quantity("ring_low") > entry.quantity("ring_high")) {
      blame(entry, "ring_low", say(entry.quantity("ring_low"), "mm"),
            "must not be above ring_high");
    }
  }

  void reading(const LogEntry& entry) {
    const std::string moving = entry.text("moving");
    if (!moving.empty() && find_value(movings(), moving) < 0) {
      blame(entry, "moving", quoted_start(moving), word_rule(movings(), moving));
    }
    const LogValue* spread = entry.find("spread");
    if (spread == nullptr) return;
    const auto& [size, unit] = std::get<Measured>(*spread);
    const auto& [value, value_unit] = std::get<Measured>(*entry.find("value"));
    if (unit != value_unit) {
      blame(entry, "spread", fmt::format("{:g} {}", size, unit),
            fmt::format("must be of the dimension of the value, [{}]", value_unit));
    } else if (!(size > 0.0)) {
      blame(entry, "spread", fmt::format("{:g} {}", size, unit), "must be above 0");
    }
  }

  // Undo and redo, each by what was in force when it came.
  void marks() {
    std::map<std::int64_t, std::int64_t> in_force;  // what is undone, by the undo
    for (std::size_t i = 0; i < log_.entries.size(); ++i) {
      const LogEntry& entry = log_.entries[i];
      if (entry.kind->name == kUndo) {
        const std::int64_t target = entry.reference("entry");
        const bool twice =
            std::ranges::any_of(in_force, [&](const auto& mark) { return mark.second == target; });
        if (twice && i >= first_) {
          blame(entry, "entry", std::to_string(target), "must not be undone already");
        }
        in_force[entry.number] = target;
      } else if (entry.kind->name == kRedo) {
        const std::int64_t undo = entry.reference("undo");
        if (in_force.erase(undo) == 0 && i >= first_) {
          blame(entry, "undo", std::to_string(undo), "must be an undo that is in force");
        }
      }
    }
  }

  // Names are their own; what is in force rests on nothing that is undone.
  void whole() {
    LogContent settled = log_;
    settled.settle();
    std::map<std::pair<std::string_view, std::string>, const LogEntry*> named;
    for (const LogEntry& entry : settled.entries) {
      if (entry.undone || entry.kind->is_mark) continue;
      const std::string name = entry.text("name");
      const auto [known, fresh] = named.insert({{entry.kind->name, name}, &entry});
      if (!name.empty() && !fresh) {
        blame(entry, "name", quoted_start(name),
              fmt::format("is the name of another {} of the log, number {}", entry.kind->name,
                          known->second->number));
      }
      for (const LogField& field : entry.kind->fields) {
        if (field.type != FieldType::entry) continue;
        const LogEntry* other = settled.find(entry.reference(field.name));
        if (other == nullptr || !other->undone) continue;
        blame(entry, field.name, std::to_string(other->number),
              fmt::format("must not be undone while {} {} is not", entry.kind->name, entry.number));
      }
    }
  }

  const LogContent& log_;
  std::size_t first_;
  Faults faults_;
};

}  // namespace

Faults judge_added(const LogContent& log, std::size_t first) {
  return LogJudge(log, first).judge();
}

}  // namespace plunge
