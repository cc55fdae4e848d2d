// A workshop's log for tests, filled with words as `plunge log add` takes them.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "sim/disk/disk_files.hpp"
#include "sim/log/workshop_log.hpp"
#include "tests/scratch.hpp"

namespace plunge {

inline constexpr char kTeasel[] = "file=scenarios/forks/teasel-150.toml";
inline constexpr char kHazel[] = "file=scenarios/riders/hazel.toml";

// Opens the log anew for each change, as one command after the other does.
class SmallLog {
 public:
  explicit SmallLog(const std::string& name = "a.plunge-log") : path_(directory_ / name) {}

  // The number of the entry.
  std::int64_t add(const char* kind, const std::vector<std::string>& words) const {
    return change(kind, words).entry;
  }
  LogChange change(const char* kind, const std::vector<std::string>& words) const {
    const LogDraft draft(demand_kind(kind), words, disk_files());
    return WorkshopLog(path_, Absent::begun).add(draft);
  }
  // What is said of words that are refused.
  std::string refusal(const char* kind, const std::vector<std::string>& words) const {
    return complaint([&] { add(kind, words); });
  }
  std::int64_t undo() const { return WorkshopLog(path_).undo().entry; }
  std::int64_t redo() const { return WorkshopLog(path_).redo().entry; }
  LogContent read() const { return WorkshopLog(path_).read(); }
  const std::string& path() const { return path_; }
  const ScratchDirectory& directory() const { return directory_; }

 private:
  const ScratchDirectory directory_;
  std::string path_;
};

// A fork with its file, a rider and a setting, numbers 1 to 3.
inline void add_setting(const SmallLog& log) {
  log.add("fork", {"teasel", kTeasel});
  log.add("rider", {"hazel", "mass=76kg", "front_share=40%"});
  log.add("setting", {"fork=teasel", "rider=hazel", "fork.pressure=72psi", "fork.spacers=1"});
}

}  // namespace plunge
