#include "sim/sweep/ground_faults.hpp"

#include "sim/input/settle.hpp"

namespace plunge {

Faults GroundFaults::judged(std::uint64_t ground, const Setup& setup) {
  constexpr std::size_t kMostKept = 100'000;
  {
    const std::lock_guard lock(mutex_);
    const auto found = faults_.find(ground);
    if (found != faults_.end()) return found->second;
  }
  Faults faults = judge_ground_of(setup);
  const std::lock_guard lock(mutex_);
  if (faults_.size() < kMostKept) faults_.emplace(ground, faults);
  return faults;
}

}  // namespace plunge
