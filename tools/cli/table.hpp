// Text tables and workshop units for people.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/measure/label.hpp"
#include "sim/measure/result.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

// Rows of cells under a heading (name, unit), columns aligned to the right but the first. A name
// that is wider than its column is broken between words. Names and cells are shown
// (models/setup/shown.hpp).
class Table {
 public:
  // Every block begins with so many columns, or fewer where nothing else would fit beside them;
  // only the first is broken.
  explicit Table(std::size_t lead = 1) : lead_(lead) {}

  // One that belongs to the column before it stands in the same block.
  void column(const std::string& name, const std::string& unit, bool with_last = false);
  void row(std::vector<std::string> cells);
  bool empty() const { return rows_.empty(); }

  // In blocks one below the other where the lines would be wider than `width`; the cells of the
  // first column are then broken between words.
  std::string text(std::size_t width = line_width()) const;

  // As an HTML element, in one piece.
  std::string html() const;

 private:
  // The columns of a block after the first one.
  using Block = std::vector<std::size_t>;

  std::size_t first_width(std::size_t longest) const;
  std::size_t least_beside_first(const std::vector<std::size_t>& widths) const;
  std::size_t leading(const std::vector<std::size_t>& widths, std::size_t width) const;
  std::vector<Block> blocks(const std::vector<std::size_t>& widths, std::size_t width) const;
  std::string block_text(const Block& block, const std::vector<std::size_t>& widths) const;

  std::size_t lead_;
  std::vector<std::string> names_;
  std::vector<std::string> units_;
  std::vector<bool> with_last_;
  std::vector<std::vector<std::string>> rows_;
};

// A number in workshop units with a fixed number of decimals; "-" where it is not a number.
std::string in_unit(double value, const std::string& said, int decimals);

// The value of a metric by name, NaN where the list or the ride does not have it.
double metric(const std::vector<Metric>& metrics, const std::string& name);
double metric(const Result& result, const std::string& name);
double energy(const Result& result, const std::string& name);

// The unit in which a number is said: bar in place of psi where asked.
std::string in_bar(const std::string& said, bool bar);

// A number as its row says it.
std::string in_said(double value, const Label& label);

// The unit in which people say a quantity, empty where it has none.
std::string unit_of(const std::string& said);

// "sag [mm]".
std::string with_unit(const std::string& label, const std::string& said);

// "602 N", of a number that is written already; no line ends between them.
std::string number_in(const std::string& number, const std::string& said);

}  // namespace plunge
