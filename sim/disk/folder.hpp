// Folders whose entries are on the disk: made, held open, forced there.
//
// A file that was synced can still be lost in a power cut as long as the folder that names it was
// not. Not here: the files (atomic_file.hpp).
#pragma once

#include <string>

namespace plunge {

// A descriptor that is closed when the object goes, and none of 0, 1 and 2: where one of those was
// closed when the program began, what is printed would go into the file.
class Descriptor {
 public:
  Descriptor() = default;
  // Takes what open(2) and its like return; errno is kept.
  explicit Descriptor(int descriptor);
  ~Descriptor() { close(); }
  Descriptor(Descriptor&& other) noexcept : value_(other.value_) { other.value_ = -1; }
  Descriptor& operator=(Descriptor&& other) noexcept;

  int get() const { return value_; }
  bool is_open() const { return value_ >= 0; }
  void close();

 private:
  int value_ = -1;
};

// Opens a folder for the *at() calls; not open, with errno, where that fails.
Descriptor open_folder(const std::string& path);

// Forces the names in a folder to the disk. `path` is for the message of the RunError.
void sync_folder(const Descriptor& folder, const std::string& path);

// Makes a folder with all above it that are missing; each is on the disk when it returns. Throws
// RunError.
void make_folders(const std::string& path);

// Opens a regular file that is no symbolic link, as open(2) does, made with mode 0666 where flags
// ask for that. Not open, with errno, for everything else; never waits for a pipe.
Descriptor open_plain(const std::string& path, int flags);

}  // namespace plunge
