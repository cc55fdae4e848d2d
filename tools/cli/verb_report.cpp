#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/regular_file.hpp"
#include "sim/report/plot.hpp"
#include "sim/report/sweep_report.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/report_figures.hpp"
#include "tools/cli/report_lists.hpp"
#include "tools/cli/report_page.hpp"
#include "tools/cli/report_sections.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kChoicesInJson = 20'000;  // so that it fits into memory

Json index_json(const Index& index) {
  if (!std::isfinite(index.value)) return nullptr;
  return {
      {"value", index.value}, {"low", json_number(index.low)}, {"high", json_number(index.high)}};
}

Json list_json(const ToldReport& told, const std::vector<std::size_t>& items) {
  return told.by_choice() ? ChoiceList(told, items).json()
                          : RideList(told, items).with_metrics().json();
}

Json roles_json(const MergedSweep& sweep, Role role) {
  Json names = Json::array();
  for (const GridAxis& axis : sweep.grid()) {
    if (axis.role == role) names.push_back(axis.name);
  }
  for (const SampledNumber& number : sweep.sampled()) {
    if (number.role == role) names.push_back(number.name);
  }
  return names;
}

void put_choices(const ToldReport& told, Json& out) {
  if (!told.by_choice()) return;
  out["chosen"] = roles_json(told.sweep(), Role::chosen);
  out["varies"] = roles_json(told.sweep(), Role::varies);
  out["rides_of_a_choice"] = told.report.circumstances;
  out["choices_in_all"] = told.report.choices.size();
  std::vector<std::size_t> all(std::min(told.report.choices.size(), kChoicesInJson));
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  out["choices"] = ChoiceList(told, std::move(all)).json();
}

void print_json(const ToldReport& told) {
  const MergedSweep& sweep = told.sweep();
  const SweepQuestion& question = told.question;
  const SweepReport& report = told.report;
  Json out = {
      {"title", sweep.title()},          {"rides", report.rides},
      {"failed", report.failed},         {"redone", report.redone},
      {"not_ridden", report.not_ridden}, {"design", std::string(to_string(sweep.design()))}};
  out["reasons"] = reasons_json(report.reasons);
  out["metrics"] = Json::object();
  for (const Spread& spread : report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    Json inputs = Json::object();
    for (const InputIndices& input : found.inputs) {
      inputs[input.name] = {{"first", index_json(input.first)}, {"total", index_json(input.total)}};
    }
    const bool any = spread.rides > 0;
    out["metrics"][spread.metric.name] = {
        {"units", spread.metric.unit},
        {"rides", spread.rides},
        {"least", json_number(spread.least)},
        {"least_in", any ? Json(spread.least_at) : Json(nullptr)},
        {"median", json_number(spread.median)},
        {"most", json_number(spread.most)},
        {"most_in", any ? Json(spread.most_at) : Json(nullptr)},
        {"variance", json_number(found.variance)},
        {"indices", inputs},
        {"why_no_indices", found.why_none.empty() ? Json(nullptr) : Json(found.why_none)},
        {"cells_left_out", found.cells_left},
        {"base_rows_left_out", found.rows_left}};
  }
  put_choices(told, out);
  if (!question.limits.empty()) out["within_limits"] = report.within;
  if (question.best) out["best"] = list_json(told, report.best);
  if (question.front) out["front"] = list_json(told, report.front);
  say("{}\n", json_text({{"report", out}}));
}

SweepQuestion question_of(const SweepReportOptions& options, const MergedSweep& sweep) {
  SweepQuestion question;
  for (const std::string& limit : options.limits) {
    question.limits.push_back(parse_limit("--limit", limit, sweep.metrics()));
  }
  if (!options.best.empty()) question.best = parse_goal("--best", options.best, sweep.metrics());
  if (!options.front.empty()) {
    question.front = parse_goals("--front", options.front, sweep.metrics());
  }
  if (!options.metrics.empty()) {
    question.metrics = parse_metrics("--metrics", options.metrics, sweep.metrics());
  }
  if (options.met.empty()) return question;
  question.share = parse_share("--met", options.met);
  if (!has_roles(sweep)) {
    throw InputError(Fault{"--met",
                           options.met,
                           "is read only where the plan says what is chosen and what varies (role)",
                           {}});
  }
  if (question.limits.empty()) {
    throw InputError(Fault{"--met", options.met, "needs a --limit to be met", {}});
  }
  return question;
}

