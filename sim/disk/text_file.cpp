#include "sim/disk/text_file.hpp"

#include <fmt/core.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <system_error>

#include "sim/text/utf8.hpp"

namespace plunge {

std::string read_text_file(const std::string& path) {
  const auto refuse = [&](const std::string& rule) {
    throw InputError(Fault{"", "", rule, {path, 0, 0}});
  };
  if (path.empty() || path.find('\0') != std::string::npos) refuse("is no name of a file");
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (status.type() == std::filesystem::file_type::not_found) refuse("does not exist");
  if (error) refuse("cannot be reached: " + error.message());
  if (std::filesystem::is_directory(status)) refuse("is a directory, not a file");
  if (!std::filesystem::is_regular_file(status)) refuse("is not a regular file");
  const auto size = std::filesystem::file_size(path, error);
  if (error) refuse("cannot be reached: " + error.message());
  if (size > kLargestText) {
    refuse(fmt::format("holds {} bytes; at most {} are read", size, kLargestText));
  }
  std::ifstream stream(path, std::ios::binary);
  if (!stream) refuse("cannot be opened for reading");
  std::string text(static_cast<std::size_t>(size), '\0');
  stream.read(text.data(), static_cast<std::streamsize>(size));
  if (stream.gcount() != static_cast<std::streamsize>(size)) refuse("cannot be read to its end");
  demand_utf8(text, path);
  if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
  return text;
}

std::optional<std::string> bytes_in_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file.is_open()) return std::nullopt;
  std::string text{std::istreambuf_iterator<char>(file), {}};
  if (file.bad()) return std::nullopt;
  return text;
}

}  // namespace plunge
