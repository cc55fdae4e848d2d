#include "sim/report/result_stream.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <limits>
#include <stdexcept>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_room.hpp"
#include "sim/disk/file_kind.hpp"
#include "sim/disk/hdf5_lock.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/disk/packed.hpp"

namespace plunge {
namespace {

constexpr std::size_t kNone = std::numeric_limits<std::size_t>::max();
// A guess at what a file has besides its traces, and each ride besides its [byte].
constexpr std::uint64_t kHeadRoom = 1u << 20;
constexpr std::uint64_t kRideRoom = 1u << 14;
constexpr std::size_t kReserve = std::size_t{8} << 20;  // [byte]

Hdf5Attributes described(const std::string& unit, const std::string& long_name) {
  return {{"units", unit}, {"long_name", long_name}};
}

// One number, or text, of each ride.
struct Column {
  std::string name;
  std::string unit;
  std::string long_name;
  std::vector<double> values;
  std::vector<std::string> texts;  // empty: numbers
  std::size_t last = kNone;        // ride that had it last
};

// The named numbers of rides that come one after the other: each name once, in order of first
// appearance; NaN or empty where a ride has none.
class Columns {
 public:
  explicit Columns(std::size_t rides) : rides_(rides) {}

  Column& add(std::size_t ride, const std::string& name, const std::string& unit,
              const std::string& long_name, double value) {
    const auto same = [&](const Column& column) { return column.name == name; };
    // Rides mostly have the same names in the same order.
    if (hint_ >= columns_.size() || !same(columns_[hint_])) {
      const auto found = std::ranges::find_if(columns_, same);
      hint_ = static_cast<std::size_t>(found - columns_.begin());
      if (found == columns_.end()) {
        columns_.push_back({name, unit, long_name, std::vector<double>(rides_, kUnset), {}, kNone});
      }
    }
    Column& column = columns_[hint_];
    hint_ = (hint_ + 1) % columns_.size();
    if (column.last == ride) {
      throw std::invalid_argument(fmt::format("ride {}: two values of {}", ride, name));
    }
    if (column.unit != unit) {
      throw std::invalid_argument(fmt::format("{}: in {} and in {}", name, column.unit, unit));
    }
    column.last = ride;
    column.values[ride] = value;
    return column;
  }
  void add(std::size_t ride, const std::vector<Metric>& metrics) {
    for (const Metric& metric : metrics) {
      add(ride, metric.name, metric.unit, metric.long_name, metric.value);
    }
  }
  void add(std::size_t ride, const std::vector<NamedValue>& values) {
    for (const NamedValue& value : values) add(ride, value.name, value.unit, "", value.value);
  }
  void add(std::size_t ride, const std::vector<UsedParameter>& parameters) {
    for (const UsedParameter& used : parameters) {
      Column& column = add(ride, used.name, used.unit, used.long_name, used.value);
      if (used.text.empty()) continue;
      column.texts.resize(rides_);
      column.texts[ride] = used.text;
    }
  }
  const std::vector<Column>& all() const { return columns_; }
  const Column* find(const std::string& name) const {
    const auto found = std::ranges::find(columns_, name, &Column::name);
    return found == columns_.end() ? nullptr : &*found;
  }

 private:
  std::size_t rides_;
  std::vector<Column> columns_;
  std::size_t hint_ = 0;
};

// What the located instants of all rides are called, when they were and where.
struct LocatedColumns {
  std::vector<int> ride;
  std::vector<double> time;
  std::vector<double> distance;
  std::vector<std::uint16_t> what;  // place in words
  std::vector<std::string> words;

  void add(std::size_t number, const std::vector<Located>& located) {
    for (const Located& one : located) {
      const auto word = std::ranges::find(words, one.what);
      what.push_back(static_cast<std::uint16_t>(word - words.begin()));
      if (word == words.end()) words.push_back(one.what);
      ride.push_back(static_cast<int>(number));
      time.push_back(one.time);
      distance.push_back(one.distance);
    }
  }
};

// Size and columns of one table over all rides.
struct TableShape {
  std::string name;
  std::string row;
  std::size_t rows = 0;
  std::vector<UsedColumn> columns;  // the values are not kept

