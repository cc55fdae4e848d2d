#include "sim/search/star_search.hpp"

#include <algorithm>
#include <cmath>

namespace plunge {
namespace {

// Positions of so many levels, the ends among them, evenly.
std::vector<std::size_t> spread_levels(std::size_t size, std::size_t count) {
  std::vector<std::size_t> levels;
  const std::size_t most = std::min(size, count);
  for (std::size_t i = 0; i < most; ++i) {
    const double share = most > 1 ? static_cast<double>(i) / static_cast<double>(most - 1) : 0.5;
    levels.push_back(static_cast<std::size_t>(std::lround(share * static_cast<double>(size - 1))));
  }
  return levels;
}

}  // namespace

StarSearch::StarSearch(Lattice lattice, std::size_t budget)
    : lattice_(std::move(lattice)), budget_(budget) {}

void StarSearch::run(const std::array<double, 2>& band, const Merits& merits) {
  const std::vector<double>& pressures = lattice_.levels[1];
  std::vector<std::size_t> coarse;
  double next = band[0];
  for (std::size_t i = 0; i < pressures.size(); ++i) {
    if (pressures[i] < next || pressures[i] > band[1]) continue;
    coarse.push_back(i);
    next = pressures[i] + (kCoarsePsi - 0.5) * kPsiStep;
  }
  if (coarse.empty()) coarse.push_back(lattice_.nearest({0.0, band[0], 0.0, 0.0})[1]);
  const auto compression = spread_levels(lattice_.size(2), kCoarseClicks);
  const auto rebound = spread_levels(lattice_.size(3), kCoarseClicks);
  // Where all of it would leave too little for the zoom, every second point of it, as on a
  // chessboard.
  const std::size_t all = lattice_.size(0) * coarse.size() * compression.size() * rebound.size();
  const bool thinned = all > static_cast<std::size_t>(kMostCoarse * static_cast<double>(budget_));
  std::vector<Point> points;
  for (std::size_t n = 0; n < lattice_.size(0); ++n) {
    for (std::size_t p = 0; p < coarse.size(); ++p) {
      for (std::size_t c = 0; c < compression.size(); ++c) {
        for (std::size_t r = 0; r < rebound.size(); ++r) {
          if (thinned && (n + p + c + r) % 2 == 1) continue;
          points.push_back({n, coarse[p], compression[c], rebound[r]});
        }
      }
    }
  }
  const std::vector<Point> outside = outside_of(coarse.front(), coarse.back());
  points.insert(points.end(), outside.begin(), outside.end());
  ask(points, merits);
  const auto half = [](std::size_t size) { return std::max<std::size_t>(1, (size + 1) / 4); };
  const double level = pressures.size() > 1 ? (pressures[1] - pressures[0]) / kPsiStep : 1.0;
  const auto psi = static_cast<std::size_t>(std::max(1.0, std::round(kCoarsePsi / level / 2.0)));
  zoom({1, psi, half(lattice_.size(2)), half(lattice_.size(3))}, budget_ * 4 / 5, merits);
}

std::vector<Point> StarSearch::outside_of(std::size_t low, std::size_t high) const {
  const auto ends = [&](std::size_t axis) { return spread_levels(lattice_.size(axis), 2); };
  const std::vector<double>& pressures = lattice_.levels[1];
  std::vector<Point> points;
  double next = pressures.front();
  for (std::size_t p = 0; p < pressures.size(); ++p) {
    if (pressures[p] < next) continue;
    next = pressures[p] + kOutsidePsi * kPsiStep;
    if (p >= low && p <= high) continue;
    for (const std::size_t n : ends(0)) {
      for (const std::size_t c : ends(2)) {
        for (const std::size_t r : ends(3)) points.push_back({n, p, c, r});
      }
    }
  }
  return points;
}

void StarSearch::refine(const Merits& merits) {
  std::vector<ForkSettings> settings;
  for (const auto& entry : seen_) settings.push_back(lattice_.at(entry.first));
  const std::vector<double> again = merits(settings);
  std::size_t i = 0;
  for (auto& entry : seen_) entry.second = again[i++];
  zoom({1, 2, 2, 2}, budget_, merits);
}

ForkSettings StarSearch::best() const {
  return lattice_.at(
      std::ranges::min_element(seen_, {}, [](const auto& entry) { return entry.second; })->first);
}

std::vector<Point> StarSearch::best_points(std::size_t count) const {
  std::vector<std::pair<double, Point>> order;
  for (const auto& [point, merit] : seen_) order.emplace_back(merit, point);
  std::ranges::sort(order);
  std::vector<Point> best;
  for (std::size_t i = 0; i < std::min(count, order.size()); ++i) best.push_back(order[i].second);
  return best;
}

std::vector<Point> StarSearch::spread_points(std::size_t alike) const {
  std::vector<Point> spread;
  for (const Point& point : best_points(seen_.size())) {
    const auto same = std::ranges::count(spread, point[0], [](const Point& p) { return p[0]; });
    if (static_cast<std::size_t>(same) < alike) spread.push_back(point);
    if (spread.size() == kBest) break;
  }
  return spread;
}

void StarSearch::ask(const std::vector<Point>& points, const Merits& merits) {
  std::vector<Point> fresh;
  std::vector<ForkSettings> settings;
  for (const Point& point : points) {
    if (seen_.size() >= budget_) break;
    if (!seen_.emplace(point, 0.0).second) continue;
    fresh.push_back(point);
    settings.push_back(lattice_.at(point));
  }
  if (fresh.empty()) return;
  const std::vector<double> found = merits(settings);
  for (std::size_t i = 0; i < fresh.size(); ++i) seen_[fresh[i]] = found[i];
}

std::vector<Point> StarSearch::star(const Point& centre, const Strides& strides, bool pairs) const {
  std::vector<Point> points;
  const auto moved = [&](Point& point, std::size_t axis, int way) {
    const std::size_t last = lattice_.size(axis) - 1;
    const std::size_t stride = strides[axis];
    point[axis] = way > 0 ? std::min(last, point[axis] + stride)
                          : point[axis] - std::min(point[axis], stride);
  };
  for (std::size_t a = 0; a < 4; ++a) {
    for (const int way : {-1, 1}) {
      Point one = centre;
      moved(one, a, way);
      points.push_back(one);
      for (std::size_t b = a + 1; pairs && b < 4; ++b) {
        for (const int other : {-1, 1}) {
          Point two = one;
          moved(two, b, other);
          points.push_back(two);
        }
      }
    }
  }
  return points;
}

// The move from one best point to the next once more, twice and four times as far.
std::vector<Point> StarSearch::onwards(const Point& before, const Point& now) const {
  std::vector<Point> points;
  for (const double times : {1.0, 2.0, 4.0}) {
    Point on = now;
    for (std::size_t axis = 0; axis < 4; ++axis) {
      const double at = static_cast<double>(now[axis]);
      const double move = at - static_cast<double>(before[axis]);
      const auto last = static_cast<double>(lattice_.size(axis) - 1);
      on[axis] = static_cast<std::size_t>(std::clamp(at + times * move, 0.0, last));
    }
    points.push_back(on);
  }
  return points;
}

void StarSearch::zoom(const Strides& first, std::size_t most, const Merits& merits) {
  Strides strides = first;
  Point best = best_points(1).front();
  std::size_t alike = kBest;
  int fruitless = 0;
  Point before = best;
  while (seen_.size() < most && fruitless < kRestarts) {
    const Point now = best_points(1).front();
    std::vector<Point> points;
    if (now != before) points = onwards(before, now);
    before = now;
    const std::vector<Point> centres = spread_points(alike);
    for (std::size_t i = 0; i < centres.size(); ++i) {
      const std::vector<Point> around = star(centres[i], strides, i < kPairs || alike == 1);
      points.insert(points.end(), around.begin(), around.end());
    }
    ask(points, merits);
    if (std::ranges::any_of(strides, [](std::size_t stride) { return stride > 1; })) {
      for (std::size_t& stride : strides) stride = std::max<std::size_t>(1, stride / 2);
      continue;
    }
    const Point found = best_points(1).front();
    if (found != best) {
      best = found;
      fruitless = 0;
      alike = kBest;
      continue;
    }
    ++fruitless;
    strides = first;
    alike = static_cast<std::size_t>(kRestarts - fruitless);
  }
}

}  // namespace plunge
