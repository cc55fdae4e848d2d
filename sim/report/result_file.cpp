#include "sim/report/result_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <functional>
#include <stdexcept>

#include "models/setup/fault.hpp"
#include "sim/disk/file_kind.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"

namespace plunge {
namespace {

const FileKind kResultKind{kResultFileType, kResultFileMajor, kResultFileMinor,
                           "the file that plunge ride writes", "ride it again"};

constexpr char kRide[] = "/ride";
constexpr char kTime[] = "/time";

// Root variables of our own; every other one is a channel, a metric or a parameter.
constexpr char kLabel[] = "label";
constexpr char kSceneText[] = "scene_text";
constexpr char kFailure[] = "failure";
constexpr char kSamples[] = "samples";

// Attribute of a coordinate: how its value came about.
constexpr char kGiven[] = "given";
constexpr char kSet[] = "set";
constexpr char kHeld[] = "held";

Hdf5Attributes described(const std::string& unit, const std::string& long_name) {
  return {{"units", unit}, {"long_name", long_name}};
}

// The named lists of all rides laid side by side: each name once, in order of first appearance.
// Items: a list type with members name and unit.
template <class Item>
struct Row {
  const Item* first = nullptr;
  std::vector<const Item*> rides;  // null where a ride has none
};

template <class Item>
std::vector<Row<Item>> side_by_side(const std::vector<const std::vector<Item>*>& lists) {
  std::vector<Row<Item>> rows;
  for (std::size_t ride = 0; ride < lists.size(); ++ride) {
    std::size_t hint = 0;  // lists mostly run in the same order
    for (const Item& item : *lists[ride]) {
      const auto same = [&](const Row<Item>& row) { return row.first->name == item.name; };
      if (hint >= rows.size() || !same(rows[hint])) {
        const auto found = std::find_if(rows.begin(), rows.end(), same);
        hint = static_cast<std::size_t>(found - rows.begin());
        if (found == rows.end()) {
          rows.push_back({&item, std::vector<const Item*>(lists.size(), nullptr)});
        }
      }
      Row<Item>& row = rows[hint++];
      if (row.rides[ride] != nullptr) {
        throw std::invalid_argument(fmt::format("ride {}: two values of {}", ride, item.name));
      }
      if (row.first->unit != item.unit) {
        throw std::invalid_argument(
            fmt::format("{}: in {} and in {}", item.name, row.first->unit, item.unit));
      }
      row.rides[ride] = &item;
    }
  }
  return rows;
}

template <class Item>
std::vector<Row<Item>> side_by_side(const std::vector<Result>& rides,
                                    std::vector<Item> Result::*member) {
  std::vector<const std::vector<Item>*> lists;
  for (const Result& ride : rides) lists.push_back(&(ride.*member));
  return side_by_side(lists);
}

template <class Item>
std::vector<double> values_of(const Row<Item>& row) {
  std::vector<double> values;
  for (const Item* item : row.rides) values.push_back(item == nullptr ? kUnset : item->value);
  return values;
}

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

void write_metrics(Hdf5Writer& writer, const std::string& group, const std::vector<Result>& rides,
                   std::vector<Metric> Result::*member, const Hdf5Attributes& more) {
  for (const Row<Metric>& row : side_by_side(rides, member)) {
    Hdf5Attributes attributes = described(row.first->unit, row.first->long_name);
    attributes.insert(attributes.end(), more.begin(), more.end());
    writer.variable(group + "/" + row.first->name, {kRide}, values_of(row), attributes);
  }
}

void write_channels(Hdf5Writer& writer, const std::vector<Result>& rides, std::size_t samples,
                    const Hdf5Attributes& more) {
  for (const Row<Channel>& row : side_by_side(rides, &Result::channels)) {
    std::vector<double> values(rides.size() * samples, kUnset);
    for (std::size_t ride = 0; ride < rides.size(); ++ride) {
      if (row.rides[ride] == nullptr) continue;
      const std::vector<double>& trace = row.rides[ride]->values;
      if (trace.size() != rides[ride].time.size()) {
        throw std::invalid_argument(fmt::format("ride {}: {} has {} values at {} times", ride,
                                                row.first->name, trace.size(),
                                                rides[ride].time.size()));
      }
      std::copy(trace.begin(), trace.end(),
                values.begin() + static_cast<std::ptrdiff_t>(ride * samples));
    }
    Hdf5Attributes attributes = described(row.first->unit, row.first->long_name);
    attributes.insert(attributes.end(), more.begin(), more.end());
    writer.variable("/" + row.first->name, {kRide, kTime}, values, attributes);
  }
}

void write_parameters(Hdf5Writer& writer, const std::vector<Row<UsedParameter>>& rows) {
  for (const Row<UsedParameter>& row : rows) {
    const std::string path = "/parameters/" + hdf5_name(row.first->name);
    std::vector<std::string> texts;
    for (const UsedParameter* used : row.rides) texts.push_back(used == nullptr ? "" : used->text);
    const bool is_text =
        std::any_of(texts.begin(), texts.end(), [](const auto& text) { return !text.empty(); });
    if (is_text) {
      writer.variable(path, {kRide}, texts,
                      {{"long_name", row.first->long_name}, {"parameter", row.first->name}});
    } else {
      Hdf5Attributes attributes = described(row.first->unit, row.first->long_name);
      attributes.push_back({"parameter", row.first->name});
      writer.variable(path, {kRide}, values_of(row), attributes);
    }
  }
}

// The columns of one table, of all rides side by side: each name once, the longest ride's rows.
void write_table(Hdf5Writer& writer, const std::vector<const UsedTable*>& rides) {
  const UsedTable* first = nullptr;
  std::size_t rows = 0;
  std::vector<const UsedColumn*> columns;
  for (const UsedTable* table : rides) {
    if (table == nullptr) continue;
    if (first == nullptr) first = table;
    rows = std::max(rows, table->rows());
    for (const UsedColumn& column : table->columns) {
      const auto same = [&](const UsedColumn* other) { return other->name == column.name; };
      if (std::none_of(columns.begin(), columns.end(), same)) columns.push_back(&column);
    }
  }
  const std::string group = "/parameters/" + hdf5_name(first->name);
  writer.group(group);
  writer.attributes(group, {{"parameter", first->name}});
  std::vector<int> numbers(rows);
  for (std::size_t row = 0; row < rows; ++row) numbers[row] = static_cast<int>(row);
  const std::string axis = group + "/row";
  writer.dimension(axis, numbers, described("1", first->row));
  for (const UsedColumn* column : columns) {
    std::vector<double> values(rides.size() * rows, kUnset);
    std::vector<std::string> texts(rides.size() * rows);
    for (std::size_t ride = 0; ride < rides.size(); ++ride) {
      if (rides[ride] == nullptr) continue;
      const auto begin = static_cast<std::ptrdiff_t>(ride * rows);
      for (const UsedColumn& own : rides[ride]->columns) {
        if (own.name != column->name) continue;
        std::copy(own.values.begin(), own.values.end(), values.begin() + begin);
        std::copy(own.texts.begin(), own.texts.end(), texts.begin() + begin);
      }
    }
    const std::string path = group + "/" + column->name;
    if (column->texts.empty()) {
      writer.variable(path, {kRide, axis}, values, described(column->unit, column->long_name));
    } else {
      writer.variable(path, {kRide, axis}, texts, {{"long_name", column->long_name}});
    }
  }
}

void write_tables(Hdf5Writer& writer, const ResultFile& file) {
  std::vector<std::string> names;
  for (const std::vector<UsedTable>& list : file.tables) {
    for (const UsedTable& table : list) {
      if (std::find(names.begin(), names.end(), table.name) == names.end()) {
        names.push_back(table.name);
      }
    }
  }
  for (const std::string& name : names) {
    std::vector<const UsedTable*> rides;
    for (const std::vector<UsedTable>& list : file.tables) {
      const auto found = std::find_if(list.begin(), list.end(),
                                      [&](const UsedTable& table) { return table.name == name; });
      rides.push_back(found == list.end() ? nullptr : &*found);
    }
    write_table(writer, rides);
  }
}

void write_located(Hdf5Writer& writer, const std::vector<Result>& rides) {
  std::vector<int> ride_index;
  std::vector<double> time;
  std::vector<std::string> what;
  for (std::size_t ride = 0; ride < rides.size(); ++ride) {
    for (const Located& located : rides[ride].located) {
      ride_index.push_back(static_cast<int>(ride));
      time.push_back(located.time);
      what.push_back(located.what);
    }
  }
  if (what.empty()) return;  // an axis of length 0 would be an unlimited one to netCDF
  std::vector<int> event(what.size());
  for (std::size_t i = 0; i < event.size(); ++i) event[i] = static_cast<int>(i);
  const std::string axis = "/located/event";
  writer.dimension(axis, event, described("1", "number of the located instant"));
  writer.variable("/located/ride_index", {axis}, ride_index,
                  described("1", "number of the ride, as in /ride"));
  writer.variable("/located/time", {axis}, time, described("s", "time of the instant"));
  writer.variable("/located/what", {axis}, what,
                  {{"long_name", std::string("what happened: a switch of a mode or an event")}});
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
  const std::vector<double>& time = shared_time(rides);
  std::vector<const std::vector<UsedParameter>*> lists;
  for (const auto& list : file.parameters) lists.push_back(&list);
  const std::vector<Row<UsedParameter>> parameters = side_by_side(lists);

  Hdf5Writer writer(rides.size() * rides[0].channels.size() * time.size() * sizeof(double));
  write_kind(writer, kResultKind, file.title, file.history);

  std::vector<int> numbers(rides.size());
  std::vector<int> samples;
  std::vector<std::string> labels, scene_texts, failures;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    numbers[i] = static_cast<int>(i);
    samples.push_back(static_cast<int>(rides[i].time.size()));
    labels.push_back(rides[i].label);
    scene_texts.push_back(rides[i].scene_text);
    failures.push_back(rides[i].failure);
  }
  writer.dimension(kRide, numbers, described("1", "number of the ride"));
  writer.dimension(kTime, time, described("s", "time since the start of the ride"));