  bool is_text(std::size_t column) const { return columns[column].unit.empty(); }
};

void widen(std::vector<TableShape>& shapes, const std::vector<UsedTable>& tables) {
  for (const UsedTable& table : tables) {
    auto shape = std::ranges::find(shapes, table.name, &TableShape::name);
    if (shape == shapes.end()) {
      shapes.push_back({table.name, table.row, 0, {}});
      shape = shapes.end() - 1;
    }
    shape->rows = std::max(shape->rows, table.rows());
    for (const UsedColumn& column : table.columns) {
      if (std::ranges::find(shape->columns, column.name, &UsedColumn::name) !=
          shape->columns.end()) {
        continue;
      }
      shape->columns.push_back({column.name, column.unit, column.long_name, {}, {}});
    }
  }
}

}  // namespace

// The file while it is written. Everything but packing is done by one thread at a time.
class ResultStream::Writing {
 public:
  Writing(const std::string& path, ResultOutline outline)
      : outline_(std::move(outline)),
        path_(path),
        piece_(std::min(kTraceBlock, outline_.time.size())),
        received_(outline_.rides, 0),
        finished_(outline_.rides, false),
        metrics_(outline_.rides),
        energy_(outline_.rides),
        solver_(outline_.rides),
        set_(outline_.rides),
        held_(outline_.rides),
        file_(path),
        writer_(open()) {
    std::vector<int> numbers(outline_.rides);
    for (std::size_t i = 0; i < numbers.size(); ++i) numbers[i] = static_cast<int>(i);
    write_kind(writer_, kResultKind, outline_.title, outline_.history);
    writer_.dimension(kRide, numbers, described("1", "number of the ride"), true);
    writer_.dimension(kTime, outline_.time, described("s", "time since the start of the ride"),
                      true);
    for (const Channel& channel : outline_.channels) {
      if (piece_ == 0) continue;
      writer_.pieces("/" + channel.name, {kRide, kTime}, {1, piece_},
                     described(channel.unit, channel.long_name));
    }
  }

  void block(std::size_t ride, const std::vector<Channel>& channels) {
    const std::size_t count = demand_like_the_outline(ride, channels);
    if (count == 0) return;
    std::vector<std::string> pieces;
    std::vector<double> padded;
    for (const Channel& channel : channels) {
      if (count == piece_) {
        pieces.push_back(packed(channel.values));
        continue;
      }
      padded.assign(piece_, kUnset);
      std::ranges::copy(channel.values, padded.begin());
      pieces.push_back(packed(padded));
    }
    const std::lock_guard lock(mutex_);
    const std::lock_guard library(hdf5_lock());
    const std::size_t first = std::exchange(received_[ride], received_[ride] + count);
    longest_ = std::max(longest_, received_[ride]);
    for (std::size_t channel = 0; channel < pieces.size(); ++channel) {
      take(ride, channel, first, std::move(pieces[channel]));
    }
  }

  void finish(std::size_t ride, const Result& result) {
    const std::lock_guard lock(mutex_);
    const std::lock_guard library(hdf5_lock());
    finished_.at(ride) = true;
    Result rest;
    rest.label = result.label;
    rest.set = result.set;
    rest.held = result.held;
    rest.metrics = result.metrics;
    rest.energy = result.energy;
    rest.solver = result.solver;
    rest.located = result.located;
    rest.failure = result.failure;
    results_[ride] = std::move(rest);
    while (next_ < outline_.rides && finished_[next_]) {
      collect(next_, results_.at(next_));
      results_.erase(next_);
      ++next_;
      write_waiting();
    }
  }

  std::size_t finished() const {
    const std::lock_guard lock(mutex_);
    return next_;
  }

