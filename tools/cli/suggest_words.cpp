#include "tools/cli/suggest_words.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string_view>
#include <vector>

#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/band_text.hpp"
#include "tools/cli/help.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

// Air as a gauge shows it: a whole psi where it is one.
std::string air_words(double pressure, bool bar) {
  if (bar) return fmt::format("{:.2f} bar", in_common_unit(pressure, "bar"));
  const double psi = in_common_unit(pressure, "psi");
  const bool whole = std::abs(psi - std::round(psi)) < 0.05;
  return fmt::format("{:.{}f} psi", psi, whole ? 0 : 1);
}

std::string percent_words(double share) {
  if (share > 0.995) return "over 99 %";
  if (share < 0.005) return "under 1 %";
  return fmt::format("{:.0f} %", 100.0 * share);
}

// A value as its metric is said: "61.2 mm".
std::string value_words(double value, std::string_view metric) {
  const MetricRow& row = *find_metric(metric);
  const std::string unit = unit_of(row.said);
  return in_said(value, row) + (unit.empty() ? "" : " " + unit);
}

std::string bounds_words(const Demand& demand) {
  const std::string_view metric = demand.row->metric;
  if (!demand.row->window) return "at most " + value_words(demand.high, metric);
  return in_said(demand.low, *find_metric(metric)) + " to " + value_words(demand.high, metric);
}

std::string demand_words(const Demand& demand, const Met& met) {
  return fmt::format("{} {}, asked {}", demand.row->meaning,
                     value_words(met.value, demand.row->metric), bounds_words(demand));
}

std::string scene_words(const Brief& brief, std::size_t scene) {
  return fmt::format("\"{}\"", brief.scenes[scene].name);
}

std::string paragraph(const std::string& text, std::size_t indent = 2) {
  return std::string(indent, ' ') + wrapped(shown(text), line_width(), indent) + "\n";
}

// Comfort against today's: "3 % more comfort than today".
std::string comfort_words(double comfort) {
  const double percent = std::round(100.0 * (1.0 - comfort));
  if (percent == 0.0) return "as comfortable as today";
  return fmt::format("{:.0f} % {} comfort than today", std::abs(percent),
                     percent > 0.0 ? "more" : "less");
}

std::string broken_words(const Brief& brief, const Verdict& verdict) {
  std::string text;
  for (std::size_t i = 0; i < verdict.met.size(); ++i) {
    if (!(verdict.met[i].margin < 0.0)) continue;
    text += (text.empty() ? "" : "; ") + demand_words(brief.demands[i], verdict.met[i]);
  }
  return text;
}

std::string first_words(const Brief& brief, const Candidate& candidate) {
  const DemandRow& row = *brief.demands[candidate.first].row;
  const double share = candidate.chance.broken[candidate.first];
  if (share == 0.0) return fmt::format("nothing broke in any draw; tightest is {}", row.meaning);
  return fmt::format("first to break: {}, in {} of the draws", row.meaning, percent_words(share));
}

std::string effect_words(const Brief& brief, const Effect& effect, bool bar) {
  const std::string what = effect.gauge != 0.0 ? (effect.gauge > 0.0 ? "+" : "-") +
                                                     air_words(std::abs(effect.gauge), bar)
                                               : fmt::format("{:+.0f} kg", effect.mass);
  if (!(effect.verdict.merit < kNoMerit)) return what + ": cannot be ridden";
  std::string broken;
  for (std::size_t i = 0; i < effect.verdict.met.size(); ++i) {
    if (!(effect.verdict.met[i].margin < 0.0)) continue;
    broken += fmt::format("{}{}", broken.empty() ? "" : " and ", brief.demands[i].row->key);
  }
  return fmt::format("{}: sag {:.1f} %, travel {:.1f} %{}", what, 100.0 * effect.sag,
                     100.0 * effect.use, broken.empty() ? "" : ", breaks " + broken);
}

std::string effects_text(const Brief& brief, const Candidate& candidate, bool bar) {
  std::string text;
  for (const Effect& effect : candidate.effects) {
    text += paragraph(effect_words(brief, effect, bar), 4);
  }
  return text;
}

