#include "sim/report/result_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/knob.hpp"
#include "sim/disk/hdf5_units.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/result_file.hpp"
#include "sim/sweep/merge.hpp"

namespace plunge {
namespace {

constexpr std::size_t kMostKept = 1'000'000;  // rows of a sample that are read once and kept

using Names = std::vector<std::string>;

TableColumn number_column(Label label, std::function<double(std::size_t row)> value) {
  TableColumn column;
  static_cast<Label&>(column) = std::move(label);
  column.read = [value = std::move(value)](std::size_t first, std::size_t count) {
    TableCells cells;
    for (std::size_t row = first; row < first + count; ++row) cells.numbers.push_back(value(row));
    return cells;
  };
  return column;
}

TableColumn text_column(const std::string& name, const std::string& label,
                        std::function<Names(std::size_t first, std::size_t count)> read) {
  TableColumn column;
  static_cast<Label&>(column) = Label{name, "1", "", "1", 0, label};
  column.text = true;
  column.read = [read = std::move(read)](std::size_t first, std::size_t count) {
    return TableCells{{}, read(first, count)};
  };
  return column;
}

// The unit in which people say a number of that name.
std::string said_of(const std::string& name, const std::string& unit) {
  try {
    if (const auto knob = knob_or_none(Setup{}, name); knob && knob->unit == unit) {
      return knob->said;
    }
  } catch (const InputError&) {  // of a feature or an event, which are the file's own
  }
  constexpr std::array<std::pair<std::string_view, std::string_view>, 4> kSaid = {
      {{"m", "mm"}, {"Pa", "psi"}, {"rad", "deg"}, {"K", "degC"}}};
  const auto found = std::ranges::find(kSaid, unit, [](const auto& pair) { return pair.first; });
  return found == kSaid.end() ? unit : std::string(found->second);
}

TableColumn ride_column() {
  return number_column({"ride", "1", "number of the ride", "1", 0, "ride"},
                       [](std::size_t row) { return static_cast<double>(row); });
}

// The words for a quantity of a file: those of this program's row where it has one.
Label label_of(const Hdf5Reader& reader, const std::string& name, const Label* row) {
  const std::string path = "/" + name;
  const std::string unit = si_unit_of(reader, path, row == nullptr ? "" : row->unit);
  if (row != nullptr) return *row;
  const std::string meaning =
      reader.has_attribute(path, "long_name") ? reader.text_attribute(path, "long_name") : "";
  return {name, unit, meaning, unit, 3, name};
}

// Those of `all` that are asked for, by name; all where none is.
template <class Named>
std::vector<Named> chosen(const std::string& path, const char* option, const Names& asked,
                          const std::vector<Named>& all) {
  if (asked.empty()) return all;
  std::vector<Named> found;
  for (const std::string& name : asked) {
    const auto at = std::ranges::find(all, name, [](const Named& one) { return one.name; });
    if (at == all.end()) {
      std::vector<std::string_view> names;
      for (const Named& one : all) names.push_back(one.name);
      throw InputError(
          Fault{option, name, "is not in this file" + suggestion(name, names), Place{path, 0, 0}});
    }
    found.push_back(*at);
  }
  return found;
}

std::size_t asked_ride(const std::string& path, const TableQuestion& question, std::size_t rides) {
  const auto refuse = [&](const std::string& value, const std::string& rule) {
    throw InputError(Fault{"--ride", value, rule, Place{path, 0, 0}});
  };
  if (!question.ride && rides > 1) {
    refuse("", fmt::format("is needed with --traces: 0 to {}", rides - 1));
  }
  const std::size_t ride = question.ride.value_or(0);
  if (ride >= rides) refuse(fmt::format("{}", ride), fmt::format("must be 0 to {}", rides - 1));
  return ride;
}

// Time and traces of one ride, which stand from value number `first` on.
std::vector<TableColumn> trace_columns(const std::shared_ptr<const Hdf5Reader>& reader,
                                       const std::string& time, const std::vector<Label>& traces,
                                       std::size_t first) {
  const auto column = [&](const Label& label, const std::string& path, std::size_t offset) {
    TableColumn made;
    static_cast<Label&>(made) = label;
    made.read = [reader, path, offset, unit = label.unit](std::size_t row, std::size_t count) {
      return TableCells{numbers_in(*reader, path, unit, offset + row, count), {}};
    };
    return made;
  };
  std::vector<TableColumn> columns{
      column({"time", "s", "time since the start of the ride", "s", 3, "time"}, time, 0)};
  for (const Label& trace : traces) columns.push_back(column(trace, "/" + trace.name, first));
  return columns;
}

std::vector<TableColumn> columns_of_rides(const std::shared_ptr<const Hdf5Reader>& reader,
                                          const TableQuestion& question, std::size_t rides) {
  const auto texts = [&](const char* name, const char* label) {
    const std::string path = std::string("/") + name;
    return text_column(name, label, [reader, path](std::size_t first, std::size_t count) {
      return reader->texts(path, first, count);
    });
  };
  const auto numbers = [&](const Label& label, const std::string& path) {
    TableColumn column;
    static_cast<Label&>(column) = label;
    column.read = [reader, path, unit = label.unit](std::size_t first, std::size_t count) {
      return TableCells{numbers_in(*reader, path, unit, first, count), {}};
    };
    return column;
  };
  std::vector<TableColumn> columns{ride_column(), texts("label", "label")};
  std::vector<Label> metrics;
  for (const std::string& name : reader->variables("/")) {
    const std::string path = "/" + name;
    const bool counts = name == "ride" || name == "samples";
    if (counts || name == "time" || !reader->has_attribute(path, "units")) continue;
    const std::vector<std::size_t> shape = reader->shape(path);
    if (shape.size() == 2) continue;  // a trace
    if (shape != std::vector{rides}) {
      reader->refuse(path, "", fmt::format("must have {} values", rides));
    }
    if (!reader->has_attribute(path, "parameter")) {
      metrics.push_back(label_of(*reader, name, find_metric(name)));
      continue;
    }
    Label label = label_of(*reader, name, nullptr);
    label.label = reader->text_attribute(path, "parameter");
    label.said = said_of(label.label, label.unit);
    columns.push_back(numbers(label, path));
  }
  for (const Label& metric : chosen(reader->path(), "--metrics", question.metrics, metrics)) {
    columns.push_back(numbers(metric, "/" + metric.name));
  }
  columns.push_back(texts("failure", "failure"));
  return columns;
}

std::vector<Label> traces_of_rides(const Hdf5Reader& reader, std::size_t rides, std::size_t times) {
  std::vector<Label> traces;
  for (const std::string& name : reader.variables("/")) {
    if (reader.has_attribute("/" + name, "units") &&
        reader.shape("/" + name) == std::vector{rides, times}) {
      traces.push_back(label_of(reader, name, find_channel(name)));
    }
  }
  return traces;
}

std::size_t length_of(const Hdf5Reader& reader, const std::string& path) {
  const std::vector<std::size_t> shape = reader.shape(path);
  if (shape.size() != 1) reader.refuse(path, "", "must have one dimension");
  return shape[0];
}

// The values of a sampled number, row after row of the sample, over and over.
class SampleValues {
 public:
  SampleValues(std::shared_ptr<const MergedSweep> sweep, std::size_t number)
      : sweep_(std::move(sweep)), number_(number) {
    if (sweep_->points() <= kMostKept) kept_ = sweep_->sample(number_);
  }

