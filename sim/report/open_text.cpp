#include "sim/report/open_text.hpp"

#include <fmt/core.h>

#include <cmath>

#include "models/setup/parameters.hpp"
#include "sim/text/band_text.hpp"

namespace plunge {
namespace {

constexpr double kMostly = 0.5;

std::string share_words(const OpenNumber& open) {
  return open.applies < kAllButNone ? fmt::format(" in {:.0f} %", 100.0 * open.applies) : "";
}

}  // namespace

std::string open_text(double value, const Label& label, const OpenNumber& open) {
  const double low = in_common_unit(open.band.low, label.said);
  const double high = in_common_unit(open.band.high, label.said);
  if (!std::isfinite(value)) return band_text(low, high, label.decimals) + share_words(open);
  return with_band(in_common_unit(value, label.said), low, high, label.decimals) +
         share_words(open);
}

std::string cause_words(const OpenNumber& open) {
  if (open.causes.empty()) return {};
  std::string words = open.causes.front().words;
  if (open.causes.front().share < kMostly && open.causes.size() > 1) {
    words += ", " + open.causes[1].words;
  }
  return words;
}

}  // namespace plunge