  void save(const Used& used) {
    if (next_ == 0) throw std::invalid_argument("a result file needs a ride");
    const std::lock_guard library(hdf5_lock());
    writer_.shorten(kRide, next_);
    if (longest_ > 0) writer_.shorten(kTime, longest_);
    Columns parameters(next_);
    std::vector<TableShape> tables;
    for (std::size_t ride = 0; ride < next_; ++ride) {
      parameters.add(ride, used.parameters(ride));
      widen(tables, used.tables(ride));
    }
    write_root(parameters, used);
    writer_.group("/parameters");
    for (const Column& column : parameters.all()) {
      Hdf5Attributes attributes = described(column.unit, column.long_name);
      if (!column.texts.empty()) attributes.erase(attributes.begin());
      attributes.push_back({"parameter", column.name});
      const std::string path = "/parameters/" + hdf5_name(column.name);
      if (column.texts.empty()) {
        writer_.variable(path, {kRide}, column.values, attributes);
      } else {
        writer_.variable(path, {kRide}, column.texts, attributes);
      }
    }
    write_tables(tables, used);
    for (const auto& [group, columns] :
         {std::pair{"/energy", &energy_}, std::pair{"/solver", &solver_}}) {
      writer_.group(group);
      write_numbers(std::string(group) + "/", *columns, {});
    }
    writer_.group("/located");
    write_located();
    writer_.close();
    give_back_room(file_.path());
    seal_file(file_);
    file_.take_name();
  }

 private:
  struct Waiting {
    std::size_t channel = 0;
    std::size_t first = 0;
    std::string piece;         // empty: in the spool
    std::uint64_t offset = 0;  // there
    std::size_t size = 0;
  };

  Hdf5Writer open() {
    const std::uint64_t traces = std::uint64_t{outline_.rides} * outline_.channels.size() *
                                 outline_.time.size() * sizeof(double);
    const std::uint64_t most = traces + traces / 64 + kHeadRoom + kRideRoom * outline_.rides;
    demand_room(path_, most);
    Hdf5Writer writer = Hdf5Writer::over(file_.path());
    hold_room(file_.path(), path_, most);
    return writer;
  }

  std::size_t demand_like_the_outline(std::size_t ride,
                                      const std::vector<Channel>& channels) const {
    if (ride >= outline_.rides || channels.size() != outline_.channels.size()) {
      throw std::invalid_argument(fmt::format("ride {}: not as in the outline", ride));
    }
    const std::size_t count = channels.empty() ? 0 : channels.front().values.size();
    for (std::size_t i = 0; i < channels.size(); ++i) {
      if (channels[i].name != outline_.channels[i].name || channels[i].values.size() != count) {
        throw std::invalid_argument(fmt::format("ride {}: {} has {} values, {} has {}", ride,
                                                channels[i].name, channels[i].values.size(),
                                                channels.front().name, count));
      }
    }
    if (count > piece_ || received_[ride] % std::max<std::size_t>(piece_, 1) != 0 ||
        received_[ride] + count > outline_.time.size()) {
      throw std::invalid_argument(fmt::format("ride {}: {} samples after {} of {}", ride, count,
                                              received_[ride], outline_.time.size()));
    }
    return count;
  }

  void take(std::size_t ride, std::size_t channel, std::size_t first, std::string piece) {
    if (ride == next_) {
      write(ride, channel, first, piece);
      return;
    }
    Waiting waiting{channel, first, {}, 0, piece.size()};
    if (in_memory_ + piece.size() <= outline_.most_waiting) {
      in_memory_ += piece.size();
      waiting.piece = std::move(piece);
    } else {
      if (!spool_) spool_.emplace(path_);
      waiting.offset = spool_end_;
      spool_->write_at(spool_end_, piece);
      spool_end_ += piece.size();
      ++in_spool_;
    }
    waiting_[ride].push_back(std::move(waiting));
  }

  void write(std::size_t ride, std::size_t channel, std::size_t first, const std::string& piece) {
    writer_.write_piece("/" + outline_.channels[channel].name, {ride, first}, piece);
  }

