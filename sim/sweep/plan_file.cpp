#include "sim/sweep/plan_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/input/settle.hpp"
#include "sim/sweep/plan_content.hpp"
#include "sim/sweep/plan_reader.hpp"

namespace plunge {
namespace {

// "key = value: rule", the first few of them.
std::string in_words(const Faults& faults) {
  constexpr std::size_t kMostSaid = 3;
  std::string text;
  for (std::size_t i = 0; i < std::min(faults.size(), kMostSaid); ++i) {
    Fault fault = faults[i];
    fault.place = {};
    text += (text.empty() ? "" : "; ") + to_string(fault);
  }
  if (faults.size() > kMostSaid) {
    text += fmt::format("; and {} faults more", faults.size() - kMostSaid);
  }
  return text;
}

}  // namespace

Plan::Plan(std::shared_ptr<const PlanContent> content) : content_(std::move(content)) {}

const std::string& Plan::path() const { return content_->path; }
const std::string& Plan::name() const { return content_->name; }
const std::vector<GridAxis>& Plan::grid() const { return content_->grid; }
const std::vector<SampledNumber>& Plan::sampled() const { return content_->sampled; }
Design Plan::design() const { return content_->design; }
std::size_t Plan::points() const { return content_->points; }
std::size_t Plan::base_points() const { return content_->base_points; }
const HoldSetup& Plan::hold() const { return content_->hold; }
const Keep& Plan::keep() const { return content_->keep; }
std::size_t Plan::size() const { return content_->size; }
std::size_t Plan::shard_size() const { return content_->shard_size; }
std::size_t Plan::shards() const {
  return (content_->size + content_->shard_size - 1) / content_->shard_size;
}
const std::string& Plan::resolved() const { return content_->resolved; }
const std::string& Plan::guesses() const { return content_->guesses; }

const ReadTexts& Plan::texts() const { return content_->texts; }

std::vector<std::size_t> Plan::index(std::size_t number) const {
  if (number >= content_->size) throw std::out_of_range("a ride past the end of its plan");
  std::vector<std::size_t> index(content_->grid.size() + 1);
  index.back() = number % content_->points;
  number /= content_->points;
  for (std::size_t i = content_->grid.size(); i-- > 0;) {
    const std::size_t count = content_->grid[i].values.size();
    index[i] = number % count;
    number /= count;
  }
  return index;
}

std::vector<double> Plan::sample(std::size_t row) const {
  if (row >= content_->points) throw std::out_of_range("a row past the end of the sample");
  std::vector<double> values(content_->sampled.size());
  for (std::size_t j = 0; j < values.size(); ++j) values[j] = content_->sampled_value(row, j);
  return values;
}

PlannedRide Plan::ride(std::size_t number) const {
  const std::vector<std::size_t> at = index(number);
  const PlanContent& content = *content_;
  std::size_t base_number = 0;
  for (std::size_t i = 0; i < content.grid.size(); ++i) {
    if (!content.knobs[i]) base_number = base_number * content.grid[i].values.size() + at[i];
  }
  const PlanBase& base = content.bases[base_number];
  PlannedRide ride;
  ride.setup = base.setup;
  ride.ground = base.ground;
  for (std::size_t i = 0; i < content.grid.size(); ++i) {
    if (!content.knobs[i]) continue;
    content.knobs[i]->put(ride.setup, content.grid[i].values[at[i]]);
    if (content.knobs[i]->shapes_ground()) {
      ride.ground = ride.ground * content.grid[i].values.size() + at[i];
    }
  }
  const std::size_t numbers = content.sampled.size();
  const std::size_t row = at.back();
  for (std::size_t j = 0; j < numbers; ++j) {
    content.sampled_knobs[j].put(ride.setup, content.sampled_value(row, j));
  }
  fill_defaults(ride.setup);

  const auto refuse_unread = [&](const Knob& knob) {
    if (ride.failure.empty() && !knob.is_read(ride.setup)) {
      ride.failure = fmt::format("{}: is not read by {}", knob.name, base.label);
    }
  };
  for (const auto& knob : content.knobs) {
    if (knob) refuse_unread(*knob);
  }
  for (const Knob& knob : content.sampled_knobs) refuse_unread(knob);
  if (!ride.failure.empty()) return ride;

  if (content.samples_ground) ride.ground = ride.ground * content.points + row;
  const auto judged = [&](const Setup& setup) {
    // Each row has a ground of its own: nothing to keep.
    if (content.samples_ground) return judge_ground_of(setup);
    return content.grounds->judged(ride.ground, setup);
  };
  ride.failure = in_words(settle(ride.setup, judged, {}));
  return ride;
}

Plan load_plan(const std::string& path) { return load_plan(disk_files(), path); }

Plan load_plan(const TextFiles& files, const std::string& path) {
  return Plan(read_plan(files, path));
}

}  // namespace plunge
