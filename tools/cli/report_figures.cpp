#include "tools/cli/report_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

constexpr std::size_t kDotsAcross = 360;  // of a cloud, so that a million rides draw in time
constexpr std::size_t kDotsUp = 130;
constexpr std::size_t kSteps = 200;  // of a distribution, between its ends

const Label& metric_named(const MergedSweep& sweep, const std::string& name) {
  return *std::ranges::find(sweep.metrics(), name, &Label::name);
}

Series series_of(const std::string& label, Mark mark) {
  Series series;
  series.label = label;
  series.mark = mark;
  return series;
}

// What is weighed in two metrics: rides, or choices by their 90th percentiles. The front are
// places.
struct Cloud {
  std::vector<double> x;
  std::vector<double> y;
  std::vector<std::size_t> front;
};

Cloud rides_of(const SweepSelection& selection, const SweepQuestion& question,
               const SweepReport& report) {
  const auto column = [&](const Goal& goal) {
    return selection.of(selection.sweep().metric(goal.metric));
  };
  Cloud cloud{column(question.front->first), column(question.front->second), {}};
  const std::set<std::size_t> front(report.front.begin(), report.front.end());
  for (std::size_t at = 0; at < cloud.x.size(); ++at) {
    if (front.contains(selection.ride(at))) cloud.front.push_back(at);
  }
  return cloud;
}

Cloud choices_of(const SweepQuestion& question, const SweepReport& report) {
  const auto column = [&](const Goal& goal) {
    const std::size_t at = place_of(report, goal.metric);
    std::vector<double> values;
    for (const ChoiceRow& choice : report.choices) values.push_back(choice.tails[at].bad);
    return values;
  };
  return {column(question.front->first), column(question.front->second), report.front};
}

bool has_shares(const Spread& spread) { return spread.sensitivity.why_none.empty(); }

// How many of some values are no larger than each of them [%], as a line.
Series distribution(std::vector<double> values) {
  std::erase_if(values, [](double value) { return !std::isfinite(value); });
  std::ranges::sort(values);
  Series series = series_of("", Mark::line);
  const std::size_t count = values.size();
  const std::size_t steps = std::min(count, kSteps);
  series.x.push_back(values.front());
  series.y.push_back(0.0);
  for (std::size_t i = 1; i <= steps; ++i) {
    const std::size_t rank = i * count / steps;
    series.x.push_back(values[rank - 1]);
    series.y.push_back(100.0 * static_cast<double>(rank) / static_cast<double>(count));
  }
  series.paint.colour = 0;
  return series;
}

// Of points that lie on each other one.
Series thinned(const Cloud& cloud, const std::string& label) {
  double low_x = kUnset, high_x = kUnset, low_y = kUnset, high_y = kUnset;
  const auto there = [&](std::size_t at) {
    return std::isfinite(cloud.x[at]) && std::isfinite(cloud.y[at]);
  };
  for (std::size_t at = 0; at < cloud.x.size(); ++at) {
    if (!there(at)) continue;
    low_x = std::fmin(low_x, cloud.x[at]);
    high_x = std::fmax(high_x, cloud.x[at]);
    low_y = std::fmin(low_y, cloud.y[at]);
    high_y = std::fmax(high_y, cloud.y[at]);
  }
  Series series = series_of(label, Mark::dots);
  std::vector<bool> taken(kDotsAcross * kDotsUp, false);
  const auto step = [](double value, double low, double high, std::size_t steps) {
    if (!(high > low)) return std::size_t{0};
    const double at = (value - low) / (high - low) * static_cast<double>(steps);
    return std::min(static_cast<std::size_t>(at), steps - 1);
  };
  for (std::size_t at = 0; at < cloud.x.size(); ++at) {
    if (!there(at)) continue;
    const std::size_t cell = step(cloud.y[at], low_y, high_y, kDotsUp) * kDotsAcross +
                             step(cloud.x[at], low_x, high_x, kDotsAcross);
    if (taken[cell]) continue;
    taken[cell] = true;
    series.x.push_back(cloud.x[at]);
    series.y.push_back(cloud.y[at]);
  }
  return series;
}

}  // namespace

Label ReportWords::said(const Label& metric) const {
  Label label = in_bar(metric, bar);
  label.label = shown(label.label);
  return label;
}

std::string ReportWords::value(const GridAxis& axis, std::size_t at) const {
  return axis.labels.empty() ? setting_text(axis.values[at], said(axis.said))
                             : shown(axis.labels[at]);
}

