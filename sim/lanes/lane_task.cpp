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
  const GradeLine& grade = *ride.grade;
  task.grades = grade.pieces();
  task.grade_start = grade.start_of(0);
  task.grade_step = grade.step();
  task.grades_per_metre = 1.0 / grade.step();
  const Motion<double> motion = motion_at(grade, ride.line->phases().front(), 0.0);
  const Course<double> line = rider.course(motion);
  const double place = rider.wheel_position(task.start, motion.distance, line);
  task.first_piece = piece_at(task.pieces, place);
  const PathPoint<double> point = point_on(task.pieces[task.first_piece], place);
  task.modes = modes_of(rider, task.start, line, point);
  task.cosine = line.cosine;
  task.wheel_speed = rider.ground_contact(task.start, line, point).wheel_speed;
  task.phases = ride.line->phases();
  task.duration = ride.line->duration();
  task.bumper_start = rider.bumper.start;
  task.metal_limit = rider.metal.limit;

  outcome.record = {};
  outcome.record.start_travel = task.start[kTravel];
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
