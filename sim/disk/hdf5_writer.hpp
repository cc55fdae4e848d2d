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
#include <map>
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

  // A dimension with its coordinate, the variable of the same name. may_shrink: shorten() may be
  // called of it while all that stands on it are pieces().
  void dimension(const std::string& path, std::span<const double> values, const Hdf5Attributes&,
                 bool may_shrink = false);
  void dimension(const std::string& path, std::span<const int> values, const Hdf5Attributes&,
                 bool may_shrink = false);
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

  // A variable of doubles in pieces of a fixed size, each packed (sim/disk/packed.hpp) and written
  // by itself, whole also at the far ends of the axes. Those that are never written are NaN.
  void pieces(const std::string& path, const std::vector<std::string>& dimensions,
              const std::vector<std::size_t>& piece, const Hdf5Attributes&);
  // first: place of the piece's first value on each axis.
  void write_piece(const std::string& path, const std::vector<std::size_t>& first,
                   const std::string& packed);

  // Variables of doubles or texts that are written a row at a time: all that has one place on the
  // first axis.
  void rows(const std::string& path, const std::vector<std::string>& dimensions,
            const Hdf5Attributes&);
  void text_rows(const std::string& path, const std::vector<std::string>& dimensions,
                 const Hdf5Attributes&);
  void write_row(const std::string& path, std::size_t row, std::span<const double> values);
  void write_row(const std::string& path, std::size_t row, std::span<const std::string> values);

  // Cuts a dimension, and what stands on it, down to its first places: at least one.
  void shorten(const std::string& dimension, std::size_t size);

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
  // How a variable is stored where it is not as its type and size ask for.
  struct Storage {
    bool reserved = false;
    std::vector<std::size_t> piece;
  };
  void link_dimensions();
  Dimension& known_dimension(const std::string& path);
  std::vector<std::size_t> shape_of(const std::vector<std::string>& dimensions);
  Hdf5Handle make(const std::string& path, const std::vector<std::string>& dimensions,
                  std::int64_t type, const Storage& storage, const Hdf5Attributes& attributes);
  void attach(std::int64_t variable, const std::string& path,
              const std::vector<std::string>& dimensions);
  void add(const std::string& path, const std::vector<std::string>& dimensions, std::int64_t type,
           const void* values, std::size_t count, const Hdf5Attributes& attributes,
           const Storage& storage);
  void add_dimension(const std::string& path, std::int64_t type, const void* values,
                     std::size_t count, const Hdf5Attributes& attributes, bool may_shrink);
  std::int64_t open_variable(const std::string& path) const;
  void write_row(const std::string& path, std::size_t row, std::int64_t type, const void* values,
                 std::size_t count);

  Hdf5Handle file_;
  std::vector<Dimension> dimensions_;
  std::vector<Hdf5Room> rooms_;
  std::map<std::string, Hdf5Handle> open_;  // variables that are written piece by piece
};

// Sets the library up, which it otherwise does at its first use and where memory is short dies of.
// To be called before threads that write begin. Throws std::bad_alloc or RunError.
void set_up_hdf5();

// Name of the variable for something with a dotted name: every character that is no letter or digit
// becomes an underscore, "fork.spacers" is fork_spacers. The attribute `parameter` keeps the other.
std::string hdf5_name(std::string name);

// Doubles of at least this size are compressed [byte].
inline constexpr std::size_t kCompressFrom = 1u << 20;

}  // namespace plunge