std::size_t place_of(const SweepReport& report, const std::string& metric) {
  const auto found = std::ranges::find_if(
      report.metrics, [&](const Spread& spread) { return spread.metric.name == metric; });
  return static_cast<std::size_t>(found - report.metrics.begin());
}

std::string goal_words(const MergedSweep& sweep, const Goal& goal) {
  return fmt::format("{} {}", goal.largest ? "most" : "least",
                     shown(metric_named(sweep, goal.metric).label));
}

Figure indices_figure(const MergedSweep& sweep, const SweepReport& report) {
  Figure figure;
  figure.title = shown(sweep.title());
  for (const Spread& spread : report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    if (!has_shares(spread)) continue;
    Panel panel;
    panel.title = shown(spread.metric.label);
    panel.x_label = "share of the variance [%]";
    Series alone = series_of("alone", Mark::bars);
    Series in_all = series_of("with joint effects", Mark::bars);
    alone.paint.colour = 4;
    in_all.paint.colour = 3;
    bool any_total = false;
    for (const InputIndices& input : found.inputs) {
      const auto add = [&](Series& series, const Index& index) {
        series.x.push_back(100.0 * index.value);
        series.y.push_back(static_cast<double>(panel.rows.size()));
        series.low.push_back(100.0 * index.low);
        series.high.push_back(100.0 * index.high);
      };
      add(alone, input.first);
      add(in_all, input.total);
      any_total = any_total || std::isfinite(input.total.value);
      panel.rows.push_back(shown(input.name));
    }
    panel.series.push_back(std::move(alone));
    if (any_total) panel.series.push_back(std::move(in_all));
    figure.panels.push_back(std::move(panel));
  }
  if (figure.panels.empty()) {
    throw InputError(
        Fault{"--plot", "", "there is nothing to draw: no metric varies with a setting", {}});
  }
  return figure;
}

bool has_indices(const SweepReport& report) {
  return std::ranges::any_of(report.metrics, has_shares);
}

Figure shares_figure(const SweepReport& report) {
  Panel panel;
  CellMap& map = panel.map;
  for (const Spread& spread : report.metrics) {
    if (!has_shares(spread)) continue;
    for (const InputIndices& input : spread.sensitivity.inputs) {
      const std::string name = shown(input.name);
      if (std::ranges::find(map.columns, name) == map.columns.end()) map.columns.push_back(name);
    }
  }
  for (std::size_t i = report.metrics.size(); i-- > 0;) {  // rows go upwards
    const Spread& spread = report.metrics[i];
    if (!has_shares(spread)) continue;
    map.rows.push_back(shown(spread.metric.label));
    const std::size_t first = map.values.size();
    map.values.resize(first + map.columns.size(), kUnset);
    for (const InputIndices& input : spread.sensitivity.inputs) {
      const auto column = std::ranges::find(map.columns, shown(input.name)) - map.columns.begin();
      map.values[first + static_cast<std::size_t>(column)] = 100.0 * input.weight();
    }
  }
  map.label = "share of the variance [%]";
  return {"", {std::move(panel)}};
}

Figure best_figure(const MergedSweep& sweep, const SweepQuestion& question,
                   const SweepReport& report, const ReportWords& words,
                   const std::vector<std::string>& names, const std::string& heading) {
  const std::string& name = question.best->metric;
  const Label metric = words.said(metric_named(sweep, name));
  Panel panel;
  panel.rows = names;
  panel.y_label = heading;
  panel.x_label = with_unit(metric.label, metric.said);
  const auto add = [&](Series& series, std::size_t row, double value) {
    series.x.push_back(in_common_unit(value, metric.said));
    series.y.push_back(static_cast<double>(row));
  };
  const bool choices = !report.choices.empty();
  Series bad = series_of(choices ? "nine rides in ten no worse" : "", Mark::bars);
  Series median = series_of("median", Mark::bars);
  bad.paint.colour = 4;
  median.paint.colour = 3;
  const std::vector<double> rides = choices ? std::vector<double>() : sweep.metric(name);
  const std::size_t at = place_of(report, name);
  for (std::size_t row = 0; row < report.best.size(); ++row) {
    const std::size_t item = report.best[row];
    add(bad, row, choices ? report.choices[item].tails[at].bad : rides[item]);
    if (choices) add(median, row, report.choices[item].tails[at].median);
  }
  panel.series.push_back(std::move(bad));
  if (choices) panel.series.push_back(std::move(median));
  return {"The best by " + goal_words(sweep, *question.best), {std::move(panel)}};
}

