// What a fork's file says of working on it: [service], for the sheet at the bench.
//
//   cap, tools, steps   texts, of one line each
//   torque              of the cap [N m], with torque_source, which says where it comes from
// All of it is optional, and nothing of it is ridden. Lengths and counts are such that a page holds
// them. Faults go to the findings, with the place and the value as written.
#pragma once

#include <string>
#include <vector>

#include "sim/input/findings.hpp"
#include "sim/input/service.hpp"
#include "sim/input/table_reader.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

class ServiceReader {
 public:
  // Both must outlive the reader.
  ServiceReader(Findings& found, TableReader& tables) : found_(found), tables_(tables) {}

  // The table of a fork; nothing where it has none.
  void read(const TomlFile& file, const TomlNode& fork);

  const Service& service() const { return service_; }

 private:
  bool read_text(const TomlFile& file, const TomlNode& value, const std::string& key,
                 std::string& text);
  void read_list(const TomlFile& file, const TomlNode& value, const std::string& key,
                 std::size_t most, std::vector<std::string>& list);
  void read_torque(const TomlFile& file, const TomlNode& table);

  Findings& found_;
  TableReader& tables_;
  Service service_;
};

}  // namespace plunge
