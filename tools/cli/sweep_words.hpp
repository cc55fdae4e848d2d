// Words that the verbs of a sweep share.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/sweep/reasons.hpp"

namespace plunge {

// Why rides failed, a line a reason, the most frequent first; the rest in one line.
std::string reasons_text(const std::vector<SweepReason>& reasons);

// A word as a shell takes it.
std::string shell_word(const std::string& word);

// What --threads asks for; throws InputError.
std::size_t threads_asked(int threads);

}  // namespace plunge
