// What an HDF5 file holds, but for the numbers and texts of its variables; and how that and other
// answers cross from one process to another.
//
// packed() and unpacked_catalogue() are each other's inverse, within one machine. Who unpacks
// trusts nothing: a message that is too short, too long or out of range is std::length_error.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace plunge {

// What a variable or an attribute holds. `other`: what plunge writes for other readers alone.
enum class Hdf5Kind : std::uint8_t { group, real, whole, text, other };

struct Hdf5AttributeFound {
  std::string name;
  Hdf5Kind kind = Hdf5Kind::other;
  std::string text;                  // of one text
  std::vector<std::int64_t> wholes;  // of whole numbers
};

struct Hdf5Object {
  std::string path;  // "/energy/damper"; the root is "/"
  Hdf5Kind kind = Hdf5Kind::group;
  std::vector<std::uint64_t> shape;
  std::vector<Hdf5AttributeFound> attributes;
};

// Every object once, a group before what is in it, in the order in which they were written.
using Hdf5Catalogue = std::vector<Hdf5Object>;

// Number of values of that shape.
std::uint64_t count_of(const std::vector<std::uint64_t>& shape);

// Bytes put one after the other.
class Packing {
 public:
  void number(std::uint64_t number);
  void text(std::string_view text);  // with its length
  void raw(std::string_view bytes) { bytes_ += bytes; }
  const std::string& bytes() const { return bytes_; }

 private:
  std::string bytes_;
};

class Unpacking {
 public:
  explicit Unpacking(std::string_view bytes) : rest_(bytes) {}
  std::uint64_t number();
  std::string text();
  // A number of things to come, each of which takes at least `least` bytes.
  std::size_t count(std::size_t least);
  std::string_view rest() const { return rest_; }
  void demand_end() const;

 private:
  std::string_view take(std::uint64_t bytes);
  std::string_view rest_;
};

std::string packed(const Hdf5Catalogue& catalogue);
Hdf5Catalogue unpacked_catalogue(std::string_view bytes);

}  // namespace plunge
