// A file on disk that is either whole or not there.
//
// The bytes go to a new file in the same directory, are forced to the disk, and take the name in
// one rename. Whoever reads the name sees the old file or the new one, also after a power cut or
// on a full disk. A symbolic link is followed, so that the file it names is replaced.
// The new file is locked (flock) while it is written: what a killed process leaves behind is a file
// that nobody holds.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

namespace plunge {

// A new file beside its target, for what is too large to be held in memory. It is removed again
// unless it takes the target's name. Everything throws RunError as write_file_atomically() does.
class NewFile {
 public:
  explicit NewFile(const std::string& target);
  ~NewFile();
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  // Where it is until it takes its name; it stays the same file whatever is written there.
  std::string path() const { return name_.string(); }

  // Takes room on the disk, so that a full one is met here, where the file system can.
  void reserve(std::uint64_t bytes);
  std::uint64_t size() const;

  void append(std::string_view bytes);
  void write_at(std::uint64_t offset, std::string_view bytes);
  std::string read_at(std::uint64_t offset, std::size_t bytes) const;

  // Forces it to the disk and renames it.
  void take_name();

 private:
  std::string path_;  // the target as the caller knows it
  std::filesystem::path target_;
  std::filesystem::path name_;
  int descriptor_ = -1;
  bool named_ = false;
};

// Throws RunError with the path and the system's reason ("No space left on device"); the old file
// is then untouched and nothing new is left behind. Refuses a path that is no regular file.
void write_file_atomically(const std::string& path, std::string_view bytes);

// Throws what write_file_atomically() would throw before its first byte; leaves nothing behind.
void demand_writable(const std::string& path);

// Removes from a folder the new files that no process writes any more. Where the file system knows
// no locks, and on any other trouble, they are left.
void remove_left_parts(const std::string& folder);

}  // namespace plunge
