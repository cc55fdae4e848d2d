#include "sim/input/knowledge_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

constexpr std::string_view kMarkKeys[] = {"from", "spread", "source"};

}  // namespace

void KnowledgeReader::read(const TomlFile& file, const TomlNode& fork) {
  begin("fork");
  family_.reset();
  if (const TomlNode* family = fork.find("family")) read_family(file, *family);
  read_known(file, fork);
  if (const TomlNode* joint = fork.find("joint")) read_joint(file, *joint);
}

void KnowledgeReader::read_rider(const TomlFile& file, const TomlNode& rider) {
  begin("rider");
  read_known(file, rider);
}

void KnowledgeReader::begin(const char* part) {
  part_ = part;
  for (std::size_t i = knowledge_.size(); i-- > 0;) {
    if (knowledge_.numbers()[i].name.starts_with(part_ + ".")) knowledge_.remove(i);
  }
}

void KnowledgeReader::read_known(const TomlFile& file, const TomlNode& table) {
  if (const TomlNode* known = table.find("known")) {
    found_.remember(key_of(""), file, *known);
    read_marks(file, *known, "");
  }
  marked_.clear();
  for (const KnownNumber& number : knowledge_.numbers()) {
    marked_.push_back(find_parameter(number.name)->get(setup_));
  }
}

void KnowledgeReader::read_family(const TomlFile& file, const TomlNode& table) {
  if (!tables_.demand_table(file, table, "fork.family")) return;
  found_.remember("fork.family", file, table);
  Family family;
  for (const TomlMember& member : table.members) {
    const std::string key = "fork.family." + member.key;
    if (member.key == "stanchion") {
      tables_.read_number(file, member.value, key, {"m"}, family.stanchion);
    } else if (member.key == "bore") {
      tables_.read_number(file, member.value, key, {"m"}, family.bore);
    } else if (member.key == "wheel") {
      tables_.read_number(file, member.value, key, {"m"}, family.wheel);
    } else {
      tables_.unknown(file, member, key, {"stanchion", "bore", "wheel"});
    }
  }
  found_.add_judged(judge(family));
  family_ = family;
}

void KnowledgeReader::read_marks(const TomlFile& file, const TomlNode& table,
                                 const std::string& path) {
  if (!tables_.demand_table(file, table, key_of(path))) return;
  if (table.find("from") != nullptr) {
    read_mark(file, table, path);
    return;
  }
  for (const TomlMember& member : table.members) {
    const std::string name = path + "." + member.key;
    const bool leads = [&] {
      for (const Parameter& parameter : parameters()) {
        const std::string full = part_ + name;
        if (parameter.name == full || parameter.name.starts_with(full + ".")) return true;
      }
      return false;
    }();
    if (!leads) {
      std::vector<std::string_view> names;
      const std::string before = part_ + path + ".";
      for (const Parameter& parameter : parameters()) {
        if (parameter.name.starts_with(before)) {
          names.push_back(parameter.name.substr(before.size()));
        }
      }
      tables_.unknown(file, member, key_of(name), names);
    } else {
      read_marks(file, member.value, name);
    }
  }
}

std::string KnowledgeReader::read_text(const TomlFile& file, const TomlNode& table, const char* key,
                                       const std::string& path) {
  constexpr std::size_t kLongest = 4000;
  const TomlNode* value = table.find(key);
  const std::string full = fmt::format("{}.{}", path, key);
  if (value == nullptr) {
    found_.add({full, "", "must be given", file.place(table)});
  } else if (value->kind != Kind::text) {
    found_.blame(file, *value, full, "must be text; found " + describe(*value));
  } else if (value->text.size() > kLongest) {
    found_.blame(file, *value, full, fmt::format("must be at most {} bytes", kLongest));
  } else {
    return value->text;
  }
  return {};
}

void KnowledgeReader::read_mark(const TomlFile& file, const TomlNode& table,
                                const std::string& path) {
  const std::string key = key_of(path);
  found_.remember(key, file, table);
  const Parameter* parameter = find_parameter(part_ + path);
  if (parameter == nullptr) {
    found_.add({key, "", "is no number", file.place(table)});
    return;
  }
  for (const TomlMember& member : table.members) {
    const bool known = std::string_view(member.key) == kMarkKeys[0] || member.key == kMarkKeys[1] ||
                       member.key == kMarkKeys[2];
    if (!known) {
      tables_.unknown(file, member, key + "." + member.key,
                      {std::begin(kMarkKeys), std::end(kMarkKeys)});
    }
  }
  const std::string word = read_text(file, table, "from", key);
  const int evidence = find_value(evidences(), word);
  if (!word.empty() && evidence < 0) {
    found_.blame(file, *table.find("from"), key + ".from", word_rule(evidences(), word));
  }
  const std::string source = read_text(file, table, "source", key);
  double spread = 0.0;
  if (const TomlNode* value = table.find("spread")) {
    tables_.read_number(file, *value, key + ".spread", {"1"}, spread);
    if (!in_range(spread, 0.0, kLargestSpread)) {
      found_.blame(file, *value, key + ".spread", "must be " + say_range(0.0, kLargestSpread, "%"));
    }
  } else {
    found_.add({key + ".spread", "",
                "must be given, as a share of the number such as \"5 %\"; 0: taken as it stands",
                file.place(table)});
  }
  const double value = parameter->get(setup_);
  if (std::isnan(value)) {
    found_.add({key, "", fmt::format("marks a number that is not given ({})", parameter->name),
                file.place(table)});
    return;
  }
  if (spread > 0.0 && (parameter->whole || !(value > 0.0))) {
    found_.add({key, "",
                parameter->whole ? "must have the spread 0: it is a whole number"
                                 : "must have the spread 0: a share of it is nothing",
                file.place(table)});
    return;
  }
  knowledge_.add(
      {std::string(parameter->name), static_cast<Evidence>(std::max(evidence, 0)), source}, spread);
}

