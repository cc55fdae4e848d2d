#include "sim/report/plot.hpp"

#include <filesystem>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/own_files.hpp"
#include "sim/figure/drawing_svg.hpp"
#include "sim/figure/figure_drawing.hpp"
#include "sim/figure/figure_layout.hpp"
#include "sim/report/picture.hpp"

namespace plunge {
namespace {

using Writer = std::string (*)(const Drawing&);

Writer writer_for(const std::string& path) {
  const std::string suffix = std::filesystem::path(path).extension().string();
  if (suffix == ".png") return drawing_png;
  if (suffix == ".svg") return drawing_svg;
  if (suffix == ".pdf") return drawing_pdf;
  throw InputError(Fault{"", path, "a plot's name must end in .png, .svg or .pdf", {}});
}

}  // namespace

void demand_plot_name(const std::string& path) { writer_for(path); }

void draw(const Figure& figure, const std::string& path) {
  const Writer write = writer_for(path);
  write_file_atomically(path, marked_picture(write(drawing_of(lay_out(figure)))));
}

}  // namespace plunge