// What the fork's own numbers leave open of a set-up; empty: they were taken as they stand.
std::string open_text(const Candidate& candidate, bool bar) {
  if (!candidate.air.known()) return {};
  const char* const unit = bar ? "bar" : "psi";
  const auto in_psi = [&](double pressure) { return in_common_unit(pressure, unit); };
  const auto percent = [](double share, const Band& band) {
    return with_band(100.0 * share, 100.0 * band.low, 100.0 * band.high, 0);
  };
  return paragraph(fmt::format(
      "left open by what is not known: sag {} %, travel {} %; {} {} hold a sag of {:.0f} %, so set "
      "it by the sag",
      percent(candidate.sag, candidate.chance.sag), percent(candidate.use, candidate.chance.travel),
      band_text(in_psi(candidate.air.low), in_psi(candidate.air.high), bar ? 1 : 0), unit,
      100.0 * candidate.sag));
}

std::string today_text(const Brief& brief, const Suggestion& found, bool bar) {
  const Candidate& today = found.today;
  std::string text = paragraph("today: " + settings_words(brief, brief.today, bar), 0);
  const std::string broken = broken_words(brief, today.verdict);
  text += paragraph(broken.empty() ? "meets every demand" : "breaks: " + broken);
  text += paragraph(fmt::format("chance that all demands are met: {}; {}",
                                percent_words(today.chance.all), first_words(brief, today)));
  text += open_text(today, bar);
  return text + effects_text(brief, today, bar);
}

// Why a choice is among them.
std::string why_words(const Suggestion& found, std::size_t i) {
  const Candidate& choice = found.choices[i];
  const Candidate& surest = found.choices.front();
  const std::string comfort = comfort_words(choice.verdict.comfort);
  if (i == 0) {
    const std::string first = found.can_be_met ? "surest" : "nearest";
    if (found.choices.size() == 1) return first + " and most comfortable, " + comfort;
    return first + ", " + comfort;
  }
  const double less = surest.chance.all - choice.chance.all;
  const std::string cost =
      fmt::format("{}; {:.0f} % more comfort than 1 costs {:.0f} % of chance", comfort,
                  100.0 * (surest.verdict.comfort - choice.verdict.comfort), 100.0 * less);
  const std::string place = i + 1 == found.choices.size() ? "most comfortable" : "between";
  return fmt::format("{}{}, {}", less > kEdge ? "on an edge: " : "", place, cost);
}

std::string choices_text(const Brief& brief, const Suggestion& found, bool bar) {
  if (found.choices.empty()) return "\nno set-up that was tried can be ridden\n";
  std::string text = found.can_be_met ? "\nset-ups that meet the brief, the surest first\n\n"
                                      : "\nset-ups that come nearest, the nearest first\n\n";
  Table table;
  table.column("", "");
  table.column("spacers", "");
  table.column("pressure", bar ? "bar" : "psi");
  if (has_clicks(brief.scenes.front().fork.compression)) table.column("compression", "clicks");
  if (has_clicks(brief.scenes.front().fork.rebound)) table.column("rebound", "clicks");
  table.column("sag", "%");
  table.column("travel", "%");
  table.column("comfort", "%");
  table.column("chance", "%");
  const auto row = [&](const std::string& name, const Candidate& candidate) {
    const ForkSettings& s = candidate.settings;
    std::vector<std::string> cells = {name, in_unit(s.spacers, "1", 0),
                                      in_unit(s.pressure, bar ? "bar" : "psi", bar ? 2 : 0)};
    if (has_clicks(brief.scenes.front().fork.compression)) {
      cells.push_back(in_unit(s.compression, "1", 0));
    }
    if (has_clicks(brief.scenes.front().fork.rebound)) cells.push_back(in_unit(s.rebound, "1", 0));
    cells.push_back(in_unit(candidate.sag, "%", 1));
    cells.push_back(in_unit(candidate.use, "%", 1));
    cells.push_back(fmt::format("{:+.0f}", 100.0 * (1.0 - candidate.verdict.comfort)));
    cells.push_back(in_unit(candidate.chance.all, "%", 0));
    table.row(cells);
  };
  row("today", found.today);
  for (std::size_t i = 0; i < found.choices.size(); ++i) {
    row(std::to_string(i + 1), found.choices[i]);
  }
  text += table.text() + "\n";
  for (std::size_t i = 0; i < found.choices.size(); ++i) {
    const Candidate& choice = found.choices[i];
    text += paragraph(fmt::format("{}: {}", i + 1, why_words(found, i)), 0);
    const std::string broken = broken_words(brief, choice.verdict);
    if (!broken.empty()) text += paragraph("breaks: " + broken);
    text += paragraph(first_words(brief, choice)) + open_text(choice, bar);
    text += effects_text(brief, choice, bar);
  }
  return text;
}

