#include "sim/ground/ground_curve.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "models/laws/constants.hpp"

namespace plunge {

namespace {

constexpr std::size_t kCurveSamples = 64;  // cells of a sine, cosine or arc
constexpr std::size_t kPieceSamples = 8;   // cells of a single polynomial
constexpr double kNodesPerPiece = 8.0;     // evenly spaced nodes that one polynomial may span

// Antiderivative of a piece from its start [m2].
double piece_area(const PathPiece& piece, double s) {
  const double u = s - piece.start;
  const auto& c = piece.c;
  return u * (c[0] + u * (c[1] / 2.0 +
                          u * (c[2] / 3.0 + u * (c[3] / 4.0 + u * (c[4] / 5.0 + u * c[5] / 6.0)))));
}

// Area between a circle of radius r > 0 and the tangent at its crest, from the crest to x [m2].
double cap_area(double x, double r) {
  const double t = x / r;
  if (std::abs(t) < 0.1) {  // the series, as the closed form cancels
    const double t2 = t * t;
    return r * r * t * t2 *
           (1.0 / 6.0 +
            t2 * (1.0 / 40.0 + t2 * (1.0 / 112.0 + t2 * (5.0 / 1152.0 + t2 * 7.0 / 2816.0))));
  }
  const double c = std::clamp(t, -1.0, 1.0);
  return r * x - 0.5 * r * r * (c * std::sqrt(1.0 - c * c) + std::asin(c));
}

std::vector<double> even_places(double begin, double end, std::size_t cells) {
  std::vector<double> places(cells + 1);
  for (std::size_t i = 0; i < cells; ++i) {
    places[i] = begin + (end - begin) * static_cast<double>(i) / static_cast<double>(cells);
  }
  places.back() = end;
  return places;
}

}  // namespace

std::vector<double> GroundCurve::samples() const {
  return even_places(begin_, end_, kCurveSamples);
}

SineCurve::SineCurve(double begin, double length, double y0, double height)
    : GroundCurve(begin, begin + length), y0_(y0), height_(height), k_(kPi / length) {}

PathPoint<double> SineCurve::at(double s) const {
  const double angle = k_ * (s - begin());
  const double sine = height_ * std::sin(angle);
  return {y0_ + sine, height_ * k_ * std::cos(angle), -k_ * k_ * sine};
}

double SineCurve::area(double from, double to) const {
  const double cosines = std::cos(k_ * (from - begin())) - std::cos(k_ * (to - begin()));
  return y0_ * (to - from) + height_ / k_ * cosines;
}

CosineCurve::CosineCurve(double begin, double length, double y0, double height)
    : GroundCurve(begin, begin + length), y0_(y0), height_(height), k_(2.0 * kPi / length) {}

PathPoint<double> CosineCurve::at(double s) const {
  const double angle = k_ * (s - begin());
  const double half = std::sin(0.5 * angle);
  return {y0_ + height_ * half * half, 0.5 * height_ * k_ * std::sin(angle),
          0.5 * height_ * k_ * k_ * std::cos(angle)};
}

double CosineCurve::area(double from, double to) const {
  const double sines = std::sin(k_ * (to - begin())) - std::sin(k_ * (from - begin()));
  return (y0_ + 0.5 * height_) * (to - from) - 0.5 * height_ / k_ * sines;
}

ArcCurve::ArcCurve(double begin, double end, double s0, double y0, double radius)
    : GroundCurve(begin, end), s0_(s0), y0_(y0), radius_(radius) {}

PathPoint<double> ArcCurve::at(double s) const {
  const double x = s - s0_;
  const double r2 = radius_ * radius_;
  // Signed like the radius; for the derivatives kept off 0, where the arc stands upright.
  const double q = std::copysign(std::sqrt(std::max(r2 - x * x, 0.0)), radius_);
  const double q_off = std::copysign(std::max(std::abs(q), 1e-6 * std::abs(radius_)), radius_);
  return {y0_ - x * x / (q + radius_), -x / q_off, -r2 / (q_off * q_off * q_off)};
}

double ArcCurve::area(double from, double to) const {
  const double r = std::abs(radius_);
  const double below = cap_area(to - s0_, r) - cap_area(from - s0_, r);
  return y0_ * (to - from) - (radius_ > 0.0 ? below : -below);
}

NodeCurve::NodeCurve(double begin, double y0, double step, std::vector<PathPoint<double>> nodes)
    : GroundCurve(begin, begin + step * static_cast<double>(nodes.size() - 1)),
      y0_(y0),
      step_(step),
      per_step_(1.0 / step),
      nodes_(std::move(nodes)) {
  sum_areas();
}

void NodeCurve::sum_areas() {
  area_.assign(nodes_.size(), 0.0);
  for (std::size_t i = 0; i + 1 < nodes_.size(); ++i) {
    const PathPoint<double>& a = nodes_[i];
    const PathPoint<double>& b = nodes_[i + 1];
    const double d = place(i + 1) - place(i);
    area_[i + 1] =
        area_[i] + d * ((a.height + b.height) / 2.0 +
                        d * ((a.slope - b.slope) / 10.0 + d * (a.curvature + b.curvature) / 120.0));
  }
}

double NodeCurve::place(std::size_t node) const {
  return begin() + step_ * static_cast<double>(node);
}

std::size_t NodeCurve::cell(double s) const {
  const std::size_t last = nodes_.size() - 2;
  if (!(s > begin())) return 0;
  const double cells = (s - begin()) * per_step_;
  return cells < static_cast<double>(last) ? static_cast<std::size_t>(cells) : last;
}

PathPiece NodeCurve::piece(std::size_t cell) const {
  return quintic_between(place(cell), nodes_[cell], place(cell + 1), nodes_[cell + 1]);
}

// The quintic of quintic_between(), in t = (s - place)/step; most of the time of rolling a wheel
// over rough ground is spent here.
PathPoint<double> NodeCurve::at(double s) const {
  const std::size_t i = cell(s);
  const double d = step_;
  const double t = (s - place(i)) * per_step_;
  const PathPoint<double>& a = nodes_[i];
  const PathPoint<double>& b = nodes_[i + 1];
  const double c1 = d * a.slope;
  const double c2 = 0.5 * d * d * a.curvature;
  const double height = b.height - a.height - c1 - c2;
  const double slope = d * b.slope - c1 - 2.0 * c2;
  const double half_curvature = 0.5 * d * d * b.curvature - c2;
  const double c3 = 10.0 * height - 4.0 * slope + half_curvature;
  const double c4 = -15.0 * height + 7.0 * slope - 2.0 * half_curvature;
  const double c5 = 6.0 * height - 3.0 * slope + half_curvature;
  return {y0_ + a.height + t * (c1 + t * (c2 + t * (c3 + t * (c4 + t * c5)))),
          per_step_ * (c1 + t * (2.0 * c2 + t * (3.0 * c3 + t * (4.0 * c4 + t * 5.0 * c5)))),
          per_step_ * per_step_ * (2.0 * c2 + t * (6.0 * c3 + t * (12.0 * c4 + t * 20.0 * c5)))};
}

double NodeCurve::area(double from, double to) const {
  const std::size_t i = cell(from);
  const std::size_t j = cell(to);
  return y0_ * (to - from) + (area_[j] - area_[i]) + piece_area(piece(j), to) -
         piece_area(piece(i), from);
}

std::vector<double> NodeCurve::samples() const {
  std::vector<double> places(nodes_.size());
  for (std::size_t i = 0; i + 1 < nodes_.size(); ++i) places[i] = place(i);
  places.back() = end();
  return places;
}

double NodeCurve::grain() const { return kNodesPerPiece * step_; }

double PieceCurve::area(double from, double to) const {
  return piece_area(piece_, to) - piece_area(piece_, from);
}

std::vector<double> PieceCurve::samples() const {
  return even_places(begin(), end(), kPieceSamples);
}

std::vector<PathPoint<double>> natural_spline(const std::vector<double>& distance,
                                              const std::vector<double>& height) {
  const std::size_t n = distance.size();
  std::vector<PathPoint<double>> nodes(n);
  for (std::size_t i = 0; i < n; ++i) nodes[i].height = height[i];
  const auto width = [&](std::size_t i) { return distance[i + 1] - distance[i]; };
  const auto chord = [&](std::size_t i) { return (height[i + 1] - height[i]) / width(i); };

  // Curvatures k: w[i-1] k[i-1] + 2 (w[i-1] + w[i]) k[i] + w[i] k[i+1] = 6 (chord[i] - chord[i-1]),
  // k = 0 at both ends; elimination forwards, then substitution backwards.
  std::vector<double> upper(n, 0.0);
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double pivot = 2.0 * (width(i - 1) + width(i)) - width(i - 1) * upper[i - 1];
    upper[i] = width(i) / pivot;
    nodes[i].curvature =
        (6.0 * (chord(i) - chord(i - 1)) - width(i - 1) * nodes[i - 1].curvature) / pivot;
  }
  nodes[n - 1].curvature = 0.0;
  for (std::size_t i = n - 1; i-- > 1;) nodes[i].curvature -= upper[i] * nodes[i + 1].curvature;

  for (std::size_t i = 0; i + 1 < n; ++i) {
    nodes[i].slope =
        chord(i) - width(i) * (2.0 * nodes[i].curvature + nodes[i + 1].curvature) / 6.0;
  }
  nodes[n - 1].slope = chord(n - 2) + width(n - 2) * (nodes[n - 2].curvature) / 6.0;
  return nodes;
}

}  // namespace plunge
