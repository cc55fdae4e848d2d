// What suggest says: a suggestion in workshop words, and as JSON.
#pragma once

#include <string>

#include "sim/search/suggestion.hpp"

namespace plunge {

// "2 spacers, 79 psi, compression 8, rebound 11".
std::string settings_words(const Brief& brief, const ForkSettings& settings, bool bar);

// "let 6 psi out, to 79 psi; open rebound 2 clicks, to 11": what to do to get from one to another.
std::string actions_words(const ForkSettings& from, const ForkSettings& to, bool bar);

std::string suggestion_text(const Brief& brief, const Suggestion& found, bool bar);
std::string suggestion_json(const Brief& brief, const Suggestion& found);

}  // namespace plunge
