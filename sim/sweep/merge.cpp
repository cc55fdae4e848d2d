#include "sim/sweep/merge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <map>
#include <numeric>
#include <sstream>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_stream.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/reasons.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep_paths.hpp"
#include "sim/text/version.hpp"

namespace plunge {
namespace {

constexpr std::size_t kNamed = 5;                     // missing shards that a message names
constexpr std::size_t kBlock = std::size_t{1} << 17;  // values written at once

// Path of the variable of an axis or a sampled number.
template <class Number>
std::string path_of(const Number& number) {
  return "/" + hdf5_name(number.name);
}

bool is_labelled(const GridAxis& axis) { return !axis.labels.empty(); }

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
    write_sample(stream);
    for (std::size_t shard = 0; shard < plan_.shards(); ++shard) {
      if (!go_on()) return report_;
      if (survey_.take[shard]) {
        write_shard(stream, read_shard(shard_path(folder_, shard), plan_, folder_.fingerprint));
      } else {
        write_nothing(stream, shard);
      }
    }
    stream.save();
    return report_;
  }

 private:
  bool go_on() {
    report_.stopped = options_.stop && options_.stop();
    if (options_.on_progress) options_.on_progress(looked_at_++, 2 * plan_.shards());
    return !report_.stopped;
  }

  void survey() {
    survey_.take = shards_there(folder_);
    survey_.take.resize(plan_.shards());
    demand_all();
    Faults damage;
    for (std::size_t shard = 0; shard < plan_.shards(); ++shard) {
      if (!go_on()) return;
      if (!survey_.take[shard]) continue;
      try {
        const ShardTally tally =
            read_shard_tally(shard_path(folder_, shard), plan_, folder_.fingerprint);
        survey_.samples = std::max(survey_.samples, tally.samples);
        for (const std::string& text : tally.failed_with) survey_.reasons.place(text);
        report_.failed += tally.failed.size();
        report_.redone += tally.redone;
        ++report_.shards_merged;
      } catch (const InputError& error) {
        survey_.take[shard] = false;
        damage.insert(damage.end(), error.faults().begin(), error.faults().end());
        report_.damaged.emplace_back(error.what());
      }
    }
    if (!damage.empty() && !options_.partial) {
      damage.push_back(
          {"", "",
           fmt::format("{} damaged; run the sweep again, which sets {} aside and "
                       "does {} anew, or merge the rest with --partial",
                       damage.size() == 1 ? "a shard is" : "shards are",
                       damage.size() == 1 ? "it" : "them", damage.size() == 1 ? "it" : "them"),
           Place{folder_.path, 0, 0}});
      throw InputError(damage);
    }
    for (std::size_t shard = 0; shard < plan_.shards(); ++shard) {
      if (!survey_.take[shard]) report_.not_ridden += rides_of_shard(plan_, shard);
    }
  }

  void demand_all() {
    std::vector<std::string> missing;
    for (std::size_t shard = 0; shard < plan_.shards(); ++shard) {
      if (!survey_.take[shard]) missing.push_back(shard_name(shard));
    }
    if (missing.empty() || options_.partial) return;
    const std::size_t count = missing.size();
    if (count > kNamed) missing.resize(kNamed);
    throw InputError(Fault{
        "", "",
        fmt::format("{} of {} shards {} missing ({}{}); finish the sweep with "
                    "plunge sweep {} -o {}, or merge what is there with --partial",
                    count, plan_.shards(), count == 1 ? "is" : "are", fmt::join(missing, ", "),
                    count > kNamed ? ", ..." : "", plan_.path(), folder_.path),
        Place{folder_.path, 0, 0}});
  }

  bool has_points() const { return plan_.design() != Design::none; }

  void write_head(Hdf5Writer& head) {
    write_attributes(head);
    write_grid(head);
    if (has_points()) write_points(head);
    write_columns(head);
    if (survey_.samples > 0) write_trace_heads(head);
  }

