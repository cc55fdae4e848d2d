#include "sim/disk/hdf5_seal.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <fstream>
#include <string_view>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/disk/check_sum.hpp"

namespace plunge {
namespace {

constexpr std::size_t kPiece = 1u << 20;  // in which a file is read for its check sum [byte]
constexpr std::string_view kSealMark = "plunge check sum ";
constexpr std::size_t kSealSize = kSealMark.size() + 16 + 1;

[[noreturn]] void refuse_file(const std::string& path, const std::string& rule) {
  throw InputError(Fault{"", "", rule, Place{path, 0, 0}});
}

}  // namespace

std::string hdf5_seal(std::uint64_t check_sum) {
  return fmt::format("{}{:016x}\n", kSealMark, check_sum);
}

void seal_file(NewFile& file) {
  std::uint64_t sum = check_sum("");
  const std::uint64_t size = file.size();
  for (std::uint64_t at = 0; at < size; at += kPiece) {
    sum = check_sum(file.read_at(at, std::min<std::uint64_t>(kPiece, size - at)), sum);
  }
  file.append(hdf5_seal(sum));
}

bool check_seal(const std::string& path) {
  std::error_code error;
  if (std::filesystem::exists(path, error) && !std::filesystem::is_regular_file(path, error)) {
    refuse_file(path, "cannot be read: it is not a regular file");
  }
  errno = 0;
  std::ifstream file(path, std::ios::binary | std::ios::ate);
  const std::streamoff size = file.is_open() ? std::streamoff(file.tellg()) : -1;
  const auto next = [&](std::size_t bytes) {
    std::string text(bytes, '\0');
    if (!file.read(text.data(), static_cast<std::streamsize>(bytes))) {
      refuse_file(path, "cannot be read: " + std::generic_category().message(errno));
    }
    return text;
  };
  if (size < static_cast<std::streamoff>(kSealSize)) {
    file.seekg(0);
    next(static_cast<std::size_t>(std::max<std::streamoff>(size, 0)));
    return false;
  }
  std::uint64_t rest = static_cast<std::uint64_t>(size) - kSealSize;
  file.seekg(static_cast<std::streamoff>(rest));
  const std::string found = next(kSealSize);
  if (!found.starts_with(kSealMark)) return false;
  file.seekg(0);
  std::uint64_t sum = check_sum("");
  while (rest > 0) {
    const std::string piece = next(static_cast<std::size_t>(std::min<std::uint64_t>(rest, kPiece)));
    sum = check_sum(piece, sum);
    rest -= piece.size();
  }
  if (found != hdf5_seal(sum)) refuse_file(path, "is damaged: its check sum differs");
  return true;
}

void demand_seal(const std::string& path) {
  if (!check_seal(path)) refuse_file(path, "is damaged or cut short: its check sum is incomplete");
}

}  // namespace plunge
