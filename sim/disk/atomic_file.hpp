// A file on disk that is either whole or not there.
//
// The bytes go to a new file without a name in the same folder, are forced to the disk, and take
// the name in one step, which is forced to the disk as well. Whoever reads the name sees the old
// file or the new one, also after a power cut or on a full disk; once the call has returned, the
// new one. The mode of a file that is replaced is kept, and its owner where the system allows.
//
// A file without a name goes with its process, however that ends. Where there is an old file, the
// new one bears a hidden name between two system calls; where the file system knows no files
// without a name, all the while. It is locked (flock) then: what a killed process leaves is a file
// that nobody holds, and remove_left_parts() removes it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "sim/disk/folder.hpp"

namespace plunge {

// The target that stands for the standard output: the bytes go there when all of them are written.
inline constexpr char kStandardOutput[] = "-";

// What is done where the target is a symbolic link.
enum class Links {
  followed,  // the file that it names is replaced
  refused,
};

// A file without a name until it is whole, or one with a hidden name from the start.
enum class Part { unnamed, named };

// A new file beside its target, for what is too large to be held in memory. It is removed again
// unless it takes the target's name. Everything throws RunError as write_file_atomically() does.
class NewFile {
 public:
  explicit NewFile(const std::string& target, Links links = Links::followed,
                   Part part = Part::unnamed);
  ~NewFile();
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  // Where this process finds it until it takes its name; it stays the same file whatever is
  // written there.
  std::string path() const;

  // Takes room on the disk, so that a full one is met here, where the file system can.
  void reserve(std::uint64_t bytes);
  std::uint64_t size() const;

  void append(std::string_view bytes);
  void write_at(std::uint64_t offset, std::string_view bytes);
  std::string read_at(std::uint64_t offset, std::size_t bytes) const;

  // Forces it to the disk, gives it its name, and forces that to the disk.
  void take_name();

 private:
  void find_target(Links links);
  bool begin_unnamed();
  void begin_named();
  void lock() const;
  bool link_as(const std::string& name) const;
  void keep_mode() const;
  void pour() const;

  std::string path_;    // the target as the caller knows it
  std::string folder_;  // of the target; empty: none, it goes to the standard output
  std::string name_;    // of the target in its folder
  std::string part_;    // the hidden name in the folder; empty: it has none
  Descriptor held_;     // the folder
  Descriptor file_;
};

// Throws RunError with the path and the system's reason ("No space left on device"); the old file
// is then untouched and nothing new is left behind. Refuses a path that is no regular file, one
// that may not be written, and a link that leads nowhere.
void write_file_atomically(const std::string& path, std::string_view bytes,
                           Links links = Links::followed);

// Throws what write_file_atomically() would throw before its first byte; leaves nothing behind.
void demand_writable(const std::string& path);

// True for the name that a new file has where it must have one: ".plunge-", the number of its
// process, "-", a count, ".part".
bool is_left_part(std::string_view name);

// Removes from a folder the new files that no process writes any more. Where the file system knows
// no locks, and on any other trouble, they are left.
void remove_left_parts(const std::string& folder);

}  // namespace plunge
