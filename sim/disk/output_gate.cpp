#include "sim/disk/output_gate.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <optional>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/folder.hpp"
#include "sim/disk/own_files.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;

std::optional<FileIdentity> identity(const std::string& path) {
  struct stat status = {};
  if (::stat(path.c_str(), &status) != 0) return std::nullopt;
  return FileIdentity{status.st_dev, status.st_ino};
}

std::optional<FileIdentity> identity_of_output(const std::string& path) {
  if (path != kStandardOutput) return identity(path);
  struct stat status = {};
  if (::fstat(STDOUT_FILENO, &status) != 0) return std::nullopt;
  return FileIdentity{status.st_dev, status.st_ino};
}

// Where a file is, or would be, by a path without links.
fs::path real_path(const std::string& path) {
  std::error_code error;
  const fs::path real = fs::weakly_canonical(path, error);
  return error ? fs::path(path).lexically_normal() : real;
}

// Of an output; empty where it has none.
std::string folder_of(const std::string& path) {
  if (path == kStandardOutput || path.back() == '/') return "";
  return real_path(path).parent_path().string();
}

bool is_one_file(const std::string& a, const std::string& b) {
  const std::optional<FileIdentity> first = identity_of_output(a);
  const std::optional<FileIdentity> second = identity_of_output(b);
  return first || second ? first == second : real_path(a) == real_path(b);
}

}  // namespace

void OutputGate::reads(const std::vector<std::string>& paths) {
  inputs_.insert(inputs_.end(), paths.begin(), paths.end());
}

void OutputGate::writes(const std::string& option, const std::string& path) {
  if (!path.empty()) outputs_.push_back({option, path});
}

// The input that is that file; none: it is no input. own_alone: of folders those that is_own names.
std::optional<std::string> OutputGate::input_at(const FileIdentity& place, bool own_alone) const {
  for (const std::string& input : inputs_) {
    if (identity(input) == place) return input;
  }
  for (const Folder& folder : folders_) {
    std::error_code error;
    for (fs::recursive_directory_iterator entry(folder.path, error), end; !error && entry != end;
         entry.increment(error)) {
      const std::string path = entry->path().string();
      if (identity(path) != place) continue;
      if (!own_alone || !folder.is_own || folder.is_own(path)) return path;
    }
  }
  return std::nullopt;
}

void OutputGate::refuse_inputs(const Output& output) const {
  const std::optional<FileIdentity> own = identity_of_output(output.path);
  const std::optional<std::string> input = own ? input_at(*own, false) : std::nullopt;
  if (!input) return;
  const std::string which = *input == output.path ? "" : *input + ", ";
  throw InputError(Fault{
      output.option, output.path, "is " + which + "a file that is read here: name another", {}});
}

void OutputGate::refuse_words() const {
  struct stat status = {};
  if (!speaks_ || ::fstat(STDOUT_FILENO, &status) != 0 || !S_ISREG(status.st_mode)) return;
  const FileIdentity own{status.st_dev, status.st_ino};
  const auto refuse = [](const std::string& path, const std::string& what) {
    throw InputError(Fault{
        "", "", "the standard output goes to " + path + ", " + what + ": name another file", {}});
  };
  if (const std::optional<std::string> input = input_at(own, true)) {
    refuse(*input, "a file that is read here");
  }
  for (const Output& output : outputs_) {
    if (identity(output.path) == own) refuse(output.path, "the file of " + output.option);
  }
}

void OutputGate::refuse_twins() const {
  for (std::size_t i = 0; i < outputs_.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (!is_one_file(outputs_[i].path, outputs_[j].path)) continue;
      throw InputError(Fault{outputs_[i].option,
                             outputs_[i].path,
                             "must not be the file of " + outputs_[j].option,
                             {}});
    }
  }
}

void OutputGate::open(bool replace) const {
  for (const Output& output : outputs_) {
    if (output.path == kStandardOutput && ::isatty(STDOUT_FILENO) != 0) {
      throw InputError(Fault{output.option,
                             output.path,
                             "the standard output is a terminal: name a file, or pass it on",
                             {}});
    }
    refuse_inputs(output);
  }
  refuse_words();
  refuse_twins();
  for (const Output& output : outputs_) {
    std::error_code error;
    const bool foreign = fs::is_regular_file(output.path, error) && !is_own_file(output.path);
    if (output.path == kStandardOutput || replace || !foreign) continue;
    throw InputError(Fault{output.option,
                           output.path,
                           "is there, and plunge did not write it: name another file, or replace "
                           "it with --replace",
                           {}});
  }
  // Those that ask for no new folder first, so that none is made where another output is refused.
  for (const bool missing : {false, true}) {
    for (const Output& output : outputs_) {
      const std::string folder = folder_of(output.path);
      std::error_code error;
      if (missing == (folder.empty() || fs::exists(folder, error))) continue;
      if (!folder.empty()) {
        make_folders(folder);
        remove_left_parts(folder);
      }
      demand_writable(output.path);
    }
  }
}

}  // namespace plunge