std::string shortfall_text(const Brief& brief, const Suggestion& found, bool bar) {
  if (found.can_be_met) return {};
  std::string text =
      "\n" + paragraph(fmt::format("none of the {} set-ups that were tried meets every demand",
                                   found.settings),
                       0);
  if (found.gives.empty()) {
    return text + paragraph("to give up any single demand would not do: two or more have to give");
  }
  text += "what would have to give, one of:\n";
  for (const Give& give : found.gives) {
    const Demand& demand = brief.demands[give.demand];
    text += paragraph(fmt::format("{}: {} in place of {}, with {}", demand.row->meaning,
                                  value_words(give.value, demand.row->metric), bounds_words(demand),
                                  settings_words(brief, give.settings, bar)));
  }
  return text;
}

std::string look_text(const Brief& brief, const Suggestion& found) {
  const Look& look = found.look;
  const auto mm = [](double value) { return 1e3 * value; };
  std::string text = fmt::format(
      "then ride {} and look at the ring: it should stand near {:.0f} mm of {:.0f}, from {:.0f} to "
      "{:.0f} mm in nine rides of ten",
      scene_words(brief, look.scene), mm(look.ring), mm(brief.scenes.front().fork.travel),
      mm(look.ring_low), mm(look.ring_high));
  if (std::isfinite(look.return_time)) {
    const std::string where =
        look.return_scene == look.scene
            ? std::string("that stroke")
            : "the deepest stroke of " + scene_words(brief, look.return_scene);
    text += fmt::format("; after {} the fork should be back in {:.2f} s", where, look.return_time);
    if (std::isfinite(look.overshoot)) {
      text += fmt::format(" and swing {:.0f} mm past where it rides", mm(look.overshoot));
    }
  }
  return paragraph(text +
                   ". Where it does not, the model is not yet this fork: note it before the "
                   "next change");
}

// What is not known of the fork, where it costs more than any set-up could gain.
std::string read_first_text(const Suggestion& found, const ForkKnown& known) {
  double best = found.next.candidate.chance.all;
  for (const Candidate& choice : found.choices) best = std::max(best, choice.chance.all);
  if (!(found.known - best >= kReadFirst)) return {};
  std::string text = "\n" + paragraph("read the fork first: what is not known of it costs most", 0);
  text += paragraph(fmt::format(
      "were it just as its numbers stand, a set-up with a chance of {} could be picked; "
      "over what it may be the best has {}",
      percent_words(found.known), percent_words(best)));
  if (known.reading.empty()) return text;
  return text + paragraph(fmt::format(
                    "best reading: {} (spread of the {} {:.0f} % to {:.0f} %); plunge fit takes it",
                    known.reading, known.about, 100.0 * known.spread, 100.0 * known.spread_with));
}

std::string next_text(const Brief& brief, const Suggestion& found, bool bar) {
  const NextStep& next = found.next;
  if (next.effort == 0) {
    const char* const why = next.reaches ? "today's set-up reaches the chance that is asked for"
                                         : "nothing that was tried is surer than today's set-up";
    return "\n" + paragraph(fmt::format("next step: none: {}", why), 0) + look_text(brief, found);
  }
  std::string text =
      "\n" + paragraph("next step: " + actions_words(brief.today, next.candidate.settings, bar), 0);
  text += paragraph(
      fmt::format("chance from {} to {}{}; {}", percent_words(found.today.chance.all),
                  percent_words(next.candidate.chance.all),
                  next.reaches ? "" : fmt::format(", short of {}", percent_words(next.asked)),
                  comfort_words(next.candidate.verdict.comfort)));
  if (next.asked < brief.chance) {
    text += paragraph(fmt::format("{} was asked for, which nothing that was tried reaches",
                                  percent_words(brief.chance)));
  }
  return text + look_text(brief, found);
}

std::string change_text(const Brief& brief, const ComplaintAnswer& answer, const Change& change,
                        bool bar) {
  const std::string_view metric = answer.row->metric;
  std::string text = fmt::format("{}: {} {}", actions_words(brief.today, change.settings, bar),
                                 value_words(std::abs(change.effect), metric),
                                 change.effect < 0.0 ? "less" : "more");
  if (std::abs(change.effect) <= answer.luck) {
    return paragraph(text + ", no more than luck would do: no advice", 4);
  }
  if (!change.advised) {
    return paragraph(fmt::format("{}, but in {} of the forks that it may be only: no advice", text,
                                 percent_words(change.lessens)),
                     4);
  }
  std::string broken;
  for (const std::size_t i : change.breaks) {
    broken += fmt::format("{}{}", broken.empty() ? ", but breaks " : " and ",
                          brief.demands[i].row->meaning);
  }
  return paragraph(text + broken, 4);
}

