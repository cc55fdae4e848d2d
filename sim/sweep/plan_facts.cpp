#include "sim/sweep/plan_facts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/input/scene_text.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/version.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

std::string numbers_text(const std::vector<double>& values) {
  return fmt::format("{}", fmt::join(values, " "));
}

// The facts of a scene's canonical text, "fork.spacers: 2", one a line after a prefix.
std::string facts_of(const Setup& setup, const std::string& prefix) {
  Setup nameless = setup;
  nameless.name.clear();
  nameless.fork.name.clear();
  nameless.rider.name.clear();
  nameless.bike.name.clear();
  const std::string text = to_scene_text(nameless);
  std::map<std::string, int> entries;  // of each list so far
  std::string table;
  std::string facts;
  for (std::size_t start = 0; start < text.size();) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    const std::string_view line = std::string_view(text).substr(start, end - start);
    start = end + 1;
    if (line.empty() || line.starts_with("type = ") || line.starts_with("format = ")) continue;
    const std::size_t sign = line.find(" = ");
    if (line.starts_with("[[")) {
      const std::string list(line.substr(2, line.size() - 4));
      table = fmt::format("{}[{}].", list, entries[list]++);
    } else if (line.front() == '[') {
      table = std::string(line.substr(1, line.size() - 2)) + ".";
    } else if (line.front() == ' ' || line.front() == ']') {
      facts += line;  // a list goes on
    } else {
      facts +=
          fmt::format("\n{} {}{}: {}", prefix, table, line.substr(0, sign), line.substr(sign + 3));
    }
  }
  return facts;
}

std::string unit_fact(const std::string& unit) { return unit == "1" ? "" : " [" + unit + "]"; }

std::string sampled_fact(const SampledNumber& number) {
  const Distribution& d = number.distribution;
  std::string text = fmt::format("axis {}: {}", number.name, to_string(d.kind));
  const std::pair<const char*, double> numbers[] = {
      {"low", d.low},   {"high", d.high},     {"mode", d.mode},
      {"mean", d.mean}, {"median", d.median}, {"deviation", d.deviation}};
  for (const auto& [name, value] : numbers) {
    if (!std::isnan(value)) text += fmt::format(", {} {}", name, value);
  }
  return text + unit_fact(number.unit) + "\n";
}

std::string sample_facts(const PlanContent& content) {
  std::vector<std::string> names;
  for (const SampledNumber& number : content.sampled) names.push_back(number.name);
  std::string text =
      fmt::format("sample of: {}\nsample method: {}\nsample points: {}\nsample seed: {}\n",
                  joined(names), to_string(content.design), content.base_points, content.seed);
  if (content.design == Design::joint) {
    text += fmt::format("sample covariance: {}\n", numbers_text(content.covariance));
  }
  return text;
}

std::string kept_facts(const Keep& keep) {
  std::string text = fmt::format("kept metrics: {}\n", joined(keep.metrics));
  text += fmt::format("kept traces: {}\n", keep.traces.empty() ? "none" : joined(keep.traces));
  if (!keep.traces.empty()) text += fmt::format("rate of the traces: {} Hz\n", keep.trace_rate);
  return text;
}

// What an axis overwrites is no fact of the rides.
std::string base_facts(const PlanContent& content, const PlanBase& base) {
  Setup setup = base.setup;
  for (const auto& knob : content.knobs) {
    if (knob) knob->put(setup, kUnset);
  }
  for (const Knob& knob : content.sampled_knobs) knob.put(setup, kUnset);
  return facts_of(setup, base.label + " |").substr(1) + "\n";
}

}  // namespace

std::string resolved_text(const PlanContent& content) {
  std::vector<std::string> order;
  for (const GridAxis& axis : content.grid) order.push_back(axis.name);
  std::string text = fmt::format("plan format: {}.{}\nprogram: {}\n", kSceneFormatMajor,
                                 kSceneFormatMinor, kProgramVersion);
  text += fmt::format("rides: {}\nrides of a shard: {}\n", content.size, content.shard_size);
  text += fmt::format("order of the axes: {}\n", joined(order));
  for (const GridAxis& axis : content.grid) {
    const std::string values =
        axis.labels.empty() ? numbers_text(axis.values) : joined(axis.labels);
    text += fmt::format("axis {}: {}{}\n", axis.name, values, unit_fact(axis.unit));
  }
  for (const SampledNumber& number : content.sampled) text += sampled_fact(number);
  if (content.design != Design::none) text += sample_facts(content);
  text += kept_facts(content.keep);
  for (const PlanBase& base : content.bases) text += base_facts(content, base);
  return text;
}

}  // namespace plunge
