#include "sim/report/result_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "models/setup/fault.hpp"
#include "sim/disk/file_kind.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_units.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/result_stream.hpp"

namespace plunge {
namespace {

// The longest time axis, after checking that all others are its beginning.
const std::vector<double>& shared_time(const std::vector<Result>& rides) {
  const auto longest = std::max_element(
      rides.begin(), rides.end(),
      [](const Result& a, const Result& b) { return a.time.size() < b.time.size(); });
  for (const Result& ride : rides) {
    if (!std::equal(ride.time.begin(), ride.time.end(), longest->time.begin())) {
      throw InputError(Fault{"ride.sample_rate",
                             fmt::format("{} Hz in {}", ride.setup.ride.sample_rate, ride.label),
                             fmt::format("must be the same for all rides of one file "
                                         "({} Hz in {})",
                                         longest->setup.ride.sample_rate, longest->label),
                             {}});
    }
  }
  return longest->time;
}

// The samples of a ride from one on, as many as are written at once.
std::vector<Channel> block_of(const Result& ride, std::size_t first) {
  std::vector<Channel> block;
  for (const Channel& channel : ride.channels) {
    if (channel.values.size() != ride.time.size()) {
      throw std::invalid_argument(fmt::format("{}: {} has {} values at {} times", ride.label,
                                              channel.name, channel.values.size(),
                                              ride.time.size()));
    }
    const std::size_t end = std::min(first + kTraceBlock, channel.values.size());
    block.push_back({channel.name,
                     channel.unit,
                     channel.long_name,
                     {channel.values.begin() + static_cast<std::ptrdiff_t>(first),
                      channel.values.begin() + static_cast<std::ptrdiff_t>(end)}});
  }
  return block;
}

}  // namespace

void write_result_file(const std::string& path, const ResultFile& file) {
  const std::vector<Result>& rides = file.rides;
  if (rides.empty()) throw std::invalid_argument("a result file needs a ride");
  if (file.parameters.size() != rides.size()) {
    throw std::invalid_argument("a result file needs one list of parameters per ride");
  }
  if (!file.tables.empty() && file.tables.size() != rides.size()) {
    throw std::invalid_argument("a result file needs one list of tables per ride, or none");
  }
  ResultOutline outline{file.title, file.history, rides.size(), shared_time(rides), {}, 0};
  for (const Channel& channel : rides.front().channels) {
    outline.channels.push_back({channel.name, channel.unit, channel.long_name, {}});
  }
  ResultStream stream(path, std::move(outline));
  for (std::size_t ride = 0; ride < rides.size(); ++ride) {
    for (std::size_t first = 0; first < rides[ride].time.size(); first += kTraceBlock) {
      stream.block(ride, block_of(rides[ride], first));
    }
    stream.finish(ride, rides[ride]);
  }
  const auto tables = [&](std::size_t ride) {
    return file.tables.empty() ? std::vector<UsedTable>() : file.tables[ride];
  };
  stream.save({[&](std::size_t ride) { return file.parameters[ride]; }, tables,
               [&](std::size_t ride) { return rides[ride].scene_text; }});
}

namespace {

// Reads the variables of one file, checking each against the number of rides and times.
class Unpacker {
 public:
  Unpacker(const std::string& path, Seal seal, bool traces)
      : reader_(path, seal), traces_(traces) {}

  ResultFile unpack() {
    const FileSaid said = demand_kind(reader_, kResultKind);
    file_.title = said.title;
    file_.history = said.history;
    file_.program_version = said.program_version;
    check_rank(kRide, 1);
    rides_ = reader_.shape(kRide)[0];
    if (rides_ == 0) reader_.refuse(kRide, "", "must hold a ride");
    check_rank(kTime, 1);
    times_ = reader_.shape(kTime)[0];
    std::vector<double> time;
    if (traces_) {
      time = numbers_in(reader_, kTime, "s");
      demand_rising(reader_, kTime, time);
    }
    file_.rides.resize(rides_);
    file_.parameters.resize(rides_);

    const std::vector<std::string> labels = texts_per_ride("/label");
    const std::vector<std::string> scene_texts = texts_per_ride("/scene_text");
    const std::vector<std::string> failures = texts_per_ride("/failure");
    check_shape("/samples", std::vector{rides_});
    const std::vector<int> samples = reader_.integers("/samples");
    for (std::size_t i = 0; i < rides_; ++i) {
      if (samples[i] < 0 || static_cast<std::size_t>(samples[i]) > times_) {
        reader_.refuse("/samples", std::to_string(samples[i]),
                       fmt::format("must be 0 to {}, the length of /time", times_));
      }
      Result& ride = file_.rides[i];
      ride.label = labels[i];
      ride.scene_text = scene_texts[i];
      ride.failure = failures[i];
      if (traces_) ride.time.assign(time.begin(), time.begin() + samples[i]);
    }
    unpack_root();
    unpack_parameters();
    unpack_metrics("/energy", &Result::energy);
    unpack_metrics("/solver", &Result::solver);
    unpack_located();
    return std::move(file_);
  }

 private:
  void check_rank(const std::string& path, std::size_t rank) {
    if (reader_.shape(path).size() != rank) {
      reader_.refuse(path, "", fmt::format("must have {} dimensions", rank));
    }
  }
  void check_shape(const std::string& path, const std::vector<std::size_t>& expected) {
    const std::vector<std::size_t> found = reader_.shape(path);
    if (found == expected) return;
    std::string size;
    for (const std::size_t axis : expected)
      size += fmt::format("{}{}", size.empty() ? "" : " x ", axis);
    reader_.refuse(path, "", "must have " + size + " values");
  }