  TableCells operator()(std::size_t first, std::size_t count) const {
    TableCells cells;
    while (count > 0) {
      const std::size_t at = first % sweep_->points();
      const std::size_t now = std::min(count, sweep_->points() - at);
      const auto begin = kept_.begin() + static_cast<std::ptrdiff_t>(at);
      const std::vector<double> part =
          kept_.empty() ? sweep_->sample(number_, at, now)
                        : std::vector<double>(begin, begin + static_cast<std::ptrdiff_t>(now));
      cells.numbers.insert(cells.numbers.end(), part.begin(), part.end());
      first += now;
      count -= now;
    }
    return cells;
  }

 private:
  std::shared_ptr<const MergedSweep> sweep_;
  std::size_t number_;
  std::vector<double> kept_;
};

TableColumn axis_column(const std::shared_ptr<const MergedSweep>& sweep, std::size_t number) {
  const GridAxis& axis = sweep->grid()[number];
  if (axis.labels.empty()) {
    return number_column({hdf5_name(axis.name), axis.unit, axis.meaning, axis.said, 3, axis.name},
                         [sweep, number](std::size_t row) {
                           return sweep->grid()[number].values[sweep->index(row)[number]];
                         });
  }
  return text_column(hdf5_name(axis.name), axis.name,
                     [sweep, number](std::size_t first, std::size_t count) {
                       Names names;
                       for (std::size_t row = first; row < first + count; ++row) {
                         names.push_back(sweep->grid()[number].labels[sweep->index(row)[number]]);
                       }
                       return names;
                     });
}

Names outcomes(const MergedSweep& sweep, std::size_t first, std::size_t count) {
  constexpr std::array kWords = {"lanes", "adaptive", "failed", "not ridden"};
  Names names;
  for (const int origin : sweep.origins(first, count)) {
    names.emplace_back(kWords.at(static_cast<std::size_t>(origin)));
  }
  return names;
}

std::vector<TableColumn> columns_of_sweep(const std::shared_ptr<const MergedSweep>& sweep,
                                          const TableQuestion& question) {
  std::vector<TableColumn> columns{ride_column()};
  for (std::size_t i = 0; i < sweep->grid().size(); ++i) columns.push_back(axis_column(sweep, i));
  for (std::size_t i = 0; i < sweep->sampled().size(); ++i) {
    const SampledNumber& number = sweep->sampled()[i];
    TableColumn column;
    static_cast<Label&>(column) =
        Label{hdf5_name(number.name), number.unit, number.meaning, number.said, 3, number.name};
    column.read = SampleValues(sweep, i);
    columns.push_back(std::move(column));
  }
  for (const Label& metric :
       chosen(sweep->path(), "--metrics", question.metrics, sweep->metrics())) {
    TableColumn column;
    static_cast<Label&>(column) = metric;
    column.read = [sweep, name = metric.name](std::size_t first, std::size_t count) {
      return TableCells{sweep->metric(name, first, count), {}};
    };
    columns.push_back(std::move(column));
  }
  columns.push_back(text_column(
      "outcome", "outcome",
      [sweep](std::size_t first, std::size_t count) { return outcomes(*sweep, first, count); }));
  columns.push_back(
      text_column("reason", "reason",
                  [sweep, texts = sweep->reason_texts()](std::size_t first, std::size_t count) {
                    Names names;
                    for (const int reason : sweep->reasons(first, count)) {
                      names.push_back(texts.at(static_cast<std::size_t>(reason)));
                    }
                    return names;
                  }));
  return columns;
}

// The rows before those at the end in which no trace has a number.
std::size_t rows_with_numbers(const std::vector<TableColumn>& columns, std::size_t rows) {
  std::size_t used = 0;
  for (std::size_t i = 1; i < columns.size(); ++i) {
    const std::vector<double> values = columns[i].read(0, rows).numbers;
    const auto last = std::find_if(values.rbegin(), values.rend(),
                                   [](double value) { return !std::isnan(value); });
    used = std::max(used, static_cast<std::size_t>(values.rend() - last));
  }
  return used;
}

}  // namespace

ResultTable::ResultTable(const std::string& path, const TableQuestion& question, Seal seal) {
  const auto reader = std::make_shared<Hdf5Reader>(path, seal);
  const std::string type =
      reader->has_attribute("/", "file_type") ? reader->text_attribute("/", "file_type") : "";
  if (question.ride && question.traces.empty()) {
    throw InputError(Fault{"--ride", "", "needs --traces, whose ride it is", {}});
  }
  if (!question.metrics.empty() && !question.traces.empty()) {
    throw InputError(Fault{"--metrics", "", "does not go with --traces", {}});
  }
  if (type == kSweepFileType) {
    const auto sweep = std::make_shared<const MergedSweep>(reader);
    title_ = sweep->title();
    rows_ = sweep->size();
    if (question.traces.empty()) {
      columns_ = columns_of_sweep(sweep, question);
      return;
    }
    const std::size_t ride = asked_ride(path, question, rows_);
    rows_ = reader->has("/sample_time") ? length_of(*reader, "/sample_time") : 0;
    columns_ =
        trace_columns(reader, "/sample_time",
                      chosen(path, "--traces", question.traces, sweep->traces()), ride * rows_);
    rows_ = rows_with_numbers(columns_, rows_);
    return;
  }
  demand_result_file(*reader);
  title_ = reader->text_attribute("/", "title");
  rows_ = length_of(*reader, "/ride");
  if (rows_ == 0) reader->refuse("/ride", "", "must hold a ride");
  if (question.traces.empty()) {
    columns_ = columns_of_rides(reader, question, rows_);
    return;
  }
  const std::size_t times = length_of(*reader, "/time");
  demand_rising(*reader, "/time", numbers_in(*reader, "/time", "s"));
  const std::size_t ride = asked_ride(path, question, rows_);
  const int samples = reader->integers("/samples", ride, 1).front();
  if (samples < 0 || static_cast<std::size_t>(samples) > times) {
    reader->refuse("/samples", fmt::format("{}", samples), fmt::format("must be 0 to {}", times));
  }
  const std::vector<Label> traces = traces_of_rides(*reader, rows_, times);
  columns_ = trace_columns(reader, "/time", chosen(path, "--traces", question.traces, traces),
                           ride * times);
  rows_ = static_cast<std::size_t>(samples);
}

}  // namespace plunge
