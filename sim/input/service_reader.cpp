#include "sim/input/service_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {

void ServiceReader::read(const TomlFile& file, const TomlNode& fork) {
  service_ = {};
  const TomlNode* table = fork.find("service");
  if (table == nullptr || !tables_.demand_table(file, *table, "fork.service")) return;
  found_.remember("fork.service", file, *table);
  for (const TomlMember& member : table->members) {
    const std::string key = "fork.service." + member.key;
    if (member.key == "cap") {
      read_text(file, member.value, key, service_.cap);
    } else if (member.key == "torque_source") {
      read_text(file, member.value, key, service_.torque_source);
    } else if (member.key == "tools") {
      read_list(file, member.value, key, kMostServiceTools, service_.tools);
    } else if (member.key == "steps") {
      read_list(file, member.value, key, kMostServiceSteps, service_.steps);
    } else if (member.key != "torque") {
      tables_.unknown(file, member, key, {"cap", "torque", "torque_source", "tools", "steps"});
    }
  }
  read_torque(file, *table);
}

void ServiceReader::read_torque(const TomlFile& file, const TomlNode& table) {
  const std::string key = "fork.service.torque";
  if (const TomlNode* torque = table.find("torque")) {
    double value = kUnset;
    tables_.read_number(file, *torque, key, {"N m"}, value);
    if (!std::isnan(value) && !in_range(value, kLeastTorque, kMostTorque)) {
      found_.blame(file, *torque, key,
                   fmt::format("must be {} N.m to {} N.m", kLeastTorque, kMostTorque));
    }
    service_.torque = value;
    if (table.find("torque_source") == nullptr) {
      found_.add({"fork.service.torque_source", "",
                  "must be given beside a torque: where it comes from, in words",
                  file.place(table)});
    }
  } else if (const TomlNode* source = table.find("torque_source")) {
    found_.blame(file, *source, "fork.service.torque_source",
                 "needs a torque beside it (fork.service.torque)");
  }
}

bool ServiceReader::read_text(const TomlFile& file, const TomlNode& value, const std::string& key,
                              std::string& text) {
  if (value.kind != TomlNode::Kind::text) {
    found_.blame(file, value, key, "must be text; found " + describe(value));
  } else if (value.text.empty() || count_letters(value.text) > kLongestServiceText ||
             shown(value.text) != value.text) {
    found_.blame(file, value, key,
                 fmt::format("must be one line of 1 to {} letters, without control characters",
                             kLongestServiceText));
  } else {
    text = value.text;
    return true;
  }
  return false;
}

void ServiceReader::read_list(const TomlFile& file, const TomlNode& value, const std::string& key,
                              std::size_t most, std::vector<std::string>& list) {
  if (value.kind != TomlNode::Kind::array || value.items.empty() || value.items.size() > most) {
    const std::string found = value.kind == TomlNode::Kind::array
                                  ? fmt::format("{} of them", value.items.size())
                                  : describe(value);
    found_.blame(file, value, key,
                 fmt::format("must be a list of 1 to {} texts; found {}", most, found));
    return;
  }
  for (std::size_t i = 0; i < value.items.size(); ++i) {
    std::string text;
    if (read_text(file, value.items[i], fmt::format("{}[{}]", key, i), text)) {
      list.push_back(std::move(text));
    }
  }
}

}  // namespace plunge
