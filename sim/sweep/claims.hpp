// Who does what in the folder of a sweep: claims held as locks on the bytes of work/locks.
//
// A process claims a shard before it rides it, a place among the workers while it runs, and the
// set-up of the folder while it begins it. The system frees the locks however a process ends
// (byte_locks.hpp). Where the file system knows no locks every claim is granted: two may then do
// the same shard, and both write the same bytes.
// Threads of one process share a Claims and settle among themselves who does what.
#pragma once

#include <cstddef>
#include <string>

#include "sim/disk/byte_locks.hpp"

namespace plunge {

class Claims {
 public:
  // Throws RunError where claims are to be taken and the file of locks can't be opened.
  Claims(const std::string& folder, ByteLocks::For purpose);

  // False: the file system knows no locks.
  bool work() const { return locks_.works(); }

  // False: another process has the shard.
  bool take_shard(std::size_t shard) { return locks_.take(shard); }
  void give_shard(std::size_t shard) { locks_.give(shard); }

  // A number that no other running worker of the folder has.
  std::size_t take_place();
  // True if another process has the place. Where there are no locks nobody knows: true.
  bool place_taken(std::size_t place) const;

  // Returns once no other process sets the folder up; held until the object goes.
  void wait_for_setup();

 private:
  ByteLocks locks_;
};

}  // namespace plunge
