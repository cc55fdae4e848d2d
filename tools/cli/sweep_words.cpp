#include "tools/cli/sweep_words.hpp"

#include <fmt/core.h>

#include <cstddef>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

constexpr std::size_t kReasonsShown = 5;

}  // namespace

std::string reasons_text(const std::vector<SweepReason>& reasons) {
  std::string text;
  std::size_t rest = 0;
  for (std::size_t i = 0; i < reasons.size(); ++i) {
    const SweepReason& reason = reasons[i];
    if (i >= kReasonsShown) {
      rest += reason.rides;
      continue;
    }
    text += fmt::format("  {:>8}  such as ride {}: {}\n", reason.rides, reason.ride,
                        shown(reason.text));
  }
  if (rest > 0) text += fmt::format("  {:>8}  for other reasons\n", rest);
  return text;
}

}  // namespace plunge
