#include "sim/input/balance.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <utility>

#include "models/setup/parameters.hpp"
#include "models/setup/root.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"

namespace plunge {
namespace {

enum class End { rear, front };

constexpr double kJump = 0.5;         // share of the weight below which the bike jumps [1]
constexpr double kLimitWidth = 1e-4;  // bracket of a limit, as a share of what is asked [1]
constexpr double kSameMass = 1e-3;    // [kg]
constexpr double kTravelShare = 1.1;  // of the travel, that a fork under load stays below [1]

// One instant of the ride.
struct Spot {
  double time = 0.0;
  Motion<double> motion;
};

// The load on a wheel with the travel in equilibrium [N].
double load_on(End end, const Rider& rider, const Motion<double>& motion) {
  const Course<double> course = rider.course(motion);
  const PathPoint<double> ground{0.0, motion.grade.slope, 0.0};
  const double x = equilibrium(
                       rider, [&](double) { return ground; }, motion)
                       .travel;
  const double dive = rider.bike.dive_load(course, x);
  return end == End::rear ? course.rear_load - dive : course.front_load + dive;
}

// The largest share of what is asked at which the wheel stays down; `at(share)`: the ride there.
template <class At>
double share_where(const Rider& rider, End end, const At& at) {
  const auto load = [&](double share) { return load_on(end, rider, at(share)); };
  const double none = load(0.0);
  const double all = load(1.0);
  if (!(none > 0.0)) return 0.0;
  if (!(all < 0.0)) return 1.0;
  return find_root(load, 0.0, 1.0, none, all, kLimitWidth) - kLimitWidth;
}

const char* words_for(End end) {
  return end == End::rear ? "the rear wheel lifts" : "the front wheel lifts";
}

template <class Owner>
std::string said(const Owner& owner, std::span<const Field<Owner>> fields, std::string_view name) {
  const auto field = std::ranges::find(fields, name, &Field<Owner>::name);
  if (field == fields.end() || std::isnan(field->get(owner))) return {};
  return say(field->get(owner), *field);
}

// A limit in tenths, rounded towards what is allowed.
std::string tenths(double limit, std::string_view unit) {
  const double size = std::floor(std::abs(in_common_unit(limit, unit)) * 10.0) / 10.0;
  return fmt::format("{:.1f} {}", std::copysign(size, limit), unit);
}

class LoadWatch {
 public:
  LoadWatch(const Setup& setup, const Rider& rider, const GradeLine& grade, const RideLine& line)
      : setup_(setup), rider_(rider), grade_(grade), line_(line) {}

  Faults faults() {
    for (std::size_t i = 0; i < line_.phases().size(); ++i) walk(i);
    Faults list;
    for (auto& [key, worst] : worst_) list.push_back(std::move(worst.fault));
    return list;
  }

 private:
  struct Worst {
    double share = 0.0;  // as that of its stretch
    Fault fault;
  };
  // Places one after the other at which a wheel may lift, and the one that is nearest to it.
  struct Stretch {
    bool open = false;
    double share = 0.0;  // load without the dive over what presses [kg]
    Spot spot;
  };

  void walk(std::size_t number);
  void visit(const Spot& spot);
  void close(End end, Stretch& stretch);
  void blame(End end, const Spot& spot, double share);
  std::optional<Fault> blame_event(End end, const Spot& spot) const;
  std::optional<Fault> blame_ground(End end, const Spot& spot) const;
  Fault blame_speed(End end, const Spot& spot) const;
  template <class At>
  double share_where(End end, const At& at) const {
    return plunge::share_where(rider_, end, at);
  }

