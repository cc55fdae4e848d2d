// What the processes at work in a folder say of themselves: work/worker-N.txt, one each.
//
//   host NAME, process NUMBER, rides NUMBER, rate NUMBER    one a line
// N is the place that the process holds (claims.hpp), so a note whose place nobody holds is one
// that a killed process left, and is passed over. The notes inform people; no decision looks at
// them but one: a process on another host sees by a note whether it has the same folder before it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sim/sweep/claims.hpp"

namespace plunge {

struct SweepWorker {
  std::string host;
  std::string process;    // its number
  std::size_t rides = 0;  // that it has ridden
  double rate = 0.0;      // rides per second; 0: unknown
};

// "?" where the system does not say.
std::string host_name();

// The note of this process, removed when the object goes.
class WorkerNote {
 public:
  WorkerNote(const std::string& folder, std::size_t place);
  ~WorkerNote();
  WorkerNote(const WorkerNote&) = delete;
  WorkerNote& operator=(const WorkerNote&) = delete;

  // Writes host and process alone. Throws RunError where that fails.
  void begin() const;

  // Writes what has changed. Trouble is passed over: where the disk fails, a shard will say so.
  void say(std::size_t rides, double rate);

  // By this others know that they see the same folder (sees_mark()), once the note is there.
  std::string mark() const;

 private:
  std::string folder_;
  std::size_t place_;
  std::string written_;
};

// True if a folder is the one that a mark speaks of, and not another of its name.
bool sees_mark(const std::string& folder, const std::string& mark);

// Workers that run now, but for the one at `own`, by host and process.
std::vector<SweepWorker> running_workers(const std::string& folder, const Claims& claims,
                                         std::optional<std::size_t> own);

}  // namespace plunge
