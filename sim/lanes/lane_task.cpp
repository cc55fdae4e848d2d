#include "sim/lanes/lane_task.hpp"

namespace plunge {
namespace {

RiderNumbers numbers_of(const Rider& rider) {
  RiderNumbers numbers{};
  double* next = numbers.data();
  each_number(rider, [&next](double number) { *next++ = number; });
  return numbers;
}

std::size_t piece_at(std::span<const WheelPiece> pieces, double place) {
  std::size_t low = 0;
  std::size_t high = pieces.size();
  while (high - low > 1) {
    const std::size_t middle = (low + high) / 2;
    (pieces[middle].start <= place ? low : high) = middle;
  }
  return low;
}

PathPoint<double> point_on(const WheelPiece& piece, double place) {
  const double u = place - piece.start;
  double height = 0.0;
  double slope = 0.0;
  for (std::size_t c = 5; c-- > 0;) {
    height = (height + static_cast<double>(piece.slope[c])) * u;
    slope = slope * u + static_cast<double>(c + 1) * static_cast<double>(piece.slope[c]);
  }
  return {piece.height + height, slope};
}

}  // namespace

LaneTask open_task(const LaneRide& ride, const LaneWish& wish, std::size_t slack,
                   LaneOutcome& outcome) {
  LaneTask task;
  const Rider& rider = *ride.rider;
  task.numbers = numbers_of(rider);
  task.compression = ride.compression ? view(*ride.compression) : LawView{};
  task.rebound = ride.rebound ? view(*ride.rebound) : LawView{};
  task.start = *ride.start;
  task.pieces = *ride.path;
  const Motion<double> motion = ride.line->at(0.0);
  const double place = rider.wheel_position(task.start, motion.distance);
  task.first_piece = piece_at(task.pieces, place);
  task.modes = modes_of(rider, task.start, motion, point_on(task.pieces[task.first_piece], place));
  task.phases = ride.line->phases();
  task.duration = ride.line->duration();
  task.bumper_start = rider.bumper.start;
  task.metal_limit = rider.metal.limit;

  outcome.record = {};
  outcome.doubts = 0;
  task.record = &outcome.record;
  task.doubts = &outcome.doubts;
  const double whole = task.duration * wish.sample_rate;
  const std::size_t count = samples_anything(wish) ? static_cast<std::size_t>(whole) + slack : 0;
  for (std::size_t c = 0; c < kLaneChannels; ++c) {
    outcome.samples[c].resize(wish.channels[c] ? count : 0);
    task.samples[c] = outcome.samples[c].data();
  }
  return task;
}

void close_task(const LaneWish& wish, std::size_t samples, LaneOutcome& outcome) {
  for (std::size_t c = 0; c < kLaneChannels && samples_anything(wish); ++c) {
    if (wish.channels[c]) outcome.samples[c].resize(samples);
  }
}

void keep_closings(std::span<const Closing> closings, LaneOutcome& outcome) {
  outcome.record.metal.insert(outcome.record.metal.end(), closings.begin(), closings.end());
}

bool samples_anything(const LaneWish& wish) {
  bool any_channel = false;
  for (const bool wanted : wish.channels) any_channel = any_channel || wanted;
  return any_channel && wish.sample_rate > 0.0;
}

}  // namespace plunge
