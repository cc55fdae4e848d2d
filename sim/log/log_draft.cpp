#include "sim/log/log_draft.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/log/log_setups.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/result_file.hpp"
#include "sim/text/units.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr std::string_view kVariant = "variant";
constexpr std::string_view kResults = "file";

std::string said_word(std::string_view word) { return printable(word, kShownLetters); }

std::optional<std::int64_t> whole_in(std::string_view text) {
  std::int64_t number = 0;
  const char* end = text.data() + text.size();
  const auto [last, error] = std::from_chars(text.data(), end, number);
  if (error != std::errc{} || last != end) return std::nullopt;
  return number;
}

// What a setting and the things that it names say of themselves, the setting over the things.
std::map<std::string, double, std::less<>> numbers_of_setting(const LogContent& log,
                                                              const LogEntry& setting) {
  std::map<std::string, double, std::less<>> numbers = setting.numbers;
  for (const char* const field : {"fork", "rider", "bike"}) {
    const LogEntry* thing = log.find(setting.reference(field));
    if (thing != nullptr) numbers.insert(thing->numbers.begin(), thing->numbers.end());
  }
  const Setup setup = setup_of_setting(log, setting);
  for (const char* const name : {"rider.mass", "fork.travel"}) {  // no default hides in them
    const double value = find_parameter(name)->get(setup);
    if (!std::isnan(value)) numbers.emplace(name, value);
  }
  return numbers;
}

bool same(double wanted, double found, bool whole) {
  if (whole) return wanted == found;
  return std::abs(wanted - found) <= kSameSetting * std::max(std::abs(wanted), std::abs(found));
}

}  // namespace

LogDraft::LogDraft(const LogKind& kind, const std::vector<std::string>& words,
                   const TextFiles& files, Seal seal)
    : kind_(kind) {
  given_.kind = &kind;
  for (const std::string& one : words) word(one, files);
  if (!faults_.empty()) throw InputError(std::move(faults_));
  if (!results_.empty()) read_results(results_, seal);
  if (variant_ && results_.empty()) {
    throw InputError(Fault{std::string(kVariant),
                           std::to_string(*variant_),
                           "is a ride of a result file: give file=PATH too",
                           {}});
  }
}

void LogDraft::word(const std::string& word, const TextFiles& files) {
  const std::size_t sign = word.find('=');
  const std::string name = sign == std::string::npos
                               ? std::string(kind_.fields.front().name)
                               : std::string(trimmed(std::string_view(word).substr(0, sign)));
  const std::string value = sign == std::string::npos ? word : word.substr(sign + 1);
  try {
    if (const LogField* known = kind_.find(name)) {
      field(*known, value, files);
    } else if (kind_.name == "prediction" && name == kVariant) {
      const auto whole = whole_in(value);
      if (!whole || *whole < 0) {
        throw InputError(
            Fault{"", said_word(value), "must be the number of a ride, from 0 on", {}});
      }
      variant_ = static_cast<std::size_t>(*whole);
    } else {
      number(name, value);
    }
  } catch (const InputError& error) {
    for (Fault fault : error.faults()) {
      if (fault.key.empty() && fault.place.file.empty()) fault.key = said_word(name);
      faults_.push_back(std::move(fault));
    }
  }
}

void LogDraft::field(const LogField& field, const std::string& value, const TextFiles& files) {
  const std::string name(field.name);
  if (given_.fields.contains(name) || others_.contains(name)) {
    throw InputError(Fault{name, said_word(value), "is given twice", {}});
  }
  switch (field.type) {
    case FieldType::name:
      given_.fields[name] = std::string(trimmed(value));
      break;
    case FieldType::text:
      if (kind_.name == "prediction" && name == kResults) results_ = value;
      given_.fields[name] = value;
      break;
    case FieldType::kept: {
      Faults found;
      const std::string type = check_part(files, value, found);
      if (!found.empty()) throw InputError(std::move(found));
      if (type != kind_.name) {
        throw InputError(Fault{"type", type, fmt::format("must be \"{}\"", kind_.name), {value}});
      }
      given_.fields[name] = files.read(value);
      inputs_.push_back(value);
      break;
    }
    case FieldType::whole: {
      const auto whole = whole_in(value);
      if (!whole) throw InputError(Fault{"", said_word(value), "must be a whole number", {}});
      given_.fields[name] = *whole;
      break;
    }
    case FieldType::quantity:
      given_.fields[name] = to_si(value, field.unit);
      break;
    case FieldType::measured: {
      const Quantity quantity = split_quantity(value);
      const std::string unit = quantity.unit.empty() ? "1" : si_unit_of(quantity.unit);
      if (unit.empty()) {
        throw InputError(Fault{"",
                               said_word(value),
                               "must be a quantity with its unit, such as \"33 mm\" or \"72 psi\"",
                               {}});
      }
      given_.fields[name] = Measured{to_si(quantity, unit), unit};
      break;
    }
    case FieldType::entry:
      others_[name] = value;
      break;
  }
}

