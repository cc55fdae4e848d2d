#include "sim/sweep/merge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <mutex>
#include <numeric>
#include <optional>
#include <span>
#include <sstream>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/file_kind.hpp"
#include "sim/disk/hdf5_stream.hpp"
#include "sim/disk/hdf5_units.hpp"
#include "sim/disk/reading_process.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/reasons.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/team.hpp"
#include "sim/text/units.hpp"

namespace plunge {
namespace {

const FileKind kSweepKind{kSweepFileType, kSweepFormatMajor, kSweepFormatMinor,
                          "the file that plunge sweep merge writes", "sweep it again"};

constexpr std::size_t kNamed = 5;                     // missing shards that a message names
constexpr std::size_t kBlock = std::size_t{1} << 17;  // values written at once
constexpr auto kShowAfter = std::chrono::milliseconds(100);

// Path of the variable of an axis or a sampled number.
template <class Number>
std::string path_of(const Number& number) {
  return "/" + hdf5_name(number.name);
}

bool is_labelled(const GridAxis& axis) { return !axis.labels.empty(); }

// Whether the values of an axis can be its coordinate: what looks a value up by bisection needs
// them to rise, or to fall, throughout.
bool is_monotonic(const std::vector<double>& values) {
  const auto not_above = [](double a, double b) { return !(a < b); };
  const auto not_below = [](double a, double b) { return !(a > b); };
  return std::ranges::adjacent_find(values, not_above) == values.end() ||
         std::ranges::adjacent_find(values, not_below) == values.end();
}

// What stands on an axis that only counts.
constexpr const char* kLabelSuffix = "_label";
constexpr const char* kValueSuffix = "_value";
// The attributes of a coordinate, with what it is to whoever chooses.
Hdf5Attributes with_role(Hdf5Attributes attributes, Role role) {
  if (role != Role::none) attributes.push_back({"role", std::string(to_string(role))});
  return attributes;
}

Role role_named(const std::string& word) {
  for (const Role role : {Role::chosen, Role::varies}) {
    if (word == to_string(role)) return role;
  }
  return Role::none;
}

// The texts of all reasons, in the order of the rides.
class Reasons {
 public:
  int place(const std::string& text) {
    if (const auto found = places_.find(text); found != places_.end()) return found->second;
    const std::string kept = texts_.size() < kMostReasonTexts ? text : without_numbers(text);
    const auto [place, fresh] = places_.try_emplace(kept, static_cast<int>(texts_.size()));
    if (fresh) texts_.push_back(kept);
    return place->second;
  }
  const std::vector<std::string>& texts() const { return texts_; }

 private:
  std::vector<std::string> texts_{""};
  std::map<std::string, int> places_{{"", 0}};
};

// What the first reading of the shards finds.
struct Survey {
  std::vector<bool> take;  // shards to merge
  std::size_t samples = 0;
  Reasons reasons;
};

class Merger {
 public:
  Merger(const SweepFolder& folder, const Plan& plan, const std::string& path,
         const MergeOptions& options)
      : folder_(folder), plan_(plan), path_(path), options_(options) {
    report_.rides = plan.size();
    report_.shards = plan.shards();
  }

  MergeReport merge() {
    survey();
    if (report_.stopped) return report_;
    const Keep& keep = plan_.keep();
    const std::uint64_t each = sizeof(double) * keep.metrics.size() + 2 * sizeof(int) +
                               sizeof(float) * keep.traces.size() * survey_.samples;
    std::uint64_t texts = 2 * folder_.resolved.size();
    for (const std::string& reason : survey_.reasons.texts()) {
      texts += reason.size() + 2 * sizeof(double);  // and where it stands
    }
    Hdf5Stream stream(path_, each * plan_.size() + texts +
                                 sizeof(double) * plan_.points() * plan_.sampled().size());
    write_head(stream.head());
    stream.begin();
    in_threads(plan_.shards(), [&](std::size_t shard) {
      if (survey_.take[shard]) {
        write_shard(stream, read_shard_columns(shard_path(folder_, shard), plan_,
                                               folder_.fingerprint, Seal::looked_at));
      } else {
        write_nothing(stream, shard);
      }
    });
    if (has_points()) {
      in_threads((plan_.points() - 1) / kBlock + 1,
                 [&](std::size_t block) { write_points(stream, block); });
    }
    if (!report_.stopped) stream.save();
    return report_;
  }

