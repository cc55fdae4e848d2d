// A table that may be wider than a line: it is broken into blocks, each under its own heading, that
// begin with the same columns.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace plunge {

class WideTable {
 public:
  // `lead`: columns that every block begins with.
  explicit WideTable(std::size_t lead) : lead_(lead) {}

  void column(std::string name, std::string unit);
  void row(std::vector<std::string> cells);
  // Blocks no wider than `width` letters, but for one column behind the lead in any case.
  std::string text(std::size_t width) const;
  // As wide as a line is: what COLUMNS says, else the terminal, else 80 letters.
  std::string text() const;

 private:
  struct Column {
    std::string name;
    std::string unit;
    std::vector<std::string> cells;
  };

  std::string block(std::size_t first, std::size_t end) const;

  std::size_t lead_;
  std::vector<Column> columns_;
  std::size_t rows_ = 0;
};

}  // namespace plunge
