// The tables of a plan, or of a brief, and the faults that are found in them.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

class PlanTables {
 public:
  explicit PlanTables(TomlFile file) : file_(std::move(file)) {}

  const TomlFile& file() const { return file_; }
  Faults& faults() { return faults_; }
  // Throws InputError where there are faults.
  void stop_at_faults();
  // Adds a fault once: combinations repeat the faults of the files that they share.
  void add(const Fault& fault);
  void blame(const TomlNode& node, std::string key, std::string rule);
  // A key that should be in a table; the file itself has no line.
  void missing(const TomlNode& table, std::string key, std::string rule);

  bool demand_table(const TomlNode& node, const std::string& key);
  void refuse_unknown_keys(const TomlNode& table, const std::string& prefix,
                           const std::vector<std::string_view>& known);
  // A table of the plan; null where it is not there or is none.
  const TomlNode* table_of(const std::string& key, const std::vector<std::string_view>& known);
  // A whole number of a table from `low` to `high`; false after a fault or where it is not there.
  bool read_whole(const TomlNode& table, const std::string& prefix, const char* key, double low,
                  double high, double& number);

 private:
  TomlFile file_;
  Faults faults_;
};

}  // namespace plunge
