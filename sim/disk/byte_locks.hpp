// Locks on the bytes of one file, between processes and hosts.
//
// Each byte stands for something that one process at a time may do. The system gives a lock back
// however its holder ends, so nothing is left behind and no clock or process number is asked.
// Threads of one process share an object and its locks: they settle among themselves who does
// what. Where the file system knows no locks, everything is granted and works() says so.
// The locks are "open file description" locks of fcntl(2); the file stays empty.
#pragma once

#include <atomic>
#include <cstdint>
#include <string>

#include "sim/disk/folder.hpp"

namespace plunge {

class ByteLocks {
 public:
  enum class For { taking, looking };

  // taking: the file is made where it is missing; throws RunError where it can't be opened or is a
  // link.
  // looking: a missing file is one that nobody has locked.
  ByteLocks(const std::string& path, For purpose);
  ByteLocks(const ByteLocks&) = delete;
  ByteLocks& operator=(const ByteLocks&) = delete;

  bool works() const { return works_; }
  // False: another process has it.
  bool take(std::uint64_t byte);
  // Waits until it is free.
  void wait_and_take(std::uint64_t byte);
  void give(std::uint64_t byte);
  // Whether another process has it.
  bool taken(std::uint64_t byte) const;

 private:
  Descriptor file_;
  mutable std::atomic<bool> works_{true};
};

}  // namespace plunge
