// A whole text file in memory, refused where it is no text file.
//
// Refused with the file's name: absent, a directory or device, over kLargestText bytes, unreadable,
// not UTF-8, with NUL in it (with its line and column). A byte order mark is left out.
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "models/setup/fault.hpp"

namespace plunge {

inline constexpr std::size_t kLargestText = std::size_t{64} << 20;  // [bytes], chosen

// Throws InputError.
std::string read_text_file(const std::string& path);

// All bytes of a file, whatever they are; none where it can't be opened or read.
std::optional<std::string> bytes_in_file(const std::string& path);

}  // namespace plunge