  const auto root = [](const std::string& name) { return "/" + name; };
  writer.variable(root(kLabel), {kRide}, labels,
                  {{"long_name", std::string("what tells this ride from its neighbours")}});
  std::string coordinates = kLabel;
  for (const auto& [given, member] :
       {std::pair{kSet, &Result::set}, std::pair{kHeld, &Result::held}}) {
    for (const Row<NamedValue>& row : side_by_side(rides, member)) {
      const auto known = std::find_if(parameters.begin(), parameters.end(), [&](const auto& used) {
        return used.first->name == row.first->name;
      });
      Hdf5Attributes attributes = described(
          row.first->unit, known == parameters.end() ? row.first->name : known->first->long_name);
      attributes.push_back({"parameter", row.first->name});
      attributes.push_back({kGiven, std::string(given)});
      const std::string name = hdf5_name(row.first->name);
      writer.variable(root(name), {kRide}, values_of(row), attributes);
      coordinates += " " + name;
    }
  }
  const Hdf5Attributes with_coordinates = {{"coordinates", coordinates}};
  write_channels(writer, rides, time.size(), with_coordinates);
  write_metrics(writer, "", rides, &Result::metrics, with_coordinates);
  writer.variable(root(kSamples), {kRide}, samples,
                  described("1", "number of times before the padding"));
  writer.variable(root(kSceneText), {kRide}, scene_texts,
                  {{"long_name", std::string("the scene, as TOML that rides again alike")}});
  writer.variable(
      root(kFailure), {kRide}, failures,
      {{"long_name", std::string("where and why the run failed, empty if it did not")}});

