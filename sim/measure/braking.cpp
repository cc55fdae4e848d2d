#include "sim/measure/braking.hpp"

#include <algorithm>

namespace plunge {
namespace {

// Calls seen(begin, end) for every time in which an event brakes, phases that follow each other
// joined.
template <class Seen>
void each_braking(const RideLine& line, double end_time, Seen seen) {
  const std::vector<RidePhase>& phases = line.phases();
  for (std::size_t i = 0; i < phases.size(); ++i) {
    if (!phases[i].brakes) continue;
    const double begin = phases[i].start;
    while (i + 1 < phases.size() && phases[i + 1].brakes) ++i;
    const double end = i + 1 < phases.size() ? phases[i + 1].start : end_time;
    if (std::min(end, end_time) > begin) seen(begin, std::min(end, end_time));
  }
}

// Adds what of [begin, end] an event brakes in.
void add(BrakeLoss& loss, const RideLine& line, double begin, double end) {
  each_braking(line, end, [&](double from, double to) {
    const double start = std::max(from, begin);
    const double time = to - start;
    if (!(time > 0.0)) return;
    if (!(loss.time > 0.0)) loss.first = line.at(start).distance;
    loss.time += time;
    if (time > loss.longest) {
      loss.longest = time;
      loss.longest_at = line.at(start).distance;
    }
  });
}

}  // namespace

double braking_time(const RideLine& line, double end_time) {
  double time = 0.0;
  each_braking(line, end_time, [&](double begin, double end) { time += end - begin; });
  return time;
}

BrakeLosses brake_losses(const RideLine& line, const std::vector<Located>& located,
                         double end_time) {
  BrakeLosses losses;
  if (!(braking_time(line, end_time) > 0.0)) return losses;
  bool off = false;
  bool slips = false;
  double since = 0.0;
  const auto pass = [&](double time) {
    if (off) {
      add(losses.air, line, since, time);
    } else if (slips) {
      add(losses.grip, line, since, time);
    }
    since = time;
  };
  for (const Located& one : located) {
    const bool lifts = one.what == "lift_off";
    const bool loses = one.what == "brake_limited_by_grip";
    const bool lands = one.what == "touch_down";
    const bool grips = one.what == "brake_grips";
    if (!(lifts || lands || loses || grips)) continue;
    pass(one.time);
    if (lifts || lands) off = lifts;
    if (loses || grips) slips = loses;
  }
  pass(end_time);
  return losses;
}

}  // namespace plunge
