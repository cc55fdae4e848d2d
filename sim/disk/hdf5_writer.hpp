// Labelled HDF5: dimensions, variables on them, and text that says what each of them is.
//
// The layout is the part of netCDF-4 that CF readers rely on: a dimension is an HDF5 dimension
// scale, a variable is a data set with a scale attached to each of its axes, names come in the
// order of their creation. Attributes are text of fixed length (ASCII, or UTF-8 where need be),
// because Octave and NCO stop at others; variables of text are variable-length UTF-8, because
// netCDF reads no others.
//
// Paths are absolute, "/energy/damper". A group exists before what is in it, a dimension before
// the variables on it. Numbers are IEEE doubles and 32-bit integers, little-endian.
// After the HDF5 part a line of text holds a check sum of it; other readers do not see it.
// Not here: what a ride's file holds (sim/report/result_file.hpp); unlimited dimensions; several
// threads inside the library at once (Debian's build does not lock itself). Sources: HDF5 dimension
// scale specification 2005; netCDF-4 file format, Unidata, appendix C.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "sim/disk/hdf5_handle.hpp"

namespace plunge {

using Hdf5Value = std::variant<std::string, double, std::vector<int>>;

struct Hdf5Attribute {
  std::string name;
  Hdf5Value value;
};

using Hdf5Attributes = std::vector<Hdf5Attribute>;

// How numbers are stored: doubles, floats, 32-bit integers.
enum class Hdf5Number { real, single, whole };

// Where the values of a variable stand in its file, one after the other, the last axis fastest.
struct Hdf5Room {
  std::string path;
  std::uint64_t offset = 0;  // [byte]
  std::uint64_t bytes = 0;
};

// Builds a file in memory and writes it at the end, so that a full disk meets one plain write and
// never the library. Throws std::invalid_argument where a name is taken or unknown or a size does
// not fit the dimensions, RunError where the library fails.
class Hdf5Writer {
 public:
  // expected_bytes: a guess of the file's size, to save copying while it grows.
  explicit Hdf5Writer(std::size_t expected_bytes = 0);
  // Over the file at `path`, which is emptied: for files larger than memory
  // (sim/disk/hdf5_stream.hpp).
  static Hdf5Writer over(const std::string& path);

  void attributes(const std::string& path, const Hdf5Attributes& attributes);
  void group(const std::string& path);

  // A dimension with its coordinate, the variable of the same name.
  void dimension(const std::string& path, std::span<const double> values, const Hdf5Attributes&);
  void dimension(const std::string& path, std::span<const int> values, const Hdf5Attributes&);
  void dimension(const std::string& path, std::span<const std::string> values,
                 const Hdf5Attributes&);

  // A variable on dimensions named by path; the last one varies fastest. Doubles get NaN as
  // _FillValue. From kCompressFrom bytes on they are shuffled and deflated, floats always.
  void variable(const std::string& path, const std::vector<std::string>& dimensions,
                std::span<const double> values, const Hdf5Attributes&);
  void variable(const std::string& path, const std::vector<std::string>& dimensions,
                std::span<const float> values, const Hdf5Attributes&);
  void variable(const std::string& path, const std::vector<std::string>& dimensions,
                std::span<const int> values, const Hdf5Attributes&);
  void variable(const std::string& path, const std::vector<std::string>& dimensions,
                std::span<const std::string> values, const Hdf5Attributes&);

  // Room for the values of a dimension or a variable that others write, in a file on disk.
  void reserve_dimension(const std::string& path, std::size_t size, Hdf5Number,
                         const Hdf5Attributes&);
  void reserve(const std::string& path, const std::vector<std::string>& dimensions, Hdf5Number,
               const Hdf5Attributes&);

  // Closes a file on disk, without a seal. Nothing can be added afterwards.
  std::vector<Hdf5Room> close();

  // Closes the file: its bytes with the seal. Nothing can be added afterwards.
  std::string bytes();
  // The same, written (sim/disk/atomic_file.hpp).
  void save(const std::string& path);

 private:
  struct Dimension {
    std::string path;
    std::size_t size;
    Hdf5Handle scale;
    std::vector<std::pair<std::string, int>> users;  // variable and its axis
  };
  struct OnDisk {};
  explicit Hdf5Writer(OnDisk) {}
  void link_dimensions();
  Dimension& known_dimension(const std::string& path);
  void add(const std::string& path, const std::vector<std::string>& dimensions, std::int64_t type,
           const void* values, std::size_t count, const Hdf5Attributes& attributes);
  void add_dimension(const std::string& path, std::int64_t type, const void* values,
                     std::size_t count, const Hdf5Attributes& attributes);

  Hdf5Handle file_;
  std::vector<Dimension> dimensions_;
  std::vector<Hdf5Room> rooms_;
};

// Name of the variable for something with a dotted name: every character that is no letter or digit
// becomes an underscore, "fork.spacers" is fork_spacers. The attribute `parameter` keeps the other.
std::string hdf5_name(std::string name);

// Doubles of at least this size are compressed [byte].
inline constexpr std::size_t kCompressFrom = 1u << 20;

}  // namespace plunge
