#include "sim/lanes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace plunge {
namespace {

// Ends of the path go on as straight lines; lanes read them as long pieces.
constexpr double kEnd = 1e9;  // [m]

// The polynomial of a piece about another point.
PathPiece moved(const PathPiece& piece, double start) {
  PathPiece result = piece;
  const double by = start - piece.start;
  result.start = start;
  for (std::size_t i = 0; i < 5; ++i) {
    for (std::size_t k = 4; k + 1 > i; --k) {
      result.c[k] += by * result.c[k + 1];
      if (k == 0) break;
    }
  }
  return result;
}

LanePiece lane_piece(const PathPiece& piece, double length, bool kink) {
  LanePiece lane;
  lane.start = piece.start;
  lane.height = piece.c[0];
  for (std::size_t c = 0; c < 5; ++c) lane.slope[c] = static_cast<float>(piece.c[c + 1]);
  lane.length = static_cast<float>(length);
  lane.kink = kink;
  return lane;
}

}  // namespace

std::vector<LanePiece> lane_pieces(const WheelPath& path) {
  const std::vector<PathPiece>& pieces = path.pieces();
  std::vector<bool> kinks(pieces.size(), false);
  for (const Stretch& stretch : path.stretches()) kinks[stretch.first] = stretch.first > 0;
  std::vector<LanePiece> lanes;
  // Before the first knot.
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const bool last = i + 1 == pieces.size();
    const double start = i == 0 ? pieces[i].start - 10.0 : pieces[i].start;
    const double end = last ? start + 2.0 * kLongestLanePiece : pieces[i + 1].start;
    if (!(end > start)) {
      // A piece of no length: the next one begins with its kink.
      if (!last && kinks[i]) kinks[i + 1] = true;
      continue;
    }
    const auto parts = static_cast<std::size_t>(std::ceil((end - start) / kLongestLanePiece));
    const double width = (end - start) / static_cast<double>(parts);
    for (std::size_t part = 0; part < parts; ++part) {
      const double at = start + width * static_cast<double>(part);
      lanes.push_back(lane_piece(moved(pieces[i], at), width, part == 0 && kinks[i]));
    }
  }
  lanes.back().length = static_cast<float>(kEnd);
  return lanes;
}

LaneLaw lane_law(const DamperLaw<double>& law) {
  std::vector<ForcePiece> pieces;
  if (law.table) {
    pieces = law.table.table->pieces();
    pieces.pop_back();
  } else {
    // Slopes beside a table: cubics that take the law's values and slopes, an eighth of an octave
    // each; within 1e-5 of its force.
    const auto slope = [&](double v) {
      const double share = law.knee / std::sqrt(law.knee * law.knee + v * v);
      return law.high_speed + (law.low_speed - law.high_speed) * share * share * share;
    };
    double from = 0.0;
    for (int k = 0; k <= 8 * kLaneOctaves; ++k) {
      const double to = std::ldexp(1.0 + (k % 8) / 8.0, kLaneFirstOctave + k / 8);
      pieces.push_back(cubic_between({from, law.slopes(from), 0.0, slope(from)},
                                     {to, law.slopes(to), slope(to), 0.0}));
      from = to;
    }
  }
  LaneLaw lanes;
  for (const ForcePiece& piece : pieces) {
    lanes.pieces.push_back({static_cast<float>(piece.start), static_cast<float>(piece.force),
                            static_cast<float>(piece.slope), static_cast<float>(piece.c2),
                            static_cast<float>(piece.c3)});
  }
  lanes.pieces.push_back({std::numeric_limits<float>::infinity(), 0.0F, 0.0F, 0.0F, 0.0F});
  std::size_t piece = 0;
  for (std::size_t k = 0; k < kLaneBuckets; ++k) {
    // Bucket 0 holds all that is slower than the first octave.
    const double low = k == 0 ? 0.0
                              : std::ldexp(1.0 + static_cast<double>((k - 1) % 8) / 8.0,
                                           kLaneFirstOctave + static_cast<int>((k - 1) / 8));
    while (static_cast<double>(lanes.pieces[piece + 1].start) <= low) ++piece;
    lanes.first.push_back(static_cast<std::uint16_t>(piece));
  }
  return lanes;
}

}  // namespace plunge