std::string complaint_text(const Brief& brief, const ComplaintAnswer& answer, bool bar) {
  const ComplaintRow& row = *answer.row;
  std::string text = "\n" + paragraph(fmt::format("\"{}\"", row.words), 0);
  if (!answer.applies) {
    return text + paragraph(fmt::format(
                      "no scene of the brief tells of it; it is felt in {}: add one", row.scenes));
  }
  const MetricRow& metric = *find_metric(row.metric);
  std::string seen = fmt::format(
      "the model {} it: {} {} on {}", answer.shown ? "shows" : "does not show", metric.label,
      value_words(answer.value, row.metric), scene_words(brief, answer.scene));
  if (std::isfinite(answer.limit)) {
    seen += fmt::format(", where {} {} counts", row.too_much ? "more than" : "less than",
                        value_words(answer.limit, row.metric));
  }
  if (std::isfinite(answer.shown_in)) {
    seen +=
        fmt::format(" (it does in {} of the forks that it may be)", percent_words(answer.shown_in));
  }
  seen += fmt::format("; {} of the set-ups tried do better", percent_words(answer.better));
  text += paragraph(seen);
  text += paragraph(fmt::format("two rides of today's set-up differ by {} anyhow: speed and line",
                                value_words(answer.luck, row.metric)));
  constexpr std::size_t kMostChanges = 4;
  for (std::size_t i = 0; i < std::min(kMostChanges, answer.changes.size()); ++i) {
    text += change_text(brief, answer, answer.changes[i], bar);
  }
  if (answer.changes.empty()) text += paragraph("no single turn lessens it", 4);
  if (!answer.shown) {
    text += paragraph(
        "ask the rider again where it is felt: what the model does not show, it cannot cure");
  }
  return text;
}

// What the chances take of the fork's own numbers.
std::string fork_words(const Brief& brief, const Suggestion& found, const ForkKnown& known) {
  const std::size_t open = brief.knowledge.uncertain().size();
  if (open == 0) {
    return "the fork's own numbers are taken as they stand: its file says of none that it is "
           "uncertain";
  }
  std::size_t guessed = 0;
  std::size_t fitted = 0;
  for (const std::size_t i : brief.knowledge.uncertain()) {
    const Evidence evidence = brief.knowledge.numbers()[i].evidence;
    if (evidence == Evidence::guessed) ++guessed;
    if (evidence == Evidence::fitted) ++fitted;
  }
  const std::string of = fmt::format(
      "of its own numbers {} are uncertain, {} guessed and {} fitted", open, guessed, fitted);
  if (found.forks == 0) return of + ", and are taken as they stand (--exact)";
  std::string text = fmt::format("and over {} forks that it may be, the same for every set-up: {}",
                                 found.forks, of);
  if (!known.reading.empty()) {
    text +=
        fmt::format("; what would help most is {} (spread of the {} {:.0f} % to {:.0f} %)",
                    known.reading, known.about, 100.0 * known.spread, 100.0 * known.spread_with);
  }
  return text;
}

Json settings_json(const ForkSettings& settings) {
  return {{"fork.spacers", settings.spacers},
          {"fork.pressure", settings.pressure},
          {"fork.compression.clicks", settings.compression},
          {"fork.rebound.clicks", settings.rebound}};
}

// Ends of 95 %; null: nothing was drawn.
Json band_json(const Band& band) {
  if (!band.known()) return nullptr;
  return Json::array({band.low, band.high});
}

Json verdict_json(const Brief& brief, const Verdict& verdict) {
  Json demands = Json::array();
  for (std::size_t i = 0; i < verdict.met.size(); ++i) {
    const Demand& demand = brief.demands[i];
    demands.push_back({{"demand", demand.row->key},
                       {"metric", demand.row->metric},
                       {"low", json_number(demand.low)},
                       {"high", json_number(demand.high)},
                       {"value", json_number(verdict.met[i].value)},
                       {"margin", json_number(verdict.met[i].margin)},
                       {"scene", brief.scenes[verdict.met[i].scene].name}});
  }
  return demands;
}

