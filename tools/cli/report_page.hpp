// A report on a sweep as one HTML file for a browser: the answer and a figure, then all that the
// printed report says, folded.
//
// It holds no script, asks for nothing outside it and says so to the browser; printed, it is all
// open. The same report gives the same bytes.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "sim/figure/figure.hpp"
#include "tools/cli/report_lists.hpp"

namespace plunge {

// Where a report comes from: the words of the command, names and values.
using ReportSource = std::vector<std::pair<std::string, std::string>>;

// Throws InputError unless the name is one of a page, or the standard output.
void demand_page_name(const std::string& path);

// map: drawn beside the answer; without panels: none.
std::string report_page(const ToldReport& told, const Figure& map, const ReportSource& source);

}  // namespace plunge
