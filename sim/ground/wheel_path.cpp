#include "sim/ground/wheel_path.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>
#include <utility>

#include "models/laws/constants.hpp"

namespace plunge {

namespace {

constexpr double kBucketWidth = 0.05;       // widest bucket, so that no scan is long [m]
constexpr double kMostBuckets = 4'000'000;  // bound on memory for a path of hundreds of km

[[noreturn]] void refuse(std::size_t piece, const std::string& rule) {
  throw std::invalid_argument("wheel path, piece " + std::to_string(piece) + ": " + rule);
}

bool linear(const PathPiece& piece) {
  return piece.c[2] == 0.0 && piece.c[3] == 0.0 && piece.c[4] == 0.0 && piece.c[5] == 0.0;
}

void check_pieces(const std::vector<PathPiece>& pieces, const std::vector<std::size_t>& kinks) {
  if (pieces.empty()) throw std::invalid_argument("wheel path: must have at least one piece");
  if (pieces.size() > std::numeric_limits<std::uint32_t>::max()) {
    throw std::invalid_argument("wheel path: must have fewer than 2^32 pieces");
  }
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    bool finite = std::isfinite(pieces[i].start);
    for (const double c : pieces[i].c) finite = finite && std::isfinite(c);
    if (!finite) refuse(i, "numbers must be finite");
  }
  if (!linear(pieces.front())) refuse(0, "the first piece must be linear");
  if (!linear(pieces.back())) refuse(pieces.size() - 1, "the last piece must be linear");

  for (std::size_t k = 0; k < kinks.size(); ++k) {
    if (kinks[k] < 1 || kinks[k] >= pieces.size()) refuse(kinks[k], "no kink can be here");
    if (k > 0 && kinks[k] <= kinks[k - 1]) refuse(kinks[k], "kinks must be in rising order");
  }
  std::size_t next_kink = 0;
  for (std::size_t i = 1; i < pieces.size(); ++i) {
    if (!(pieces[i].start > pieces[i - 1].start)) refuse(i, "starts must rise");
    const bool kink = next_kink < kinks.size() && kinks[next_kink] == i;
    if (kink) ++next_kink;
    const PathPoint<double> before = WheelPath::evaluate(pieces[i - 1], pieces[i].start);
    if (!(std::abs(before.height - pieces[i].c[0]) <= WheelPath::kJoinHeight)) {
      refuse(i, "must begin at the height where the piece before it ends");
    }
    if (!kink && !(std::abs(before.slope - pieces[i].c[1]) <= WheelPath::kJoinSlope)) {
      refuse(i, "must begin with the slope of the piece before it, or be named a kink");
    }
  }
}

}  // namespace

WheelPath::WheelPath(std::vector<PathPiece> pieces, const std::vector<std::size_t>& kinks)
    : pieces_(std::move(pieces)) {
  check_pieces(pieces_, kinks);
  starts_.reserve(pieces_.size());
  for (const PathPiece& piece : pieces_) starts_.push_back(piece.start);

  stretches_.push_back({0, pieces_.size() - 1, -kInfinity, kInfinity});
  for (const std::size_t kink : kinks) {
    stretches_.back().last = kink - 1;
    stretches_.back().end = starts_[kink];
    stretches_.push_back({kink, pieces_.size() - 1, starts_[kink], kInfinity});
  }

  const double span = starts_.back() - starts_.front();
  const double wanted = 2.0 * static_cast<double>(pieces_.size()) + span / kBucketWidth;
  const auto buckets = static_cast<std::size_t>(std::min(wanted, kMostBuckets));
  bucket_start_ = starts_.front();
  buckets_per_metre_ = span > 0.0 ? static_cast<double>(buckets) / span : 0.0;
  bucket_.resize(buckets);
  std::size_t i = 0;
  for (std::size_t k = 0; k < buckets; ++k) {
    // A hair early, so that rounding of the bucket number never skips a piece.
    const double edge = span > 0.0
                            ? bucket_start_ + (static_cast<double>(k) - 1e-6) / buckets_per_metre_
                            : bucket_start_;
    while (i + 1 < starts_.size() && starts_[i + 1] <= edge) ++i;
    bucket_[k] = static_cast<std::uint32_t>(i);
  }
}

WheelPath WheelPath::level() { return WheelPath({PathPiece{}}, {}); }

std::size_t WheelPath::stretch_at(double s) const {
  const auto after = std::upper_bound(
      stretches_.begin() + 1, stretches_.end(), s,
      [](double distance, const Stretch& stretch) { return distance < stretch.begin; });
  return static_cast<std::size_t>(after - stretches_.begin()) - 1;
}

PathPiece quintic_between(double start, const PathPoint<double>& a, double end,
                          const PathPoint<double>& b) {
  const double d = end - start;
  // What the parabola of the start leaves to be made up at the end, in units of height.
  const double height = b.height - a.height - d * (a.slope + 0.5 * d * a.curvature);
  const double slope = d * (b.slope - a.slope - d * a.curvature);
  const double curvature = d * d * (b.curvature - a.curvature);
  const double per = 1.0 / d;
  const double per3 = per * per * per;
  return {
      start,
      {a.height, a.slope, 0.5 * a.curvature, per3 * (10.0 * height - 4.0 * slope + 0.5 * curvature),
       per3 * per * (-15.0 * height + 7.0 * slope - curvature),
       per3 * per * per * (6.0 * height - 3.0 * slope + 0.5 * curvature)}};
}

}  // namespace plunge
