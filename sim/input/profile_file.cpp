#include "sim/input/profile_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/text/units.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr std::size_t kMostFaults = 30;
constexpr std::size_t kNoColumn = std::numeric_limits<std::size_t>::max();

// One field of a row and the column of the line at which it begins, from 1.
struct Cell {
  std::string_view text;
  int column = 0;
};

std::vector<Cell> cells_of(std::string_view line, char separator) {
  std::vector<Cell> cells;
  for (std::size_t start = 0; start <= line.size();) {
    const std::size_t end = std::min(line.find(separator, start), line.size());
    const std::string_view whole = line.substr(start, end - start);
    const std::size_t blank = std::min(whole.find_first_not_of(" \t\r"), whole.size());
    cells.push_back({trimmed(whole), static_cast<int>(start + blank) + 1});
    start = end + 1;
  }
  return cells;
}

std::string quoted(std::string_view text) {
  constexpr std::size_t kLongestQuote = 60;
  return fmt::format("\"{}\"", shortened(text, kLongestQuote));
}

// What to do about a file whose decimals follow a comma.
constexpr const char* kIfCommas =
    "; if its decimals follow a comma, part the columns with semicolons and say decimal = \",\" "
    "beside file";
constexpr const char* kIfPoints =
    "; if all decimals here follow a comma, say decimal = \",\" beside file";

bool only_digits(const std::vector<Cell>& cells) {
  return std::ranges::all_of(cells, [](const Cell& cell) {
    return cell.text.find_first_not_of("+-0123456789") == std::string_view::npos;
  });
}

class ProfileReader {
 public:
  ProfileReader(const std::string& file, char decimal) : file_(file), decimal_(decimal) {}

  MeasuredProfile read(std::string_view text) {
    for (std::size_t start = 0; start < text.size() && !stopped_ && faults_.size() < kMostFaults;) {
      const std::size_t end = std::min(text.find('\n', start), text.size());
      const std::string_view line = text.substr(start, end - start);
      start = end + 1;
      ++line_;
      const std::string_view content = trimmed(line);
      if (content.empty() || content.front() == '#') continue;
      if (separator_ == '\0') {
        read_header(line);
        if (!faults_.empty()) break;
      } else {
        read_row(line);
      }
    }
    if (separator_ == '\0' && faults_.empty()) {
      line_ = 0;
      blame(0, "", "", "must begin with a header such as \"distance [m],height [mm]\"");
    } else if (faults_.empty() && profile_.distance.size() < 2) {
      line_ = 0;
      blame(0, "", counted(profile_.distance.size(), "row"), "must have at least 2 rows");
    }
    if (!faults_.empty()) throw InputError(std::move(faults_));
    return std::move(profile_);
  }

 private:
  // A column of the header.
  struct Column {
    std::size_t index = kNoColumn;
    std::string unit;
  };

  void blame(int column, std::string key, std::string value, std::string rule) {
    faults_.push_back({std::move(key), std::move(value), std::move(rule), {file_, line_, column}});
  }

