// What a fork's file says of working on it: [service], for the sheet at the bench.
//
//   cap, tools, steps   texts, of one line each
//   torque              of the cap [N m], with torque_source, which says where it comes from
// All of it is optional, and nothing of it is ridden. Lengths and counts are such that a page holds
// them. Faults go to the findings, with the place and the value as written.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/input/findings.hpp"
#include "sim/input/table_reader.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

inline constexpr std::size_t kLongestServiceText = 80;  // letters of a tool, a step, ...: chosen
inline constexpr std::size_t kMostTools = 6;            // chosen
inline constexpr std::size_t kMostSteps = 8;            // chosen
inline constexpr double kLeastTorque = 0.5;             // [N m], chosen
inline constexpr double kMostTorque = 100.0;            // [N m], chosen

struct Service {
  std::string cap;            // what turns it: "28 mm socket without chamfer"
  double torque = kUnset;     // of the cap [N m]
  std::string torque_source;  // where that comes from, in words
  std::vector<std::string> tools;
  std::vector<std::string> steps;  // in their order

  // Whether it says nothing.
  bool empty() const;
};

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
