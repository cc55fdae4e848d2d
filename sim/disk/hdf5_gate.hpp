// Looks an open HDF5 file through before anything of it is read.
//
// Let in is what plunge writes: hard links, each object linked once, no storage outside the file,
// plain or chunked variables with no filter but shuffle and deflate, little-endian numbers of the
// usual kinds and texts, sizes in proportion to the file. So nothing outside the file is touched,
// and a small file asks for no large memory.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

#include "sim/disk/hdf5_catalogue.hpp"
#include "sim/disk/hdf5_handle.hpp"

namespace plunge {

// What is wrong, as in a Fault; the file is known to who asked.
struct Hdf5Refusal {
  std::string object;
  std::string value;
  std::string rule;
  bool trouble = false;  // perhaps of the machine: a failed disk, too little memory
};

// Throws Hdf5Refusal with the library's reason for what it would not do with an object.
[[noreturn]] void library_refuses(const std::string& object);

// A new identifier of the library; throws as library_refuses() does where there is none.
Hdf5Handle opened(std::int64_t id, Hdf5Handle::Close close, const std::string& object);

// Limits of the gate, chosen far above what plunge writes.
inline constexpr std::size_t kMostObjects = 10'000;
inline constexpr std::size_t kMostAttributes = 1'000;    // of one object
inline constexpr std::size_t kMostDepth = 8;             // groups in groups
inline constexpr std::size_t kMostRank = 32;             // dimensions of a variable
inline constexpr std::uint64_t kMostChunk = 64u << 20;   // one piece of a variable [byte]
inline constexpr std::uint64_t kMostDeflation = 1'100;   // deflate reaches 1032
inline constexpr std::size_t kMostNameLength = 255;      // [byte]
inline constexpr std::size_t kMostFixedText = 1u << 20;  // one text of fixed length [byte]

// What the file holds; throws Hdf5Refusal where it holds what plunge does not write.
// file: its identifier. part: size of its HDF5 part [byte].
Hdf5Catalogue admitted(std::int64_t file, std::uint64_t part);

}  // namespace plunge
