#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/report/result_table.hpp"
#include "tools/cli/csv.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kRowsAtOnce = 4096;

class TableWriter {
 public:
  TableWriter(const ResultTable& table, const TableOptions& options)
      : table_(table), si_(options.si || options.json), json_(options.json) {
    for (const TableColumn& column : table.columns()) {
      said_.push_back(si_ ? column.unit : in_bar(column, options.bar).said);
    }
  }

  // Nothing is written before the first rows are there, so that what is wrong with them comes
  // alone.
  void write(const std::function<void(std::string_view)>& out) const {
    std::string text = head();
    std::size_t first = 0;
    do {
      const std::size_t count = std::min(kRowsAtOnce, table_.rows() - first);
      std::vector<TableCells> cells;
      for (const TableColumn& column : table_.columns()) cells.push_back(column.read(first, count));
      for (std::size_t row = 0; row < count; ++row) {
        text += json_ ? json_row(cells, row) + (first + row + 1 < table_.rows() ? ",\n" : "\n")
                      : csv_row(cells, row);
      }
      out(text);
      text.clear();
      first += count;
    } while (first < table_.rows());
    if (json_) out("]}}\n");
  }

 private:
  std::string head() const {
    if (json_) {
      Json columns = Json::array();
      for (const TableColumn& column : table_.columns()) {
        Json one = {{"name", column.name}, {"label", column.label}};
        if (!column.text) one["units"] = column.unit;
        columns.push_back(std::move(one));
      }
      return fmt::format("{{\"table\": {{\"title\": {},\n\"columns\": {},\n\"rows\": [\n",
                         json_line(table_.title()), json_line(columns));
    }
    std::vector<std::string> names;
    for (std::size_t i = 0; i < said_.size(); ++i) {
      const TableColumn& column = table_.columns()[i];
      names.push_back(text_cell(with_unit(si_ ? column.name : column.label, said_[i])));
    }
    return fmt::format("{}\r\n", fmt::join(names, ","));
  }

  std::string csv_row(const std::vector<TableCells>& cells, std::size_t row) const {
    std::string line;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (i > 0) line += ',';
      line += table_.columns()[i].text ? text_cell(cells[i].texts.at(row))
                                       : number_cell(cells[i].numbers.at(row), said_[i]);
    }
    return line + "\r\n";
  }

  // As many digits as there are in SI; eight where a number was converted for people.
  std::string number_cell(double value, const std::string& said) const {
    if (!std::isfinite(value)) return "";
    if (si_) return fmt::format("{}", value);
    return fmt::format("{:.8g}", in_common_unit(value, said));
  }

  std::string json_row(const std::vector<TableCells>& cells, std::size_t row) const {
    Json list = Json::array();
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (table_.columns()[i].text) {
        list.push_back(cells[i].texts.at(row));
      } else {
        list.push_back(number_json(cells[i].numbers.at(row), table_.columns()[i].unit));
      }
    }
    return json_line(list);
  }

  // A count without a decimal point.
  static Json number_json(double value, const std::string& unit) {
    const bool counts = unit == "1" && std::abs(value) < 1e15 && value == std::floor(value);
    return counts ? Json(static_cast<std::int64_t>(value)) : json_number(value);
  }

  const ResultTable& table_;
  bool si_;
  bool json_;
  std::vector<std::string> said_;
};

std::optional<std::size_t> number_of(const std::string& ride) {
  if (ride.empty()) return {};
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(ride.data(), ride.data() + ride.size(), number);
  if (error != std::errc{} || end != ride.data() + ride.size()) {
    throw InputError(Fault{"--ride", ride, "must be the number of a ride, from 0 on", {}});
  }
  return number;
}

}  // namespace

int table_verb(const TableOptions& options) {
  const bool to_file = !options.output.empty() && options.output != kStandardOutput;
  const ResultTable table(options.file, {options.metrics, options.traces, number_of(options.ride)},
                          seal_for(options.unsealed));
  const TableWriter writer(table, options);
  if (!to_file) {
    demand_free_standard_output({options.file});
    writer.write(put_text);
    return 0;
  }
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  open_outputs(outputs, {options.file});
  NewFile file(options.output);
  writer.write([&](std::string_view text) { file.append(text); });
  file.take_name();
  remember_written(options.output);
  note("table: {}\n", shown(options.output));
  return 0;
}

}  // namespace plunge