 private:
  // Calls `work` with each of so many numbers, until it shall stop.
  template <class Work>
  void in_threads(std::size_t count, const Work& work) {
    if (report_.stopped) return;
    const std::size_t threads = std::min(count, threads_or_cores(options_.threads));
    std::atomic<std::size_t> next{0};
    Team team;
    const auto member = [&] {
      while (!team.failed() && !stopping()) {
        const std::size_t number = next++;
        if (number >= count) return;
        work(number);
        ++steps_done_;
      }
    };
    const auto watch = [&] {
      if (options_.on_progress) options_.on_progress(steps_done_, steps());
      return false;
    };
    begin_reading(threads);
    team.run(threads, member, watch, kShowAfter);
  }

  bool stopping() {
    const std::lock_guard lock(asking_);
    report_.stopped = report_.stopped || (options_.stop && options_.stop());
    return report_.stopped;
  }

  std::size_t steps() const {
    return 2 * plan_.shards() + (has_points() ? (plan_.points() - 1) / kBlock + 1 : 0);
  }

  // Looks at every shard, several at once, and counts them in their order: so the reasons get the
  // same places whatever the threads.
  void survey() {
    survey_.take = shards_there(folder_);
    survey_.take.resize(plan_.shards());
    demand_all();
    const std::vector<bool> there = survey_.take;
    in_threads(plan_.shards(), [&](std::size_t shard) {
      Found found;
      try {
        if (there[shard]) {
          found.tally = read_shard_tally(shard_path(folder_, shard), plan_, folder_.fingerprint);
        }
      } catch (const InputError& error) {
        found.faults = error.faults();
        found.complaint = error.what();
      }
      const std::lock_guard lock(counting_);
      waiting_.emplace(shard, std::move(found));
      while (!waiting_.empty() && waiting_.begin()->first == counted_) {
        count(counted_++, waiting_.begin()->second);
        waiting_.erase(waiting_.begin());
      }
    });
    if (report_.stopped) return;
    if (!damage_.empty() && !options_.partial) {
      const bool one = report_.damaged.size() == 1;
      damage_.push_back(
          {"", "",
           fmt::format("{} damaged; run the sweep again, which sets {} aside and "
                       "does {} anew, or merge the rest with --partial",
                       one ? "a shard is" : "shards are", one ? "it" : "them", one ? "it" : "them"),
           Place{folder_.path, 0, 0}});
      throw InputError(damage_);
    }
    for (std::size_t shard = 0; shard < plan_.shards(); ++shard) {
      if (!survey_.take[shard]) report_.not_ridden += rides_of_shard(plan_, shard);
    }
  }

  // What was found of a shard.
  struct Found {
    std::optional<ShardTally> tally;  // none: damaged or not there
    Faults faults;
    std::string complaint;  // empty: none
  };

  void count(std::size_t shard, const Found& found) {
    if (!found.complaint.empty()) {
      damage_.insert(damage_.end(), found.faults.begin(), found.faults.end());
      report_.damaged.push_back(found.complaint);
      survey_.take[shard] = false;
    }
    if (!found.tally) return;
    survey_.samples = std::max(survey_.samples, found.tally->samples);
    for (const std::string& text : found.tally->failed_with) survey_.reasons.place(text);
    report_.failed += found.tally->failed.size();
    report_.redone += found.tally->redone;
    ++report_.shards_merged;
  }

  void demand_all() {
    std::vector<std::string> missing;
    for (std::size_t shard = 0; shard < plan_.shards(); ++shard) {
      if (!survey_.take[shard]) missing.push_back(shard_name(shard));
    }
    if (missing.empty() || options_.partial) return;
    const std::size_t count = missing.size();
    if (count > kNamed) missing.resize(kNamed);
    throw InputError(
        Fault{"", "",
              fmt::format("{} of {} shards {} missing ({}{}); finish the sweep with "
                          "plunge sweep {}, or merge what is there with --partial",
                          count, plan_.shards(), count == 1 ? "is" : "are",
                          fmt::join(missing, ", "), count > kNamed ? ", ..." : "", folder_.path),
              Place{folder_.path, 0, 0}});
  }

