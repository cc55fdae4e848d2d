#include "sim/lanes/lanes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace plunge {
namespace {

// Ends of the path go on as straight lines; lanes read them as long pieces.
constexpr double kBefore = 10.0;          // [m]
constexpr double kEnd = 1e9;              // [m]
constexpr double kLongest = 0.5;          // of a piece that single numbers hold well [m]
constexpr double kLongestSegment = 0.24;  // so that two make a piece [m]
constexpr double kOverlap = 0.2;          // of a piece that the next one holds as well [1]
constexpr double kShortestJoint = 1e-4;   // where shorter pieces meet, the first goes on [m]

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

// Pieces side by side, none longer than kLongestSegment.
struct Segment {
  PathPiece piece;
  double end = 0.0;
  bool kink = false;
};

std::vector<Segment> segments_of(const WheelPath& path) {
  const std::vector<PathPiece>& pieces = path.pieces();
  std::vector<bool> kinks(pieces.size(), false);
  for (const Stretch& stretch : path.stretches()) kinks[stretch.first] = stretch.first > 0;
  std::vector<Segment> segments;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const bool last = i + 1 == pieces.size();
    const double start = i == 0 ? pieces[i].start - kBefore : pieces[i].start;
    const double end = last ? start + 2.0 * kLongestSegment : pieces[i + 1].start;
    const auto count = static_cast<std::size_t>(std::ceil((end - start) / kLongestSegment));
    const double width = (end - start) / static_cast<double>(count);
    for (std::size_t n = 0; n < count; ++n) {
      const double at = start + width * static_cast<double>(n);
      segments.push_back(
          {moved(pieces[i], at), n + 1 == count ? end : at + width, n == 0 && kinks[i]});
    }
  }
  segments.back().end = segments.back().piece.start + kEnd;
  return segments;
}

bool near(const PathPoint<double>& a, const PathPoint<double>& b) {
  return std::abs(a.height - b.height) <= kLaneFitHeight &&
         std::abs(a.slope - b.slope) <= kLaneFitSlope;
}

// One polynomial for the segments first to last, both included; false where it does not fit. Beside
// a kink it has to go on as the path's own end pieces do, since a step may end past it.
bool join(const std::vector<Segment>& segments, std::size_t first, std::size_t last,
          PathPiece& joined) {
  const PathPiece& from = segments[first].piece;
  const PathPiece& to = segments[last].piece;
  const double end = segments[last].end;
  if (end - from.start > kLongest) return false;
  joined = end - from.start < kShortestJoint
               ? from
               : quintic_between(from.start, WheelPath::evaluate(from, from.start), end,
                                 WheelPath::evaluate(to, end));
  const auto fits = [&](const PathPiece& piece, double at) {
    return near(WheelPath::evaluate(joined, at), WheelPath::evaluate(piece, at));
  };
  if (segments[first].kink && !fits(from, from.start - kLanePast)) return false;
  if (!fits(to, end) || (segments[last + 1].kink && !fits(to, end + kLanePast))) return false;
  for (std::size_t i = first; i <= last; ++i) {
    const PathPiece& piece = segments[i].piece;
    if (!fits(piece, piece.start) || !fits(piece, 0.5 * (piece.start + segments[i].end)))
      return false;
  }
  return true;
}

}  // namespace

std::vector<WheelPiece> lane_pieces(const WheelPath& path) {
  const std::vector<Segment> segments = segments_of(path);
  std::vector<WheelPiece> lanes;
  std::size_t last = 0;  // that the piece before holds
  for (std::size_t first = 0; first < segments.size();) {
    PathPiece piece = segments[first].piece;
    // As many segments as the piece before held at its end, then more or fewer.
    const auto may_end = [&](std::size_t at) {
      return at + 1 < segments.size() && !segments[at].kink;
    };
    std::size_t most = std::max(first, last);
    PathPiece joined;
    while (most > first && !join(segments, first, most, joined)) --most;
    if (most > first) piece = joined;
    while (may_end(most + 1) && join(segments, first, most + 1, joined)) {
      piece = joined;
      ++most;
    }
    // The next begins where a good part of this one is still to come.
    const double latest = segments[most].end - kOverlap * (segments[most].end - piece.start);
    std::size_t next = first + 1;
    while (next < most && segments[next].end <= latest) ++next;
    WheelPiece lane;
    lane.start = piece.start;
    lane.height = piece.c[0];
    for (std::size_t c = 0; c < 5; ++c) lane.slope[c] = static_cast<float>(piece.c[c + 1]);
    lane.length = static_cast<float>(segments[next - 1].end - piece.start);
    lane.reach = static_cast<float>(segments[most].end - piece.start);
    lane.kink = segments[first].kink;
    lane.kink_after = most + 1 < segments.size() && segments[most + 1].kink;
    lanes.push_back(lane);
    last = most;
    first = next;
  }
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
  lanes.pieces.push_back({std::numeric_limits<float>::quiet_NaN(), 0.0F, 0.0F, 0.0F, 0.0F});
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

LawView view(const LaneLaw& law) { return {law.pieces.data(), law.first.data()}; }

}  // namespace plunge
