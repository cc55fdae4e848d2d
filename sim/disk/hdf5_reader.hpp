// Reads labelled HDF5 (sim/disk/hdf5_writer.hpp).
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/disk/hdf5_handle.hpp"

namespace plunge {

// Reads such a file. Every complaint is an InputError that names the file, the object and the
// rule; the library prints nothing.
class Hdf5Reader {
 public:
  // Refuses what cannot be opened, is not HDF5, or is damaged or cut short.
  // sealed: demand_seal() has just been content with the file and need not be asked again.
  explicit Hdf5Reader(const std::string& path, bool sealed = false);

  bool has(const std::string& object) const;
  // Names in a group, in the order in which they were written; groups themselves left out.
  std::vector<std::string> variables(const std::string& group) const;
  std::vector<std::size_t> shape(const std::string& variable) const;

  std::vector<double> numbers(const std::string& variable) const;
  std::vector<int> integers(const std::string& variable) const;
  std::vector<std::string> texts(const std::string& variable) const;

  bool has_attribute(const std::string& object, const std::string& name) const;
  std::string text_attribute(const std::string& object, const std::string& name) const;
  std::vector<int> integer_attribute(const std::string& object, const std::string& name) const;

  const std::string& path() const { return path_; }
  [[noreturn]] void refuse(const std::string& object, const std::string& value,
                           const std::string& rule) const;

 private:
  std::string path_;
  Hdf5Handle file_;
};

}  // namespace plunge
