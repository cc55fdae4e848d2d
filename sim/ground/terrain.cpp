#include "sim/ground/terrain.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>

#include "models/laws/constants.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/ground/envelope.hpp"
#include "sim/ground/ground_curve.hpp"
#include "sim/ground/rough.hpp"

namespace plunge {

namespace {

constexpr double kStep = 1e-9;              // a jump of height that counts as a step [m]
constexpr std::size_t kMostDrawn = 20'000;  // points of one curve in the drawing

[[noreturn]] void refuse(std::size_t feature, const std::string& field, const std::string& value,
                         const std::string& rule) {
  std::string key = fmt::format("terrain[{}]", feature);
  if (!field.empty()) key += "." + field;
  throw InputError(Fault{key, value, rule, {}});
}

// Lays features end to end as curves.
class GroundLayer {
 public:
  explicit GroundLayer(const std::vector<Feature>& features) {
    const bool flat_first = !features.empty() && features.front().kind == FeatureKind::flat;
    add<LineCurve>(-kInfinity, 0.0, 0.0, 0.0, flat_first ? grade(features.front()) : 0.0);
    for (const Feature& feature : features) {
      lay(feature);
      ++feature_;
    }
    const bool flat_last = !features.empty() && features.back().kind == FeatureKind::flat;
    add<LineCurve>(s_, kInfinity, s_, y_, flat_last ? grade(features.back()) : 0.0);
  }

  const GroundCurves& curves() const { return curves_; }
  // Which feature a curve belongs to.
  std::size_t feature_of(std::size_t curve) const { return feature_of_[curve]; }
  double length() const { return s_; }

 private:
  template <class Curve, class... Arguments>
  void add(Arguments&&... arguments) {
    curves_.push_back(std::make_unique<Curve>(std::forward<Arguments>(arguments)...));
    feature_of_.push_back(feature_);
    if (std::isfinite(curves_.back()->end())) s_ = curves_.back()->end();
  }

  double given(const char* field, double value) const {
    if (!std::isfinite(value)) refuse(feature_, field, "", "must be given");
    return value;
  }

  double grade(const Feature& feature) const { return std::tan(given("grade", feature.grade)); }

  void line(double length, double slope) {
    add<LineCurve>(s_, s_ + length, s_, y_, slope);
    y_ += slope * length;
  }

  void lay(const Feature& feature) {
    switch (feature.kind) {
      case FeatureKind::flat:
        line(given("length", feature.length), grade(feature));
        break;
      case FeatureKind::bump:
        lay_bump(feature);
        break;
      case FeatureKind::bumps:
        lay_bumps(feature);
        break;
      case FeatureKind::drop:
        lay_drop(feature);
        break;
      case FeatureKind::rough:
        lay_rough(feature);
        break;
      case FeatureKind::profile:
        lay_profile(feature);
        break;
    }
  }

  void lay_bump(const Feature& feature) {
    const double length = given("length", feature.length);
    const double height = given("height", feature.height);
    switch (feature.shape) {
      case BumpShape::half_sine:
        add<SineCurve>(s_, length, y_, height);
        break;
      case BumpShape::cosine:
        add<CosineCurve>(s_, length, y_, height);
        break;
      case BumpShape::square:
        add<LineCurve>(s_, s_ + length, s_, y_ + height, 0.0);
        break;
      case BumpShape::ramp:
        add<LineCurve>(s_, s_ + length, s_, y_, height / length);
        break;
      case BumpShape::root: {
        const double half = 0.5 * length;
        if (height == 0.0) {
          line(length, 0.0);
        } else {
          const double radius = 0.5 * (half * half + height * height) / height;
          add<ArcCurve>(s_, s_ + length, s_ + half, y_ + height, radius);
        }
        break;
      }
    }
  }

  void lay_bumps(const Feature& feature) {
    const double count = given("count", feature.count);
    const double start = s_;
    for (double i = 0.0; i < count; ++i) {
      const double next = start + i * given("spacing", feature.spacing);
      if (next - s_ > kStep) line(next - s_, 0.0);
      lay_bump(feature);
    }
  }

  void lay_drop(const Feature& feature) {
    y_ -= given("height", feature.height);
    const double angle = given("landing_angle", feature.landing_angle);
    if (angle == 0.0) return;
    line(given("landing_length", feature.landing_length), -std::tan(angle));
    const double run_out = given("run_out", feature.run_out);
    if (run_out == 0.0) return;
    const double radius = run_out / std::sin(angle);
    y_ -= radius * (1.0 - std::cos(angle));
    add<ArcCurve>(s_, s_ + run_out, s_ + run_out, y_, -radius);
  }

