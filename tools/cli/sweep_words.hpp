// Words that the verbs of a sweep share.
#pragma once

#include <cstddef>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "sim/sweep/reasons.hpp"

namespace plunge {

// Why rides failed, a line a reason, the most frequent first; the rest in one line.
std::string reasons_text(const std::vector<SweepReason>& reasons);
std::vector<std::string> reasons_lines(const std::vector<SweepReason>& reasons);

// The same for programs, all of them.
nlohmann::ordered_json reasons_json(const std::vector<SweepReason>& reasons);

// The command that merges a folder, into a file whose name nothing has yet, so that it is neither
// refused nor replaces anything.
std::string to_merge(const std::string& folder);

// What --threads asks for; throws InputError.
std::size_t threads_asked(int threads);

// A part of a whole, which is neither "0 %" where there is some nor "100 %" where it is less than
// all.
std::string share(std::size_t part, std::size_t whole);

// "35 ms", "1.5 s", "12 min".
std::string duration(double seconds);

// "140 GB": thousands of bytes.
std::string bytes_text(double bytes);

// The name of a file or folder as a shell takes it in a command, without control characters.
std::string shell_word(const std::string& word);

}  // namespace plunge
