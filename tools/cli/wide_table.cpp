#include "tools/cli/wide_table.hpp"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <cstring>
#include <utility>

#include "sim/text/utf8.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

constexpr std::size_t kPlainWidth = 80;
constexpr std::size_t kLeastWidth = 20;

std::size_t width_of_line() {
  std::size_t width = 0;
  if (const char* columns = std::getenv("COLUMNS")) {
    std::from_chars(columns, columns + std::strlen(columns), width);
  }
  struct winsize size = {};
  if (width == 0 && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0) width = size.ws_col;
  return width == 0 ? kPlainWidth : std::max(width, kLeastWidth);
}

std::size_t width_of(const std::string& text) {
  std::size_t width = 0;
  for (std::size_t start = 0; start < text.size();) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    width = std::max(width, count_letters(text.substr(start, end - start)));
    start = end + 1;
  }
  return width;
}

}  // namespace

void WideTable::column(std::string name, std::string unit) {
  columns_.push_back({std::move(name), std::move(unit), {}});
}

void WideTable::row(std::vector<std::string> cells) {
  cells.resize(columns_.size());
  for (std::size_t c = 0; c < columns_.size(); ++c) {
    columns_[c].cells.push_back(std::move(cells[c]));
  }
  ++rows_;
}

// The lead and the columns from `first` to before `end`.
std::string WideTable::block(std::size_t first, std::size_t end) const {
  std::vector<const Column*> shown;
  for (std::size_t c = 0; c < lead_; ++c) shown.push_back(&columns_[c]);
  for (std::size_t c = first; c < end; ++c) shown.push_back(&columns_[c]);
  Table table;
  for (const Column* column : shown) table.column(column->name, column->unit);
  for (std::size_t r = 0; r < rows_; ++r) {
    std::vector<std::string> cells;
    for (const Column* column : shown) cells.push_back(column->cells[r]);
    table.row(std::move(cells));
  }
  return table.text();
}

std::string WideTable::text(std::size_t width) const {
  if (columns_.size() <= lead_) return block(lead_, lead_);
  std::string text;
  for (std::size_t first = lead_; first < columns_.size();) {
    std::size_t end = first + 1;
    while (end < columns_.size() && width_of(block(first, end + 1)) <= width) ++end;
    text += (text.empty() ? "" : "\n") + block(first, end);
    first = end;
  }
  return text;
}

std::string WideTable::text() const { return text(width_of_line()); }

}  // namespace plunge
