// What a command may write, settled before it does any work.
//
// The command says which files it reads and which it will write. Refused is an output that
//   is one of the inputs: the same file, by whatever name, link or spelling
//   is another output
//   holds what plunge did not write (own_files.hpp), unless that was asked to be replaced
//   is the standard output where that is a terminal
//   is the file that words go to, if they do (speaks())
//   cannot be written (atomic_file.hpp)
// Only when nothing is refused are missing folders made, and what killed processes left in those
// that are there is removed.
#pragma once

#include <sys/types.h>

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace plunge {

// A file itself, whatever it is called: its device and its number there.
using FileIdentity = std::pair<dev_t, ino_t>;

class OutputGate {
 public:
  void reads(const std::string& path) { inputs_.push_back(path); }
  void reads(const std::vector<std::string>& paths);
  // Every file in a folder and in those below it. Words may go into those that `is_own` does not
  // name, where there is one. Looked through only where something that is written to is there.
  using IsOwn = std::function<bool(const std::string& path)>;
  void reads_folder(const std::string& path, IsOwn is_own = {}) {
    folders_.push_back({path, std::move(is_own)});
  }

  // option: as faults name it. An empty path is an output that nobody wants.
  void writes(const std::string& option, const std::string& path);

  // Words go to the standard output. Where that is a file it must be no input, which they would be
  // written into.
  void speaks() { speaks_ = true; }

  // replace: also what plunge did not write. Throws InputError for what is refused, RunError where
  // the disk refuses.
  void open(bool replace) const;

 private:
  struct Output {
    std::string option;
    std::string path;
  };
  struct Folder {
    std::string path;
    IsOwn is_own;
  };
  std::optional<std::string> input_at(const FileIdentity& place, bool own_alone) const;
  void refuse_inputs(const Output& output) const;
  void refuse_words() const;
  void refuse_twins() const;

  std::vector<std::string> inputs_;
  std::vector<Folder> folders_;
  std::vector<Output> outputs_;
  bool speaks_ = false;
};

}  // namespace plunge
