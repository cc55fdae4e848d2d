#include "tools/table.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/parameters.hpp"

namespace plunge {
namespace {

double find(const std::vector<Metric>& metrics, const std::string& name) {
  for (const Metric& m : metrics) {
    if (m.name == name) return m.value;
  }
  return kUnset;
}

std::string padded(const std::string& cell, std::size_t width, bool left) {
  const std::string blanks(width - std::min(width, shown_width(cell)), ' ');
  return left ? cell + blanks : blanks + cell;
}

}  // namespace

void Table::column(std::string name, std::string unit) {
  names_.push_back(std::move(name));
  units_.push_back(std::move(unit));
}

void Table::row(std::vector<std::string> cells) {
  cells.resize(names_.size());
  rows_.push_back(std::move(cells));
}

std::string Table::text() const {
  std::vector<std::size_t> width(names_.size());
  for (std::size_t c = 0; c < names_.size(); ++c) {
    width[c] = std::max(shown_width(names_[c]), shown_width(units_[c]));
    for (const auto& cells : rows_) width[c] = std::max(width[c], shown_width(cells[c]));
  }
  std::string text;
  const auto line = [&](const std::vector<std::string>& cells) {
    std::string out;
    for (std::size_t c = 0; c < cells.size(); ++c) {
      if (c > 0) out += "  ";
      out += padded(cells[c], width[c], c == 0);
    }
    out.erase(out.find_last_not_of(' ') + 1);
    text += out + "\n";
  };
  line(names_);
  if (std::any_of(units_.begin(), units_.end(), [](const auto& u) { return !u.empty(); })) {
    line(units_);
  }
  for (const auto& cells : rows_) line(cells);
  return text;
}

std::string in_unit(double value, const std::string& said, int decimals) {
  if (!std::isfinite(value)) return "-";
  const CommonUnit* unit = find_common_unit(said);
  const double shown = unit ? unit->from_si(value) : value;
  const std::string text = fmt::format("{:.{}f}", shown, decimals);
  return text.find_first_not_of("-0.") == std::string::npos && text.front() == '-' ? text.substr(1)
                                                                                   : text;
}

double metric(const Result& result, const std::string& name) { return find(result.metrics, name); }

double energy(const Result& result, const std::string& name) { return find(result.energy, name); }

std::size_t shown_width(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

}  // namespace plunge