Figure distribution_figure(const SweepSelection& selection, const SweepReport& report,
                           const ReportWords& words) {
  Figure figure;
  for (const Spread& spread : report.metrics) {
    if (!(spread.least < spread.most)) continue;
    const Label metric = words.said(spread.metric);
    std::vector<double> values = selection.of(selection.sweep().metric(metric.name));
    for (double& value : values) value = in_common_unit(value, metric.said);
    Panel panel;
    panel.x_label = with_unit(metric.label, metric.said);
    panel.y_label = "rides that have no more [%]";
    panel.beside = figure.panels.size() % 2 == 1;
    panel.series.push_back(distribution(std::move(values)));
    panel.references.push_back({fmt::format("median {}", in_said(spread.median, metric)),
                                in_common_unit(spread.median, metric.said), true});
    figure.panels.push_back(std::move(panel));
  }
  return figure;
}

Figure front_figure(const SweepSelection& selection, const SweepQuestion& question,
                    const SweepReport& report, const ReportWords& words) {
  const MergedSweep& sweep = selection.sweep();
  const Goal& first = question.front->first;
  const Goal& second = question.front->second;
  const Label label_x = words.said(metric_named(sweep, first.metric));
  const Label label_y = words.said(metric_named(sweep, second.metric));
  const bool choices = !report.choices.empty();
  Cloud cloud = choices ? choices_of(question, report) : rides_of(selection, question, report);
  for (double& value : cloud.x) value = in_common_unit(value, label_x.said);
  for (double& value : cloud.y) value = in_common_unit(value, label_y.said);
  Series front = series_of(question.limits.empty() ? "trade-off" : "trade-off within the limits",
                           Mark::points);
  for (const std::size_t at : cloud.front) {
    front.x.push_back(cloud.x[at]);
    front.y.push_back(cloud.y[at]);
  }
  Series all = thinned(cloud, choices ? "all choices" : "all rides");
  all.paint.colour = 4;
  front.paint.colour = 0;
  const std::string what = choices ? ", nine rides in ten no worse" : "";
  Panel panel;
  panel.x_label = with_unit(label_x.label + what, label_x.said);
  panel.y_label = with_unit(label_y.label + what, label_y.said);
  panel.title = fmt::format("{} against {}", goal_words(sweep, first), goal_words(sweep, second));
  panel.height = 1.8;
  panel.series = {std::move(all), std::move(front)};
  return {shown(sweep.title()), {std::move(panel)}};
}

Figure map_figure(const SweepSelection& selection, const std::string& asked,
                  const ReportWords& words) {
  const MergedSweep& sweep = selection.sweep();
  std::string name;
  const SweepMap map = map_sweep(selection, "--map", asked, name);
  const Label metric = words.said(metric_named(sweep, name));
  const GridAxis& columns = sweep.grid()[map.columns];
  const GridAxis& rows = sweep.grid()[map.rows];
  Panel panel;
  for (const std::size_t at : selection.places()[map.columns]) {
    panel.map.columns.push_back(words.value(columns, at));
  }
  for (const std::size_t at : selection.places()[map.rows]) {
    panel.map.rows.push_back(words.value(rows, at));
  }
  for (const double value : map.values)
    panel.map.values.push_back(in_common_unit(value, metric.said));
  panel.map.label = with_unit(metric.label, metric.said);
  panel.map.decimals = metric.decimals;
  panel.x_label = with_unit(shown(columns.name), words.said(columns.said));
  panel.y_label = with_unit(shown(rows.name), words.said(rows.said));
  std::vector<std::string> others;
  for (std::size_t i = 0; i < sweep.grid().size(); ++i) {
    if (i != map.columns && i != map.rows && selection.places()[i].size() > 1) {
      others.push_back(shown(sweep.grid()[i].name));
    }
  }
  if (sweep.points() > 1) others.emplace_back("the sample");
  panel.title = metric.label;
  if (!others.empty()) {
    panel.title +=
        fmt::format(", mean over {}",
                    others.size() > 2 ? "all else" : fmt::format("{}", fmt::join(others, " and ")));
  }
  return {shown(sweep.title()), {std::move(panel)}};
}

}  // namespace plunge
