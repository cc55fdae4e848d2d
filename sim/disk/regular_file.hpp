// A regular file, opened for reading.
//
// Nothing else is opened: a pipe would wait for its writer, and a device might do anything.
// Throws InputError that names the path: "cannot be read: No such file or directory",
// "cannot be read: it is not a regular file". Throws RunError where the system does not give what
// is there: no permission, a disk that fails, too many open files.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

namespace plunge {

class RegularFile {
 public:
  explicit RegularFile(const std::string& path);
  ~RegularFile();
  RegularFile(const RegularFile&) = delete;
  RegularFile& operator=(const RegularFile&) = delete;

  const std::string& path() const { return path_; }
  int descriptor() const { return descriptor_; }
  std::uint64_t size() const { return size_; }  // when it was opened [byte]

  // `bytes` of it from `offset` on; refuses a file that has become shorter.
  std::string read_at(std::uint64_t offset, std::size_t bytes) const;

 private:
  std::string path_;
  int descriptor_ = -1;
  std::uint64_t size_ = 0;
};

}  // namespace plunge
