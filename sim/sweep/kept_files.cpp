#include "sim/sweep/kept_files.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <sstream>
#include <string_view>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/disk/folder.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/sweep/sweep_paths.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kFirstLine = "plunge kept files 1";
constexpr std::string_view kHex = "0123456789ABCDEF";
constexpr std::size_t kLongestName = 100;

bool is_plain(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
         c == '_' || c == '.';
}

bool is_plain_name(const std::string& name) {
  return !name.empty() && name.front() != '.' && std::ranges::all_of(name, is_plain);
}

std::string escaped(const std::string& path) {
  std::string text;
  for (const char c : path) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte > 0x20 && byte < 0x7f && c != '%') {
      text += c;
    } else {
      text += {'%', kHex[byte >> 4], kHex[byte & 15]};
    }
  }
  return text;
}

std::string unescaped(const std::string& text) {
  std::string path;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '%' || i + 2 >= text.size()) {
      path += text[i];
      continue;
    }
    const std::size_t high = kHex.find(text[i + 1]);
    const std::size_t low = kHex.find(text[i + 2]);
    if (high == std::string_view::npos || low == std::string_view::npos) return {};
    path += static_cast<char>(16 * high + low);
    i += 2;
  }
  return path;
}

// A name for a file of such a path that none of the others has.
std::string name_for(const std::string& path, std::map<std::string, int>& taken) {
  const fs::path given(path);
  const auto plain = [](std::string part) {
    std::ranges::replace_if(
        part, [](char c) { return !is_plain(c); }, '_');
    return part.substr(0, kLongestName);
  };
  std::string stem = plain(given.stem().string());
  if (stem.empty() || stem.front() == '.') stem.insert(0, "file");
  const std::string ending = plain(given.extension().string());
  std::string name = stem + ending;
  while (++taken[name] > 1) name = fmt::format("{}-{}{}", stem, taken[name], ending);
  return name;
}

}  // namespace

std::string NotedFiles::read(const std::string& path) const {
  std::string text = files_.read(path);
  if (std::ranges::find(texts_, path, &ReadTexts::value_type::first) == texts_.end()) {
    texts_.emplace_back(path, text);
  }
  return text;
}

KeptFiles::KeptFiles(const std::string& folder) {
  const std::string index = path_in_files(folder, kKeptIndexName);
  const auto read_kept = [&](const std::string& path) {
    std::error_code error;
    for (const std::string& each : {path_in(folder, kKeptName), path}) {
      if (fs::is_symlink(fs::symlink_status(each, error))) {
        throw InputError(Fault{"", "", "is a link: a sweep keeps its own files", {each, 0, 0}});
      }
    }
    return read_text_file(path);
  };
  std::istringstream lines(read_kept(index));
  std::string line;
  std::getline(lines, line);
  int number = 1;
  const auto refuse = [&](const std::string& rule) {
    throw InputError(Fault{"", line, rule, {index, number, 1}});
  };
  if (line != kFirstLine) refuse(fmt::format("must be \"{}\"", kFirstLine));
  while (std::getline(lines, line)) {
    ++number;
    const std::size_t tab = line.find('\t');
    const std::string name = line.substr(0, tab);
    if (!is_plain_name(name)) refuse("must begin with the plain name of a file in this folder");
    const std::string path = tab == std::string::npos ? "" : unescaped(line.substr(tab + 1));
    if (path.empty()) refuse("must have a tab and a path after the name");
    texts_.emplace_back(path, read_kept(path_in_files(folder, name)));
  }
  if (texts_.empty()) refuse("must be followed by the name of the plan: the file is damaged");
}

const std::string* KeptFiles::find(const std::string& path) const {
  const auto found = std::ranges::find(texts_, path, &ReadTexts::value_type::first);
  return found == texts_.end() ? nullptr : &found->second;
}

std::string KeptFiles::read(const std::string& path) const {
  if (const std::string* text = find(path)) return *text;
  throw InputError(Fault{"", "", "is not among the files that the sweep keeps", {path, 0, 0}});
}

bool KeptFiles::has(const std::string& path) const { return find(path) != nullptr; }

// Paths are those of the disk that the plan was read from.
std::string KeptFiles::folder_of(const std::string& path) const {
  return disk_files().folder_of(path);
}
std::string KeptFiles::beside(const std::string& folder, const std::string& path) const {
  return disk_files().beside(folder, path);
}

ReadTexts kept_files_for(const ReadTexts& texts) {
  std::map<std::string, int> taken{{kKeptIndexName, 1}};
  std::string index = std::string(kFirstLine) + "\n";
  ReadTexts files;
  for (const auto& [path, text] : texts) {
    files.emplace_back(name_for(path, taken), text);
    index += fmt::format("{}\t{}\n", files.back().first, escaped(path));
  }
  files.emplace_back(kKeptIndexName, index);
  return files;
}

void write_kept_files(const std::string& folder, const ReadTexts& texts) {
  make_folders(path_in(folder, kKeptName));
  for (const auto& [name, bytes] : kept_files_for(texts)) {
    write_file_atomically(path_in_files(folder, name), bytes, Links::refused);
  }
}

}  // namespace plunge
