// A labelled HDF5 file larger than memory: the head at once, the numbers in any order afterwards.
//
// The head is all of hdf5_writer.hpp: dimensions, small variables, attributes, and room for the
// large variables, which stand in the file as plain rows of numbers (contiguous, not compressed).
// Once the head is closed the numbers are written straight into their room, without the library:
// a run of consecutive values is one write, however many axes it spans, and a full disk meets a
// plain write. What is never written reads as 0; nothing is written twice, for the seal is summed
// on the way. Several threads may write at once, after begin().
// Like every file here it is either whole or not there (atomic_file.hpp) and ends in a seal.
// Throws std::invalid_argument for a variable that has no room or a run that is past it, RunError
// where the disk refuses.
#pragma once

#include <cstddef>
#include <cstdint>
#include <mutex>
#include <span>
#include <string>
#include <vector>

#include "sim/disk/atomic_file.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/disk/placed_sum.hpp"

namespace plunge {

class Hdf5Stream {
 public:
  // expected_bytes: size of the numbers; a disk without that much room is refused at once.
  Hdf5Stream(const std::string& path, std::uint64_t expected_bytes);

  // Until begin() or the first write().
  Hdf5Writer& head() { return head_; }
  // Ends the head.
  void begin();

  // Consecutive values of a variable, from its value number `first` on. The type must be that of
  // the room.
  void write(const std::string& variable, std::uint64_t first, std::span<const double> values);
  void write(const std::string& variable, std::uint64_t first, std::span<const float> values);
  void write(const std::string& variable, std::uint64_t first, std::span<const int> values);

  // Seals the file and gives it its name.
  void save();

 private:
  void write(const std::string& variable, std::uint64_t offset, std::string_view bytes);

  NewFile file_;
  Hdf5Writer head_;
  bool open_ = true;
  std::vector<Hdf5Room> rooms_;
  std::mutex mutex_;                    // of what follows
  PlacedSum sum_;                       // of what was written into rooms
  std::vector<std::uint64_t> written_;  // into each room [byte]
};

}  // namespace plunge