  // What has waited for its ride to be the next.
  void write_waiting() {
    const auto found = waiting_.find(next_);
    if (found == waiting_.end()) return;
    for (const Waiting& waiting : found->second) {
      if (!waiting.piece.empty()) {
        in_memory_ -= waiting.size;
        write(next_, waiting.channel, waiting.first, waiting.piece);
      } else {
        --in_spool_;
        write(next_, waiting.channel, waiting.first, spool_->read_at(waiting.offset, waiting.size));
      }
    }
    waiting_.erase(found);
    if (in_spool_ > 0) return;
    spool_.reset();
    spool_end_ = 0;
  }

  void collect(std::size_t ride, const Result& result) {
    labels_.push_back(result.label);
    failures_.push_back(result.failure);
    metrics_.add(ride, result.metrics);
    energy_.add(ride, result.energy);
    solver_.add(ride, result.solver);
    set_.add(ride, result.set);
    held_.add(ride, result.held);
    located_.add(ride, result.located);
  }

  std::span<const double> kept(const Column& column) const {
    return std::span(column.values).first(next_);
  }

  void write_numbers(const std::string& group, const Columns& columns, const Hdf5Attributes& more) {
    for (const Column& column : columns.all()) {
      Hdf5Attributes attributes = described(column.unit, column.long_name);
      attributes.insert(attributes.end(), more.begin(), more.end());
      writer_.variable(group + column.name, {kRide}, kept(column), attributes);
    }
  }

  // The variables of the root but the traces.
  void write_root(const Columns& parameters, const Used& used) {
    writer_.variable(root(kLabel), {kRide}, labels_,
                     {{"long_name", "what tells this ride from its neighbours"}});
    std::string coordinates = kLabel;
    for (const auto& [given, columns] : {std::pair{kSet, &set_}, std::pair{kHeld, &held_}}) {
      for (const Column& column : columns->all()) {
        const Column* known = parameters.find(column.name);
        Hdf5Attributes attributes =
            described(column.unit, known == nullptr ? column.name : known->long_name);
        attributes.push_back({"parameter", column.name});
        attributes.push_back({kGiven, std::string(given)});
        writer_.variable(root(hdf5_name(column.name)), {kRide}, kept(column), attributes);
        coordinates += " " + hdf5_name(column.name);
      }
    }
    const Hdf5Attributes with_coordinates = {{"coordinates", coordinates}};
    for (const Channel& channel : outline_.channels) {
      if (piece_ > 0) writer_.attributes(root(channel.name), with_coordinates);
    }
    write_numbers("/", metrics_, with_coordinates);
    std::vector<int> samples;
    for (std::size_t i = 0; i < next_; ++i) samples.push_back(static_cast<int>(received_[i]));
    writer_.variable(root(kSamples), {kRide}, samples,
                     described("1", "number of times before the padding"));
    writer_.text_rows(root(kSceneText), {kRide},
                      {{"long_name", "the scene, as TOML that rides again alike"}});
    for (std::size_t ride = 0; ride < next_; ++ride) {
      writer_.write_row(root(kSceneText), ride, std::vector{used.scene_text(ride)});
    }
    writer_.variable(root(kFailure), {kRide}, failures_,
                     {{"long_name", "where and why the run failed, empty if it did not"}});
  }