  void write_attributes(Hdf5Writer& head) {
    const Keep& keep = plan_.keep();
    std::vector<std::string> grid, sampled;
    for (const GridAxis& axis : plan_.grid()) grid.push_back(hdf5_name(axis.name));
    for (const SampledNumber& number : plan_.sampled()) sampled.push_back(hdf5_name(number.name));
    head.attributes("/", {{"Conventions", "CF-1.8"},
                          {"title", plan_.name()},
                          {"source", fmt::format("plunge {}", kProgramVersion)},
                          {"file_type", kSweepFileType},
                          {"format_version", std::vector{kSweepFormatMajor, kSweepFormatMinor}},
                          {"program_version", kProgramVersion},
                          {"plan_fingerprint", folder_.fingerprint},
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
      if (is_labelled(axis)) {
        Hdf5Attributes attributes{{"long_name", axis.meaning}};
        if (dimension != "/" + axis.name) attributes.push_back({"parameter", axis.name});
        head.dimension(dimension, axis.labels, with_role(attributes, axis.role));
      } else {
        head.dimension(dimension, axis.values, with_role(said(axis), axis.role));
      }
    }
  }

  // The rows of the sample, and what stands on them.
  void write_points(Hdf5Writer& head) {
    dimensions_.emplace_back("/point");
    std::vector<int> points(plan_.points());
    std::iota(points.begin(), points.end(), 0);
    head.dimension("/point", points, {{"units", "1"}, {"long_name", "row of the sample"}});
    for (const SampledNumber& number : plan_.sampled()) {
      head.reserve(path_of(number), {"/point"}, Hdf5Number::real,
                   with_role(said(number), number.role));
      coordinates_ += (coordinates_.empty() ? "" : " ") + hdf5_name(number.name);
    }
    if (plan_.design() != Design::pick_freeze) return;
    write_matrices(head);
    coordinates_ += " base_row matrix";
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
                 with_coordinates({{"long_name",
                                    "why the ride failed: place in reasons, 0: did "
                                    "not fail"}}));
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

  std::string plan_text() const {
    const std::string copy = path_in(folder_.path, kPlanCopyName);
    return read_text_file(std::filesystem::exists(copy) ? copy : plan_.path());
  }

  // The base row of each row, and whether it is of A, of B, or A with one number from B.
  void write_matrices(Hdf5Writer& head) {
    const std::size_t each = plan_.sampled().size() + 2;
    std::vector<int> base(plan_.points()), matrix(plan_.points());
    for (std::size_t row = 0; row < plan_.points(); ++row) {
      base[row] = static_cast<int>(row / each);
      matrix[row] = static_cast<int>(row % each);
    }
    std::string meanings = "A B";
    for (const SampledNumber& number : plan_.sampled()) meanings += " AB_" + hdf5_name(number.name);
    std::vector<int> values(each);
    std::iota(values.begin(), values.end(), 0);
    head.variable("/base_row", {"/point"}, base,
                  {{"units", "1"}, {"long_name", "base row of the pick-freeze design"}});
    head.variable("/matrix", {"/point"}, matrix,
                  {{"long_name", "matrix: A, B, or A with the named number from B"},
                   {"flag_values", values},
                   {"flag_meanings", meanings}});
  }

  void write_sample(Hdf5Stream& stream) {
    const std::vector<SampledNumber>& numbers = plan_.sampled();
    if (!has_points()) return;
    std::vector<std::vector<double>> block(numbers.size());
    for (std::size_t first = 0; first < plan_.points(); first += kBlock) {
      const std::size_t end = std::min(first + kBlock, plan_.points());
      for (std::vector<double>& column : block) column.clear();
      for (std::size_t row = first; row < end; ++row) {
        const std::vector<double> values = plan_.sample(row);
        for (std::size_t i = 0; i < numbers.size(); ++i) block[i].push_back(values[i]);
      }
      for (std::size_t i = 0; i < numbers.size(); ++i) {
        stream.write(path_of(numbers[i]), first, std::span<const double>(block[i]));
      }
    }
  }

  void write_shard(Hdf5Stream& stream, const Shard& shard) {
    const Keep& keep = plan_.keep();
    const std::size_t count = shard.rows.size();
    std::vector<double> column(count);
    for (std::size_t i = 0; i < keep.metrics.size(); ++i) {
      for (std::size_t ride = 0; ride < count; ++ride) {
        column[ride] = shard.rows[ride].metrics[i];
      }
      stream.write("/" + keep.metrics[i], shard.first, std::span<const double>(column));
    }
    std::vector<int> origins(count), reasons(count);
    for (std::size_t ride = 0; ride < count; ++ride) {
      origins[ride] = static_cast<int>(shard.rows[ride].origin);
      reasons[ride] = survey_.reasons.place(shard.rows[ride].failure);
    }
    stream.write("/origin", shard.first, std::span<const int>(origins));
    stream.write("/reason", shard.first, std::span<const int>(reasons));
    for (std::size_t i = 0; i < keep.traces.size(); ++i) {
      write_traces(stream, "/" + keep.traces[i], shard.first, count,
                   [&](std::size_t ride) -> const std::vector<float>& {
                     return shard.rows[ride].traces[i];
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
    const std::vector<float> none;
    for (const std::string& name : plan_.keep().traces) {
      write_traces(stream, "/" + name, first, count,
                   [&](std::size_t) -> const std::vector<float>& { return none; });
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
        std::ranges::copy(trace_of(begin + ride),
                          block.begin() + static_cast<std::ptrdiff_t>(ride * samples));
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
  std::size_t looked_at_ = 0;
};

}  // namespace

MergeReport merge_sweep(const SweepFolder& folder, const Plan& plan, const std::string& path,
                        const MergeOptions& options) {
  return Merger(folder, plan, path, options).merge();
}

MergedSweep::MergedSweep(const std::string& path) : reader_(path) {
  const auto text = [&](const std::string& name) { return reader_.text_attribute("/", name); };
  if (!reader_.has_attribute("/", "file_type") || text("file_type") != kSweepFileType) {
    reader_.refuse(
        "file_type", "",
        fmt::format("must be \"{}\": the file that plunge sweep merge writes", kSweepFileType));
  }
  const std::vector<int> format = reader_.integer_attribute("/", "format_version");
  if (format.size() != 2 || format[0] != kSweepFormatMajor) {
    reader_.refuse("format_version", format.empty() ? "" : fmt::format("{}", format[0]),
                   fmt::format("major version must be {}", kSweepFormatMajor));
  }
  title_ = text("title");
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
    describe(axis, name);
    if (axis.unit.empty()) {
      axis.unit = axis.said = "1";
      axis.labels = reader_.texts("/" + name);
      axis.values.resize(axis.labels.size());
      std::iota(axis.values.begin(), axis.values.end(), 0.0);
    } else {
      axis.values = reader_.numbers("/" + name);
    }
    shape.push_back(axis.values.size());
    grid_.push_back(std::move(axis));
  }
  const std::string design = text("design");
  for (const Design known : {Design::sobol, Design::latin_hypercube, Design::pick_freeze}) {
    if (design == to_string(known)) design_ = known;
  }
  for (const std::string& name : words("sampled")) {
    SampledNumber number;
    describe(number, name);
    sampled_.push_back(std::move(number));
  }
  if (design_ != Design::none) {
    points_ = reader_.shape("/point").at(0);
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
    const std::string unit = attribute_of("/" + name, "units");
    const Label in_file{name, unit, attribute_of("/" + name, "long_name"), unit, 3, name};
    const MetricRow* row = find_metric(name);
    metrics_.push_back(row != nullptr && row->unit == unit ? *row : in_file);
  }
  if (reader_.shape("/origin") != shape || reader_.shape("/reason") != shape) {
    reader_.refuse("/origin", "", "must be on all dimensions of the sweep, as reason must");
  }
}

std::vector<std::string> MergedSweep::words(const std::string& attribute) const {
  std::istringstream stream(reader_.text_attribute("/", attribute));
  std::vector<std::string> words;
  for (std::string word; stream >> word;) words.push_back(word);
  return words;
}

std::vector<double> MergedSweep::metric(const std::string& name) const {
  return reader_.numbers("/" + name);
}

std::vector<double> MergedSweep::sample(std::size_t number) const {
  std::vector<double> column = reader_.numbers(path_of(sampled_.at(number)));
  if (column.size() != points_) {
    reader_.refuse(path_of(sampled_[number]), "", "must have a value for each point");
  }
  return column;
}

std::vector<int> MergedSweep::origins() const { return reader_.integers("/origin"); }

std::vector<int> MergedSweep::reasons() const {
  std::vector<int> reasons = reader_.integers("/reason");
  const auto texts = static_cast<int>(reader_.shape("/reasons").at(0));
  for (const int reason : reasons) {
    if (reason < 0 || reason >= texts) {
      reader_.refuse("/reason", fmt::format("{}", reason), "must be a place in reasons");
    }
  }
  return reasons;
}

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