  bool has_points() const { return plan_.design() != Design::none; }

  void write_head(Hdf5Writer& head) {
    write_attributes(head);
    write_grid(head);
    if (has_points()) write_points_head(head);
    write_columns(head);
    if (survey_.samples > 0) write_trace_heads(head);
  }

  void write_attributes(Hdf5Writer& head) {
    const Keep& keep = plan_.keep();
    std::vector<std::string> grid, sampled;
    for (const GridAxis& axis : plan_.grid()) grid.push_back(hdf5_name(axis.name));
    for (const SampledNumber& number : plan_.sampled()) sampled.push_back(hdf5_name(number.name));
    write_kind(head, kSweepKind, plan_.name(), sweep_history(plan_) + "\nplunge sweep merge");
    head.attributes("/", {{"plan_fingerprint", folder_.fingerprint},
                          {"lanes", std::string(to_string(folder_.lanes))},
                          {"grid", fmt::format("{}", fmt::join(grid, " "))},
                          {"design", std::string(to_string(plan_.design()))},
                          {"sampled", fmt::format("{}", fmt::join(sampled, " "))},
                          {"metrics", fmt::format("{}", fmt::join(keep.metrics, " "))},
                          {"traces", fmt::format("{}", fmt::join(keep.traces, " "))},
                          {"plan", plan_text()},
                          {"resolved_plan", folder_.resolved}});
  }

  void write_grid(Hdf5Writer& head) {
    for (const GridAxis& axis : plan_.grid()) {
      const std::string dimension = path_of(axis);
      dimensions_.push_back(dimension);
      if (!is_labelled(axis) && is_monotonic(axis.values)) {
        head.dimension(dimension, axis.values, with_role(said(axis), axis.role));
        continue;
      }
      std::vector<int> places(axis.values.size());
      std::iota(places.begin(), places.end(), 0);
      head.dimension(dimension, places,
                     {{"units", "1"}, {"long_name", "place in the plan: " + axis.meaning}});
      if (is_labelled(axis)) {
        Hdf5Attributes attributes{{"long_name", axis.meaning}};
        if (dimension != "/" + axis.name) attributes.push_back({"parameter", axis.name});
        head.variable(dimension + kLabelSuffix, {dimension}, axis.labels,
                      with_role(attributes, axis.role));
        add_coordinate(hdf5_name(axis.name) + kLabelSuffix);
      } else {
        head.variable(dimension + kValueSuffix, {dimension}, axis.values,
                      with_role(said(axis), axis.role));
        add_coordinate(hdf5_name(axis.name) + kValueSuffix);
      }
    }
  }

  void add_coordinate(const std::string& name) {
    coordinates_ += (coordinates_.empty() ? "" : " ") + name;
  }

  // The rows of the sample, and what stands on them.
  void write_points_head(Hdf5Writer& head) {
    dimensions_.emplace_back("/point");
    head.reserve_dimension("/point", plan_.points(), row_number(),
                           {{"units", "1"}, {"long_name", "row of the sample"}});
    for (const SampledNumber& number : plan_.sampled()) {
      head.reserve(path_of(number), {"/point"}, Hdf5Number::real,
                   with_role(said(number), number.role));
      add_coordinate(hdf5_name(number.name));
    }
    if (plan_.design() != Design::pick_freeze) return;
    write_matrices(head);
    add_coordinate("base_row matrix");
  }

  Hdf5Attributes with_coordinates(Hdf5Attributes attributes) const {
    if (!coordinates_.empty()) attributes.push_back({"coordinates", coordinates_});
    return attributes;
  }

