// The seal of an HDF5 file: a line of text behind the HDF5 part that holds a check sum of it.
//
// The library would rather crash than notice some kinds of damage; the sum notices a changed byte.
// Whatever else changes the file cuts the seal off. Readers of HDF5 do not look behind its end.
// The sum is that of placed_sum.hpp, with the number of bytes before it. Files of before have the
// 64-bit FNV-1a (check_sum.hpp), which is checked as well.
// Nothing here calls the HDF5 library, so threads may call it at once.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "sim/disk/placed_sum.hpp"

namespace plunge {

// The line of text behind the HDF5 part, of so many bytes that have this sum.
std::string hdf5_seal(std::uint64_t bytes, const PlacedSum& sum);
// The same of a part that is in memory.
std::string hdf5_seal(std::string_view part);

// True where the file ends in what is a seal by its form; whether it fits is not looked at.
bool has_seal(const std::string& path);

// Refuses a file that cannot be read, has no seal, or whose seal does not fit: InputError.
void demand_seal(const std::string& path);

// Whether the file has a seal; refuses the file where the seal does not fit, and what is there and
// no regular file.
bool check_seal(const std::string& path);

}  // namespace plunge
