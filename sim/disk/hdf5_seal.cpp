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

[[noreturn]] void refuse_file(const std::string& path, const std::string& rule) {
  throw InputError(Fault{"", "", rule, Place{path, 0, 0}});
}

static_assert(kSealSize == kSealMark.size() + 16 + 1);

}  // namespace

std::string hdf5_seal(std::uint64_t check_sum) {
  return fmt::format("{}{:016x}\n", kSealMark, check_sum);
}

bool looks_sealed(const RegularFile& file) {
  return file.size() >= kSealSize &&
         file.read_at(file.size() - kSealSize, kSealMark.size()) == kSealMark;
}

bool check_seal(const RegularFile& file) {
  if (!looks_sealed(file)) return false;
  const std::uint64_t end = file.size() - kSealSize;
  std::uint64_t sum = check_sum("");
  for (std::uint64_t at = 0; at < end; at += kPiece) {
    const auto piece = static_cast<std::size_t>(std::min<std::uint64_t>(kPiece, end - at));
    sum = check_sum(file.read_at(at, piece), sum);
  }
  if (file.read_at(end, kSealSize) != hdf5_seal(sum)) {
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