  // Room for one number a ride: metrics, origin, reason; and the texts of the reasons.
  void write_columns(Hdf5Writer& head) {
    const Keep& keep = plan_.keep();
    for (const std::string& name : keep.metrics) {
      const Label& metric = *find_metric(name);
      head.reserve("/" + name, dimensions_, Hdf5Number::real,
                   with_coordinates({{"units", metric.unit}, {"long_name", metric.long_name}}));
    }
    head.reserve("/origin", dimensions_, Hdf5Number::whole,
                 with_coordinates({{"long_name", "how the row came about"},
                                   {"flag_values", std::vector{0, 1, 2, kNotRidden}},
                                   {"flag_meanings", "lanes adaptive failed not_ridden"}}));
    head.reserve("/reason", dimensions_, Hdf5Number::whole,
                 with_coordinates(reason_attributes(survey_.reasons.texts())));
    std::vector<int> numbers(survey_.reasons.texts().size());
    std::iota(numbers.begin(), numbers.end(), 0);
    head.dimension("/reason_number", numbers, {{"units", "1"}, {"long_name", "place of a reason"}});
    head.variable("/reasons", {"/reason_number"}, survey_.reasons.texts(),
                  {{"long_name", "why rides failed"}});
  }

  void write_trace_heads(Hdf5Writer& head) {
    const Keep& keep = plan_.keep();
    std::vector<double> times(survey_.samples);
    for (std::size_t k = 0; k < times.size(); ++k) {
      times[k] = static_cast<double>(k) / keep.trace_rate;
    }
    head.dimension("/sample_time", times,
                   {{"units", "s"}, {"long_name", "time since the start of the ride"}});
    std::vector<std::string> with_time = dimensions_;
    with_time.emplace_back("/sample_time");
    for (const std::string& name : keep.traces) {
      const Label& trace = *find_channel(name);
      head.reserve("/" + name, with_time, Hdf5Number::single,
                   with_coordinates({{"units", trace.unit}, {"long_name", trace.long_name}}));
    }
  }

  template <class Number>
  static Hdf5Attributes said(const Number& number) {
    return {{"units", number.unit},
            {"long_name", number.meaning},
            {"parameter", number.name},
            {"workshop_units", number.said}};
  }

  std::string plan_text() const { return plan_.texts().front().second; }

  // How rows of the sample are numbered: as integers where all fit.
  Hdf5Number row_number() const {
    const bool small = plan_.points() <= std::size_t{std::numeric_limits<int>::max()};
    return small ? Hdf5Number::whole : Hdf5Number::real;
  }

  // The base row of each row, and whether it is of A, of B, or A with one number from B.
  void write_matrices(Hdf5Writer& head) {
    std::string meanings = "A B";
    for (const SampledNumber& number : plan_.sampled()) meanings += " AB_" + hdf5_name(number.name);
    std::vector<int> values(matrices());
    std::iota(values.begin(), values.end(), 0);
    head.reserve("/base_row", {"/point"}, row_number(),
                 {{"units", "1"}, {"long_name", "base row of the pick-freeze design"}});
    head.reserve("/matrix", {"/point"}, Hdf5Number::whole,
                 {{"long_name", "matrix: A, B, or A with the named number from B"},
                  {"flag_values", values},
                  {"flag_meanings", meanings}});
  }

  std::size_t matrices() const { return plan_.sampled().size() + 2; }

  // Some rows of the sample, with their numbers and what stands on them.
  void write_points(Hdf5Stream& stream, std::size_t block) {
    const std::size_t first = block * kBlock;
    const std::size_t count = std::min(kBlock, plan_.points() - first);
    const std::vector<SampledNumber>& numbers = plan_.sampled();
    std::vector<std::vector<double>> columns(numbers.size(), std::vector<double>(count));
    for (std::size_t k = 0; k < count; ++k) {
      const std::vector<double> values = plan_.sample(first + k);
      for (std::size_t i = 0; i < numbers.size(); ++i) columns[i][k] = values[i];
    }
    for (std::size_t i = 0; i < numbers.size(); ++i) {
      stream.write(path_of(numbers[i]), first, std::span<const double>(columns[i]));
    }
    write_row_numbers(stream, "/point", first, count, 1);
    if (plan_.design() != Design::pick_freeze) return;
    write_row_numbers(stream, "/base_row", first, count, matrices());
    std::vector<int> matrix(count);
    for (std::size_t k = 0; k < count; ++k) {
      matrix[k] = static_cast<int>((first + k) % matrices());
    }
    stream.write("/matrix", first, std::span<const int>(matrix));
  }

