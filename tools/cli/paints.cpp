#include "tools/cli/paints.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <string>

#include "sim/figure/palette.hpp"

namespace plunge {
namespace {

// The values of the one number that is not the same in all variants; empty: there is none, or more.
std::vector<double> only_varied(const std::vector<std::vector<NamedValue>>& variants) {
  std::map<std::string, std::vector<double>> values;
  for (const std::vector<NamedValue>& set : variants) {
    for (const NamedValue& number : set) values[number.name].push_back(number.value);
  }
  std::vector<double> varied;
  for (const auto& [name, list] : values) {
    const bool in_all = list.size() == variants.size();
    const bool same = std::ranges::adjacent_find(list, std::not_equal_to<>()) == list.end();
    if (in_all && same) continue;
    if (!in_all || !varied.empty()) return {};
    varied = list;
  }
  return varied;
}

// Whether each value is above, or each below, the one before it.
bool has_order(const std::vector<double>& values) {
  return std::ranges::adjacent_find(values, std::greater_equal<>()) == values.end() ||
         std::ranges::adjacent_find(values, std::less_equal<>()) == values.end();
}

}  // namespace

std::vector<Paint> paints_of(const std::vector<std::vector<NamedValue>>& variants) {
  std::vector<Paint> paints;
  const std::vector<double> varied = only_varied(variants);
  const bool ordered = varied.size() > 1 && has_order(varied);
  for (std::size_t i = 0; i < variants.size(); ++i) {
    if (ordered) {
      paints.push_back({-1, static_cast<double>(i) / static_cast<double>(variants.size() - 1)});
    } else {
      paints.push_back({static_cast<int>(i)});
    }
  }
  return paints;
}

bool look_alike(const std::vector<Paint>& paints) {
  return std::ranges::any_of(
      paints, [](const Paint& paint) { return palette_number(paint) >= paints_apart(); });
}

std::vector<Paint> shades_by(const std::vector<double>& outcome) {
  std::vector<double> ranked;
  for (const double value : outcome) {
    if (!std::isnan(value)) ranked.push_back(value);
  }
  std::ranges::sort(ranked);
  ranked.erase(std::unique(ranked.begin(), ranked.end()), ranked.end());
  std::vector<Paint> paints;
  for (const double value : outcome) {
    double shade = 0.0;
    if (ranked.size() > 1 && !std::isnan(value)) {
      const auto rank = std::ranges::lower_bound(ranked, value) - ranked.begin();
      shade = static_cast<double>(rank) / static_cast<double>(ranked.size() - 1);
    }
    paints.push_back({-1, shade});
  }
  return paints;
}

}  // namespace plunge
