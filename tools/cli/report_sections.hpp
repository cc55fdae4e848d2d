// What a report on a sweep says, section by section: printed as text, and on a page.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "tools/cli/report_lists.hpp"
#include "tools/cli/table.hpp"

namespace plunge {

// A paragraph, a table, or a table under the words that say what it is.
struct ReportPart {
  enum class Look {
    plain,
    aside,  // printed two blanks from the margin
    line,   // printed as it is
  };
  std::string words = {};
  Look look = Look::plain;
  std::optional<Table> table = {};
  bool apart = false;  // printed under an empty line
};

struct ReportSection {
  std::string heading;  // empty: none is printed
  std::vector<ReportPart> parts;
};

// How many rows the longest lists may have.
struct ReportLengths {
  std::size_t choices = 20;
  std::size_t front = 20;
};

// How many rides, and what became of those that have no numbers.
ReportSection counts_section(const ToldReport& told);

// The sweep in one line: "Kestrel Hollow: 320 rides".
std::string sweep_words(const ToldReport& told);

// Least, median and most of every metric, and the rides in which they are.
ReportSection spreads_section(const ToldReport& told);

// What matters most: indices of every metric.
ReportSection indices_section(const ToldReport& told);

// What is chosen and what varies, with the choices.
ReportSection choices_section(const ToldReport& told, bool listed, const ReportLengths& lengths);

// How many rides or choices are within the limits; no parts where none are asked.
ReportSection limits_section(const ToldReport& told);

// The best rides or choices, and the front; no parts where that is not asked.
ReportSection best_section(const ToldReport& told);
ReportSection front_section(const ToldReport& told, const ReportLengths& lengths);

// What whoever tunes wants to know first, in a few sentences; its numbers are those of the others.
ReportSection answer_section(const ToldReport& told);

// "Latin hypercube".
const char* design_words(Design design);

std::string report_text(const std::vector<ReportSection>& sections);

}  // namespace plunge