  const Setup& setup_;
  const Rider& rider_;
  const GradeLine& grade_;
  const RideLine& line_;
  Stretch stretches_[2];
  std::map<std::string, Worst> worst_;  // by key
};

// Loads over cos(beta), a drag that is never too small for the front and never too large for the
// rear: no root and no division. Between nodes of an even grade all runs evenly with time.
void LoadWatch::visit(const Spot& spot) {
  const BikeLine<double>& bike = rider_.bike;
  const Motion<double>& m = spot.motion;
  const double slope = m.grade.slope;
  const double secant2 = 1.0 + square(slope);
  const double kappa = square(m.speed) * m.grade.rate;
  const bool pressed = kGravity + kappa > kJump * kGravity;
  const double pressing = m.gravity + kappa;
  const double pushed =
      -(bike.total_mass * (m.acceleration * secant2 + (kGravity + kappa) * slope) +
        bike.rolling);  // P over cos(beta), but for the drag
  const double drag = bike.drag * square(m.speed) * square(secant2);
  const double by_resistance = bike.rolling * bike.axle_lever;
  const double reach = bike.dive_lever * m.gravity * secant2;
  const double load[2] = {
      (bike.total_mass - bike.front_mass) * pressing - pushed * bike.cg_lever - by_resistance,
      bike.front_mass * pressing + (pushed - drag) * bike.cg_lever + by_resistance};
  const double within[2] = {reach * (kTravelShare * rider_.travel - bike.rest_travel),
                            reach * bike.rest_travel};
  for (const End end : {End::rear, End::front}) {
    const auto e = static_cast<std::size_t>(end);
    Stretch& stretch = stretches_[e];
    if (!(pressed && load[e] < within[e])) {
      if (stretch.open) close(end, stretch);
      continue;
    }
    // The first place of those that are equally near, but for rounding.
    const double share = load[e] / pressing;
    if (!stretch.open || share < stretch.share - kSameMass) stretch = {true, share, spot};
  }
}

void LoadWatch::walk(std::size_t number) {
  const std::vector<RidePhase>& phases = line_.phases();
  const RidePhase& phase = phases[number];
  const double end_time =
      std::min(number + 1 < phases.size() ? phases[number + 1].start : kInfinity, line_.duration());
  if (!(end_time > phase.start)) return;
  const auto spot_at = [&](double time, const Grade<double>* grade) {
    Spot spot{time, phase.at(time)};
    spot.motion.grade = grade == nullptr ? grade_.at(spot.motion.distance) : *grade;
    return spot;
  };
  const Spot end = spot_at(end_time, nullptr);
  Spot spot = spot_at(phase.start, nullptr);
  visit(spot);
  if (!grade_.level()) {
    const std::size_t last = grade_.piece_at(end.motion.distance);
    for (std::size_t i = grade_.piece_at(spot.motion.distance) + 1; i <= last; ++i) {
      const GradePiece& piece = grade_.pieces()[i];
      if (piece.c[0] == 0.0 && piece.c[1] == 0.0 && !stretches_[0].open && !stretches_[1].open)
        continue;
      const double place = grade_.start_of(i);
      double time = spot.time;
      Motion<double> at = spot.motion;
      for (int pass = 0; pass < 3; ++pass) {
        time += (place - at.distance) / at.speed;
        at = phase.at(time);
        if (phase.acceleration == 0.0 && phase.jerk == 0.0) break;
      }
      const Grade<double> grade = GradeLine::evaluate(piece, 0.0);
      spot = spot_at(time, &grade);
      visit(spot);
    }
  }
  visit(end);
  for (const End wheel : {End::rear, End::front}) {
    Stretch& stretch = stretches_[static_cast<std::size_t>(wheel)];
    if (stretch.open) close(wheel, stretch);
  }
}

void LoadWatch::close(End end, Stretch& stretch) {
  stretch.open = false;
  if (load_on(end, rider_, stretch.spot.motion) > 0.0) return;
  blame(end, stretch.spot, stretch.share);
}

void LoadWatch::blame(End end, const Spot& spot, double share) {
  std::optional<Fault> fault = blame_event(end, spot);
  Spot steady = spot;
  steady.motion.acceleration = 0.0;
  if (!fault) fault = blame_ground(end, steady);
  if (!fault) fault = blame_speed(end, steady);
  const auto found = worst_.find(fault->key);
  if (found == worst_.end()) {
    worst_.emplace(fault->key, Worst{share, *fault});
  } else if (share < found->second.share) {
    found->second = {share, *fault};
  }
}

std::optional<Fault> LoadWatch::blame_event(End end, const Spot& spot) const {
  const double asked = spot.motion.acceleration;
  if (asked == 0.0 || (asked < 0.0) != (end == End::rear)) return std::nullopt;
  const double share = share_where(end, [&](double part) {
    Motion<double> motion = spot.motion;
    motion.acceleration = part * asked;
    return motion;
  });
  if (!(share > 0.0)) return std::nullopt;
  const BikeLine<double>& bike = rider_.bike;
  const double carried = end == End::rear ? bike.total_mass - bike.front_mass : bike.front_mass;
  const double level = carried / bike.total_mass * kGravity / bike.cg_lever;
  for (std::size_t i = 0; i < setup_.events.size(); ++i) {
    const RideEvent& event = setup_.events[i];
    if (event.kind == EventKind::corner || spot.time < line_.event_starts()[i] ||
        spot.time > line_.event_ends()[i]) {
      continue;
    }
    return Fault{
        fmt::format("event[{}].rate", i),
        said(event, event_fields(), "rate"),
        fmt::format("at {:.1f} m {}: at most {} can be {} there (level ground {:.1f})",
                    spot.motion.distance, words_for(end), tenths(share * std::abs(asked), "m/s2"),
                    end == End::rear ? "braked" : "accelerated", level),
        {}};
  }
  return std::nullopt;
}

std::optional<Fault> LoadWatch::blame_ground(End end, const Spot& spot) const {
  const Grade<double>& grade = spot.motion.grade;
  const double middle = spot.motion.distance - 0.5 * setup_.bike.wheelbase;
  const double half = 0.5 * setup_.bike.line_length;
  const std::optional<Steepest> steepest =
      steepest_feature(setup_.terrain, middle - half, middle + half, grade.slope > 0.0);
  if (grade.slope == 0.0 || !steepest) return std::nullopt;
  const double share = share_where(end, [&](double part) {
    Motion<double> motion = spot.motion;
    motion.grade = {part * grade.slope, part * grade.rate, part * grade.bend};
    return motion;
  });
  if (!(share > 0.0)) return std::nullopt;
  const Feature& feature = setup_.terrain[steepest->feature];
  return Fault{
      fmt::format("terrain[{}].{}", steepest->feature, steepest->field),
      said(feature, feature_fields(), steepest->field),
      fmt::format(
          "at {:.1f} m, at {:.1f} m/s on a grade of {:.1f} deg, {}: at most {} can be ridden "
          "there",
          spot.motion.distance, spot.motion.speed, in_common_unit(std::atan(grade.slope), "deg"),
          words_for(end), tenths(std::atan(share * grade.slope), "deg")),
      {}};
}

Fault LoadWatch::blame_speed(End end, const Spot& spot) const {
  const double share = share_where(end, [&](double part) {
    Motion<double> motion = spot.motion;
    motion.speed = part * spot.motion.speed;
    return motion;
  });
  std::string key = "ride.speed";
  std::string value = say(setup_.ride.speed, *find_parameter(key));
  double latest = 0.0;
  for (std::size_t i = 0; i < setup_.events.size(); ++i) {
    const RideEvent& event = setup_.events[i];
    const double start = line_.event_starts()[i];
    if (event.kind == EventKind::corner || start > spot.time || start < latest) continue;
    latest = start;
    key = fmt::format("event[{}].to_speed", i);
    value = said(event, event_fields(), "to_speed");
  }
  return {key,
          value,
          fmt::format("at {:.1f} m {}: at most {} can be ridden there", spot.motion.distance,
                      words_for(end), tenths(share * spot.motion.speed, "m/s")),
          {}};
}

}  // namespace

Faults judge_balance(const Setup& setup, const Rider& rider, const GradeLine& grade,
                     const RideLine& line) {
  return LoadWatch(setup, rider, grade, line).faults();
}

std::optional<Fault> judge_even_grade(const Rider& rider, double speed, double grade) {
  Motion<double> motion;
  motion.speed = speed;
  motion.gravity = kGravity;
  motion.grade.slope = std::tan(grade);
  for (const End end : {End::rear, End::front}) {
    if (load_on(end, rider, motion) > 0.0) continue;
    const double share = share_where(rider, end, [&](double part) {
      Motion<double> gentler = motion;
      gentler.grade.slope *= part;
      return gentler;
    });
    return Fault{"grade",
                 say(grade, "deg"),
                 fmt::format("at {:.1f} m/s {}: at most {} can be ridden", speed, words_for(end),
                             tenths(std::atan(share * motion.grade.slope), "deg")),
                 {}};
  }
  return std::nullopt;
}

std::optional<double> first_past_trust(const GradeLine& grade, const RideLine& line) {
  const double limit = std::tan(kTrustedGrade);
  const double length = line.at(line.duration()).distance;
  if (std::abs(grade.at(0.0).slope) > limit) return 0.0;
  if (grade.level()) return std::nullopt;
  const std::size_t last = grade.piece_at(length);
  for (std::size_t i = grade.piece_at(0.0) + 1; i <= last; ++i) {
    if (std::abs(grade.pieces()[i].c[0]) > limit) return grade.start_of(i);
  }
  return std::nullopt;
}

}  // namespace plunge