  void read_header(std::string_view line) {
    separator_ = ',';
    if (line.find('\t') != std::string_view::npos) separator_ = '\t';
    if (line.find(';') != std::string_view::npos) separator_ = ';';
    if (separator_ == decimal_) {
      blame(1, "", quoted(trimmed(line)),
            "must part its columns with semicolons or tabs, since decimal = \",\"");
      return;
    }
    const std::vector<Cell> cells = cells_of(line, separator_);
    width_ = cells.size();
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const std::string_view text = cells[i].text;
      const std::size_t bracket = std::min(text.find('['), text.size());
      const std::string_view name = trimmed(text.substr(0, bracket));
      if (name == "distance") read_column(cells[i], bracket, i, "distance", distance_);
      if (name == "height") read_column(cells[i], bracket, i, "height", height_);
    }
    if (!faults_.empty()) return;
    for (const auto& [column, name] : {std::pair{&distance_, "distance"}, {&height_, "height"}}) {
      if (column->index == kNoColumn) {
        blame(1, name, quoted(trimmed(line)),
              fmt::format("is missing: the header must name it, \"{} [m]\"", name));
      }
    }
  }

  void read_column(const Cell& cell, std::size_t bracket, std::size_t index, const char* name,
                   Column& column) {
    if (column.index != kNoColumn) {
      blame(cell.column, name, quoted(cell.text), "must be named once");
      return;
    }
    const std::size_t end = cell.text.find(']', bracket);
    if (bracket == cell.text.size() || end != cell.text.size() - 1) {
      blame(cell.column, name, quoted(cell.text),
            fmt::format("must say its unit in brackets, \"{} [m]\"", name));
      return;
    }
    column.index = index;
    column.unit = trimmed(cell.text.substr(bracket + 1, end - bracket - 1));
    try {
      to_si(Quantity{1.0, column.unit}, "m");
    } catch (const InputError& error) {
      blame(cell.column, name, quoted(cell.text), error.faults().front().rule);
    }
  }

  void read_row(std::string_view line) {
    const std::vector<Cell> cells = cells_of(line, separator_);
    if (cells.size() != width_) {
      const bool commas = cells.size() > width_ && separator_ == ',' && only_digits(cells);
      blame(1, "", quoted(trimmed(line)),
            fmt::format("has {}; the header has {}{}", counted(cells.size(), "column"), width_,
                        commas ? kIfCommas : ""));
      return;
    }
    if (profile_.distance.size() == kMostProfilePoints) {
      blame(1, "", "", fmt::format("must have at most {} rows", kMostProfilePoints));
      stopped_ = true;
      return;
    }
    const double distance = read_cell(cells[distance_.index], distance_, "distance");
    const double height = read_cell(cells[height_.index], height_, "height");
    if (std::isnan(distance) || std::isnan(height)) return;
    if (!profile_.distance.empty() && !(distance > profile_.distance.back())) {
      blame(cells[distance_.index].column, "distance", quoted(cells[distance_.index].text),
            fmt::format("must be above the row before it, {}", say(profile_.distance.back(), "m")));
      return;
    }
    profile_.distance.push_back(distance);
    profile_.elevation.push_back(height);
  }

  // NaN where the cell is at fault.
  double read_cell(const Cell& cell, const Column& column, const char* name) {
    std::string text(cell.text);
    if (decimal_ == ',' && text.find('.') != std::string::npos) {
      blame(cell.column, name, quoted(cell.text),
            "must have no point, since decimal = \",\"; thousands are not set apart");
      return kUnset;
    }
    if (const std::size_t comma = text.find(','); decimal_ == ',' && comma != std::string::npos) {
      text[comma] = '.';
    }
    try {
      Quantity quantity = split_quantity(text);
      if (!quantity.unit.empty()) {
        std::string rule = "must be a number alone";
        if (quantity.unit.front() == ',') {
          rule += decimal_ == ',' ? ", with one comma at most" : ", with a decimal point";
          if (decimal_ != ',') rule += kIfPoints;
        }
        blame(cell.column, name, quoted(cell.text), rule);
        return kUnset;
      }
      quantity.unit = column.unit;
      return to_si(quantity, "m");
    } catch (const InputError& error) {
      blame(cell.column, name, quoted(cell.text),
            cell.text.empty() ? "must not be empty" : error.faults().front().rule);
      return kUnset;
    }
  }

  std::string file_;
  char decimal_;
  int line_ = 0;
  bool stopped_ = false;
  char separator_ = '\0';
  std::size_t width_ = 0;
  Column distance_;
  Column height_;
  MeasuredProfile profile_;
  Faults faults_;
};

}  // namespace

MeasuredProfile parse_profile(std::string_view text, const std::string& file, char decimal) {
  return ProfileReader(file, decimal).read(text);
}

}  // namespace plunge
