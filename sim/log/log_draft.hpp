// An entry as people ask for it: words such as "ring=141mm", read into an entry of a log.
//
//   name=value   a field of the kind, a number by its dotted name, or by what stands behind the
//                kind's prefix: of a rider "mass=76kg" is "rider.mass=76kg"
//   word         without "=": the first field of the kind
//   file=PATH    of a bike, rider or fork: its TOML file, which is kept whole; of a prediction: the
//                HDF5 file of plunge ride, with variant=N for one of its rides
// Quantities have units (sim/text/units.hpp). Other entries are named by name or number.
//
// A setting with a parent begins with all that the parent has; without one of its own, its parent
// is none. A prediction from a file takes the only ride of the file that was ridden as the setting
// and what it names say: each of their own numbers within kSameSetting, and the rider's mass and
// the fork's travel where they stand in files.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/log/log_content.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

// A ride of a result file was ridden at a setting where numbers differ by no more than this part
// of theirs: chosen, what a workshop's gauge tells of a pressure. Whole numbers are equal.
inline constexpr double kSameSetting = 0.01;

class LogDraft {
 public:
  // Reads the words, and the files that they name, as far as that goes without the log. Throws
  // InputError with every fault that is found.
  LogDraft(const LogKind& kind, const std::vector<std::string>& words, const TextFiles& files,
           Seal seal = Seal::demanded);

  // The entry, numbered as the next of the log; it is not judged. Throws InputError for what is not
  // in the log, or not in the result file.
  LogEntry entry(const LogContent& log) const;

  // The files that were read.
  const std::vector<std::string>& inputs() const { return inputs_; }

 private:
  // One ride of a result file.
  struct Ridden {
    std::map<std::string, double, std::less<>> metrics;
    std::map<std::string, double, std::less<>> parameters;
  };

  void word(const std::string& word, const TextFiles& files);
  void field(const LogField& field, const std::string& value, const TextFiles& files);
  void number(const std::string& name, const std::string& value);
  void read_results(const std::string& path, Seal seal);
  void inherit(const LogContent& log, LogEntry& entry) const;
  const Ridden& ridden_at(const LogContent& log, const LogEntry& setting) const;

  const LogKind& kind_;
  LogEntry given_;                             // what needs no log
  std::map<std::string, std::string> others_;  // words for entries, by field
  std::vector<std::string> inputs_;
  std::string results_;  // path of a prediction's file; empty: none
  std::optional<std::size_t> variant_;
  std::vector<Ridden> rides_;
  Faults faults_;
};

}  // namespace plunge
