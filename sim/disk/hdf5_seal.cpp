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
constexpr std::size_t kOldSealSize = kSealMark.size() + 16 + 1;
constexpr std::string_view kPlacedMark = "2 ";  // after the mark, where the sum is a PlacedSum
constexpr std::size_t kSealSize = kSealMark.size() + kPlacedMark.size() + 16 + 1 + 16 + 1;

[[noreturn]] void refuse_file(const std::string& path, const std::string& rule) {
  throw InputError(Fault{"", "", rule, Place{path, 0, 0}});
}

}  // namespace

std::string hdf5_seal(std::uint64_t bytes, const PlacedSum& sum) {
  return fmt::format("{}{}{:016x} {:016x}\n", kSealMark, kPlacedMark, bytes, sum.value());
}

std::string hdf5_seal(std::string_view part) {
  PlacedSum sum;
  sum.add(0, part);
  return hdf5_seal(part.size(), sum);
}

bool has_seal(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  const auto ends_in = [&](std::size_t seal, std::string_view begin) {
    std::string end(begin.size(), '\0');
    file.clear();
    file.seekg(-static_cast<std::streamoff>(seal), std::ios::end);
    return file.read(end.data(), static_cast<std::streamsize>(end.size())) && end == begin;
  };
  return ends_in(kSealSize, std::string(kSealMark).append(kPlacedMark)) ||
         ends_in(kOldSealSize, kSealMark);
}

bool check_seal(const std::string& path) {
  std::error_code error;
  if (std::filesystem::exists(path, error) && !std::filesystem::is_regular_file(path, error)) {
    refuse_file(path, "cannot be read: it is not a regular file");
  }
  errno = 0;
  std::ifstream file(path, std::ios::binary | std::ios::ate);
  const std::streamoff end = file.is_open() ? std::streamoff(file.tellg()) : -1;
  std::string piece;
  const auto read = [&](std::uint64_t from, std::size_t bytes) -> const std::string& {
    piece.resize(bytes);
    file.seekg(static_cast<std::streamoff>(from));
    if (!file.read(piece.data(), static_cast<std::streamsize>(bytes))) {
      refuse_file(path, "cannot be read: " + std::generic_category().message(errno));
    }
    return piece;
  };
  const auto size = static_cast<std::uint64_t>(std::max<std::streamoff>(end, 0));
  const auto seal_at_end = [&](std::size_t bytes) {
    return size < bytes ? std::string() : read(size - bytes, bytes);
  };
  read(0, end < 0 ? 1 : 0);  // a file that cannot be opened says why
  // Calls `add` with the file piece by piece, but for so many bytes at its end.
  const auto each_piece = [&](std::size_t but, const auto& add) {
    for (std::uint64_t at = 0; at < size - but; at += piece.size()) {
      add(at, read(at, static_cast<std::size_t>(std::min<std::uint64_t>(size - but - at, kPiece))));
    }
  };
  const std::string seal = seal_at_end(kSealSize);
  const std::string old_seal = seal_at_end(kOldSealSize);
  if (seal.starts_with(std::string(kSealMark).append(kPlacedMark))) {
    PlacedSum sum;
    each_piece(kSealSize, [&](std::uint64_t at, const std::string& bytes) { sum.add(at, bytes); });
    if (seal == hdf5_seal(size - kSealSize, sum)) return true;
  } else if (old_seal.starts_with(kSealMark)) {
    std::uint64_t sum = check_sum("");
    each_piece(kOldSealSize,
               [&](std::uint64_t, const std::string& bytes) { sum = check_sum(bytes, sum); });
    if (old_seal == fmt::format("{}{:016x}\n", kSealMark, sum)) return true;
  } else {
    return false;
  }
  refuse_file(path, "is damaged: its check sum differs");
}

void demand_seal(const std::string& path) {
  if (!check_seal(path)) refuse_file(path, "is damaged or cut short: its check sum is incomplete");
}

}  // namespace plunge
