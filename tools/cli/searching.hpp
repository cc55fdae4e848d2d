// A brief that is answered on a terminal: with progress, stopped by an interrupt.
#pragma once

#include <span>
#include <vector>

#include "sim/search/suggestion.hpp"

namespace plunge {

// The forks that it may be, as far as its file says how well its numbers are known.
std::vector<KnobDraw> drawn_forks(const Brief& brief);

// Throws what suggest() throws.
Suggestion suggested(const Brief& brief, SearchWatch watch, std::span<const KnobDraw> forks);

}  // namespace plunge
