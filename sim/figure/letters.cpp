#include "sim/figure/letters.hpp"

#include <array>
#include <cstddef>

#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

constexpr std::string_view kEllipsis = "…";
constexpr unsigned char kFirst = ' ';
constexpr std::size_t kLetters = 95;

// Advances of ' ' to '~' [1/1000 of the size], as Pango measures them without hinting.
constexpr std::array<int, kLetters> kRegular = {
    286, 361, 414, 754, 572, 855, 801, 247, 351, 351, 450, 754, 286, 304, 286, 303, 572, 572, 572,
    572, 572, 572, 572, 572, 572, 572, 303, 303, 754, 754, 754, 482, 900, 650, 661, 688, 721, 657,
    624, 719, 785, 355, 360, 672, 598, 921, 787, 738, 605, 738, 677, 616, 600, 758, 650, 925, 641,
    594, 625, 351, 303, 351, 754, 450, 450, 536, 576, 504, 576, 532, 333, 576, 580, 288, 279, 545,
    288, 853, 580, 542, 576, 576, 430, 461, 361, 580, 508, 770, 507, 508, 474, 572, 303, 572, 754};
constexpr std::array<int, kLetters> kBold = {
    313, 395, 469, 754, 626, 855, 812, 275, 426, 426, 470, 754, 313, 374, 313, 329, 626, 626,  626,
    626, 626, 626, 626, 626, 626, 626, 332, 332, 754, 754, 754, 527, 900, 698, 760, 716, 780,  686,
    639, 769, 850, 421, 426, 782, 633, 996, 822, 784, 677, 784, 748, 650, 669, 785, 698, 1011, 698,
    642, 657, 426, 329, 426, 754, 450, 450, 583, 629, 548, 629, 572, 387, 629, 654, 342, 325,  624,
    342, 952, 654, 600, 629, 629, 474, 506, 416, 654, 523, 774, 536, 523, 511, 579, 327, 579,  754};

// [1/1000 of the size] The widest of two bytes is 1467, a mean of 760; of three bytes most are
// ideographs, as wide as high.
constexpr int kTwoBytes = 900;
constexpr int kMoreBytes = 1050;
constexpr int kMinus = 754;
constexpr int kEllipsisWidth = 900;
constexpr int kSmallRaised = 400;  // raised digits and the middle dot

int width_of(std::string_view letter, bool bold) {
  const auto byte = static_cast<unsigned char>(letter.front());
  if (letter.size() == 1) {
    if (byte < kFirst || byte >= kFirst + kLetters) return kMoreBytes;
    return (bold ? kBold : kRegular)[byte - kFirst];
  }
  for (const std::string_view raised : {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹", "·"}) {
    if (letter == raised) return kSmallRaised;
  }
  if (letter == "−") return kMinus;
  if (letter == kEllipsis) return kEllipsisWidth;
  return letter.size() == 2 ? kTwoBytes : kMoreBytes;
}

}  // namespace

double text_width(std::string_view text, double size, bool bold) {
  int width = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t next = next_character(text, at);
    width += width_of(text.substr(at, next - at), bold);
    at = next;
  }
  return size * width / 1000.0;
}

std::string fitted(std::string_view text, double width, double size, bool bold) {
  if (text_width(text, size, bold) <= width) return std::string(text);
  const double room = width - text_width(kEllipsis, size, bold);
  std::size_t end = 0;
  for (std::size_t at = 0; at < text.size();) {
    at = next_character(text, at);
    if (text_width(text.substr(0, at), size, bold) > room) break;
    end = at;
  }
  std::string kept(text.substr(0, end));
  while (!kept.empty() && kept.back() == ' ') kept.pop_back();
  return kept + std::string(kEllipsis);
}

}  // namespace plunge