  void lay_rough(const Feature& feature) {
    const double length = given("length", feature.length);
    const Roughness roughness{given("roughness", feature.roughness),
                              given("longest", feature.longest),
                              given("shortest", feature.shortest), given("fade", feature.fade),
                              static_cast<std::uint64_t>(given("seed", feature.seed))};
    if (!in_range(roughness.fade, 0.0, 0.5 * length)) {
      refuse(feature_, "fade", fmt::format("{} m", roughness.fade),
             fmt::format("must be at most half of the length ({} m)", length));
    }
    if (!(roughness.fade == 0.0 || in_range(roughness.fade, kShortestFade, length))) {
      refuse(feature_, "fade", fmt::format("{} m", roughness.fade),
             fmt::format("must be 0 or at least {} m", kShortestFade));
    }
    RoughGround rough = rough_ground(roughness, length);
    add<NodeCurve>(s_, y_, rough.step, std::move(rough.nodes));
  }

  void lay_profile(const Feature& feature) {
    const std::size_t count = feature.distance.size();
    if (count < 2 || feature.elevation.size() != count) {
      refuse(feature_, "distance", fmt::format("{} values", count),
             "must hold at least two values, and elevation as many");
    }
    const double scale = given("scale", feature.scale);
    std::vector<double> distance(count);
    std::vector<double> height(count);
    for (std::size_t i = 0; i < count; ++i) {
      distance[i] = s_ + given("distance", feature.distance[i] - feature.distance[0]);
      height[i] = y_ + scale * given("elevation", feature.elevation[i] - feature.elevation[0]);
    }
    const bool smooth = feature.join == ProfileJoin::smooth;
    const std::vector<PathPoint<double>> nodes =
        smooth ? natural_spline(distance, height) : std::vector<PathPoint<double>>();
    for (std::size_t i = 0; i + 1 < count; ++i) {
      if (smooth) {
        const PathPiece cubic =
            quintic_between(distance[i], nodes[i], distance[i + 1], nodes[i + 1]);
        add<PieceCurve>(cubic, distance[i + 1]);
      } else {
        const double slope = (height[i + 1] - height[i]) / (distance[i + 1] - distance[i]);
        add<LineCurve>(distance[i], distance[i + 1], distance[i], height[i], slope);
      }
    }
    y_ = height.back();
  }

