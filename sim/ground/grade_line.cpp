#include "sim/ground/grade_line.hpp"

#include <array>
#include <cmath>

#include "models/laws/constants.hpp"

namespace plunge {
namespace {

constexpr double kNodesInWindow = 32.0;
constexpr std::size_t kMargin = 24;  // nodes of even slope at either end
constexpr double kLevel = 1e-13;     // a slope that is rounding [1]

// Gauss's rule of three points on [0, 1].
constexpr std::array kGaussPlaces = {0.1127016653792583, 0.5, 0.8872983346207417};
constexpr std::array kGaussWeights = {5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0};

// Integrals of y' from the first node on: alone, with cos(k s) and with sin(k s).
struct Moments {
  double rise = 0.0;
  double cosine = 0.0;
  double sine = 0.0;
};

class Smoother {
 public:
  Smoother(const GroundCurves& curves, double window)
      : curves_(curves), k_(2.0 * kPi / window), step_(window / kNodesInWindow) {
    const double begin = curves.front()->end();
    const double end = curves.back()->begin();
    half_ = static_cast<std::size_t>(kNodesInWindow) / 2;
    const std::size_t margin = half_ + kMargin;
    start_ = begin - static_cast<double>(margin) * step_;
    const auto inside = static_cast<std::size_t>(std::ceil((end - begin) / step_));
    moments_.resize(inside + 2 * margin + 1);
    integrate();
  }

  double step() const { return step_; }
  // The first node whose window lies on the ground.
  double start() const { return start_ + static_cast<double>(half_) * step_; }

  std::vector<double> slopes(double window) const {
    std::vector<double> list;
    list.reserve(moments_.size() - 2 * half_);
    for (std::size_t i = half_; i + half_ < moments_.size(); ++i) {
      const Moments& from = moments_[i - half_];
      const Moments& to = moments_[i + half_];
      const double at = k_ * node(i);
      const double slope = (to.rise - from.rise + std::cos(at) * (to.cosine - from.cosine) +
                            std::sin(at) * (to.sine - from.sine)) /
                           window;
      list.push_back(std::abs(slope) < kLevel ? 0.0 : slope);
    }
    return list;
  }

 private:
  double node(std::size_t i) const { return start_ + static_cast<double>(i) * step_; }

  void integrate() {
    std::size_t next = 1;  // the node that is integrated up to
    double from = start_;
    Moments sum;
    for (std::size_t c = 0; c < curves_.size(); ++c) {
      const GroundCurve& curve = *curves_[c];
      if (c > 0)
        add_face(sum, curve.begin(),
                 curve.at(curve.begin()).height - curves_[c - 1]->at(curve.begin()).height);
      const bool finite = std::isfinite(curve.begin()) && std::isfinite(curve.end());
      const std::vector<double> knots =
          finite && !curve.straight() ? curve.samples() : std::vector<double>();
      std::size_t knot = 0;
      while (next < moments_.size()) {
        while (knot < knots.size() && knots[knot] <= from) ++knot;
        double to = std::min(node(next), curve.end());
        if (knot < knots.size()) to = std::min(to, knots[knot]);
        add(sum, curve, from, to);
        from = to;
        if (to >= node(next)) moments_[next++] = sum;
        if (to >= curve.end()) break;
      }
    }
  }

  void add_face(Moments& sum, double place, double jump) const {
    if (std::abs(jump) >= kLeastFace) return;
    sum.rise += jump;
    sum.cosine += jump * std::cos(k_ * place);
    sum.sine += jump * std::sin(k_ * place);
  }

  // By parts, so that a curve may begin or end upright.
  void add(Moments& sum, const GroundCurve& curve, double from, double to) const {
    if (!(to > from)) return;
    const double base = curve.at(from).height;
    const double rise = curve.at(to).height - base;
    const double width = to - from;
    double with_sine = 0.0;
    double with_cosine = 0.0;
    for (std::size_t i = 0; i < kGaussPlaces.size(); ++i) {
      const double s = from + kGaussPlaces[i] * width;
      const double y = (curve.at(s).height - base) * kGaussWeights[i] * width;
      with_sine += y * std::sin(k_ * s);
      with_cosine += y * std::cos(k_ * s);
    }
    sum.rise += rise;
    sum.cosine += rise * std::cos(k_ * to) + k_ * with_sine;
    sum.sine += rise * std::sin(k_ * to) - k_ * with_cosine;
  }

  const GroundCurves& curves_;
  double k_;
  double step_;
  std::size_t half_ = 0;
  double start_ = 0.0;
  std::vector<Moments> moments_;
};

// First derivatives of the cubic spline through even nodes, 0 at both ends.
std::vector<double> spline_rates(const std::vector<double>& value, double step) {
  const std::size_t n = value.size();
  std::vector<double> rate(n, 0.0);
  std::vector<double> over(n, 0.0);
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double pivot = 4.0 - over[i - 1];
    over[i] = 1.0 / pivot;
    rate[i] = (3.0 * (value[i + 1] - value[i - 1]) / step - rate[i - 1]) / pivot;
  }
  for (std::size_t i = n - 1; i-- > 1;) rate[i] -= over[i] * rate[i + 1];
  return rate;
}

}  // namespace

GradeLine::GradeLine(const GroundCurves& curves, double window, double middle) {
  if (!(window > 0.0)) return;
  const Smoother smoother(curves, window);
  const std::vector<double> slope = smoother.slopes(window);
  if (std::ranges::all_of(slope, [](double t) { return t == 0.0; })) return;
  step_ = smoother.step();
  per_step_ = 1.0 / step_;
  const std::vector<double> rate = spline_rates(slope, step_);
  // Before the first piece and behind the last one the slope is even.
  start_ = smoother.start() - step_ + middle;
  pieces_.reserve(slope.size() + 1);
  pieces_.push_back({{slope.front()}});
  for (std::size_t i = 0; i + 1 < slope.size(); ++i) {
    const double chord = (slope[i + 1] - slope[i]) * per_step_;
    pieces_.push_back({{slope[i], rate[i], (3.0 * chord - 2.0 * rate[i] - rate[i + 1]) * per_step_,
                        (rate[i] + rate[i + 1] - 2.0 * chord) * per_step_ * per_step_}});
  }
  pieces_.push_back({{slope.back()}});
}

}  // namespace plunge