void print_report(const ToldReport& told) {
  ReportSection counts = counts_section(told);
  const ReportPart heading{sweep_words(told)};
  counts.parts.insert(counts.parts.begin(), heading);
  std::vector<ReportSection> sections{std::move(counts), spreads_section(told),
                                      indices_section(told)};
  const bool listed = !told.question.best && !told.question.front;
  if (told.by_choice()) sections.push_back(choices_section(told, listed, {}));
  sections.push_back(limits_section(told));
  sections.push_back(best_section(told));
  sections.push_back(front_section(told, {}));
  say("{}", report_text(sections));
}

// What --plot draws: the map, else the front, else what matters.
Figure figure_asked(const ToldReport& told, const Figure& map) {
  if (!map.panels.empty()) return map;
  return told.question.front ? front_figure(told.selection, told.question, told.report, told.words)
                             : indices_figure(told.sweep(), told.report);
}

// The command that makes the same page again, whatever it is called, and the file that it reads.
ReportSource source_of(const SweepReportOptions& options) {
  std::string command = "plunge sweep report " + shell_word(options.file);
  const auto add = [&](const char* option, const std::string& value) {
    if (!value.empty()) command += fmt::format(" {} {}", option, shell_word(value));
  };
  for (const std::string& where : options.where) add("--where", where);
  add("--metrics", options.metrics);
  for (const std::string& limit : options.limits) add("--limit", limit);
  add("--met", options.met);
  add("--best", options.best);
  add("--front", options.front);
  add("--map", options.map);
  if (options.bar) command += " --bar";
  if (options.unsealed) command += " --unsealed";
  const std::string seal = seal_of(RegularFile(options.file));
  return {{"made by", command + " -o FILE.html"},
          {"file", options.file},
          {"seal of the file", seal.empty() ? "none" : seal}};
}

int tell_interrupted() {
  tell("plunge: interrupted; the report is not finished, and nothing was written\n");
  return 1;
}

}  // namespace

int sweep_report_verb(const SweepReportOptions& options) {
  demand_page_name(options.output);
  open_outputs({options.output, options.plot, options.replace, options.json}, {options.file});
  if (!options.map.empty() && options.plot.empty() && options.output.empty()) {
    throw InputError(Fault{
        "--map", options.map, "needs --plot FILE, or a page, -o FILE.html, to draw it in", {}});
  }
  std::error_code error;
  if (std::filesystem::is_directory(options.file, error)) {
    throw InputError(Fault{"",
                           "",
                           "is a folder; of the folder of a sweep, `plunge sweep merge` makes the "
                           "file that is read here",
                           {options.file, 0, 0}});
  }
  const InterruptGuard guard;
  const MergedSweep sweep(options.file, seal_for(options.unsealed));
  const SweepQuestion question = question_of(options, sweep);
  const SweepSelection selection(sweep, "--where", options.where);
  const ReportWords words{options.bar};
  Figure map;
  if (!options.map.empty()) map = map_figure(selection, options.map, words);
  const SweepReport report = report_sweep(selection, question, InterruptGuard::asked);
  if (report.stopped) return tell_interrupted();
  const ToldReport told(selection, question, report, words);
  if (options.json) {
    print_json(told);
  } else {
    print_report(told);
  }
  if (options.plot.empty() && options.output.empty()) return 0;
  const Figure figure = options.plot.empty() ? Figure{} : figure_asked(told, map);
  const std::string page = options.output.empty() ? "" : report_page(told, map, source_of(options));
  if (InterruptGuard::asked()) return tell_interrupted();
  finish_saying();
  if (!options.plot.empty()) {
    draw(figure, options.plot);
    remember_written(options.plot);
    note("plot: {}\n", shown(options.plot));
  }
  if (!options.output.empty()) {
    write_file_atomically(options.output, page);
    remember_written(options.output);
    note("page: {}\n", shown(name_of_output(options.output)));
  }
  return 0;
}

}  // namespace plunge
