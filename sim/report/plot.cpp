#include "sim/report/plot.hpp"

#include <filesystem>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/own_files.hpp"
#include "sim/report/figure_layout.hpp"
#include "sim/report/figure_renderer.hpp"

namespace plunge {
namespace {

PictureFormat format_of(const std::string& path) {
  const std::string suffix = std::filesystem::path(path).extension().string();
  if (suffix == ".png") return PictureFormat::png;
  if (suffix == ".svg") return PictureFormat::svg;
  if (suffix == ".pdf") return PictureFormat::pdf;
  throw InputError(Fault{"", path, "a plot's name must end in .png, .svg or .pdf", {}});
}

}  // namespace

void demand_plot_name(const std::string& path) { format_of(path); }

void draw(const Figure& figure, const std::string& path) {
  const PictureFormat format = format_of(path);
  write_file_atomically(path, marked_picture(render(lay_out(figure), format)));
}

}  // namespace plunge
