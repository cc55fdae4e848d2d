// What is wrong with the grounds of a plan's rides, judged once each.
#pragma once

#include <cstdint>
#include <mutex>
#include <unordered_map>

#include "models/setup/fault.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// Shared between threads.
class GroundFaults {
 public:
  // Set-ups with the same number have the same ground.
  Faults judged(std::uint64_t ground, const Setup& setup);

 private:
  std::mutex mutex_;
  std::unordered_map<std::uint64_t, Faults> faults_;
};

}  // namespace plunge