  GroundCurves curves_;
  std::vector<std::size_t> feature_of_;
  std::size_t feature_ = 0;
  double s_ = 0.0;
  double y_ = 0.0;
};

std::string field_of_step(const Feature& feature) {
  switch (feature.kind) {
    case FeatureKind::bump:
    case FeatureKind::bumps:
    case FeatureKind::drop:
      return "height";
    case FeatureKind::rough:
      return "roughness";
    case FeatureKind::profile:
      return "elevation";
    case FeatureKind::flat:
      break;
  }
  return "grade";
}

// Calls seen(curve, rise, run) for every face (run 0) and every part of a curve, from left to
// right.
template <class Seen>
void walk(const GroundLayer& layer, Seen seen) {
  const GroundCurves& curves = layer.curves();
  for (std::size_t i = 1; i < curves.size(); ++i) {
    const GroundCurve& curve = *curves[i];
    const double x = curve.begin();
    double last = x;
    double height = curve.at(x).height;
    seen(i, height - curves[i - 1]->at(x).height, 0.0);
    if (i + 1 == curves.size()) break;
    for (const double s : curve.samples()) {
      if (s == last) continue;
      const double next = curve.at(s).height;
      seen(i, next - height, s - last);
      last = s;
      height = next;
    }
  }
}

// The feature to blame for a step. A face before a flat, or before the end, is the work of the
// feature before that.
std::size_t owner(const GroundLayer& layer, const std::vector<Feature>& features, std::size_t curve,
                  bool face) {
  std::size_t feature = layer.feature_of(curve);
  while (face && feature > 0 &&
         (feature == features.size() || features[feature].kind == FeatureKind::flat)) {
    --feature;
  }
  return feature;
}

void refuse_tall_steps(const GroundLayer& layer, const std::vector<Feature>& features,
                       double radius) {
  const double limit = tallest_step(radius);
  double rise = 0.0;
  walk(layer, [&](std::size_t curve, double up, double along) {
    if (along == 0.0 && std::abs(up) <= kStep) return;
    rise = up > kSteepestContact * along ? rise + up : 0.0;
    if (rise > limit + kStep) {
      const std::size_t feature = owner(layer, features, curve, along == 0.0);
      refuse(feature, field_of_step(features[feature]), fmt::format("a step of {:.4g} m", rise),
             fmt::format("a wheel of radius {:.4g} m climbs a step of at most {:.4g} m", radius,
                         limit));
    }
  });
}

void refuse_steps(const GroundLayer& layer, const std::vector<Feature>& features) {
  walk(layer, [&](std::size_t curve, double up, double along) {
    if (std::abs(up) <= kSteepestContact * along + kStep) return;
    refuse(owner(layer, features, curve, along == 0.0), "", fmt::format("a step of {:.4g} m", up),
           fmt::format("a wheel with contact \"point\" needs ground without steps, no steeper than "
                       "{:.4g}",
                       kSteepestContact));
  });
}

void draw(const GroundCurves& curves, Ground& ground) {
  const auto point = [&](double s, double y) {
    const bool again = !ground.distance.empty() && ground.distance.back() == s &&
                       std::abs(ground.elevation.back() - y) <= kStep;
    if (again) return;
    ground.distance.push_back(s);
    ground.elevation.push_back(y);
  };
  for (std::size_t i = 1; i + 1 < curves.size(); ++i) {
    const std::vector<double> places = curves[i]->samples();
    const std::size_t stride = 1 + places.size() / kMostDrawn;
    for (std::size_t k = 0; k + 1 < places.size(); k += stride) {
      point(places[k], curves[i]->at(places[k]).height);
    }
    point(places.back(), curves[i]->at(places.back()).height);
  }
  const double end = curves.back()->begin();
  point(end, curves.back()->at(end).height);
}

void refuse_unreadable(const GroundLayer& layer, const std::vector<Feature>& features,
                       const BikeSetup& bike) {
  if (bike.contact == WheelContact::circle) refuse_tall_steps(layer, features, bike.wheel_radius);
  if (bike.contact == WheelContact::point) refuse_steps(layer, features);
}

GradeLine grade_of(const GroundLayer& layer, const BikeSetup& bike) {
  return {layer.curves(), bike.line_length, 0.5 * bike.wheelbase};
}

}  // namespace

double tallest_step(double wheel_radius) {
  return wheel_radius * (1.0 - 1.0 / std::sqrt(1.0 + kSteepestContact * kSteepestContact));
}

Faults judge_ground(const std::vector<Feature>& features, const BikeSetup& bike) {
  try {
    refuse_unreadable(GroundLayer(features), features, bike);
  } catch (const InputError& error) {
    return error.faults();
  }
  return {};
}

GradeLine build_grade(const std::vector<Feature>& features, const BikeSetup& bike) {
  return grade_of(GroundLayer(features), bike);
}

std::optional<Steepest> steepest_feature(const std::vector<Feature>& features, double from,
                                         double to, bool rising) {
  constexpr int kParts = 64;
  const GroundLayer layer(features);
  const GroundCurves& curves = layer.curves();
  std::vector<double> rise(features.size(), 0.0);
  const double width = (to - from) / kParts;
  std::size_t curve = 0;
  for (int i = 0; i < kParts && !features.empty(); ++i) {
    const double begin = from + i * width;
    while (curve + 1 < curves.size() && curves[curve]->end() <= begin + 0.5 * width) ++curve;
    const GroundCurve& here = *curves[curve];
    const double up = here.at(std::min(begin + width, here.end())).height -
                      here.at(std::max(begin, here.begin())).height;
    const double weight = 1.0 - std::cos(2.0 * kPi * (i + 0.5) / kParts);
    rise[std::min(layer.feature_of(curve), features.size() - 1)] += weight * up;
  }
  if (!rising) {
    for (double& part : rise) part = -part;
  }
  const auto most = std::ranges::max_element(rise);
  if (most == rise.end() || !(*most > 0.0)) return std::nullopt;
  const auto feature = static_cast<std::size_t>(most - rise.begin());
  const bool lands = features[feature].kind == FeatureKind::drop;
  return Steepest{feature, lands ? "landing_angle" : field_of_step(features[feature])};
}

Ground build_ground(const std::vector<Feature>& features, const BikeSetup& bike) {
  const GroundLayer layer(features);
  refuse_unreadable(layer, features, bike);
  Ground ground{WheelPath::level(), grade_of(layer, bike), layer.length(), {}, {}};
  switch (bike.contact) {
    case WheelContact::circle:
      ground.path = circle_path(layer.curves(), bike.wheel_radius, kSteepestContact);
      break;
    case WheelContact::point:
      ground.path = point_path(layer.curves());
      break;
    case WheelContact::average:
      ground.path = average_path(layer.curves(), bike.contact_length);
      break;
  }
  draw(layer.curves(), ground);
  return ground;
}

}  // namespace plunge
