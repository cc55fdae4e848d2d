// Why rides of a sweep failed, counted: reasons that differ in their numbers only are one.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

namespace plunge {

// Failed rides whose reasons differ in their numbers only.
struct SweepReason {
  std::string text;      // of the first such ride
  std::size_t ride = 0;  // its number
  std::size_t rides = 0;
};

// A reason with # in place of each number.
std::string without_numbers(const std::string& reason);

class ReasonCounts {
 public:
  // At most `kinds` reasons are told apart; what comes later counts as "other reasons".
  explicit ReasonCounts(std::size_t kinds = static_cast<std::size_t>(-1)) : most_(kinds) {}

  void count(std::size_t ride, const std::string& reason);

  // The most frequent first, of equals the one that came first.
  std::vector<SweepReason> by_frequency() const;

 private:
  std::size_t most_;
  std::map<std::string, SweepReason> kinds_;  // by their text without numbers
};

}  // namespace plunge
