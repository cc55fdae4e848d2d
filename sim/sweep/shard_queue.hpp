// Which shards of a run are still to be done, and the next one for whoever asks.
//
// Shards are given in order, each claimed first (claims.hpp). One that another process rides is
// asked for again after all others, so that it is ridden here if that process ends before its time.
// A run may be a part of a job array: the shards s with s % parts == part.
// Calls must not overlap; the caller's mutex sees to that.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "sim/sweep/claims.hpp"
#include "sim/sweep/sweep_folder.hpp"

namespace plunge {

class ShardQueue {
 public:
  ShardQueue(const SweepFolder& folder, Claims& claims, std::size_t part, std::size_t parts);

  // True if the shard belongs to this run.
  bool mine(std::size_t shard) const { return shard % parts_ == part_; }

  bool done(std::size_t shard) const { return done_[shard]; }
  // Marks the shards that are there as done.
  void mark(const std::vector<bool>& there);
  void mark_missing(std::size_t shard) { done_[shard] = false; }

  // Numbers of the shards of this run that are done.
  std::vector<std::size_t> done_shards() const;
  // Number of the shards of this run that are not.
  std::size_t missing() const;

  // Claims a shard that nobody rides; none: there is none, now or for good.
  std::optional<std::size_t> next();
  // Gives the claim of a shard back, which is written.
  void finish(std::size_t shard);
  // Gives the claim of a shard back, which is not.
  void drop(std::size_t shard) { claims_.give_shard(shard); }

  // True once each shard was given, or is with another process.
  bool all_asked_for() const { return next_ == folder_.shards; }
  // True while other processes ride some.
  bool others_ride() const { return !theirs_.empty(); }

 private:
  enum class Claimed { ours, theirs, done };
  Claimed claim(std::size_t shard);

  const SweepFolder& folder_;
  Claims& claims_;
  std::size_t part_;
  std::size_t parts_;
  std::vector<bool> done_;
  std::size_t next_ = 0;
  std::vector<std::size_t> theirs_;  // claimed by other processes when last asked
};

}  // namespace plunge
