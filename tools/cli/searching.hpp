// A brief that is answered on a terminal: with progress, stopped by an interrupt.
#pragma once

#include "sim/search/suggestion.hpp"

namespace plunge {

// Throws what suggest() throws.
Suggestion suggested(const Brief& brief, SearchWatch watch = {});

}  // namespace plunge