  // Numbers of rows, or of groups of `each` of them.
  void write_row_numbers(Hdf5Stream& stream, const std::string& name, std::size_t first,
                         std::size_t count, std::size_t each) const {
    const auto write = [&](auto zero) {
      std::vector<decltype(zero)> values(count);
      for (std::size_t k = 0; k < count; ++k) {
        const std::size_t row = (first + k) / each;
        values[k] = static_cast<decltype(zero)>(row);
      }
      stream.write(name, first, std::span<const decltype(zero)>(values));
    };
    if (row_number() == Hdf5Number::whole) {
      write(int{0});
    } else {
      write(0.0);
    }
  }

  void write_shard(Hdf5Stream& stream, const ShardColumns& shard) {
    const Keep& keep = plan_.keep();
    const std::size_t count = shard.origins.size();
    for (std::size_t i = 0; i < keep.metrics.size(); ++i) {
      stream.write("/" + keep.metrics[i], shard.first, std::span<const double>(shard.metrics[i]));
    }
    std::vector<int> places;
    {
      const std::lock_guard lock(counting_);
      for (const std::string& text : shard.texts) places.push_back(survey_.reasons.place(text));
    }
    std::vector<int> reasons(count);
    for (std::size_t ride = 0; ride < count; ++ride) {
      reasons[ride] = places[static_cast<std::size_t>(shard.reasons[ride])];
    }
    stream.write("/origin", shard.first, std::span<const int>(shard.origins));
    stream.write("/reason", shard.first, std::span<const int>(reasons));
    for (std::size_t i = 0; i < keep.traces.size(); ++i) {
      const std::span<const double> table = shard.traces[i];
      write_traces(stream, "/" + keep.traces[i], shard.first, count, [&](std::size_t ride) {
        return table.subspan(ride * shard.samples, shard.samples);
      });
    }
  }

  void write_nothing(Hdf5Stream& stream, std::size_t shard) {
    const std::size_t first = shard * plan_.shard_size();
    const std::size_t count = rides_of_shard(plan_, shard);
    const std::vector<double> unset(count, kUnset);
    for (const std::string& name : plan_.keep().metrics) {
      stream.write("/" + name, first, std::span<const double>(unset));
    }
    stream.write("/origin", first, std::span<const int>(std::vector<int>(count, kNotRidden)));
    stream.write("/reason", first, std::span<const int>(std::vector<int>(count, 0)));
    for (const std::string& name : plan_.keep().traces) {
      write_traces(stream, "/" + name, first, count,
                   [](std::size_t) { return std::span<const double>(); });
    }
  }

  // Some rides' traces of one kind, each filled up with NaN.
  template <class TraceOf>
  void write_traces(Hdf5Stream& stream, const std::string& name, std::size_t first,
                    std::size_t count, TraceOf&& trace_of) {
    const std::size_t samples = survey_.samples;
    if (samples == 0) return;
    const std::size_t at_once = std::max<std::size_t>(1, kBlock / samples);
    std::vector<float> block;
    for (std::size_t begin = 0; begin < count; begin += at_once) {
      const std::size_t rides = std::min(at_once, count - begin);
      block.assign(rides * samples, std::numeric_limits<float>::quiet_NaN());
      for (std::size_t ride = 0; ride < rides; ++ride) {
        std::ranges::transform(trace_of(begin + ride),
                               block.begin() + static_cast<std::ptrdiff_t>(ride * samples),
                               [](double value) { return static_cast<float>(value); });
      }
      stream.write(name, (first + begin) * samples, std::span<const float>(block));
    }
  }

