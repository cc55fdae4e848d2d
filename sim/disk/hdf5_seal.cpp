#include "sim/disk/hdf5_seal.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <string_view>

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

enum class SealKind { none, fnv, placed };

SealKind kind_of(const RegularFile& file) {
  const auto end_begins_with = [&](std::size_t bytes, const std::string& mark) {
    return file.size() >= bytes && file.read_at(file.size() - bytes, mark.size()) == mark;
  };
  if (end_begins_with(kSealSize, std::string(kSealMark).append(kPlacedMark))) {
    return SealKind::placed;
  }
  return end_begins_with(kOldSealSize, std::string(kSealMark)) ? SealKind::fnv : SealKind::none;
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

void seal_file(NewFile& file) {
  PlacedSum sum;
  const std::uint64_t size = file.size();
  for (std::uint64_t at = 0; at < size; at += kPiece) {
    sum.add(at, file.read_at(at, std::min<std::uint64_t>(kPiece, size - at)));
  }
  file.append(hdf5_seal(size, sum));
}

bool looks_sealed(const RegularFile& file) { return kind_of(file) != SealKind::none; }

std::uint64_t size_before_seal(const RegularFile& file) {
  const SealKind kind = kind_of(file);
  if (kind == SealKind::none) return file.size();
  return file.size() - (kind == SealKind::placed ? kSealSize : kOldSealSize);
}

std::string seal_of(const RegularFile& file) {
  const std::uint64_t end = size_before_seal(file);
  std::string seal = file.read_at(end, static_cast<std::size_t>(file.size() - end));
  if (!seal.empty()) seal.pop_back();
  return seal;
}

bool check_seal(const RegularFile& file) {
  const SealKind kind = kind_of(file);
  if (kind == SealKind::none) return false;
  const std::uint64_t end = size_before_seal(file);
  PlacedSum placed;
  std::uint64_t old = check_sum("");
  for (std::uint64_t at = 0; at < end; at += kPiece) {
    const auto bytes = static_cast<std::size_t>(std::min<std::uint64_t>(kPiece, end - at));
    const std::string piece = file.read_at(at, bytes);
    if (kind == SealKind::placed) {
      placed.add(at, piece);
    } else {
      old = check_sum(piece, old);
    }
  }
  const std::string fitting = kind == SealKind::placed ? hdf5_seal(end, placed)
                                                       : fmt::format("{}{:016x}\n", kSealMark, old);
  if (file.read_at(end, fitting.size()) != fitting) {
    refuse_file(file.path(), "is damaged: its check sum differs");
  }
  return true;
}

void demand_seal(const std::string& path) {
  if (!check_seal(RegularFile(path))) {
    refuse_file(path, "is damaged or cut short: its check sum is incomplete");
  }
}

}  // namespace plunge