void LogDraft::number(const std::string& name, const std::string& value) {
  std::string full = name;
  std::string unit;
  std::vector<std::string_view> fields;
  for (const LogField& field : kind_.fields) fields.push_back(field.name);
  std::vector<std::string_view> names = fields;
  if (kind_.numbers == NumbersBy::parameter) {
    if (find_parameter(full) == nullptr) full = std::string(kind_.prefix) + name;
    if (const Parameter* parameter = find_parameter(full)) unit = parameter->unit;
    for (const std::string_view one : dotted_names()) {
      if (one.starts_with(kind_.prefix)) names.push_back(one);
    }
  } else if (kind_.numbers == NumbersBy::metric) {
    if (const MetricRow* row = find_metric(full)) unit = row->unit;
    for (const MetricRow& row : metric_rows()) names.emplace_back(row.name);
  }
  if (unit.empty()) {
    std::string meant = suggestion(name, names);
    if (meant.empty()) meant = fmt::format("; its fields are {}", joined(fields));
    throw InputError(Fault{
        said_word(name), said_word(value), "is nothing of " + one_of(kind_.name) + meant, {}});
  }
  if (!given_.numbers.emplace(full, to_si(value, unit)).second) {
    throw InputError(Fault{full, said_word(value), "is given twice", {}});
  }
}

void LogDraft::read_results(const std::string& path, Seal seal) {
  const ResultFile file = read_result_file(path, seal, false);
  inputs_.push_back(path);
  given_.fields["history"] = shortened(file.history, kLongestText / 2);
  given_.fields["program"] = file.program_version;
  for (const char* const name : {"history", "program"}) {
    if (given_.text(name).empty()) given_.fields.erase(name);
  }
  for (std::size_t i = 0; i < file.rides.size(); ++i) {
    Ridden ridden;
    for (const Metric& metric : file.rides[i].metrics) {
      if (find_metric(metric.name) != nullptr && std::isfinite(metric.value)) {
        ridden.metrics[metric.name] = metric.value;
      }
    }
    for (const UsedParameter& parameter : file.parameters[i]) {
      if (parameter.text.empty()) ridden.parameters[parameter.name] = parameter.value;
    }
    rides_.push_back(std::move(ridden));
  }
  if (variant_ && *variant_ >= rides_.size()) {
    throw InputError(Fault{std::string(kVariant),
                           std::to_string(*variant_),
                           fmt::format("must be 0 to {}", rides_.size() - 1),
                           {path}});
  }
}

const LogDraft::Ridden& LogDraft::ridden_at(const LogContent& log, const LogEntry& setting) const {
  const std::map<std::string, double, std::less<>> wanted = numbers_of_setting(log, setting);
  std::vector<std::size_t> fitting;
  Faults nearest;
  for (std::size_t i = 0; i < rides_.size(); ++i) {
    if (variant_ && i != *variant_) continue;
    Faults differences;
    for (const auto& [name, value] : wanted) {
      const Parameter* parameter = find_parameter(name);
      const auto found = rides_[i].parameters.find(name);
      if (parameter == nullptr || found == rides_[i].parameters.end()) continue;
      if (same(value, found->second, parameter->whole)) continue;
      differences.push_back({name,
                             say(found->second, *parameter),
                             fmt::format("of ride {} must be {}, as {} says", i,
                                         say(value, *parameter), name_of(setting)),
                             {results_}});
    }
    if (differences.empty()) fitting.push_back(i);
    if (nearest.empty() || differences.size() < nearest.size()) nearest = std::move(differences);
  }
  if (fitting.empty()) throw InputError(std::move(nearest));
  if (fitting.size() > 1) {
    throw InputError(
        Fault{std::string(kVariant),
              "",
              fmt::format("must be given: rides {}, {}{} were all ridden as {} says", fitting[0],
                          fitting[1], fitting.size() > 2 ? ", ..." : "", name_of(setting)),
              {results_}});
  }
  return rides_[fitting.front()];
}

// What a setting has from its parent.
void LogDraft::inherit(const LogContent& log, LogEntry& entry) const {
  const LogEntry* parent = log.find(entry.reference("parent"));
  if (parent == nullptr) return;
  for (const char* const name : {"fork", "rider", "bike"}) {
    if (const LogValue* value = parent->find(name)) entry.fields.emplace(name, *value);
  }
  // Numbers of another fork, rider or bike say nothing of this one.
  for (const auto& [name, value] : parent->numbers) {
    const std::string part = name.substr(0, name.find('.'));
    const bool other =
        kind_.find(part) != nullptr && entry.reference(part) != parent->reference(part);
    if (!other) entry.numbers.emplace(name, value);
  }
}

LogEntry LogDraft::entry(const LogContent& log) const {
  LogEntry entry = given_;
  entry.number = log.next_number();
  Faults faults;
  for (const auto& [name, word] : others_) {
    try {
      const std::string_view kind = kind_.find(name)->refers;
      entry.fields[name] =
          (kind.empty() ? log.demand(word, name) : log.demand(demand_kind(kind), word, name))
              .number;
    } catch (const InputError& error) {
      faults.insert(faults.end(), error.faults().begin(), error.faults().end());
    }
  }
  if (!faults.empty()) throw InputError(std::move(faults));
  if (kind_.name == "setting") inherit(log, entry);
  if (rides_.empty()) return entry;
  const LogEntry* ride = log.find(entry.reference("ride"));
  const LogEntry* setting =
      log.find(ride == nullptr ? entry.reference("setting") : ride->reference("setting"));
  if (setting == nullptr) return entry;  // the judge says so
  for (const auto& [name, value] : ridden_at(log, *setting).metrics)
    entry.numbers.emplace(name, value);
  return entry;
}

}  // namespace plunge
