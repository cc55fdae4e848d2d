// A result file as a table: a row for each ride, or for each sample of one ride.
//
//   ride file     ride, label, what was varied or solved for, metrics, failure
//   merged sweep  ride, scene, the other axes, sampled numbers, metrics, outcome, reason
//   one ride      time, traces
// Numbers are in SI units; NaN where a ride has no such number. Rows are read when they are asked
// for, so that a table of any length takes little memory.
// Throws InputError, also for a metric, a trace or a ride that the file does not have.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/measure/label.hpp"

namespace plunge {

struct TableQuestion {
  std::vector<std::string> metrics;  // by name, in this order; empty: all
  std::vector<std::string> traces;   // of one ride; empty: a row for each ride
  std::optional<std::size_t> ride;   // whose traces; none: the only one
};

// Values of some rows in one column: one of the two, as TableColumn::text says.
struct TableCells {
  std::vector<double> numbers;
  std::vector<std::string> texts;
};

struct TableColumn : Label {
  bool text = false;
  std::function<TableCells(std::size_t first, std::size_t count)> read;
};

class ResultTable {
 public:
  ResultTable(const std::string& path, const TableQuestion& question, Seal seal = Seal::demanded);

  const std::string& title() const { return title_; }
  const std::vector<TableColumn>& columns() const { return columns_; }
  std::size_t rows() const { return rows_; }

 private:
  std::string title_;
  std::vector<TableColumn> columns_;
  std::size_t rows_ = 0;
};

}  // namespace plunge
