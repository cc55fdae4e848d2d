// Faults of an input, worded so that a person can mend them.
//
// A Fault names the key, the value found and the rule it breaks; the loader adds file, line and
// column. Judges collect every fault of a set-up, so that one list shows them all.
// InputError: the input is wrong (exit code 2). RunError: the run failed (exit code 1).
#pragma once

#include <cstddef>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "models/setup/shown.hpp"

namespace plunge {

struct Place {
  std::string file;
  int line = 0;    // 1-based; 0: the whole file or the command line
  int column = 0;  // 1-based
};

struct Fault {
  std::string key;    // dotted name, "fork.spacers"
  std::string value;  // as found, with its unit; may be empty (a missing key)
  std::string rule;   // what must hold, "must be 0 to 4 (fork.spacer_limit)"
  Place place;
};

using Faults = std::vector<Fault>;

// "1 row", "2 rows".
inline std::string counted(std::size_t count, const std::string& word) {
  return std::to_string(count) + " " + word + (count == 1 ? "" : "s");
}

// "file:line:column: key = value: rule", or without what is not known.
inline std::string to_string(const Fault& fault) {
  std::string text;
  if (!fault.place.file.empty()) {
    text += fault.place.file + ":";
    if (fault.place.line > 0) {
      text += std::to_string(fault.place.line) + ":" + std::to_string(fault.place.column) + ":";
    }
    text += " ";
  }
  if (!fault.key.empty()) {
    text += fault.key;
    if (!fault.value.empty()) text += " = " + fault.value;
    text += ": ";
  } else if (!fault.value.empty()) {
    text += fault.value + ": ";
  }
  return shown(text + fault.rule);
}

class InputError : public std::runtime_error {
 public:
  explicit InputError(Faults faults)
      : std::runtime_error(joined(faults)), faults_(std::move(faults)) {}
  explicit InputError(Fault fault) : InputError(Faults{std::move(fault)}) {}
  const Faults& faults() const { return faults_; }

 private:
  static std::string joined(const Faults& faults) {
    std::string text;
    for (const Fault& fault : faults) {
      if (!text.empty()) text += "\n";
      text += to_string(fault);
    }
    return text;
  }
  Faults faults_;
};

class RunError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

}  // namespace plunge
