#include "tools/cli/sweep_words.hpp"

#include <fmt/core.h>

#include <cstddef>
#include <string_view>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

constexpr std::size_t kReasonsShown = 5;
constexpr int kMostThreads = 1024;

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

std::string shell_word(const std::string& word) {
  constexpr std::string_view kPlain =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./=+,:@%";
  if (!word.empty() && word.find_first_not_of(kPlain) == std::string::npos) return word;
  std::string text = "'";
  for (const char c : word) text += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return text + "'";
}

std::size_t threads_asked(int threads) {
  if (threads < 0 || threads > kMostThreads) {
    throw InputError(Fault{"--threads",
                           fmt::format("{}", threads),
                           fmt::format("must be 0 (one for each core) to {}", kMostThreads),
                           {}});
  }
  return static_cast<std::size_t>(threads);
}

}  // namespace plunge