Json candidate_json(const Brief& brief, const Suggestion& found, const Candidate& candidate) {
  Json scenes = Json::array();
  for (std::size_t i = 0; i < candidate.outcome.scenes.size(); ++i) {
    Json metrics = Json::object();
    for (std::size_t k = 0; k < found.metrics.size(); ++k) {
      metrics[found.metrics[k]] = json_number(candidate.outcome.scenes[i][k]);
    }
    scenes.push_back({{"scene", brief.scenes[i].name}, {"metrics", metrics}});
  }
  Json effects = Json::array();
  for (const Effect& effect : candidate.effects) {
    effects.push_back({{"pressure", effect.gauge},
                       {"mass", effect.mass},
                       {"all_met", effect.verdict.all_met()},
                       {"sag_share", json_number(effect.sag)},
                       {"travel_use", json_number(effect.use)}});
  }
  Json broken = Json::object();
  for (std::size_t i = 0; i < candidate.chance.broken.size(); ++i) {
    broken[std::string(brief.demands[i].row->key)] = candidate.chance.broken[i];
  }
  return {{"set", settings_json(candidate.settings)},
          {"all_met", candidate.verdict.all_met()},
          {"comfort", json_number(candidate.verdict.comfort)},
          {"merit", json_number(candidate.verdict.merit)},
          {"chance", candidate.chance.all},
          {"sag_band", band_json(candidate.chance.sag)},
          {"travel_band", band_json(candidate.chance.travel)},
          {"pressure_band", band_json(candidate.air)},
          {"broken", broken},
          {"breaks_first", brief.demands[candidate.first].row->key},
          {"demands", verdict_json(brief, candidate.verdict)},
          {"effects", effects},
          {"scenes", scenes}};
}

Json complaint_json(const Brief& brief, const ComplaintAnswer& answer) {
  Json changes = Json::array();
  for (const Change& change : answer.changes) {
    Json breaks = Json::array();
    for (const std::size_t i : change.breaks) breaks.push_back(brief.demands[i].row->key);
    changes.push_back({{"set", settings_json(change.settings)},
                       {"effect", json_number(change.effect)},
                       {"lessens", json_number(change.lessens)},
                       {"advised", change.advised},
                       {"breaks", breaks}});
  }
  return {{"complaint", answer.row->words},
          {"metric", answer.row->metric},
          {"applies", answer.applies},
          {"scene", answer.applies ? Json(brief.scenes[answer.scene].name) : Json(nullptr)},
          {"value", json_number(answer.value)},
          {"limit", json_number(answer.limit)},
          {"better", json_number(answer.better)},
          {"shown", answer.shown},
          {"shown_in", json_number(answer.shown_in)},
          {"luck", json_number(answer.luck)},
          {"changes", changes}};
}

// A guessed limit is nobody's word.
std::string whose_limits(const Knowledge& knowledge) {
  const bool guessed = std::ranges::any_of(knowledge.numbers(), [](const KnownNumber& number) {
    return number.evidence == Evidence::guessed &&
           (number.name == "fork.spacer_limit" || number.name == "fork.pressure_limit");
  });
  return guessed ? "Limits that are guessed, the maker's manual says the real ones"
                 : "Limits of the fork's file";
}

}  // namespace

std::string settings_words(const Brief& brief, const ForkSettings& settings, bool bar) {
  const ForkSetup& fork = brief.scenes.front().fork;
  const auto spacers = static_cast<std::size_t>(settings.spacers);
  std::string text = counted(spacers, "spacer") + ", " + air_words(settings.pressure, bar);
  if (has_clicks(fork.compression)) text += fmt::format(", compression {}", settings.compression);
  if (has_clicks(fork.rebound)) text += fmt::format(", rebound {}", settings.rebound);
  return text;
}

std::string actions_words(const ForkSettings& from, const ForkSettings& to, bool bar) {
  std::string text;
  const auto add = [&](const std::string& action) { text += (text.empty() ? "" : "; ") + action; };
  const double spacers = to.spacers - from.spacers;
  const double air = to.pressure - from.pressure;
  if (spacers != 0.0) {
    add(fmt::format("let all air out, open the fork and {} {}, to {}; pump to {}",
                    spacers > 0.0 ? "add" : "take out",
                    counted(static_cast<std::size_t>(std::abs(spacers)), "spacer"), to.spacers,
                    air_words(to.pressure, bar)));
  } else if (air != 0.0) {
    add(fmt::format("{} {} {}, to {}", air > 0.0 ? "pump" : "let", air_words(std::abs(air), bar),
                    air > 0.0 ? "in" : "out", air_words(to.pressure, bar)));
  }
  const auto clicks = [&](const char* side, double before, double after) {
    if (before == after) return;
    add(fmt::format("{} {} further {}, to {} from closed", side,
                    counted(static_cast<std::size_t>(std::abs(after - before)), "click"),
                    after > before ? "open" : "closed", after));
  };
  clicks("compression", from.compression, to.compression);
  clicks("rebound", from.rebound, to.rebound);
  return text.empty() ? "leave it as it is" : text;
}

