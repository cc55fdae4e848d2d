// Plots for print and screen: a figure (figure.hpp) as a picture in a file.
//
// The suffix of the path chooses the format: .png, .svg or .pdf. The same figure gives the same
// file.
#pragma once

#include <string>

#include "sim/figure/figure.hpp"

namespace plunge {

// Throws InputError for a name that draw() refuses.
void demand_plot_name(const std::string& path);

// Writes the figure, all or nothing (sim/disk/atomic_file.hpp). Throws InputError for another
// suffix, RunError where the font of PNG and PDF is not installed or the disk refuses, and what
// lay_out() throws.
void draw(const Figure& figure, const std::string& path);

}  // namespace plunge