  std::vector<std::string> texts_per_ride(const std::string& path) {
    check_shape(path, std::vector{rides_});
    return reader_.texts(path);
  }
  std::vector<double> numbers_per_ride(const std::string& path, const std::string& unit) {
    check_shape(path, std::vector{rides_});
    return numbers_in(reader_, path, unit);
  }
  // The SI unit of a variable that a row of the tables may say more of.
  std::string unit_of(const std::string& path, const Label* row = nullptr) {
    return si_unit_of(reader_, path, row == nullptr ? "" : row->unit);
  }
  std::string long_name(const std::string& path) {
    return reader_.text_attribute(path, "long_name");
  }

  void unpack_metric(const std::string& path, const std::string& name,
                     std::vector<Metric> Result::*member) {
    const Label* row = member == &Result::metrics ? find_metric(name) : nullptr;
    const Metric metric{name, unit_of(path, row), long_name(path), kUnset};
    const std::vector<double> values = numbers_per_ride(path, metric.unit);
    for (std::size_t i = 0; i < rides_; ++i) {
      (file_.rides[i].*member).push_back(metric);
      (file_.rides[i].*member).back().value = values[i];
    }
  }

  void unpack_metrics(const std::string& group, std::vector<Metric> Result::*member) {
    for (const std::string& name : reader_.variables(group)) {
      unpack_metric(group + "/" + name, name, member);
    }
  }

  void unpack_channel(const std::string& path, const std::string& name) {
    check_shape(path, {rides_, times_});
    if (!traces_) return;
    const Channel channel{name, unit_of(path, find_channel(name)), long_name(path), {}};
    const std::vector<double> values = numbers_in(reader_, path, channel.unit);
    for (std::size_t i = 0; i < rides_; ++i) {
      Result& ride = file_.rides[i];
      const auto begin = values.begin() + static_cast<std::ptrdiff_t>(i * times_);
      ride.channels.push_back(channel);
      ride.channels.back().values.assign(begin,
                                         begin + static_cast<std::ptrdiff_t>(ride.time.size()));
    }
  }

  void unpack_coordinate(const std::string& path) {
    const std::string given = reader_.text_attribute(path, kGiven);
    if (given != kSet && given != kHeld) {
      reader_.refuse(path, given, fmt::format("attribute given must be {} or {}", kSet, kHeld));
    }
    const NamedValue named{reader_.text_attribute(path, "parameter"), unit_of(path), kUnset};
    const std::vector<double> values = numbers_per_ride(path, named.unit);
    for (std::size_t i = 0; i < rides_; ++i) {
      if (std::isnan(values[i])) continue;
      std::vector<NamedValue>& list = given == kSet ? file_.rides[i].set : file_.rides[i].held;
      list.push_back(named);
      list.back().value = values[i];
    }
  }

  void unpack_root() {
    const std::vector<std::string> own = {"ride", "time", kLabel, kSceneText, kFailure, kSamples};
    for (const std::string& name : reader_.variables("/")) {
      if (std::find(own.begin(), own.end(), name) != own.end()) continue;
      const std::string path = "/" + name;
      if (reader_.shape(path).size() == 2) {
        unpack_channel(path, name);
      } else if (reader_.has_attribute(path, "parameter")) {
        unpack_coordinate(path);
      } else {
        unpack_metric(path, name, &Result::metrics);
      }
    }
  }

  void unpack_parameters() {
    for (const std::string& name : reader_.variables("/parameters")) {
      const std::string path = "/parameters/" + name;
      UsedParameter used;
      used.name = reader_.text_attribute(path, "parameter");
      used.long_name = long_name(path);
      const bool is_number = reader_.has_attribute(path, "units");
      std::vector<double> values(rides_, kUnset);
      std::vector<std::string> texts(rides_);
      if (is_number) {
        used.unit = unit_of(path);
        values = numbers_per_ride(path, used.unit);
      } else {
        texts = texts_per_ride(path);
      }
      for (std::size_t i = 0; i < rides_; ++i) {
        used.value = values[i];
        used.text = texts[i];
        file_.parameters[i].push_back(used);
      }
    }
  }

  void unpack_located() {
    if (!reader_.has("/located/event")) return;
    check_rank("/located/event", 1);
    const std::vector<std::size_t> size = reader_.shape("/located/event");
    for (const char* name : {"/located/ride_index", "/located/instant", "/located/what"}) {
      check_shape(name, size);
    }
    const std::vector<int> ride_index = reader_.integers("/located/ride_index");
    const std::vector<double> time = numbers_in(reader_, "/located/instant", "s");
    const std::vector<std::string> what = reader_.texts("/located/what");
    std::vector<double> distance(size[0], kUnset);  // format 4.0 has none
    if (reader_.has("/located/distance")) {
      check_shape("/located/distance", size);
      distance = numbers_in(reader_, "/located/distance", "m");
    }
    for (std::size_t i = 0; i < size[0]; ++i) {
      if (ride_index[i] < 0 || static_cast<std::size_t>(ride_index[i]) >= rides_) {
        reader_.refuse("/located/ride_index", std::to_string(ride_index[i]),
                       fmt::format("must be 0 to {}", rides_ - 1));
      }
      file_.rides[static_cast<std::size_t>(ride_index[i])].located.push_back(
          {time[i], what[i], distance[i]});
    }
  }

  Hdf5Reader reader_;
  const bool traces_;
  ResultFile file_;
  std::size_t rides_ = 0;
  std::size_t times_ = 0;
};

}  // namespace

void demand_result_file(const Hdf5Reader& reader) { demand_kind(reader, kResultKind); }

ResultFile read_result_file(const std::string& path, Seal seal, bool traces) {
  return Unpacker(path, seal, traces).unpack();
}

}  // namespace plunge
