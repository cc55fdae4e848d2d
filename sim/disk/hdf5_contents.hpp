// An HDF5 file as the library sees it, behind a gate: what is read in a process of its own.
//
// Nothing of it is handed on before the gate has looked it through (sim/disk/hdf5_gate.hpp);
// against a library that crashes on what it should refuse stands the process
// (sim/disk/reading_process.hpp). Throws Hdf5Refusal.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/disk/hdf5_catalogue.hpp"
#include "sim/disk/hdf5_gate.hpp"
#include "sim/disk/hdf5_handle.hpp"

namespace plunge {

inline constexpr std::size_t kPieceValues = std::size_t{1} << 17;  // values handed on at once

class Hdf5Contents {
 public:
  using Take = std::function<void(std::string_view bytes)>;

  // path: of the file, or of a descriptor of it. part: size of its HDF5 part [byte].
  Hdf5Contents(const std::string& path, std::uint64_t part);

  const Hdf5Catalogue& catalogue() const { return catalogue_; }

  // Consecutive values of a variable, the last axis fastest, handed on in pieces: doubles, 32-bit
  // integers, texts packed (Packing).
  void reals(const std::string& variable, std::uint64_t first, std::uint64_t count,
             const Take& take) const;
  void wholes(const std::string& variable, std::uint64_t first, std::uint64_t count,
              const Take& take) const;
  void texts(const std::string& variable, std::uint64_t first, std::uint64_t count,
             const Take& take) const;

 private:
  Hdf5Handle file_;
  std::uint64_t part_ = 0;
  Hdf5Catalogue catalogue_;
};

// Boxes of an array of that shape, the last axis fastest, that together are the values `first` to
// `first + count`, in order.
struct Hdf5Box {
  std::vector<std::uint64_t> start;
  std::vector<std::uint64_t> size;
};
std::vector<Hdf5Box> boxes_of_run(const std::vector<std::uint64_t>& shape, std::uint64_t first,
                                  std::uint64_t count);

}  // namespace plunge
