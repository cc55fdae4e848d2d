#include "sim/disk/own_files.hpp"

#include <fmt/core.h>

#include <array>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <string_view>
#include <system_error>

#include "sim/disk/check_sum.hpp"
#include "sim/disk/hdf5_seal.hpp"

namespace plunge {
namespace {

using namespace std::string_view_literals;

constexpr std::string_view kHdf5Begin = "\x89HDF\r\n\x1a\n"sv;
constexpr std::string_view kPngBegin = "\x89PNG\r\n\x1a\n"sv;
constexpr std::string_view kSvgBegin = "<?xml"sv;
constexpr std::string_view kPdfBegin = "%PDF"sv;
constexpr std::string_view kHtmlBegin = "<!doctype html>\n"sv;
constexpr std::size_t kPngHeader = 33;  // signature and header chunk [byte]
constexpr std::size_t kDigits = 16;
constexpr std::uintmax_t kLargestPicture = std::uintmax_t{64} << 20;  // [byte], chosen

// Four bytes, the highest first, as PNG has its numbers.
std::string four_bytes(std::uint32_t number) {
  std::string bytes;
  for (int shift = 24; shift >= 0; shift -= 8) {
    bytes += static_cast<char>(static_cast<unsigned char>(number >> shift));
  }
  return bytes;
}

// Check sum of a PNG chunk: CRC-32 as in ISO/IEC 15948, annex D.
std::uint32_t png_check_sum(std::string_view bytes) {
  std::uint32_t sum = 0xffffffffu;
  for (const char c : bytes) {
    sum ^= static_cast<unsigned char>(c);
    for (int bit = 0; bit < 8; ++bit) sum = (sum >> 1) ^ ((sum & 1u) != 0 ? 0xedb88320u : 0u);
  }
  return ~sum;
}

// Where the mark stands in a picture without one; none where it is no picture that bears marks.
std::optional<std::size_t> place_of_mark(std::string_view picture) {
  if (picture.starts_with(kPngBegin) && picture.size() > kPngHeader) return kPngHeader;
  std::size_t place = std::string_view::npos;
  if (picture.starts_with(kSvgBegin)) {
    place = picture.find("?>\n");
    if (place != std::string_view::npos) place += 3;
  }
  if (picture.starts_with(kPdfBegin)) place = picture.rfind("startxref\n");
  if (picture.starts_with(kHtmlBegin)) place = kHtmlBegin.size();
  return place == std::string_view::npos ? std::nullopt : std::optional(place);
}

std::string mark_of(std::string_view picture) {
  const std::string text = fmt::format("plunge plot {:0{}x}", check_sum(picture), kDigits);
  if (picture.starts_with(kSvgBegin) || picture.starts_with(kHtmlBegin))
    return "<!-- " + text + " -->\n";
  if (picture.starts_with(kPdfBegin)) return "%" + text + "\n";
  const std::string chunk = std::string("tEXtSoftware\0"sv) + text;
  constexpr std::size_t kType = 4;
  return four_bytes(static_cast<std::uint32_t>(chunk.size() - kType)) + chunk +
         four_bytes(png_check_sum(chunk));
}

// What is left of a picture without its mark, all marks of a kind being of one length.
std::string without_mark(const std::string& picture) {
  const std::size_t size = mark_of(picture).size();
  std::optional<std::size_t> place = place_of_mark(picture);
  if (place && picture.starts_with(kPdfBegin)) {
    place = *place >= size ? std::optional(*place - size) : std::nullopt;
  }
  if (!place || picture.size() < *place + size) return "";
  return std::string(picture).erase(*place, size);
}

bool is_marked(const std::string& picture) {
  const std::string rest = without_mark(picture);
  return !rest.empty() && marked_picture(rest) == picture;
}

}  // namespace

std::string marked_picture(const std::string& picture) {
  const std::optional<std::size_t> place = place_of_mark(picture);
  return place ? std::string(picture).insert(*place, mark_of(picture)) : picture;
}

bool is_own_file(const std::string& path) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error)) return false;
  const std::uintmax_t size = std::filesystem::file_size(path, error);
  if (error) return false;
  if (size == 0) return true;
  std::ifstream file(path, std::ios::binary);
  std::array<char, kHdf5Begin.size()> begin = {};
  if (!file.read(begin.data(), begin.size())) return false;
  if (std::string_view(begin.data(), begin.size()) == kHdf5Begin)
    return looks_sealed(RegularFile(path));
  if (size > kLargestPicture) return false;
  file.seekg(0);
  return is_marked({std::istreambuf_iterator<char>(file), {}});
}

}  // namespace plunge
