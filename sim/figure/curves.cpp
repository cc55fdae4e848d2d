#include "sim/figure/curves.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

namespace plunge {
namespace {

// The part of the way from `a` to `b` within the box, from 0 to 1; false: none
// (Liang & Barsky 1984, ACM Trans. Graph. 3).
bool part_within(const DrawnPlace& a, const DrawnPlace& b, const TextBox& box, double& from,
                 double& to) {
  from = 0.0;
  to = 1.0;
  const auto cut = [&](double way, double room) {
    if (way == 0.0) return room >= 0.0;
    const double at = room / way;
    if (way < 0.0) {
      from = std::max(from, at);
    } else {
      to = std::min(to, at);
    }
    return from <= to;
  };
  return cut(a.x - b.x, a.x - box.left) && cut(b.x - a.x, box.right - a.x) &&
         cut(a.y - b.y, a.y - box.top) && cut(b.y - a.y, box.bottom - a.y);
}

bool within(const DrawnPlace& place, const TextBox& box) {
  return place.x >= box.left && place.x <= box.right && place.y >= box.top && place.y <= box.bottom;
}

double distance_from(const DrawnPlace& place, const DrawnPlace& a, const DrawnPlace& b) {
  const double dx = b.x - a.x;
  const double dy = b.y - a.y;
  const double square = dx * dx + dy * dy;
  double along = 0.0;
  if (square > 0.0) {
    along = std::clamp(((place.x - a.x) * dx + (place.y - a.y) * dy) / square, 0.0, 1.0);
  }
  return std::hypot(place.x - a.x - along * dx, place.y - a.y - along * dy);
}

}  // namespace

std::vector<std::vector<DrawnPlace>> clipped(const std::vector<DrawnPlace>& line,
                                             const TextBox& box) {
  std::vector<std::vector<DrawnPlace>> parts;
  if (line.size() == 1 && within(line[0], box)) parts.push_back(line);
  bool goes_on = false;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const DrawnPlace& a = line[i - 1];
    const DrawnPlace& b = line[i];
    double from = 0.0;
    double to = 1.0;
    if (!part_within(a, b, box, from, to)) {
      goes_on = false;
      continue;
    }
    const auto on_way = [&](double share) {
      return DrawnPlace{std::clamp(a.x + share * (b.x - a.x), box.left, box.right),
                        std::clamp(a.y + share * (b.y - a.y), box.top, box.bottom)};
    };
    if (!goes_on || from > 0.0) parts.push_back({on_way(from)});
    parts.back().push_back(on_way(to));
    goes_on = to == 1.0;
  }
  return parts;
}

std::vector<DrawnPlace> simplified(const std::vector<DrawnPlace>& line, double tolerance) {
  if (line.size() < 3) return line;
  std::vector<bool> kept(line.size(), false);
  kept.front() = kept.back() = true;
  std::vector<std::pair<std::size_t, std::size_t>> pieces = {{0, line.size() - 1}};
  while (!pieces.empty()) {
    const auto [first, last] = pieces.back();
    pieces.pop_back();
    double farthest = tolerance;
    std::size_t at = 0;
    for (std::size_t i = first + 1; i < last; ++i) {
      const double away = distance_from(line[i], line[first], line[last]);
      if (away <= farthest) continue;
      farthest = away;
      at = i;
    }
    if (at == 0) continue;
    kept[at] = true;
    pieces.emplace_back(first, at);
    pieces.emplace_back(at, last);
  }
  std::vector<DrawnPlace> few;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (kept[i]) few.push_back(line[i]);
  }
  return few;
}

std::vector<double> spread(const std::vector<double>& wanted, double gap, double top,
                           double bottom) {
  std::vector<std::size_t> order(wanted.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [&](std::size_t i) { return wanted[i]; });
  // With the gaps taken out, the heights must only rise: labels that would not are pooled.
  struct Pool {
    double sum = 0.0;
    std::size_t count = 0;
    double mean() const { return sum / static_cast<double>(count); }
  };
  std::vector<Pool> pools;
  for (std::size_t k = 0; k < order.size(); ++k) {
    pools.push_back({wanted[order[k]] - gap * static_cast<double>(k), 1});
    while (pools.size() > 1 && pools[pools.size() - 2].mean() >= pools.back().mean()) {
      const Pool last = pools.back();
      pools.pop_back();
      pools.back().sum += last.sum;
      pools.back().count += last.count;
    }
  }
  const double most = bottom - gap * static_cast<double>(wanted.size() - 1);
  std::vector<double> heights(wanted.size());
  std::size_t k = 0;
  for (const Pool& pool : pools) {
    for (std::size_t i = 0; i < pool.count; ++i, ++k) {
      heights[order[k]] =
          std::clamp(pool.mean(), top, std::max(top, most)) + gap * static_cast<double>(k);
    }
  }
  return heights;
}

}  // namespace plunge
