#include "tools/cli/table.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "models/setup/parameters.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

double find(const std::vector<Metric>& metrics, const std::string& name) {
  for (const Metric& m : metrics) {
    if (m.name == name) return m.value;
  }
  return kUnset;
}

std::string padded(const std::string& cell, std::size_t width, bool left) {
  const std::string blanks(width - std::min(width, count_letters(cell)), ' ');
  return left ? cell + blanks : blanks + cell;
}

// The words of a name in lines no wider than `width`, where no word is.
std::vector<std::string> broken(const std::string& name, std::size_t width) {
  std::vector<std::string> lines{""};
  std::istringstream words(name);
  for (std::string word; words >> word;) {
    std::string& last = lines.back();
    if (last.empty()) {
      last = word;
    } else if (count_letters(last) + 1 + count_letters(word) <= width) {
      last += " " + word;
    } else {
      lines.push_back(word);
    }
  }
  return lines;
}

// Width of a column for its name, which is broken where it is long, into no more than three lines.
std::size_t width_for(const std::string& name) {
  constexpr std::size_t kLongName = 12;
  constexpr std::size_t kMostLines = 3;
  const std::size_t whole = count_letters(name);
  if (whole <= kLongName) return whole;
  const auto fits = [&](std::size_t width) {
    const std::vector<std::string> lines = broken(name, width);
    return lines.size() <= kMostLines && std::ranges::all_of(lines, [&](const std::string& line) {
             return count_letters(line) <= width;
           });
  };
  std::size_t width = 1;
  while (!fits(width)) ++width;
  return width;
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
    const std::size_t name = c == 0 ? count_letters(names_[c]) : width_for(names_[c]);
    width[c] = std::max(name, count_letters(units_[c]));
    for (const auto& cells : rows_) width[c] = std::max(width[c], count_letters(cells[c]));
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
  // Names stand on their units: the short ones have empty lines above.
  std::vector<std::vector<std::string>> names;
  std::size_t lines = 1;
  for (std::size_t c = 0; c < names_.size(); ++c) {
    names.push_back(c == 0 ? std::vector{names_[c]} : broken(names_[c], width[c]));
    lines = std::max(lines, names.back().size());
  }
  for (std::size_t l = 0; l < lines; ++l) {
    std::vector<std::string> cells;
    for (const std::vector<std::string>& name : names) {
      const std::size_t above = lines - name.size();
      cells.push_back(l < above ? "" : name[l - above]);
    }
    line(cells);
  }
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

Label in_bar(Label label, bool bar) {
  if (bar && label.said == "psi") {
    label.said = "bar";
    label.decimals = 2;
  }
  return label;
}

std::string in_said(double value, const Label& label) {
  return in_unit(value, label.said, label.decimals);
}

std::string unit_of(const std::string& said) { return said == "1" ? "" : said; }

std::string with_unit(const std::string& label, const std::string& said) {
  return said == "1" ? label : fmt::format("{} [{}]", label, said);
}

}  // namespace plunge
