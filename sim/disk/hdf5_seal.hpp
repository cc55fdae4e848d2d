// The seal of an HDF5 file: a line of text behind the HDF5 part that holds a check sum of it.
//
// It says that the file is as it was written, and no more: who makes a file can seal it as well.
// Whatever else changes the file cuts the seal off. Readers of HDF5 do not look behind its end.
// The sum is that of placed_sum.hpp, with the number of bytes before it. Files of before have the
// 64-bit FNV-1a (check_sum.hpp), which is checked as well.
// Nothing here calls the HDF5 library, so threads may call it at once.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "sim/disk/atomic_file.hpp"
#include "sim/disk/placed_sum.hpp"
#include "sim/disk/regular_file.hpp"

namespace plunge {

// The line of text behind the HDF5 part, of so many bytes that have this sum.
std::string hdf5_seal(std::uint64_t bytes, const PlacedSum& sum);
// The same of a part that is in memory.
std::string hdf5_seal(std::string_view part);

// Sets the seal behind a new file, which is read for it.
void seal_file(NewFile& file);

// Refuses a file that cannot be read, has no seal, or whose seal does not fit: InputError.
void demand_seal(const std::string& path);

// Whether the file has a seal; refuses the file where the seal does not fit.
bool check_seal(const RegularFile& file);

// Whether the file ends like one that has a seal, fitting or not.
bool looks_sealed(const RegularFile& file);

// The seal of a file, without the end of its line; empty where it has none.
std::string seal_of(const RegularFile& file);

// Size of what is before the seal, all of it where there is none [byte].
std::uint64_t size_before_seal(const RegularFile& file);

}  // namespace plunge
