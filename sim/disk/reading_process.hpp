// An HDF5 file that is read by the library in a process of its own.
//
// Whatever the library does with a file that was made to break it, this process goes on: a crash,
// an endless loop or a hunger for memory there is an InputError here that names the file. Of a file
// whose check sum fits it is a RunError, since its content is as it was written and the machine is
// to blame. Limits: see sim/disk/reading_child.hpp.
//
// A process serves one file at a time. Those that read a sealed file without complaint are kept for
// the next one; each thread that reads at the same time has one. All end with this process, however
// that ends, and none is left unwaited for.
// An object is used by one thread at a time.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_catalogue.hpp"
#include "sim/disk/regular_file.hpp"

namespace plunge {

// Has so many processes wait before that many threads read: one that is forked while other threads
// run may find locks of the C library or of a sanitizer held for ever. Throws RunError.
void begin_reading(std::size_t threads);

class ReadingProcess {
 public:
  // part: size of the HDF5 part of the file [byte]. trusted: it is sealed, so that the process may
  // read another one after it. Throws InputError where the file is not let in, RunError where no
  // process can be had or a trusted file can't be read.
  ReadingProcess(const RegularFile& file, std::uint64_t part, bool trusted);
  ~ReadingProcess();
  ReadingProcess(const ReadingProcess&) = delete;
  ReadingProcess& operator=(const ReadingProcess&) = delete;

  const Hdf5Catalogue& catalogue() const { return catalogue_; }

  // Consecutive values of a variable from its value number `first` on. Throw InputError.
  void reals(const std::string& variable, std::uint64_t first, std::span<double> values);
  void wholes(const std::string& variable, std::uint64_t first, std::span<int> values);
  std::vector<std::string> texts(const std::string& variable, std::uint64_t first,
                                 std::size_t count);

 private:
  void ask(const char* word, const std::string& variable, std::uint64_t first, std::uint64_t count);
  void fill(std::span<char> bytes);
  // The next piece of an answer, without its first letter.
  std::string_view piece();
  [[noreturn]] void lost(const std::string& how);
  [[noreturn]] void refuse(Fault fault, bool trouble) const;
  void end();

  std::string path_;
  std::uint64_t size_ = 0;
  bool trusted_ = false;
  int pid_ = -1;
  int socket_ = -1;
  std::string frame_;
  Hdf5Catalogue catalogue_;
};

}  // namespace plunge
