// A file on disk that is either whole or not there.
//
// The bytes go to a new file in the same directory, are forced to the disk, and take the name in
// one rename. Whoever reads the name sees the old file or the new one, also after a power cut or
// on a full disk. A symbolic link is followed, so that the file it names is replaced.
// The new file is locked (flock) while it is written: what a killed process leaves behind is a file
// that nobody holds.
#pragma once

#include <string>
#include <string_view>

namespace plunge {

// Throws RunError with the path and the system's reason ("No space left on device"); the old file
// is then untouched and nothing new is left behind. Refuses a path that is no regular file.
void write_file_atomically(const std::string& path, std::string_view bytes);

// Throws what write_file_atomically() would throw before its first byte; leaves nothing behind.
void demand_writable(const std::string& path);

// Removes from a folder the new files that no process writes any more. Where the file system knows
// no locks, and on any other trouble, they are left.
void remove_left_parts(const std::string& folder);

}  // namespace plunge
