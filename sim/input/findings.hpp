// What is found while files are read into a Setup: faults, and where each key was set.
//
// A judge knows keys only. locate() leads its faults back to the file, line and column that set the
// key; a key that is missing, to the table, list or file where it should be.
#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

// Where a key was set, and the value as written there.
struct Source {
  Place place;
  std::string written;
};

class Findings {
 public:
  void add(Fault fault);
  void add(const Faults& faults);
  // Faults of a judge on keys that are free of faults so far, with their places.
  void add_judged(const Faults& faults);
  void blame(const TomlFile& file, const TomlNode& node, std::string key, std::string rule);

  void set_source(const std::string& key, const Place& place, const std::string& written = {});
  void remember(const std::string& key, const TomlFile& file, const TomlNode& node);
  bool knows(const std::string& key) const { return sources_.contains(key); }
  // The place of a key, or of the nearest table, list or file around it.
  void locate(Fault& fault) const;

  // A part whose content could not be read is not to be judged: "fork", "terrain[2]".
  void leave_unread(const std::string& part) { unread_.insert(part); }
  bool is_unread(const std::string& part) const { return unread_.contains(part); }

  bool none() const { return faults_.empty(); }
  Faults take_faults() { return std::move(faults_); }
  void throw_faults();

 private:
  bool in_unread_part(std::string_view key) const;

  Faults faults_;
  std::map<std::string, Source> sources_;
  std::set<std::string> unread_;
};

}  // namespace plunge
