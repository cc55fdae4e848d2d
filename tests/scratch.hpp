// A directory for one test, and what tests do with the files in it.
#pragma once

#include <stdlib.h>
#include <sys/mount.h>

#include <cstddef>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace plunge {

// An empty directory that is removed with everything in it.
class ScratchDirectory {
 public:
  ScratchDirectory() {
    std::string name = (std::filesystem::temp_directory_path() / "plunge-test-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  ~ScratchDirectory() { std::filesystem::remove_all(path_); }
  std::string operator/(const std::string& name) const { return (path_ / name).string(); }
  std::size_t entries() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(path_),
                                                  std::filesystem::directory_iterator()));
  }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

// A file system of 64 KiB, or of another size, where the system lets us mount one.
class SmallDisk {
 public:
  explicit SmallDisk(const std::filesystem::path& where, const char* size = "size=64k")
      : where_(where) {
    mounted_ = ::mount("tmpfs", where_.c_str(), "tmpfs", 0, size) == 0;
  }
  ~SmallDisk() {
    if (mounted_) ::umount(where_.c_str());
  }
  bool mounted() const { return mounted_; }

 private:
  std::filesystem::path where_;
  bool mounted_ = false;
};

inline std::string bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// Everything that a shell command prints.
inline std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  char buffer[4096];
  while (std::size_t size = std::fread(buffer, 1, sizeof buffer, pipe)) text.append(buffer, size);
  ::pclose(pipe);
  return text;
}

// What the exception that a call throws says; empty where it throws none.
template <class Call>
std::string complaint(Call call) {
  try {
    call();
  } catch (const std::exception& error) {
    return error.what();
  }
  return "";
}

}  // namespace plunge
