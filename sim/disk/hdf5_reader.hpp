// Reads labelled HDF5 (sim/disk/hdf5_writer.hpp): a file of this program, or one made to look so.
//
// The library reads it in a process of its own (sim/disk/reading_process.hpp), after the gate has
// looked the file through (sim/disk/hdf5_gate.hpp); what the file holds but for its values is known
// here from then on. Regular files only. Any number of threads may read, each with its own object.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "sim/disk/reading_process.hpp"

namespace plunge {

// What is asked of the seal (sim/disk/hdf5_seal.hpp): that it is there and fits; that it is there,
// since demand_seal() has just been content; or that it fits where there is one.
enum class Seal { demanded, looked_at, not_needed };

// Every complaint is an InputError that names the file, the object and the rule; the library prints
// nothing.
class Hdf5Reader {
 public:
  // Refuses what cannot be opened, is not HDF5, or is damaged or cut short.
  explicit Hdf5Reader(const std::string& path, Seal seal = Seal::demanded);

  bool has(const std::string& object) const;
  // Names in a group, in the order in which they were written; groups themselves left out.
  std::vector<std::string> variables(const std::string& group) const;
  std::vector<std::size_t> shape(const std::string& variable) const;

  std::vector<double> numbers(const std::string& variable) const;
  std::vector<int> integers(const std::string& variable) const;
  std::vector<std::string> texts(const std::string& variable) const;

  // Consecutive values from value number `first` on, the last axis fastest.
  std::vector<double> numbers(const std::string& variable, std::size_t first,
                              std::size_t count) const;
  std::vector<int> integers(const std::string& variable, std::size_t first,
                            std::size_t count) const;
  std::vector<std::string> texts(const std::string& variable, std::size_t first,
                                 std::size_t count) const;

  bool has_attribute(const std::string& object, const std::string& name) const;
  std::string text_attribute(const std::string& object, const std::string& name) const;
  std::vector<int> integer_attribute(const std::string& object, const std::string& name) const;

  const std::string& path() const { return path_; }
  [[noreturn]] void refuse(const std::string& object, const std::string& value,
                           const std::string& rule) const;

 private:
  const Hdf5Object* find(const std::string& object) const;
  const Hdf5Object& variable(const std::string& path, std::size_t first, std::size_t count) const;
  const Hdf5Object& variable(const std::string& path) const;
  const Hdf5AttributeFound& attribute(const std::string& object, const std::string& name) const;

  std::string path_;
  std::unique_ptr<ReadingProcess> process_;
  std::map<std::string, const Hdf5Object*, std::less<>> objects_;
};

}  // namespace plunge
