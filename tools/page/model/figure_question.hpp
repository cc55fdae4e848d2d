// A figure (sim/figure/figure.hpp) as a page asks for it, and as it is answered.
//
// JSON with the names of that header; what is left out is as there. A list of numbers is
// {"at", "count"}: it stands among the numbers that cross beside the question. Marks are "line",
// "dashed", "points", "dots", "band" and "area"; a paint is {"colour"}, {"shade"} or {"quiet"};
// ends of an axis are [low, high]. Panels of a page are curves: it has no tables, maps or bars.
#pragma once

#include <nlohmann/json.hpp>
#include <span>

#include "sim/figure/figure.hpp"
#include "sim/figure/figure_layout.hpp"

namespace plunge {

// Throws InputError for a mark that there is not and numbers that have not come; what has not the
// form of a figure is the JSON library's error.
Figure figure_in(const nlohmann::ordered_json& figure, std::span<const double> numbers);

FigureLook look_in(const nlohmann::ordered_json& look);

// {"svg", "width", "height", "title", "description", "panels"}: the markup for a page, or with
// `file` the whole file; of each panel {"left", "top", "width", "height", "over", "x", "y"}: where
// its data stand in the picture, the label of its x axis, and what the axes go over, {"low",
// "high", "logarithmic"}.
nlohmann::ordered_json drawn_figure(const Figure& figure, const FigureLook& look, bool file);

}  // namespace plunge
