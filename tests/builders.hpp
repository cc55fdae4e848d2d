// Features of the ground and events of a ride for tests, each by the numbers that make it; what is
// left out is unset, and fill_defaults() fills it.
#pragma once

#include <utility>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

inline Feature flat(double length, double grade = 0.0) {
  Feature feature;
  feature.length = length;
  feature.grade = grade;
  return feature;
}

inline Feature bump(BumpShape shape, double length, double height) {
  Feature feature;
  feature.kind = FeatureKind::bump;
  feature.shape = shape;
  feature.length = length;
  feature.height = height;
  return feature;
}

inline Feature bumps(BumpShape shape, double length, double height, double spacing, double count) {
  Feature feature = bump(shape, length, height);
  feature.kind = FeatureKind::bumps;
  feature.spacing = spacing;
  feature.count = count;
  return feature;
}

inline Feature drop(double height, double angle = 0.0, double landing = 0.0, double run_out = 0.0) {
  Feature feature;
  feature.kind = FeatureKind::drop;
  feature.height = height;
  feature.landing_angle = angle;
  feature.landing_length = landing;
  feature.run_out = run_out;
  return feature;
}

inline Feature rough(double length, double density, double longest, double shortest = kUnset,
                     double fade = kUnset, double seed = kUnset) {
  Feature feature;
  feature.kind = FeatureKind::rough;
  feature.length = length;
  feature.roughness = density;
  feature.longest = longest;
  feature.shortest = shortest;
  feature.fade = fade;
  feature.seed = seed;
  return feature;
}

inline Feature profile(ProfileJoin join, std::vector<double> distance,
                       std::vector<double> elevation, double scale = 1.0) {
  Feature feature;
  feature.kind = FeatureKind::profile;
  feature.join = join;
  feature.distance = std::move(distance);
  feature.elevation = std::move(elevation);
  feature.scale = scale;
  return feature;
}

// A feature of which only the kind is known.
inline Feature of_kind(FeatureKind kind) {
  Feature feature;
  feature.kind = kind;
  return feature;
}

inline RideEvent braking(double at, double rate, double to_speed, double rise = kUnset) {
  RideEvent event;
  event.kind = EventKind::brake;
  event.at = at;
  event.rate = rate;
  event.to_speed = to_speed;
  event.rise = rise;
  event.front_share = 0.7;
  return event;
}

inline RideEvent accelerating(double at, double rate, double to_speed, double rise = kUnset) {
  RideEvent event = braking(at, rate, to_speed, rise);
  event.kind = EventKind::accelerate;
  event.front_share = kUnset;
  return event;
}

inline RideEvent corner(double at, double lean, double length, double rise = kUnset) {
  RideEvent event;
  event.kind = EventKind::corner;
  event.at = at;
  event.lean = lean;
  event.length = length;
  event.rise = rise;
  return event;
}

}  // namespace plunge
