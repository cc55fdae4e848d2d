#include "tools/cli/sheet_words.hpp"

#include <fmt/core.h>

#include <nlohmann/json.hpp>

#include "models/setup/shown.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

Json curve_json(const SheetCurve& curve) {
  return {{"travel", curve.travel}, {"slow", curve.slow}, {"fast", curve.fast}};
}

}  // namespace

std::string sheet_text(const SheetContent& content) {
  const auto or_dash = [](const std::string& text) { return text.empty() ? "-" : text; };
  std::string text = wrapped(fmt::format("{}; {}; {}", or_dash(content.fork),
                                         or_dash(content.rider), or_dash(content.bike)),
                             line_width()) +
                     "\n";
  if (!content.task.empty()) text += wrapped(content.task, line_width()) + "\n";
  Table table;
  table.column("", "");
  if (content.has_before) table.column("before", "");
  table.column(content.has_before ? "after" : "set", "");
  for (const SheetRow& row : content.rows) {
    std::vector<std::string> cells = {row.label};
    if (content.has_before) cells.push_back(or_dash(row.before));
    cells.push_back(or_dash(row.after));
    table.row(std::move(cells));
  }
  for (const SheetPrediction& prediction : content.predictions) {
    std::vector<std::string> cells = {prediction.label};
    if (content.has_before) cells.push_back(prediction.before);
    cells.push_back(prediction.after);
    table.row(std::move(cells));
  }
  return text + "\n" + table.text();
}

std::string sheet_json(const SheetContent& content) {
  Json rows = Json::array();
  for (const SheetRow& row : content.rows) {
    rows.push_back({{"name", row.name},
                    {"before", json_number(row.before_value)},
                    {"after", json_number(row.after_value)},
                    {"band", {json_number(row.band.low), json_number(row.band.high)}},
                    {"said",
                     {{"label", row.label},
                      {"before", row.before},
                      {"after", row.after},
                      {"note", row.note}}}});
  }
  Json predictions = Json::array();
  for (const SheetPrediction& prediction : content.predictions) {
    predictions.push_back({{"metric", prediction.metric},
                           {"before", json_number(prediction.before_value)},
                           {"after", json_number(prediction.after_value)}});
  }
  Json rings = Json::array();
  for (const SheetRing& ring : content.rings) {
    rings.push_back({{"scene", ring.scene}, {"travel_max", json_number(ring.value)}});
  }
  return json_text({{"sheet",
                     {{"fork", content.fork},
                      {"rider", content.rider},
                      {"bike", content.bike},
                      {"task", content.task},
                      {"cautions", content.cautions},
                      {"closing", content.closing},
                      {"rows", rows},
                      {"before", content.has_before ? curve_json(content.before) : Json(nullptr)},
                      {"after", curve_json(content.after)},
                      {"predictions", predictions},
                      {"rings", rings},
                      {"guesses", content.guesses},
                      {"tools", content.tools},
                      {"steps", content.steps}}}});
}

}  // namespace plunge
