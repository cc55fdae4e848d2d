// What a fork's file says of its own numbers: [family], [known] and [joint]; and a rider's:
// [known].
//
//   [family]   stanchion or bore, and wheel: what the fork needs and the file has not is filled in
//              from the family of air forks (models/setup/families.hpp)
//   [known]    of single numbers whether they are measured, fitted or guessed, with their spread
//              and source; by their names, in tables as the numbers themselves
//   [joint]    correlations between the numbers of [known] that it names, row by row below the
//              diagonal
// A number that is overridden after the file was read is taken as it then stands: its mark goes.
// Faults go to the findings, with the place and the value as written.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/families.hpp"
#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/findings.hpp"
#include "sim/input/table_reader.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

class KnowledgeReader {
 public:
  // All must outlive the reader.
  KnowledgeReader(Setup& setup, Findings& found, TableReader& tables)
      : setup_(setup), found_(found), tables_(tables) {}

  // The three tables of a fork whose numbers have been read.
  void read(const TomlFile& file, const TomlNode& fork);
  // The one of a rider.
  void read_rider(const TomlFile& file, const TomlNode& rider);

  // Once everything is laid over the file: drops the marks of what was overridden and fills in the
  // family. `held`: a sag will be held.
  void complete(bool held);

  const Knowledge& knowledge() const { return knowledge_; }

 private:
  // Drops what a file of this part said before.
  void begin(const char* part);
  void read_known(const TomlFile& file, const TomlNode& table);
  // "fork.known.air" for ".air".
  std::string key_of(const std::string& path) const { return part_ + ".known" + path; }
  void read_family(const TomlFile& file, const TomlNode& table);
  void read_marks(const TomlFile& file, const TomlNode& table, const std::string& path);
  void read_mark(const TomlFile& file, const TomlNode& table, const std::string& path);
  void read_joint(const TomlFile& file, const TomlNode& table);
  void read_correlations(const TomlFile& file, const TomlNode& rows,
                         const std::vector<std::size_t>& places);
  std::string read_text(const TomlFile& file, const TomlNode& table, const char* key,
                        const std::string& path);

  Setup& setup_;
  Findings& found_;
  TableReader& tables_;
  std::string part_ = "fork";  // whose marks are read
  std::optional<Family> family_;
  Knowledge knowledge_;
  std::vector<double> marked_;  // values that the marks of the file belong to
};

}  // namespace plunge
