// The axes of a plan: its scenes and the tables [[axis]], of files or of numbers.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/knob.hpp"
#include "sim/sweep/plan_content.hpp"
#include "sim/sweep/plan_tables.hpp"
#include "sim/text/text_files.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

// Reads axes into the content. Files come first: the numbers are sought in what they hold.
class PlanAxes {
 public:
  // Paths are sought beside the plan among `files`; `set_names` are the names in its [set].
  PlanAxes(PlanTables& tables, PlanContent& content, const TextFiles& files,
           std::set<std::string> set_names);

  void read_files();    // scenes, forks, riders, bikes
  void read_numbers();  // once the bases are loaded; then the grid has the order of the file
  void read_roles();    // last

  // Paths along each axis of files, in the order in which they are read: scenes first.
  const std::vector<std::vector<std::string>>& paths() const { return paths_; }
  // Where the axes over numbers are named, by name.
  const std::map<std::string, Place>& places() const { return places_; }

 private:
  // A table [[axis]] that names its axis.
  struct AxisTable {
    const TomlNode* node;
    std::string key;  // "axis[2]"
    std::string name;
    bool of_files;
  };

  void list_tables();
  void list_table(const TomlNode& axis, const std::string& key, std::set<std::string>& names);
  // Why no axis can have that name; empty: it can.
  std::string name_rule(const std::string& name) const;
  void read_file_list(const TomlNode& list, const std::string& key, std::string name,
                      std::string meaning);
  void read_path(const TomlNode& item, const std::string& key, GridAxis& axis,
                 std::vector<std::string>& paths);
  void read_file_axis(const AxisTable& axis);
  void refuse_numbers_of_distribution(const AxisTable& axis);
  void put_in_order();
  // False after a fault, and where the axis has no role.
  bool read_role(const AxisTable& axis, Role& role);
  void demand_one_role_of_sample();

  std::optional<Knob> knob_of(const AxisTable& axis);
  void read_number_axis(const AxisTable& axis);
  void read_values(const AxisTable& axis, const Knob& knob);
  // False after a fault.
  bool list_values(const TomlNode& values, const std::string& key, const Knob& knob,
                   std::vector<double>& list);
  bool judge_values(const TomlNode& values, const std::string& key, const Knob& knob,
                    const std::vector<double>& list);
  void read_distribution(const AxisTable& axis, const Knob& knob);
  std::optional<DistributionKind> read_kind(const AxisTable& axis);
  // False after a fault.
  bool read_shape(const AxisTable& axis, const Knob& knob, Distribution& distribution);
  bool read_kelvins(const TomlNode& node, const std::string& key, double& number);

  PlanTables& tables_;
  PlanContent& content_;
  const TextFiles& files_;
  std::set<std::string> set_names_;
  std::vector<AxisTable> axes_;
  std::vector<std::vector<std::string>> paths_;
  std::map<std::string, Place> places_;
};

}  // namespace plunge
