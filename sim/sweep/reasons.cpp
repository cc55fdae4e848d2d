#include "sim/sweep/reasons.hpp"

#include <algorithm>
#include <utility>

namespace plunge {
namespace {

constexpr char kOtherReasons[] = "other reasons";

}  // namespace

std::string without_numbers(const std::string& reason) {
  std::string kind;
  for (const char c : reason) {
    const bool number = (c >= '0' && c <= '9') || c == '.' || c == '-' || c == '+';
    if (!number) {
      kind += c;
    } else if (kind.empty() || kind.back() != '#') {
      kind += '#';
    }
  }
  return kind;
}

void ReasonCounts::count(std::size_t ride, const std::string& reason) {
  std::string kind = without_numbers(reason);
  if (!kinds_.contains(kind) && kinds_.size() >= most_) kind = kOtherReasons;
  const auto [place, fresh] = kinds_.try_emplace(kind);
  SweepReason& counted = place->second;
  if (fresh || ride < counted.ride) {
    counted.text = kind == kOtherReasons ? kOtherReasons : reason;
    counted.ride = ride;
  }
  ++counted.rides;
}

std::vector<SweepReason> ReasonCounts::by_frequency() const {
  std::vector<SweepReason> reasons;
  for (const auto& [kind, reason] : kinds_) reasons.push_back(reason);
  std::ranges::sort(reasons, [](const SweepReason& a, const SweepReason& b) {
    return std::pair(b.rides, a.ride) < std::pair(a.rides, b.ride);
  });
  return reasons;
}

}  // namespace plunge
