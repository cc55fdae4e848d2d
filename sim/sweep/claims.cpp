#include "sim/sweep/claims.hpp"

#include <unistd.h>

#include <cstdint>

#include "sim/sweep/sweep_paths.hpp"

namespace plunge {
namespace {

// A shard's byte is its number; past all shards are the workers' places and the set-up.
constexpr std::uint64_t kWorkerByte = std::uint64_t{1} << 40;
constexpr std::uint64_t kSetupByte = std::uint64_t{1} << 41;
constexpr std::size_t kMostWorkers = 100'000;

}  // namespace

Claims::Claims(const std::string& folder, ByteLocks::For purpose)
    : locks_(path_in_work(folder, "locks"), purpose) {}

std::size_t Claims::take_place() {
  std::size_t place = 0;
  while (place < kMostWorkers && !locks_.take(kWorkerByte + place)) ++place;
  return locks_.works() ? place : kMostWorkers + static_cast<std::size_t>(::getpid());
}

bool Claims::place_taken(std::size_t place) const {
  return locks_.taken(kWorkerByte + place) || !locks_.works();
}

void Claims::wait_for_setup() { locks_.wait_and_take(kSetupByte); }

}  // namespace plunge
