// A ride file (result_file.hpp) that is written as its rides are ridden, whatever their number and
// length: the traces go to the disk a block at a time.
//
// The sizes are known before anything is ridden: rides × times. Blocks of several rides may come at
// once from several threads, each ride's own in order; the file has them in the order of the
// rides, so that its bytes do not depend on who was first. What comes too early waits, in memory up
// to kMostWaiting and then in a file beside the target.
// Of each ride there stay in memory its numbers (metrics, parameters: some 3 kB) and its label.
// Only rides that are finished, up to the first that is not, are kept; whatever was left out is cut
// off. Room for all traces is held on the disk from the start: a disk without it is refused with
// the numbers.
#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "sim/report/result_content.hpp"

namespace plunge {

// Bytes of packed traces that wait in memory for the rides before them.
inline constexpr std::size_t kMostWaiting = std::size_t{16} << 20;

struct ResultOutline {
  std::string title;
  std::string history;
  std::size_t rides = 0;
  std::vector<double> time;       // [s], of the longest ride
  std::vector<Channel> channels;  // their names and units; the values are not read
  std::size_t most_waiting = kMostWaiting;
};

class ResultStream {
 public:
  // Throws RunError where the disk refuses or has too little room.
  ResultStream(const std::string& path, ResultOutline outline);
  ~ResultStream();
  ResultStream(const ResultStream&) = delete;
  ResultStream& operator=(const ResultStream&) = delete;

  // The next samples of a ride: channels as in the outline. All blocks of a ride but its last have
  // kTraceBlock samples.
  void block(std::size_t ride, const std::vector<Channel>& channels);

  // Everything about a ride but its traces, and after them.
  void finish(std::size_t ride, const Result& result);

  // How many rides from the first on are finished: those that save() keeps.
  std::size_t finished() const;

  // What each ride used, worked out ride by ride as it is asked for: tables twice, the rest once.
  struct Used {
    std::function<std::vector<UsedParameter>(std::size_t ride)> parameters;
    std::function<std::vector<UsedTable>(std::size_t ride)> tables;
    std::function<std::string(std::size_t ride)> scene_text;
  };
  // Throws RunError where the disk refuses, std::invalid_argument where what was used contradicts
  // itself: one name for two things or with two units.
  void save(const Used& used);

 private:
  class Writing;
  std::unique_ptr<Writing> writing_;
};

}  // namespace plunge
