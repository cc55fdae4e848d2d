#include "tools/cli/report_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/shown.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/own_files.hpp"
#include "sim/figure/drawing_svg.hpp"
#include "sim/figure/figure_drawing.hpp"
#include "sim/figure/figure_layout.hpp"
#include "sim/text/build.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/version.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/help.hpp"
#include "tools/cli/report_sections.hpp"

namespace plunge {
namespace {

// Chosen: what a reader still scrolls through.
constexpr ReportLengths kOnPage = {200, 200};
constexpr std::size_t kValuesShown = 40;    // of an axis
constexpr std::size_t kPlanBytes = 60'000;  // of the plan's text

// Paper and ink, light and dark. Tables and figures that are wider than the screen scroll in a box
// of their own; on paper every fold is open.
constexpr char kStyle[] = R"(
:root { color-scheme: light; --paper: #fbf9f4; --card: #ffffff; --ink: #1d1b18; --soft: #5a554d; --rule: #d5cfc2;
  --faint: #f3efe6; --blue: #1f4e79; }
@media (prefers-color-scheme: dark) {
  :root { color-scheme: dark; --paper: #191815; --ink: #ece7dc; --soft: #b5aea1; --rule: #454038;
    --faint: #24221d; --blue: #8fbbe0; }
  .card { filter: brightness(.92); }
}
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); font-size: 17px; -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; max-width: 66rem; padding: 0 clamp(.9rem, 3vw, 2.4rem) 2.5rem; line-height: 1.45;
  font-family: "Palatino Linotype", Palatino, "URW Palladio L", P052, "Book Antiqua", Georgia, "DejaVu Serif", serif;
  font-variant-numeric: tabular-nums lining-nums; overflow-wrap: anywhere; }
h1, h2 { font-weight: 600; line-height: 1.2; margin: 0; text-wrap: balance; }
h1 { font-size: 1.7rem; } h2 { font-size: 1.2rem; }
p { margin: .5em 0; max-width: 44em; }
header { padding: 1.4rem 0 .8rem; border-bottom: 3px double var(--rule); }
header p, .aside, footer { color: var(--soft); }
header p { margin: .3em 0 0; }
.answer { padding: 1.1rem 0 .6rem; }
.answer p { font-size: 1.08rem; } .answer h2 + p { font-size: 1.25rem; }
.scroll { overflow-x: auto; max-width: 100%; margin: .5rem 0 1rem; }
.card { background: var(--card); border: 1px solid var(--rule); border-radius: 3px; padding: .4rem; margin: .7rem 0 1.2rem; }
svg { display: block; width: 100%; min-width: 40rem; height: auto; }
details { border-top: 1px solid var(--rule); }
details:last-of-type { border-bottom: 1px solid var(--rule); }
summary { cursor: pointer; padding: .6rem 0; font-weight: 600; }
summary:hover { background: var(--faint); }
summary small { color: var(--soft); font-weight: 400; margin-left: .5em; }
:focus-visible { outline: 3px solid var(--blue); outline-offset: 2px; border-radius: 2px; }
.folded { padding: 0 0 .9rem; }
table { border-collapse: collapse; font-size: .92rem; line-height: 1.3; }
th, td { text-align: right; padding: .22rem 0 .22rem 1.3rem; vertical-align: bottom; white-space: nowrap; font-weight: 400; overflow-wrap: normal; }
thead th { max-width: 9.5em; white-space: normal; border-bottom: 1px solid var(--ink); color: var(--soft); }
thead small { display: block; font-size: inherit; }
th:first-child { position: sticky; left: 0; background: var(--paper); text-align: left; padding-left: 0;
  min-width: 7em; max-width: 22em; white-space: normal; }
tbody tr + tr > * { border-top: 1px solid var(--faint); }
dl { margin: .3rem 0 .8rem; max-width: 60rem; }
dl div { display: grid; grid-template-columns: minmax(9em, 15em) 1fr; gap: 0 1.2rem; padding: .22rem 0; }
dt { color: var(--soft); } dd { margin: 0; }
pre { font: .82rem/1.4 "DejaVu Sans Mono", ui-monospace, Menlo, Consolas, monospace; white-space: pre; margin: 0; padding: .7rem .9rem;
  background: var(--faint); border-radius: 3px; width: max-content; min-width: 100%; }
footer { padding-top: 1rem; font-size: .92rem; }
@media (max-width: 600px) {
  html { font-size: 16px; } h1 { font-size: 1.35rem; }
  dl div { grid-template-columns: 1fr; } dd { padding-left: 1rem; }
}
@media print {
  :root { color-scheme: light; --paper: #fff; --card: #fff; --ink: #000; --soft: #333; --rule: #999; --faint: #ddd; }
  @page { margin: 14mm; }
  html { font-size: 10.5pt; } body { max-width: none; padding: 0; }
  details::details-content { content-visibility: visible; display: block; block-size: auto; }
  summary { list-style: none; } summary, p:has(+ .scroll) { break-after: avoid; }
  .card { filter: none; } .card, dl div, tr { break-inside: avoid; } thead { display: table-header-group; }
  .card { border: 0; padding: 0; } svg { min-width: 0; }
  .scroll { overflow: visible; }
  th:first-child { position: static; min-width: 0; }
  table { font-size: 7.5pt; max-width: 100%; } th, td { padding-left: .5rem; white-space: normal; }
  pre { white-space: pre-wrap; width: auto; background: none; padding: 0; font-size: 7.5pt; }
}
)";

std::string paragraph_html(std::string_view words, const char* kind = "") {
  const std::string style = *kind == '\0' ? "" : fmt::format(" class=\"{}\"", kind);
  return fmt::format("<p{}>{}</p>\n", style, markup_of(words));
}

// What is wider than the screen scrolls in a box that the keyboard reaches.
std::string scrolled(const std::string& inside, const std::string& name, const char* kind = "") {
  return fmt::format(
      "<div class=\"scroll{}\" tabindex=\"0\" role=\"region\" aria-label=\"{}\">{}</div>\n", kind,
      markup_of(name, true), inside);
}

std::string parts_html(const std::vector<ReportPart>& parts, const std::string& title) {
  std::string html;
  for (const ReportPart& part : parts) {
    const bool plain = part.look == ReportPart::Look::plain;
    if (!part.words.empty()) html += paragraph_html(trimmed(part.words), plain ? "" : "aside");
    if (part.table) html += scrolled(part.table->html(), part.words.empty() ? title : part.words);
  }
  return html;
}

std::string figure_html(const Figure& figure, const std::string& title) {
  if (figure.panels.empty()) return {};
  Drawing drawing = drawing_of(lay_out(figure));
  if (drawing.title.empty()) drawing.title = title;
  return scrolled("\n" + drawing_element(drawing), drawing.title, " card");
}

// A section that is shown when it is asked for; none where nothing is in it.
std::string folded(const std::string& title, const std::string& note, const std::string& inside) {
  if (inside.empty()) return {};
  const std::string small = note.empty() ? "" : " <small>" + markup_of(note) + "</small>";
  return fmt::format(
      "<details>\n<summary>{}{}</summary>\n<div class=\"folded\">\n{}</div>\n</details>\n",
      markup_of(title), small, inside);
}

std::string entries_html(const ReportSource& entries) {
  std::string html = "<dl>\n";
  for (const auto& [name, value] : entries) {
    html += fmt::format("<div><dt>{}</dt><dd>{}</dd></div>\n", markup_of(shown(name)),
                        markup_of(shown(value)));
  }
  return html + "</dl>\n";
}

// ---- figures ----

Figure best_figure(const ToldReport& told) {
  std::vector<std::string> names;
  for (const std::size_t item : told.report.best) {
    names.push_back(told.by_choice() ? told.choices.values(told.report.choices[item].ride)
                                     : fmt::format("ride {}: {}", item, told.rides.values(item)));
  }
  return best_figure(told.sweep(), told.question, told.report, told.words, names,
                     (told.by_choice() ? told.choices : told.rides).heading());
}

// What answers the question, at a glance.
std::string main_figures(const ToldReport& told, const Figure& map) {
  Figure asked = map;
  asked.title.clear();  // the page has it
  std::string html = figure_html(asked, "map");
  if (!told.report.front.empty()) {
    Figure front = front_figure(told.selection, told.question, told.report, told.words);
    front.title.clear();
    html += figure_html(front, "trade-off");
  }
  if (!told.report.best.empty()) html += figure_html(best_figure(told), "best");
  if (html.empty() && has_indices(told.report)) {
    html = figure_html(shares_figure(told.report), "what matters most");
  }
  return html;
}

// ---- folds ----

std::string answers_folds(const ToldReport& told) {
  ReportSection best = limits_section(told);
  for (ReportPart& part : best_section(told).parts) best.parts.push_back(std::move(part));
  const char* const title = told.question.best ? "The best" : "Within the limits";
  std::string html =
      folded(title, told.question.best ? goal_words(told.sweep(), *told.question.best) : "",
             parts_html(best.parts, title));
  html += folded("Trade-off",
                 told.question.front
                     ? counted(told.report.front.size(), told.by_choice() ? "choice" : "ride")
                     : "",
                 parts_html(front_section(told, kOnPage).parts, "Trade-off"));
  if (!told.by_choice()) return html;
  const ReportSection choices = choices_section(told, true, kOnPage);
  return html + folded(choices.heading, counted(told.report.choices.size(), "choice"),
                       parts_html(choices.parts, choices.heading));
}

std::string metrics_fold(const ToldReport& told) {
  const char* const title = "Each metric: least, median and most";
  return folded(title, counted(told.report.metrics.size(), "metric"),
                parts_html(spreads_section(told).parts, title) +
                    figure_html(distribution_figure(told.selection, told.report, told.words),
                                "how each metric is distributed over the rides"));
}

std::string indices_fold(const ToldReport& told) {
  const ReportSection indices = indices_section(told);
  std::string html = parts_html(indices.parts, indices.heading);
  if (has_indices(told.report)) {
    Figure figure = indices_figure(told.sweep(), told.report);
    figure.title.clear();
    html += figure_html(figure, indices.heading);
  }
  return folded(indices.heading, "share of the variance that each setting brings", html);
}

std::string with_role(const std::string& name, Role role) {
  return role == Role::none ? name : fmt::format("{}, {}", name, to_string(role));
}

std::string values_words(const ToldReport& told, std::size_t axis) {
  const GridAxis& on = told.sweep().grid()[axis];
  const std::vector<std::size_t>& places = told.selection.places()[axis];
  std::vector<std::string> values;
  for (const std::size_t at : places) {
    if (values.size() < kValuesShown) values.push_back(told.words.value(on, at));
  }
  std::string words = number_in(joined(values), told.words.said(on.said));
  if (places.size() > values.size()) {
    words += fmt::format(" and {} more", places.size() - values.size());
  }
  if (places.size() < on.values.size()) {
    words += fmt::format(", of {} in the sweep", counted(on.values.size(), "value"));
  }
  return words;
}

std::string range_words(const ToldReport& told, std::size_t number) {
  const std::string said = told.words.said(told.sweep().sampled()[number].said);
  const std::vector<double> values = told.sweep().sample(number);
  const auto [least, most] = std::ranges::minmax(values);
  return fmt::format("{} to {}", setting_text(least, said),
                     number_in(setting_text(most, said), said));
}

std::string settings_fold(const ToldReport& told) {
  const MergedSweep& sweep = told.sweep();
  ReportSource entries;
  for (std::size_t i = 0; i < sweep.grid().size(); ++i) {
    entries.emplace_back(with_role(sweep.grid()[i].name, sweep.grid()[i].role),
                         values_words(told, i));
  }
  for (std::size_t i = 0; i < sweep.sampled().size(); ++i) {
    entries.emplace_back(with_role(sweep.sampled()[i].name, sweep.sampled()[i].role),
                         range_words(told, i));
  }
  if (sweep.design() != Design::none) {
    entries.emplace_back("sample", fmt::format("{}, {}", design_words(sweep.design()),
                                               counted(sweep.points(), "row")));
  }
  std::vector<std::string> kept;
  for (const Label& metric : sweep.metrics()) kept.push_back(metric.name);
  entries.emplace_back("metrics that were kept", joined(kept));
  std::string html = entries_html(entries);
  const std::string plan = shown_lines(shortened(sweep.said("plan"), kPlanBytes));
  if (!plan.empty()) html += scrolled("<pre>" + markup_of(plan) + "</pre>", "the plan's text");
  return folded("Settings of the sweep", "axes, and the plan as it was written", html);
}

std::string source_fold(const ToldReport& told, const ReportSource& source) {
  const MergedSweep& sweep = told.sweep();
  ReportSource entries = source;
  const auto add = [&](const char* name, const std::string& value) {
    if (!value.empty()) entries.emplace_back(name, value);
  };
  add("fingerprint of the plan", sweep.said("plan_fingerprint"));
  add("merged by", fmt::format("plunge {}, commit {}, {}", sweep.said("program_version"),
                               sweep.said("program_commit"), sweep.said("program_compiler")));
  add("lanes", sweep.said("lanes"));
  add("reported by", build_text());
  return folded("Where this comes from", "files, check sums, builds", entries_html(entries));
}

}  // namespace

void demand_page_name(const std::string& path) {
  if (path.empty() || path == kStandardOutput) return;
  if (std::filesystem::path(path).extension() != ".html") {
    throw InputError(Fault{"--output", path, "must end in .html", {}});
  }
}

std::string report_page(const ToldReport& told, const Figure& map, const ReportSource& source) {
  const std::string title = sweep_words(told);
  const ReportSection answer = answer_section(told);
  std::string page = fmt::format(
      "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
      "style-src 'unsafe-inline'; img-src data:\">\n"
      "<meta name=\"generator\" content=\"plunge {}\">\n<link rel=\"icon\" href=\"data:,\">\n"
      "<title>{}</title>\n<style>{}</style>\n</head>\n<body>\n",
      kProgramVersion, markup_of(title), kStyle);
  page += fmt::format("<header>\n<h1>{}</h1>\n{}</header>\n<main>\n", markup_of(title),
                      parts_html(counts_section(told).parts, ""));
  page += fmt::format("<section class=\"answer\">\n<h2>{}</h2>\n{}</section>\n", answer.heading,
                      parts_html(answer.parts, answer.heading));
  page += main_figures(told, map);
  page += answers_folds(told) + metrics_fold(told) + indices_fold(told) + settings_fold(told) +
          source_fold(told, source);
  page += "</main>\n<footer>\n" + paragraph_html(kCautions) + "</footer>\n</body>\n</html>\n";
  return marked_picture(page);
}

}  // namespace plunge
