// What suggest says: a suggestion in workshop words, and as JSON.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "sim/search/suggestion.hpp"

namespace plunge {

// "2 spacers, 79 psi, compression 8, rebound 11".
std::string settings_words(const Brief& brief, const ForkSettings& settings, bool bar);

// "let 6 psi out, to 79 psi; open rebound 2 clicks, to 11": what to do to get from one to another.
std::string actions_words(const ForkSettings& from, const ForkSettings& to, bool bar);

// What there is to say of the fork's own numbers.
struct ForkKnown {
  bool exact = false;           // they were taken as they stand, although some are not known
  std::string reading;          // that would help most; empty: none would
  std::string about;            // what it would tell of
  double spread = kUnset;       // of that, as it is [1]
  double spread_with = kUnset;  // and with the reading
};

// So much of the chance lost to what is not known of the fork is told before anything else: chosen.
inline constexpr double kReadFirst = 0.15;

std::string suggestion_text(const Brief& brief, const Suggestion& found, const ForkKnown& known,
                            bool bar);
// What --keep put into the log.
struct KeptStep {
  std::int64_t setting = 0;  // numbers of entries
  std::int64_t prediction = 0;
  Look look;  // that was foretold
};
std::string kept_text(const Brief& brief, const KeptStep& kept, const std::string& log);

std::string suggestion_json(const Brief& brief, const Suggestion& found, const ForkKnown& known,
                            const std::optional<KeptStep>& kept);

}  // namespace plunge