  writer.group("/parameters");
  write_parameters(writer, parameters);
  write_tables(writer, file);
  writer.group("/energy");
  write_metrics(writer, "/energy", rides, &Result::energy, {});
  writer.group("/solver");
  write_metrics(writer, "/solver", rides, &Result::solver, {});
  writer.group("/located");
  write_located(writer, rides);
  writer.save(path);
}

namespace {

// Reads the variables of one file, checking each against the number of rides and times.
class Unpacker {
 public:
  explicit Unpacker(const std::string& path) : reader_(path) {}

  ResultFile unpack() {
    const FileSaid said = demand_kind(reader_, kResultKind);
    file_.title = said.title;
    file_.history = said.history;
    file_.program_version = said.program_version;
    check_rank(kRide, 1);
    rides_ = reader_.shape(kRide)[0];
    check_rank(kTime, 1);
    const std::vector<double> time = reader_.numbers(kTime);
    times_ = time.size();
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
      ride.time.assign(time.begin(), time.begin() + samples[i]);
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
  std::vector<double> numbers_per_ride(const std::string& path) {
    check_shape(path, std::vector{rides_});
    return reader_.numbers(path);
  }
  std::string units(const std::string& path) { return reader_.text_attribute(path, "units"); }
  std::string long_name(const std::string& path) {
    return reader_.text_attribute(path, "long_name");
  }

  void unpack_metric(const std::string& path, const std::string& name,
                     std::vector<Metric> Result::*member) {
    const Metric metric{name, units(path), long_name(path), kUnset};
    const std::vector<double> values = numbers_per_ride(path);
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
    const Channel channel{name, units(path), long_name(path), {}};
    const std::vector<double> values = reader_.numbers(path);
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
    const NamedValue named{reader_.text_attribute(path, "parameter"), units(path), kUnset};
    const std::vector<double> values = numbers_per_ride(path);
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
        used.unit = units(path);
        values = numbers_per_ride(path);
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
    for (const char* name : {"/located/ride_index", "/located/time", "/located/what"}) {
      check_shape(name, size);
    }
    const std::vector<int> ride_index = reader_.integers("/located/ride_index");
    const std::vector<double> time = reader_.numbers("/located/time");
    const std::vector<std::string> what = reader_.texts("/located/what");
    for (std::size_t i = 0; i < size[0]; ++i) {
      if (ride_index[i] < 0 || static_cast<std::size_t>(ride_index[i]) >= rides_) {
        reader_.refuse("/located/ride_index", std::to_string(ride_index[i]),
                       fmt::format("must be 0 to {}", rides_ - 1));
      }
      file_.rides[static_cast<std::size_t>(ride_index[i])].located.push_back({time[i], what[i]});
    }
  }

  Hdf5Reader reader_;
  ResultFile file_;
  std::size_t rides_ = 0;
  std::size_t times_ = 0;
};

}  // namespace

ResultFile read_result_file(const std::string& path) { return Unpacker(path).unpack(); }

}  // namespace plunge
