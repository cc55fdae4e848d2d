#include "tools/cli/fork_words.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "models/setup/parameters.hpp"
#include "sim/text/band_text.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

// Decimals of a number that is known to within `spread`, both in the unit that is said.
int decimals_for(double spread) {
  if (!(spread > 0.0)) return 1;
  return std::clamp(-last_place(kTwoSided * spread), 0, 6);
}

std::string percent_of(double share) {
  return fmt::format("{:.{}f}", 100.0 * share, share < 0.1 ? 1 : 0);
}

// A value and what it is said in, rounded to what is known.
std::string rounded(double value, double spread, const std::string& said) {
  const double number = in_common_unit(value, said);
  return in_unit(value, said, decimals_for(number * spread));
}

// "once in 300 times", to two digits.
std::string how_often(double chance) {
  if (chance < 1e-6) return "less than once in a million times";
  const double times = 1.0 / chance;
  const double step = std::pow(10.0, std::floor(std::log10(times)) - 1.0);
  return fmt::format("once in {:.0f} times", std::round(times / step) * step);
}

const Parameter* parameter_of(const std::string& name) { return find_parameter(name); }

std::string predictions_text(const ForkFit& fit, bool bar) {
  Table table;
  table.column("prediction", "");
  table.column("", "");
  table.column("value", "");
  table.column("95 %", "from");
  table.column("95 %", "to");
  table.column("spread", "%");
  table.column("before", "%");
  for (const Prediction& p : fit.predictions) {
    const std::string said = in_bar(p.said, bar);
    const auto cell = [&](double value) { return rounded(value, p.spread, said); };
    table.row({p.label, said, cell(p.value), cell(p.low), cell(p.high), percent_of(p.spread),
               percent_of(p.spread_before)});
  }
  return table.text();
}

std::string fitted_text(const ForkFit& fit, bool bar) {
  Table table;
  table.column("number", "");
  table.column("", "");
  table.column("value", "");
  table.column("spread", "%");
  table.column("before", "");
  table.column("spread", "%", true);
  std::vector<std::string> open;
  for (const FittedNumber& number : fit.numbers) {
    if (!number.determined) {
      open.push_back(number.name);
      continue;
    }
    const Parameter* parameter = parameter_of(number.name);
    const std::string said = parameter == nullptr ? "1" : in_bar(std::string(parameter->said), bar);
    table.row({number.name, unit_of(said), rounded(number.value, number.spread, said),
               percent_of(number.spread), rounded(number.value_before, number.spread_before, said),
               percent_of(number.spread_before)});
  }
  std::string text;
  if (!table.empty()) text += "\n" + table.text();
  if (!open.empty()) {
    std::string list;
    for (const std::string& name : open) list += (list.empty() ? "" : ", ") + name;
    text +=
        "\n" +
        wrapped("undetermined by these readings, spread still above 70 % of what it was: " + list,
                line_width()) +
        "\n";
  }
  return text;
}

std::string readings_text(const ForkFit& fit, const std::vector<BenchReading>& readings, bool bar) {
  Table table;
  table.column("reading", "");
  table.column("", "");
  table.column("read", "");
  table.column("fitted", "");
  table.column("spread", "");
  table.column("off by", "spreads");
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Reading& reading = readings[i].reading;
    const std::string said = in_bar(std::string(row_of(reading.kind).said), bar);
    const FittedReading& fitted = fit.readings[i];
    const double share = fitted.spread / reading.reads;
    table.row({reading.label, said, rounded(reading.reads, share, said),
               rounded(fitted.predicted, share, said), in_unit(fitted.spread, said, 1),
               in_unit(fitted.pull, "1", 1)});
  }
  return "\n" + table.text();
}

}  // namespace

std::string numbers_text(const Setup& setup, const Knowledge& knowledge, bool bar) {
  Table table(2);
  table.column("number", "");
  table.column("", "");
  table.column("value", "");
  table.column("spread", "%");
  table.column("", "");
  for (std::size_t i = 0; i < knowledge.size(); ++i) {
    const KnownNumber& number = knowledge.numbers()[i];
    const Parameter& parameter = *parameter_of(number.name);
    const std::string said = in_bar(std::string(parameter.said), bar);
    const double spread = knowledge.spread(i);
    table.row({number.name, unit_of(said),
               fmt::format("{:.3g}", in_common_unit(parameter.get(setup), said)),
               spread > 0.0 ? percent_of(spread) : "-", std::string(to_string(number.evidence))});
  }
  return table.text();
}