  // The lists of all rides: each column once, the longest ride's rows, a ride at a time.
  void write_tables(const std::vector<TableShape>& tables, const Used& used) {
    if (tables.empty()) return;
    const auto path = [](const TableShape& table, const std::string& name) {
      return "/parameters/" + hdf5_name(table.name) + "/" + name;
    };
    for (const TableShape& table : tables) {
      const std::string group = "/parameters/" + hdf5_name(table.name);
      writer_.group(group);
      writer_.attributes(group, {{"parameter", table.name}});
      std::vector<int> numbers(table.rows);
      for (std::size_t row = 0; row < table.rows; ++row) numbers[row] = static_cast<int>(row);
      const std::string axis = path(table, "row");
      writer_.dimension(axis, numbers, described("1", table.row));
      for (std::size_t i = 0; i < table.columns.size(); ++i) {
        const UsedColumn& column = table.columns[i];
        if (table.is_text(i)) {
          writer_.text_rows(path(table, column.name), {kRide, axis},
                            {{"long_name", column.long_name}});
        } else {
          writer_.rows(path(table, column.name), {kRide, axis},
                       described(column.unit, column.long_name));
        }
      }
    }
    for (std::size_t ride = 0; ride < next_; ++ride) {
      const std::vector<UsedTable> own = used.tables(ride);
      for (const TableShape& table : tables) {
        const auto found = std::ranges::find(own, table.name, &UsedTable::name);
        for (std::size_t i = 0; i < table.columns.size(); ++i) {
          const std::string variable = path(table, table.columns[i].name);
          const UsedColumn* column = nullptr;
          if (found != own.end()) {
            const auto same =
                std::ranges::find(found->columns, table.columns[i].name, &UsedColumn::name);
            if (same != found->columns.end()) column = &*same;
          }
          if (table.is_text(i)) {
            std::vector<std::string> texts(column == nullptr ? std::vector<std::string>()
                                                             : column->texts);
            texts.resize(table.rows);
            writer_.write_row(variable, ride, texts);
          } else {
            std::vector<double> values(column == nullptr ? std::vector<double>() : column->values);
            values.resize(table.rows, kUnset);
            writer_.write_row(variable, ride, values);
          }
        }
      }
    }
  }

  void write_located() {
    if (located_.what.empty()) return;  // an axis of length 0 would be an unlimited one to netCDF
    std::vector<int> event(located_.what.size());
    for (std::size_t i = 0; i < event.size(); ++i) event[i] = static_cast<int>(i);
    const std::string axis = "/located/event";
    writer_.dimension(axis, event, described("1", "number of the located instant"));
    writer_.variable("/located/ride_index", {axis}, located_.ride,
                     described("1", "number of the ride, as in /ride"));
    writer_.variable("/located/instant", {axis}, located_.time,
                     described("s", "time of the instant"));
    writer_.variable("/located/distance", {axis}, located_.distance,
                     described("m", "where the bike is then, from the start"));
    std::vector<std::string> what;
    for (const std::uint16_t word : located_.what) what.push_back(located_.words[word]);
    writer_.variable("/located/what", {axis}, what,
                     {{"long_name", "what happened: a switch of a mode or an event"}});
  }

  static std::string root(const std::string& name) { return "/" + name; }

  const ResultOutline outline_;
  const std::string path_;
  const std::size_t piece_;  // samples of a trace that are stored together
  mutable std::mutex mutex_;
  std::vector<std::size_t> received_;  // samples of each ride
  std::vector<bool> finished_;
  std::size_t longest_ = 0;
  std::size_t next_ = 0;  // the first ride that is not finished
  std::map<std::size_t, std::vector<Waiting>> waiting_;
  std::map<std::size_t, Result> results_;
  std::size_t in_memory_ = 0;  // [byte]
  std::size_t in_spool_ = 0;   // pieces
  std::uint64_t spool_end_ = 0;
  std::vector<std::string> labels_;
  std::vector<std::string> failures_;
  Columns metrics_;
  Columns energy_;
  Columns solver_;
  Columns set_;
  Columns held_;
  LocatedColumns located_;
  NewFile file_;
  std::optional<NewFile> spool_;
  Hdf5Writer writer_;
  // Memory that is given up first, being the last member, because the library crashes where it
  // finds none to close a file with.
  std::unique_ptr<char[]> reserve_ = std::make_unique<char[]>(kReserve);
};

ResultStream::ResultStream(const std::string& path, ResultOutline outline)
    : writing_(std::make_unique<Writing>(path, std::move(outline))) {}

ResultStream::~ResultStream() = default;

void ResultStream::block(std::size_t ride, const std::vector<Channel>& channels) {
  writing_->block(ride, channels);
}

void ResultStream::finish(std::size_t ride, const Result& result) {
  writing_->finish(ride, result);
}

std::size_t ResultStream::finished() const { return writing_->finished(); }

void ResultStream::save(const Used& used) { writing_->save(used); }

}  // namespace plunge