  const SweepFolder& folder_;
  const Plan& plan_;
  const std::string path_;
  const MergeOptions& options_;
  MergeReport report_;
  Survey survey_;
  std::vector<std::string> dimensions_;
  std::string coordinates_;  // of what stands on all dimensions
  std::atomic<std::size_t> steps_done_{0};
  std::mutex asking_;                     // of report_.stopped
  std::mutex counting_;                   // of what is found, and of the reasons
  std::map<std::size_t, Found> waiting_;  // for those before them
  std::size_t counted_ = 0;               // shards
  Faults damage_;
};

}  // namespace

MergeReport merge_sweep(const SweepFolder& folder, const Plan& plan, const std::string& path,
                        const MergeOptions& options) {
  return Merger(folder, plan, path, options).merge();
}

MergedSweep::MergedSweep(std::shared_ptr<const Hdf5Reader> file)
    : file_(std::move(file)), reader_(*file_) {
  title_ = demand_kind(reader_, kSweepKind).title;
  const auto attribute_of = [&](const std::string& object, const std::string& name) {
    return reader_.has_attribute(object, name) ? reader_.text_attribute(object, name) : "";
  };
  const auto describe = [&](auto& number, const std::string& name) {
    const std::string parameter = attribute_of("/" + name, "parameter");
    number.name = parameter.empty() ? name : parameter;
    number.meaning = attribute_of("/" + name, "long_name");
    number.unit = attribute_of("/" + name, "units");
    number.said = attribute_of("/" + name, "workshop_units");
    number.role = role_named(attribute_of("/" + name, "role"));
  };
  std::vector<std::size_t> shape;
  for (const std::string& name : words("grid")) {
    GridAxis axis;
    const std::vector<std::size_t> places = reader_.shape("/" + name);
    if (reader_.has("/" + name + kLabelSuffix)) {
      describe(axis, name + kLabelSuffix);
      if (!reader_.has_attribute("/" + name + kLabelSuffix, "parameter")) axis.name = name;
      axis.unit = axis.said = "1";
      axis.labels = reader_.texts("/" + name + kLabelSuffix);
      axis.values.resize(axis.labels.size());
      std::iota(axis.values.begin(), axis.values.end(), 0.0);
    } else {
      const bool counts = reader_.has("/" + name + kValueSuffix);
      const std::string values = counts ? name + kValueSuffix : name;
      describe(axis, values);
      settle_units(axis, "/" + values);
      axis.values = numbers_in(reader_, "/" + values, axis.unit);
      demand_numbers("/" + values, axis.values);
    }
    if (places != std::vector{axis.values.size()}) {
      reader_.refuse("/" + name, "", "must be as long as what stands on it");
    }
    if (axis.values.empty()) reader_.refuse("/" + name, "", "must have a value");
    shape.push_back(axis.values.size());
    grid_.push_back(std::move(axis));
  }
  const std::string design = reader_.text_attribute("/", "design");
  for (const Design known :
       {Design::sobol, Design::latin_hypercube, Design::pick_freeze, Design::joint}) {
    if (design == to_string(known)) design_ = known;
  }
  for (const std::string& name : words("sampled")) {
    SampledNumber number;
    describe(number, name);
    settle_units(number, "/" + name);
    sampled_.push_back(std::move(number));
  }
  if (design_ != Design::none) {
    const std::vector<std::size_t> points = reader_.shape("/point");
    if (points.size() != 1) reader_.refuse("/point", "", "must have one dimension");
    points_ = points[0];
    shape.push_back(points_);
    const std::size_t each = design_ == Design::pick_freeze ? sampled_.size() + 2 : 1;
    base_points_ = points_ / each;
    if (points_ == 0 || points_ % each != 0) {
      reader_.refuse("/point", fmt::format("{}", points_), "must have whole base rows");
    }
  }
  for (const std::size_t count : shape) size_ *= count;
  for (const std::string& name : words("metrics")) {
    if (reader_.shape("/" + name) != shape) {
      reader_.refuse("/" + name, "", "must be on all dimensions of the sweep");
    }
    // A metric of another version of the program is called and said as the file has it.
    const MetricRow* row = find_metric(name);
    const std::string unit = si_unit_of(reader_, "/" + name, row == nullptr ? "" : row->unit);
    const Label in_file{name, unit, attribute_of("/" + name, "long_name"), unit, 3, name};
    metrics_.push_back(row != nullptr ? *row : in_file);
  }
  if (reader_.shape("/origin") != shape || reader_.shape("/reason") != shape) {
    reader_.refuse("/origin", "", "must be on all dimensions of the sweep, as reason must");
  }
}

std::string MergedSweep::said(const std::string& attribute) const {
  return reader_.has_attribute("/", attribute) ? reader_.text_attribute("/", attribute) : "";
}

std::vector<std::string> MergedSweep::words(const std::string& attribute) const {
  std::istringstream stream(reader_.text_attribute("/", attribute));
  std::vector<std::string> words;
  for (std::string word; stream >> word;) words.push_back(word);
  return words;
}

void MergedSweep::settle_units(KnobLabel& number, const std::string& path) const {
  number.unit = si_unit_of(reader_, path);
  if (si_unit_of(number.said) != number.unit) {
    reader_.refuse(path, number.said,
                   fmt::format("its workshop_units must convert to \"{}\"", number.unit));
  }
}

void MergedSweep::demand_numbers(const std::string& path, const std::vector<double>& values) const {
  for (const double value : values) {
    if (!std::isfinite(value)) reader_.refuse(path, fmt::format("{}", value), "must be a number");
  }
}

std::vector<double> MergedSweep::metric(const std::string& name, std::size_t first,
                                        std::size_t count) const {
  const auto found = std::ranges::find(metrics_, name, &Label::name);
  if (found == metrics_.end()) reader_.refuse("/" + name, "", "is no metric of this sweep");
  return numbers_in(reader_, "/" + name, found->unit, first, count);
}

std::vector<double> MergedSweep::metric(const std::string& name) const {
  return metric(name, 0, size_);
}

std::vector<Label> MergedSweep::traces() const {
  std::vector<Label> traces;
  for (const std::string& name : words("traces")) {
    if (!reader_.has("/" + name)) continue;  // no ride has a sample
    const ChannelRow* row = find_channel(name);
    const std::string unit = si_unit_of(reader_, "/" + name, row == nullptr ? "" : row->unit);
    const Label in_file{name, unit, "", unit, 3, name};
    traces.push_back(row != nullptr ? *row : in_file);
  }
  return traces;
}

std::vector<double> MergedSweep::sample(std::size_t number, std::size_t first,
                                        std::size_t count) const {
  const SampledNumber& sampled = sampled_.at(number);
  std::vector<double> values = numbers_in(reader_, path_of(sampled), sampled.unit, first, count);
  demand_numbers(path_of(sampled), values);
  return values;
}

std::vector<double> MergedSweep::sample(std::size_t number) const {
  const SampledNumber& sampled = sampled_.at(number);
  std::vector<double> column = numbers_in(reader_, path_of(sampled), sampled.unit);
  demand_numbers(path_of(sampled), column);
  if (column.size() != points_) {
    reader_.refuse(path_of(sampled_[number]), "", "must have a value for each point");
  }
  return column;
}

std::vector<int> MergedSweep::origins(std::size_t first, std::size_t count) const {
  std::vector<int> origins = reader_.integers("/origin", first, count);
  for (const int origin : origins) {
    if (origin < 0 || origin > kNotRidden) {
      reader_.refuse("/origin", fmt::format("{}", origin), "must be 0, 1, 2 or 3");
    }
  }
  return origins;
}

std::vector<int> MergedSweep::reasons(std::size_t first, std::size_t count) const {
  std::vector<int> reasons = reader_.integers("/reason", first, count);
  const std::vector<std::size_t> texts = reader_.shape("/reasons");
  if (texts.size() != 1) reader_.refuse("/reasons", "", "must have one dimension");
  for (const int reason : reasons) {
    if (reason < 0 || static_cast<std::size_t>(reason) >= texts[0]) {
      reader_.refuse("/reason", fmt::format("{}", reason), "must be a place in reasons");
    }
  }
  return reasons;
}

std::vector<int> MergedSweep::origins() const { return origins(0, size_); }

std::vector<int> MergedSweep::reasons() const { return reasons(0, size_); }

std::vector<std::string> MergedSweep::reason_texts() const { return reader_.texts("/reasons"); }

std::vector<std::size_t> MergedSweep::index(std::size_t number) const {
  std::vector<std::size_t> index(grid_.size() + 1);
  index.back() = number % points_;
  number /= points_;
  for (std::size_t axis = grid_.size(); axis-- > 0;) {
    index[axis] = number % grid_[axis].values.size();
    number /= grid_[axis].values.size();
  }
  return index;
}

}  // namespace plunge
