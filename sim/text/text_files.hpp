// Texts by their paths: the seam through which readers reach the files that others name.
//
// On a machine with a disk they are files (sim/disk/disk_files.hpp); where there is none, as in a
// browser, whoever calls hands them over (MemoryFiles). Paths are relative to where the reader
// starts or absolute, with "/" between their parts.
#pragma once

#include <map>
#include <string>
#include <utility>

#include "models/setup/fault.hpp"

namespace plunge {

class TextFiles {
 public:
  virtual ~TextFiles() = default;
  // The whole text, in UTF-8. Throws InputError that names the path and says why there is none.
  virtual std::string read(const std::string& path) const = 0;
  // Whether there is something to read; it may still be refused.
  virtual bool has(const std::string& path) const = 0;
  // The folder that a path is in; empty: the one that the reader starts in.
  virtual std::string folder_of(const std::string& path) const = 0;
  // The path that a file in `folder` means by `path`.
  virtual std::string beside(const std::string& folder, const std::string& path) const = 0;
};

// Texts in memory.
class MemoryFiles : public TextFiles {
 public:
  void put(const std::string& path, std::string text) { texts_[path] = std::move(text); }
  std::string read(const std::string& path) const override;
  bool has(const std::string& path) const override { return texts_.contains(path); }
  std::string folder_of(const std::string& path) const override;
  std::string beside(const std::string& folder, const std::string& path) const override;

 private:
  std::map<std::string, std::string> texts_;  // by path
};

// Texts in memory laid over other files: a path that has one here is not sought there.
class LaidFiles : public TextFiles {
 public:
  // `below` must outlive it.
  explicit LaidFiles(const TextFiles& below) : below_(below) {}

  void put(const std::string& path, std::string text) { own_.put(path, std::move(text)); }
  std::string read(const std::string& path) const override {
    return own_.has(path) ? own_.read(path) : below_.read(path);
  }
  bool has(const std::string& path) const override { return own_.has(path) || below_.has(path); }
  std::string folder_of(const std::string& path) const override { return below_.folder_of(path); }
  std::string beside(const std::string& folder, const std::string& path) const override {
    return own_.has(path) ? path : below_.beside(folder, path);
  }

 private:
  const TextFiles& below_;
  MemoryFiles own_;
};

}  // namespace plunge
