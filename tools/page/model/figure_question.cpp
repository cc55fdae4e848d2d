#include "tools/page/model/figure_question.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <string>
#include <utility>

#include "sim/figure/drawing_svg.hpp"
#include "sim/figure/figure_drawing.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/page/model/refuse.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;
using Numbers = std::span<const double>;

constexpr std::array<std::pair<const char*, Mark>, 6> kMarks = {{{"line", Mark::line},
                                                                 {"dashed", Mark::dashed},
                                                                 {"points", Mark::points},
                                                                 {"dots", Mark::dots},
                                                                 {"band", Mark::band},
                                                                 {"area", Mark::area}}};

// The list of numbers of that name, none where it is left out.
std::vector<double> numbers_in(const Json& object, const char* key, Numbers numbers) {
  if (!object.contains(key)) return {};
  const auto at = object.at(key).at("at").get<std::uint64_t>();
  const auto count = object.at(key).at("count").get<std::uint64_t>();
  if (at > numbers.size() || count > numbers.size() - at) {
    refuse(key, std::to_string(count), "are more numbers than have come with the question");
  }
  const Numbers part =
      numbers.subspan(static_cast<std::size_t>(at), static_cast<std::size_t>(count));
  return {part.begin(), part.end()};
}

Mark mark_in(const Json& object) {
  const std::string name = object.value("mark", "line");
  const auto found =
      std::ranges::find(kMarks, name, [](const auto& row) { return std::string_view(row.first); });
  if (found == kMarks.end()) refuse("mark", name, "is no mark that a page draws");
  return found->second;
}

Paint paint_in(const Json& object) {
  if (!object.contains("paint")) return {};
  const Json& paint = object.at("paint");
  return {paint.value("colour", -1), paint.value("shade", kUnset), paint.value("quiet", false)};
}

AxisEnds ends_in(const Json& object, const char* key) {
  if (!object.contains(key)) return {};
  return {object.at(key).at(0).get<double>(), object.at(key).at(1).get<double>()};
}

Series series_in(const Json& object, Numbers numbers) {
  return {object.value("label", ""),
          numbers_in(object, "x", numbers),
          numbers_in(object, "y", numbers),
          mark_in(object),
          paint_in(object),
          numbers_in(object, "low", numbers),
          numbers_in(object, "high", numbers),
          object.value("fine", false)};
}

// Each thing of a list that may be left out.
template <class Read>
void for_each_in(const Json& object, const char* key, const Read& read) {
  if (!object.contains(key)) return;
  for (const Json& one : object.at(key)) read(one);
}

Panel panel_in(const Json& object, Numbers numbers) {
  Panel panel;
  panel.title = object.value("title", "");
  panel.x_label = object.value("x_label", "");
  panel.y_label = object.value("y_label", "");
  panel.log_x = object.value("log_x", false);
  panel.log_y = object.value("log_y", false);
  panel.beside = object.value("beside", false);
  panel.clock = object.value("clock", false);
  panel.height = object.value("height", 1.0);
  panel.x_ends = ends_in(object, "x_ends");
  panel.y_ends = ends_in(object, "y_ends");
  for_each_in(object, "series",
              [&](const Json& one) { panel.series.push_back(series_in(one, numbers)); });
  for_each_in(object, "references", [&](const Json& one) {
    panel.references.push_back(
        {one.value("label", ""), one.at("at").get<double>(), one.value("vertical", false)});
  });
  for_each_in(object, "spots", [&](const Json& one) {
    panel.spots.push_back({one.at("x").get<double>(), one.at("y").get<double>(),
                           one.value("label", ""), paint_in(one)});
  });
  for_each_in(object, "zones", [&](const Json& one) {
    panel.zones.push_back({one.at("from").get<double>(), one.at("to").get<double>(),
                           one.value("label", ""), one.value("shaded", true)});
  });
  return panel;
}

Json axis_object(const AxisLayout& axis) {
  return {{"low", json_number(axis.range.low)},
          {"high", json_number(axis.range.high)},
          {"logarithmic", axis.logarithmic}};
}

}  // namespace

Figure figure_in(const Json& figure, Numbers numbers) {
  Figure made;
  made.title = figure.value("title", "");
  for_each_in(figure, "panels",
              [&](const Json& one) { made.panels.push_back(panel_in(one, numbers)); });
  return made;
}

FigureLook look_in(const Json& look) {
  const FigureLook usual;
  return {look.value("width", usual.width), look.value("edge", usual.edge),
          look.value("height", usual.height), look.value("curve", usual.curve)};
}

Json drawn_figure(const Figure& figure, const FigureLook& look, bool file) {
  const FigureLayout layout = lay_out(figure, look);
  const Drawing drawing = drawing_of(layout);
  Json panels = Json::array();
  for (const PanelLayout& panel : layout.panels) {
    panels.push_back({{"left", panel.data.left},
                      {"top", panel.data.top},
                      {"width", panel.data.width},
                      {"height", panel.data.height},
                      {"over", panel.x_label},
                      {"x", axis_object(panel.x)},
                      {"y", axis_object(panel.y)}});
  }
  return {{"svg", file ? drawing_svg(drawing) : drawing_markup(drawing)},
          {"width", drawing.width},
          {"height", drawing.height},
          {"title", drawing.title},
          {"description", drawing.description},
          {"panels", panels}};
}

}  // namespace plunge
