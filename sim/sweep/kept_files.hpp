// The files of a plan as the folder of its sweep keeps them, so that it needs no others.
//
//   files/index.txt   "plunge kept files 1", then a line for each file: its name in files/, a tab,
//                     the path by which the plan's reader asks for it; the plan is the first
// In a path "%", control characters and what is no ASCII are written as "%" and two hexadecimal
// digits. A name has letters, digits, "-", "_" and "." alone and does not begin with ".", so that
// none leads out of the folder; links are not followed. Throws InputError for what is not so,
// RunError where the folder can't be written.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "sim/text/text_files.hpp"

namespace plunge {

// Texts with the paths by which they were read.
using ReadTexts = std::vector<std::pair<std::string, std::string>>;

// Other files, with note of what is read of them.
class NotedFiles : public TextFiles {
 public:
  explicit NotedFiles(const TextFiles& files) : files_(files) {}
  std::string read(const std::string& path) const override;
  bool has(const std::string& path) const override { return files_.has(path); }
  std::string folder_of(const std::string& path) const override { return files_.folder_of(path); }
  std::string beside(const std::string& folder, const std::string& path) const override {
    return files_.beside(folder, path);
  }

  // In the order in which each was first read.
  const ReadTexts& texts() const { return texts_; }

 private:
  const TextFiles& files_;
  mutable ReadTexts texts_;
};

// What a folder keeps, in memory.
class KeptFiles : public TextFiles {
 public:
  explicit KeptFiles(const std::string& folder);

  // By which the plan itself is read.
  const std::string& plan() const { return texts_.front().first; }

  const ReadTexts& texts() const { return texts_; }

  std::string read(const std::string& path) const override;
  bool has(const std::string& path) const override;
  std::string folder_of(const std::string& path) const override;
  std::string beside(const std::string& folder, const std::string& path) const override;

 private:
  const std::string* find(const std::string& path) const;

  ReadTexts texts_;
};

// What write_kept_files() writes, as names in files/ with their bytes; the index is the last.
ReadTexts kept_files_for(const ReadTexts& texts);

// The plan is the first of the texts.
void write_kept_files(const std::string& folder, const ReadTexts& texts);

}  // namespace plunge
