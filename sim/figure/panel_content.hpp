// What a panel of a figure shows, whatever room it has: ranges, thinned curves, bars, cells.
#pragma once

#include <vector>

#include "sim/figure/placed_figure.hpp"

namespace plunge {

PanelKind kind_of(const Panel& panel);

// Of the axes, of which an end that the panel sets stays.
Range x_range(const Panel& panel);
Range y_range(const Panel& panel);

SeriesLayout series_layout(const Panel& panel, std::size_t index);

// `printed`: with the values in the cells.
MapLayout map_layout(const CellMap& map, bool printed);

// Bars of one row, side by side.
std::size_t bars_of_row(const Panel& panel);

// The labelled series, without places.
std::vector<LegendEntry> legend_of(const Panel& panel);

std::vector<Spot> spots_of(const Panel& panel);
std::vector<Reference> references_of(const Panel& panel);

inline constexpr std::size_t kLongestName = 60;  // letters that are looked at
inline constexpr double kBar = 15.0;             // a bar in its row
inline constexpr double kBetweenRows = 12.0;

}  // namespace plunge