std::string numbers_json(const Setup& setup, const Knowledge& knowledge) {
  Json list = Json::array();
  for (std::size_t i = 0; i < knowledge.size(); ++i) {
    const KnownNumber& number = knowledge.numbers()[i];
    const Parameter& parameter = *parameter_of(number.name);
    list.push_back({{"name", number.name},
                    {"value", json_number(parameter.get(setup))},
                    {"unit", parameter.unit},
                    {"from", to_string(number.evidence)},
                    {"spread", json_number(knowledge.spread(i))},
                    {"source", number.source}});
  }
  return json_text({{"name", setup.fork.name}, {"numbers", list}});
}

std::string alarm_text(const ForkFit& fit) {
  if (!fit.alarm) return {};
  const char* which = fit.chance < kRare ? "" : "one of them stands out: ";
  return fmt::format(
      "readings and guesses contradict each other: {}chi-square {:.1f} of {}, {:.1f} spreads at "
      "{}; "
      "good ones do so {}",
      which, fit.chi_square, counted(fit.readings.size(), "reading"), std::abs(fit.alarm->pull),
      fit.alarm->culprit, how_often(fit.alarm->chance));
}

std::string fit_text(const ForkFit& fit, const std::vector<BenchReading>& readings, bool bar) {
  std::string text = predictions_text(fit, bar);
  if (!fit.next.words.empty()) {
    const Prediction& asked = fit.predictions[static_cast<std::size_t>(fit.next.asked)];
    text +=
        "\n" +
        wrapped(fmt::format("next best reading for the {}: {} (spread {} % to {} %)", asked.label,
                            fit.next.words, percent_of(asked.spread), percent_of(fit.next.spread)),
                line_width()) +
        "\n";
  }
  text += fitted_text(fit, bar);
  text += readings_text(fit, readings, bar);
  text +=
      fmt::format("chi-square {:.1f} of {}; a larger one comes in {} % of good sets\n",
                  fit.chi_square, counted(fit.readings.size(), "reading"), percent_of(fit.chance));
  return text;
}

std::string fit_json(const ForkFit& fit, const std::vector<BenchReading>& readings) {
  Json predictions = Json::array();
  for (const Prediction& p : fit.predictions) {
    predictions.push_back({{"name", p.name},
                           {"label", p.label},
                           {"unit", p.unit},
                           {"value", json_number(p.value)},
                           {"low", json_number(p.low)},
                           {"high", json_number(p.high)},
                           {"spread", json_number(p.spread)},
                           {"spread_before", json_number(p.spread_before)}});
  }
  Json numbers = Json::array();
  for (const FittedNumber& n : fit.numbers) {
    Json entry = {{"name", n.name}, {"determined", n.determined}};
    if (n.determined) entry["value"] = json_number(n.value);
    entry["spread"] = json_number(n.spread);
    entry["value_before"] = json_number(n.value_before);
    entry["spread_before"] = json_number(n.spread_before);
    numbers.push_back(entry);
  }
  Json list = Json::array();
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Reading& reading = readings[i].reading;
    list.push_back({{"label", reading.label},
                    {"unit", row_of(reading.kind).unit},
                    {"reads", json_number(reading.reads)},
                    {"fitted", json_number(fit.readings[i].predicted)},
                    {"spread", json_number(fit.readings[i].spread)},
                    {"pull", json_number(fit.readings[i].pull)}});
  }
  Json out = {{"predictions", predictions},
              {"next", {{"reading", fit.next.words}, {"spread", json_number(fit.next.spread)}}},
              {"numbers", numbers},
              {"readings", list},
              {"chi_square", json_number(fit.chi_square)},
              {"chance", json_number(fit.chance)}};
  out["alarm"] = nullptr;
  if (fit.alarm) {
    out["alarm"] = {{"culprit", fit.alarm->culprit},
                    {"pull", json_number(fit.alarm->pull)},
                    {"chance", json_number(fit.alarm->chance)}};
  }
  return json_text(out);
}

}  // namespace plunge