void KnowledgeReader::read_joint(const TomlFile& file, const TomlNode& table) {
  if (!tables_.demand_table(file, table, "fork.joint")) return;
  found_.remember("fork.joint", file, table);
  for (const TomlMember& member : table.members) {
    if (member.key != "names" && member.key != "correlation") {
      tables_.unknown(file, member, "fork.joint." + member.key, {"names", "correlation"});
    }
  }
  const TomlNode* names = table.find("names");
  const TomlNode* rows = table.find("correlation");
  for (const auto& [key, node] : {std::pair("names", names), std::pair("correlation", rows)}) {
    const std::string full = fmt::format("fork.joint.{}", key);
    if (node == nullptr) {
      found_.add({full, "", "must be given", file.place(table)});
      return;
    }
    if (node->kind != Kind::array) {
      found_.blame(file, *node, full, "must be an array; found " + describe(*node));
      return;
    }
  }
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < names->items.size(); ++i) {
    const TomlNode& name = names->items[i];
    const std::size_t place = knowledge_.find("fork." + name.text);
    const bool twice = std::find(places.begin(), places.end(), place) != places.end();
    if (name.kind != Kind::text || twice || place == knowledge_.size() ||
        !(knowledge_.spread(place) > 0.0)) {
      found_.blame(file, name, fmt::format("fork.joint.names[{}]", i),
                   "must be a name that [known] gives a spread above 0, each once");
      return;
    }
    places.push_back(place);
  }
  read_correlations(file, *rows, places);
}

void KnowledgeReader::read_correlations(const TomlFile& file, const TomlNode& rows,
                                        const std::vector<std::size_t>& places) {
  const std::size_t n = places.size();
  if (rows.items.size() + 1 != n) {
    found_.blame(file, rows, "fork.joint.correlation",
                 fmt::format("must have {} rows, one fewer than names", n > 0 ? n - 1 : 0));
    return;
  }
  std::vector<double> matrix(n * n, 0.0);
  for (std::size_t i = 0; i < n; ++i) matrix[i * n + i] = 1.0;
  for (std::size_t i = 1; i < n; ++i) {
    const TomlNode& row = rows.items[i - 1];
    const std::string key = fmt::format("fork.joint.correlation[{}]", i - 1);
    if (row.kind != Kind::array || row.items.size() != i) {
      found_.blame(
          file, row, key,
          fmt::format("must be an array of {}, with the names before it", counted(i, "number")));
      return;
    }
    for (std::size_t j = 0; j < i; ++j) {
      double value = 0.0;
      const std::string own = fmt::format("{}[{}]", key, j);
      tables_.read_number(file, row.items[j], own, {"1"}, value);
      if (!in_range(value, -1.0, 1.0)) {
        found_.blame(file, row.items[j], own, "must be -1 to 1");
        return;
      }
      matrix[i * n + j] = matrix[j * n + i] = value;
    }
  }
  if (lower_factor(matrix, n).empty()) {
    found_.blame(file, rows, "fork.joint.correlation",
                 "must be the correlations of numbers that can be drawn (positive definite)");
    return;
  }
  for (std::size_t i = 1; i < n; ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      knowledge_.set_covariance(
          places[i], places[j],
          matrix[i * n + j] * knowledge_.spread(places[i]) * knowledge_.spread(places[j]));
    }
  }
}

void KnowledgeReader::complete(bool held) {
  for (std::size_t i = knowledge_.size(); i-- > 0;) {
    const KnownNumber& number = knowledge_.numbers()[i];
    if (i < marked_.size() && find_parameter(number.name)->get(setup_) != marked_[i]) {
      knowledge_.remove(i);
      marked_.erase(marked_.begin() + static_cast<std::ptrdiff_t>(i));
    }
  }
  if (!family_) return;
  const double travel = setup_.fork.travel;
  if (std::isnan(travel)) return;
  if (!in_range(travel, kFamilyTravel[0], kFamilyTravel[1])) {
    Fault fault{"fork.travel",
                say(travel, "mm"),
                fmt::format("must be {} where a family fills in the rest (fork.family)",
                            say_range(kFamilyTravel[0], kFamilyTravel[1], "mm")),
                {}};
    found_.locate(fault);
    found_.add(fault);
  }
  fill_from_family(*family_, held, setup_, knowledge_);
}

}  // namespace plunge
