// The least of a merit over a lattice of settings: a coarse grid, then a star zoom.
//
//   coarse   all spacers x every kCoarsePsi of pressure in a band x kCoarseClicks clicks each way,
//            every second of these where they are more than kMostCoarse of the budget; outside of
//            the band the ends of spacers and clicks every kOutsidePsi
//   zoom     around the best kBest so far every point that differs in one axis by a stride, around
//            the best kPairs also in two; then with half the stride, until strides are one level.
//            Where the best has moved, its move once, twice and four times more (pattern moves,
//            Hooke & Jeeves 1961, from memory), so that a valley across two axes is not crept along
//   restart  once the best stays the same, from the first strides again: around the best two of
//            each spacer count, then around the best of each with pairs for all
// It ends when kRestarts rounds of restarts found nothing better, or at four fifths of the budget;
// refine() has the rest. A merit is asked for once a point, many at a time. The band is where the
// sag that is demanded lies, kBandMargin wider on both sides.
//
// The numbers were chosen by trying, on 300 random briefs for each of three forks and grids of 2
// psi and every second click: with the best kBest alone, no restarts and nothing outside of the
// band 19 of 900 stopped in a lesser basin; of 300 others (tests/sim/search/star_search_test.cpp)
// one, with the whole coarse grid and no pattern moves. Now none.
#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <map>
#include <span>
#include <vector>

#include "sim/search/settings.hpp"

namespace plunge {

inline constexpr double kCoarsePsi = 5.0;
inline constexpr double kOutsidePsi = 20.0;
inline constexpr std::size_t kCoarseClicks = 3;
inline constexpr std::size_t kBest = 8;
inline constexpr std::size_t kPairs = 4;
inline constexpr int kRestarts = 3;
inline constexpr std::size_t kMostSettings = 800;
inline constexpr double kMostCoarse = 0.4;   // share of the budget
inline constexpr double kBandMargin = 0.01;  // of the travel

using Merits = std::function<std::vector<double>(std::span<const ForkSettings>)>;

class StarSearch {
 public:
  StarSearch(Lattice lattice, std::size_t budget = kMostSettings);

  // Coarse grid and zoom; pressures of the coarse grid lie in the band [Pa].
  void run(const std::array<double, 2>& band, const Merits& merits);

  // The zoom alone, by another merit, from what has been seen; `again` gives the other merit of all
  // that was seen.
  void refine(const Merits& merits);

  // Everything that a merit was asked for, with the last merit; lattice order.
  const std::map<Point, double>& seen() const { return seen_; }
  ForkSettings best() const;
  const Lattice& lattice() const { return lattice_; }

 private:
  using Strides = std::array<std::size_t, 4>;

  std::vector<Point> best_points(std::size_t count) const;
  std::vector<Point> outside_of(std::size_t low, std::size_t high) const;
  std::vector<Point> spread_points(std::size_t alike) const;
  void ask(const std::vector<Point>& points, const Merits& merits);
  void zoom(const Strides& first, std::size_t most, const Merits& merits);
  std::vector<Point> onwards(const Point& before, const Point& now) const;
  std::vector<Point> star(const Point& centre, const Strides& strides, bool pairs) const;

  Lattice lattice_;
  std::size_t budget_;
  std::map<Point, double> seen_;
};

}  // namespace plunge
