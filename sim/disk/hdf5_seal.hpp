// The seal of an HDF5 file: a line of text behind the HDF5 part that holds a check sum of it.
//
// The library would rather crash than notice some kinds of damage; the sum notices a changed byte.
// Whatever else changes the file cuts the seal off. Readers of HDF5 do not look behind its end.
// Nothing here calls the HDF5 library, so threads may call it at once.
#pragma once

#include <cstdint>
#include <string>

#include "sim/disk/atomic_file.hpp"

namespace plunge {

// The line of text behind the HDF5 part, from the check sum of the latter (sim/disk/check_sum.hpp).
std::string hdf5_seal(std::uint64_t check_sum);

// Sets the seal behind a new file, which is read for it.
void seal_file(NewFile& file);

// Refuses a file that cannot be read, has no seal, or whose seal does not fit: InputError.
void demand_seal(const std::string& path);

// Whether the file has a seal; refuses the file where the seal does not fit, and what is there and
// no regular file.
bool check_seal(const std::string& path);

}  // namespace plunge
