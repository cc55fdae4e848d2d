#include "tools/cli/table.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/lines.hpp"

namespace plunge {
namespace {

constexpr std::size_t kBetween = 2;      // blanks between columns
constexpr std::size_t kLeastFirst = 14;  // letters of the first column before it is broken

std::string padded(const std::string& cell, std::size_t width, bool left) {
  const std::string blanks(width - std::min(width, count_letters(cell)), ' ');
  return left ? cell + blanks : blanks + cell;
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

void Table::column(const std::string& name, const std::string& unit, bool with_last) {
  names_.push_back(shown(name));
  units_.push_back(shown(unit));
  with_last_.push_back(with_last);
}

void Table::row(std::vector<std::string> cells) {
  cells.resize(names_.size());
  for (std::string& cell : cells) cell = shown(cell);
  rows_.push_back(std::move(cells));
}

// Width of the first column where no cell of it may be wider than `longest`, if its words allow.
std::size_t Table::first_width(std::size_t longest) const {
  std::size_t width = count_letters(units_[0]);
  const auto take = [&](const std::string& cell) {
    for (const std::string& line : broken(cell, longest)) {
      width = std::max(width, count_letters(line));
    }
  };
  take(names_[0]);
  for (const auto& cells : rows_) take(cells[0]);
  return width;
}

// What stands beside the first column in every block at least: the other leading columns and those
// of the widest group that is not parted.
std::size_t Table::least_beside_first(const std::vector<std::size_t>& widths) const {
  const std::size_t lead = std::min(std::max<std::size_t>(lead_, 1), names_.size());
  std::size_t led = 0;
  for (std::size_t c = 1; c < lead; ++c) led += kBetween + widths[c];
  std::size_t widest = 0;
  std::size_t group = 0;
  for (std::size_t c = lead; c < names_.size(); ++c) {
    group = (with_last_[c] ? group : 0) + kBetween + widths[c];
    widest = std::max(widest, group);
  }
  return led + widest;
}

// How many columns each block begins with: those beside which the widest of the others fits.
std::size_t Table::leading(const std::vector<std::size_t>& widths, std::size_t width) const {
  std::size_t lead = std::min(std::max<std::size_t>(lead_, 1), names_.size());
  const auto fits = [&] {
    std::size_t led = widths[0];
    for (std::size_t c = 1; c < lead; ++c) led += kBetween + widths[c];
    std::size_t widest = 0;
    for (std::size_t c = lead; c < names_.size(); ++c) widest = std::max(widest, widths[c]);
    return led + (lead < names_.size() ? kBetween + widest : 0) <= width;
  };
  while (lead > 1 && !fits()) --lead;
  return lead;
}

std::vector<Table::Block> Table::blocks(const std::vector<std::size_t>& widths,
                                        std::size_t width) const {
  Block lead;
  std::size_t led = widths[0];
  for (std::size_t c = 1; c < leading(widths, width); ++c) {
    lead.push_back(c);
    led += kBetween + widths[c];
  }
  std::vector<Block> blocks{lead};
  std::size_t used = led;
  for (std::size_t c = lead.size() + 1; c < names_.size();) {
    std::size_t end = c + 1;
    std::size_t wide = kBetween + widths[c];
    for (; end < names_.size() && with_last_[end]; ++end) wide += kBetween + widths[end];
    if (blocks.back().size() > lead.size() && used + wide > width) {
      blocks.push_back(lead);
      used = led;
    }
    used += wide;
    for (; c < end; ++c) blocks.back().push_back(c);
  }
  return blocks;
}

std::string Table::block_text(const Block& block, const std::vector<std::size_t>& widths) const {
  std::string text;
  const auto line = [&](const std::string& first, const auto& cell) {
    std::string out = padded(first, widths[0], true);
    for (const std::size_t c : block) {
      out += std::string(kBetween, ' ') + padded(cell(c), widths[c], false);
    }
    out.erase(out.find_last_not_of(' ') + 1);
    text += out + "\n";
  };
  // Names stand on their units, and numbers beside the last line of what they are about: what is
  // shorter has empty lines above.
  const auto at = [](const std::vector<std::string>& lines, std::size_t l, std::size_t all) {
    const std::size_t above = all - lines.size();
    return l < above ? std::string() : lines[l - above];
  };
  const std::vector<std::string> corner = broken(names_[0], widths[0]);
  std::size_t lines = corner.size();
  for (const std::size_t c : block) lines = std::max(lines, broken(names_[c], widths[c]).size());
  for (std::size_t l = 0; l < lines; ++l) {
    line(at(corner, l, lines),
         [&](std::size_t c) { return at(broken(names_[c], widths[c]), l, lines); });
  }
  const auto has_unit = [&](std::size_t c) { return !units_[c].empty(); };
  if (has_unit(0) || std::ranges::any_of(block, has_unit)) {
    line(units_[0], [&](std::size_t c) { return units_[c]; });
  }
  for (const auto& cells : rows_) {
    const std::vector<std::string> first = broken(cells[0], widths[0]);
    for (std::size_t l = 0; l < first.size(); ++l) {
      const bool last = l + 1 == first.size();
      line(first[l], [&](std::size_t c) { return last ? cells[c] : std::string(); });
    }
  }
  return text;
}

std::string Table::text(std::size_t width) const {
  std::vector<std::size_t> widths(names_.size());
  for (std::size_t c = 1; c < names_.size(); ++c) {
    widths[c] = std::max(width_for(names_[c]), count_letters(units_[c]));
    for (const auto& cells : rows_) widths[c] = std::max(widths[c], count_letters(cells[c]));
  }
  widths[0] = first_width(std::string::npos);
  std::size_t whole = widths[0];
  for (std::size_t c = 1; c < names_.size(); ++c) whole += kBetween + widths[c];
  if (whole > width) {
    const std::size_t others = least_beside_first(widths);
    const std::size_t room = width > others ? width - others : 1;
    const std::size_t longest = std::min(std::max(kLeastFirst, width / 3), room);
    widths[0] = std::min(widths[0], first_width(longest));
  }
  std::string text;
  for (const Block& block : blocks(widths, width)) {
    if (!text.empty()) text += "\n";
    text += block_text(block, widths);
  }
  return text;
}

std::string Table::html() const {
  std::string html = "<table>\n<thead><tr>";
  for (std::size_t c = 0; c < names_.size(); ++c) {
    html += "<th scope=\"col\">" + markup_of(names_[c]);
    if (!units_[c].empty()) html += " <small>" + markup_of(units_[c]) + "</small>";
    html += "</th>";
  }
  html += "</tr></thead>\n<tbody>\n";
  for (const std::vector<std::string>& cells : rows_) {
    html += "<tr><th scope=\"row\">" + markup_of(cells[0]) + "</th>";
    for (std::size_t c = 1; c < cells.size(); ++c) html += "<td>" + markup_of(cells[c]) + "</td>";
    html += "</tr>\n";
  }
  return html + "</tbody>\n</table>\n";
}

std::string in_unit(double value, const std::string& said, int decimals) {
  if (!std::isfinite(value)) return "-";
  const std::string text = fmt::format("{:.{}f}", in_common_unit(value, said), decimals);
  return text.find_first_not_of("-0.") == std::string::npos && text.front() == '-' ? text.substr(1)
                                                                                   : text;
}

double metric(const std::vector<Metric>& metrics, const std::string& name) {
  const auto found = std::ranges::find(metrics, name, &Metric::name);
  return found == metrics.end() ? kUnset : found->value;
}

double metric(const Result& result, const std::string& name) {
  return metric(result.metrics, name);
}

double energy(const Result& result, const std::string& name) { return metric(result.energy, name); }

std::string in_bar(const std::string& said, bool bar) {
  return bar && said == "psi" ? "bar" : said;
}

std::string in_said(double value, const Label& label) {
  return in_unit(value, label.said, label.decimals);
}

std::string unit_of(const std::string& said) { return said == "1" ? "" : said; }

std::string with_unit(const std::string& label, const std::string& said) {
  return said == "1" ? label : fmt::format("{} [{}]", label, said);
}

std::string number_in(const std::string& number, const std::string& said) {
  return unit_of(said).empty() ? number : fmt::format("{}\u00a0{}", number, said);
}

}  // namespace plunge
