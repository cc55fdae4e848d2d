#include "tools/cli/report_lists.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/text/words.hpp"
#include "tools/cli/json_number.hpp"

namespace plunge {

using Json = nlohmann::ordered_json;

ReportSettings::ReportSettings(const SweepSelection& selection, const ReportWords& words, Of what)
    : sweep_(selection.sweep()), words_(words) {
  const auto told = [&](Role role) { return what == Of::rides || role == Role::chosen; };
  for (std::size_t i = 0; i < sweep_.grid().size(); ++i) {
    if (!told(sweep_.grid()[i].role)) continue;
    axes_.push_back(i);
    if (selection.places()[i].size() > 1) shown_.push_back(i);
  }
  for (std::size_t i = 0; i < sweep_.sampled().size(); ++i) {
    if (told(sweep_.sampled()[i].role)) samples_.emplace_back(i, sweep_.sample(i));
  }
}

std::vector<KnobLabel> ReportSettings::labels() const {
  std::vector<KnobLabel> labels;
  for (const std::size_t i : shown_) labels.push_back(sweep_.grid()[i]);
  for (const auto& [i, values] : samples_) labels.push_back(sweep_.sampled()[i]);
  return labels;
}

void ReportSettings::columns(Table& table) const {
  for (const KnobLabel& label : labels()) {
    table.column(shown(label.name), unit_of(words_.said(label.said)));
  }
}

void ReportSettings::cells(std::size_t ride, std::vector<std::string>& cells) const {
  const std::vector<std::size_t> index = sweep_.index(ride);
  for (const std::size_t i : shown_) cells.push_back(words_.value(sweep_.grid()[i], index[i]));
  for (const auto& [i, values] : samples_) {
    cells.push_back(setting_text(values[index.back()], words_.said(sweep_.sampled()[i].said)));
  }
}

std::string ReportSettings::text(std::size_t ride) const {
  std::vector<std::string> settings;
  cells(ride, settings);
  if (settings.empty()) return "all";
  const std::vector<KnobLabel> names = labels();
  for (std::size_t i = 0; i < settings.size(); ++i) {
    settings[i] = number_in(shown(names[i].name) + " " + settings[i], words_.said(names[i].said));
  }
  return joined(settings);
}

std::string ReportSettings::values(std::size_t ride) const {
  std::vector<std::string> settings;
  cells(ride, settings);
  return settings.empty() ? "all" : joined(settings);
}

std::string ReportSettings::heading() const {
  std::vector<std::string> names;
  for (const KnobLabel& label : labels()) {
    names.push_back(with_unit(shown(label.name), words_.said(label.said)));
  }
  return joined(names);
}

Json ReportSettings::json(std::size_t ride) const {
  const std::vector<std::size_t> index = sweep_.index(ride);
  Json settings = Json::object();
  for (const std::size_t i : axes_) {
    const GridAxis& axis = sweep_.grid()[i];
    settings[axis.name] =
        axis.labels.empty() ? Json(axis.values[index[i]]) : Json(axis.labels[index[i]]);
  }
  for (const auto& [i, values] : samples_) {
    settings[sweep_.sampled()[i].name] = values[index.back()];
  }
  return settings;
}

ToldReport::ToldReport(const SweepSelection& asked_of, const SweepQuestion& asked,
                       const SweepReport& found, const ReportWords& said)
    : selection(asked_of),
      question(asked),
      report(found),
      words(said),
      rides(asked_of, said, ReportSettings::Of::rides),
      choices(asked_of, said, ReportSettings::Of::choices) {}

std::vector<std::size_t> metrics_in_order(const ToldReport& told) {
  std::vector<std::string> first;
  if (told.question.best) first.push_back(told.question.best->metric);
  if (told.question.front) {
    first.push_back(told.question.front->first.metric);
    first.push_back(told.question.front->second.metric);
  }
  for (const Limit& limit : told.question.limits) first.push_back(limit.metric);
  std::vector<std::size_t> order(told.report.metrics.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::stable_sort(order, {}, [&](std::size_t i) {
    return std::ranges::find(first, told.report.metrics[i].metric.name) - first.begin();
  });
  return order;
}

RideList& RideList::with_metrics() {
  for (const std::size_t i : metrics_in_order(told_)) {
    metrics_.push_back(told_.report.metrics[i].metric);
    const std::vector<double> column = told_.sweep().metric(metrics_.back().name);
    values_.emplace_back();
    for (const std::size_t ride : rides_) values_.back().push_back(column[ride]);
  }
  return *this;
}

Table RideList::table() const {
  Table table(1 + told_.rides.columns());
  table.column("ride", "");
  told_.rides.columns(table);
  std::vector<Label> labels;
  for (const Label& metric : metrics_) {
    labels.push_back(told_.words.said(metric));
    table.column(labels.back().label, unit_of(labels.back().said));
  }
  for (std::size_t r = 0; r < rides_.size(); ++r) {
    std::vector<std::string> cells{fmt::format("{}", rides_[r])};
    told_.rides.cells(rides_[r], cells);
    for (std::size_t i = 0; i < labels.size(); ++i) {
      cells.push_back(in_said(values_[i][r], labels[i]));
    }
    table.row(std::move(cells));
  }
  return table;
}

Json RideList::json() const {
  Json list = Json::array();
  for (std::size_t r = 0; r < rides_.size(); ++r) {
    Json metrics = Json::object();
    for (std::size_t i = 0; i < metrics_.size(); ++i) {
      metrics[metrics_[i].name] = json_number(values_[i][r]);
    }
    list.push_back(
        {{"ride", rides_[r]}, {"set", told_.rides.json(rides_[r])}, {"metrics", metrics}});
  }
  return list;
}

Table ChoiceList::table() const {
  const SweepReport& report = told_.report;
  const bool metal = std::isfinite(report.choices.front().metal_share);
  const bool limits = !told_.question.limits.empty();
  const bool lost = std::ranges::any_of(
      choices_, [&](std::size_t choice) { return report.choices[choice].lost > 0; });
  // The first column of a table stands to the left and takes its name whole.
  Table table(std::max<std::size_t>(1, told_.choices.columns()));
  if (told_.choices.columns() == 0) table.column("", "");
  told_.choices.columns(table);
  if (limits) table.column("within limits", "% of rides");
  if (metal) table.column("metal contact", "% of rides");
  if (lost) table.column("not to be had", "rides");
  const std::vector<std::size_t> order = metrics_in_order(told_);
  std::vector<Label> labels;
  for (const std::size_t i : order) {
    labels.push_back(told_.words.said(report.metrics[i].metric));
    table.column(labels.back().label, unit_of(labels.back().said));
  }
  for (const std::size_t choice : choices_) {
    const ChoiceRow& row = report.choices[choice];
    std::vector<std::string> cells;
    if (told_.choices.columns() == 0) cells.emplace_back("all");
    told_.choices.cells(row.ride, cells);
    if (limits) cells.push_back(percent(row.within_share));
    if (metal) cells.push_back(percent(row.metal_share));
    if (lost) cells.push_back(fmt::format("{}", row.lost));
    for (std::size_t i = 0; i < labels.size(); ++i) {
      const Tail& tail = row.tails[order[i]];
      cells.push_back(
          fmt::format("{} / {}", in_said(tail.median, labels[i]), in_said(tail.bad, labels[i])));
    }
    table.row(std::move(cells));
  }
  return table;
}

Json ChoiceList::json() const {
  Json list = Json::array();
  for (const std::size_t choice : choices_) {
    const ChoiceRow& row = told_.report.choices[choice];
    Json metrics = Json::object();
    for (std::size_t i = 0; i < row.tails.size(); ++i) {
      const Tail& tail = row.tails[i];
      metrics[told_.report.metrics[i].metric.name] = {{"median", json_number(tail.median)},
                                                      {"nine_in_ten", json_number(tail.bad)},
                                                      {"rides", tail.rides}};
    }
    Json object = {{"choice", choice},
                   {"set", told_.choices.json(row.ride)},
                   {"lost", row.lost},
                   {"metal_share", json_number(row.metal_share)}};
    if (!told_.question.limits.empty()) object["within_share"] = json_number(row.within_share);
    object["metrics"] = metrics;
    list.push_back(std::move(object));
  }
  return list;
}

std::string percent(double share) {
  if (!std::isfinite(share)) return "-";
  const std::string text = fmt::format("{:.1f}", 100.0 * share);
  return text == "-0.0" ? "0.0" : text;
}

}  // namespace plunge
