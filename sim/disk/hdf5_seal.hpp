// The seal of an HDF5 file: a line of text behind the HDF5 part that holds a check sum of it.
//
// It says that the file is as it was written, and no more: who makes a file can seal it as well.
// Whatever else changes the file cuts the seal off. Readers of HDF5 do not look behind its end.
// Nothing here calls the HDF5 library, so threads may call it at once.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

#include "sim/disk/regular_file.hpp"

namespace plunge {

// The line of text behind the HDF5 part, from the check sum of the latter (sim/disk/check_sum.hpp).
std::string hdf5_seal(std::uint64_t check_sum);

// Size of that line [byte].
inline constexpr std::size_t kSealSize = 34;

// Refuses a file that cannot be read, has no seal, or whose seal does not fit: InputError.
void demand_seal(const std::string& path);

// Whether the file has a seal; refuses the file where the seal does not fit.
bool check_seal(const RegularFile& file);

// Whether the file ends like one that has a seal, fitting or not.
bool looks_sealed(const RegularFile& file);

}  // namespace plunge