std::string suggestion_text(const Brief& brief, const Suggestion& found, const ForkKnown& known,
                            bool bar) {
  const Setup& first = brief.scenes.front();
  std::string text;
  if (!brief.name.empty()) text += paragraph(brief.name, 0);
  text += paragraph(fmt::format("{}; {}; {}", first.fork.name, first.rider.name,
                                counted(brief.scenes.size(), "scene")));
  text += "\n" + today_text(brief, found, bar);
  text += choices_text(brief, found, bar) + shortfall_text(brief, found, bar);
  text += read_first_text(found, known) + next_text(brief, found, bar);
  for (const ComplaintAnswer& answer : found.complaints) {
    text += complaint_text(brief, answer, bar);
  }
  text +=
      "\n" +
      paragraph(
          fmt::format("chance: over a gauge that is off by {}, a rider by {:.1f} kg and speed by "
                      "{:.0f} % (one standard deviation each), {} draws; {}. {} set-ups tried, {} "
                      "rides.",
                      air_words(kGaugeSpread, bar), kMassSpread, 100.0 * kSpeedSpread, kDraws,
                      fork_words(brief, found, known), found.settings, found.rides),
          0);
  text +=
      paragraph(fmt::format("{}: at most {} and {}. {}", whose_limits(brief.knowledge),
                            counted(static_cast<std::size_t>(first.fork.spacer_limit), "spacer"),
                            air_words(first.fork.pressure_limit, bar), kCautions),
                0);
  return text;
}

std::string kept_text(const Brief& brief, const KeptStep& kept, const std::string& log) {
  const std::string path = shell_word(log);
  return fmt::format(
      "\n{}: setting {}, with prediction {} of its ring. After the ride:\n"
      "  plunge log add ride {} {} ring=...mm --log {}\n",
      path, kept.setting, kept.prediction, kept.setting,
      shell_word("scene=" + brief.scenes[kept.look.scene].name), path);
}

std::string suggestion_json(const Brief& brief, const Suggestion& found, const ForkKnown& known,
                            const std::optional<KeptStep>& kept) {
  Json choices = Json::array();
  for (const Candidate& choice : found.choices) {
    choices.push_back(candidate_json(brief, found, choice));
  }
  Json gives = Json::array();
  for (const Give& give : found.gives) {
    gives.push_back({{"demand", brief.demands[give.demand].row->key},
                     {"value", json_number(give.value)},
                     {"set", settings_json(give.settings)}});
  }
  Json next = candidate_json(brief, found, found.next.candidate);
  next["effort"] = found.next.effort;
  next["reaches"] = found.next.reaches;
  next["asked"] = found.next.asked;
  const Look& look = found.look;
  next["look"] = {{"scene", brief.scenes[look.scene].name},
                  {"travel_max", json_number(look.ring)},
                  {"travel_max_p5", json_number(look.ring_low)},
                  {"travel_max_p95", json_number(look.ring_high)},
                  {"return_scene", brief.scenes[look.return_scene].name},
                  {"return_time", json_number(look.return_time)},
                  {"return_overshoot", json_number(look.overshoot)}};
  Json complaints = Json::array();
  for (const ComplaintAnswer& answer : found.complaints) {
    complaints.push_back(complaint_json(brief, answer));
  }
  const Json fork = {{"uncertain", brief.knowledge.uncertain().size()},
                     {"draws", found.forks},
                     {"chance_as_it_stands", json_number(found.known)},
                     {"reading", known.reading},
                     {"about", known.about},
                     {"spread", json_number(known.spread)},
                     {"spread_with", json_number(known.spread_with)}};
  Json in_log = nullptr;
  if (kept) in_log = {{"setting", kept->setting}, {"prediction", kept->prediction}};
  return json_text({{"suggestion",
                     {{"name", brief.name},
                      {"can_be_met", found.can_be_met},
                      {"today", candidate_json(brief, found, found.today)},
                      {"choices", choices},
                      {"gives", gives},
                      {"next", next},
                      {"complaints", complaints},
                      {"fork", fork},
                      {"kept", in_log},
                      {"settings", found.settings},
                      {"rides", found.rides}}}});
}

}  // namespace plunge
