#include "tools/cli/command_line.hpp"

#include <algorithm>
#include <exception>
#include <filesystem>
#include <string_view>
#include <system_error>

#include "models/setup/shown.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/build.hpp"
#include "tools/cli/complaint.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

constexpr int kDone = 0;
constexpr int kWrongInput = 2;

void add_set(CLI::App* verb, std::vector<std::string>& set) {
  verb->add_option("--set", set, "set a number by its name, such as fork.spacers=2 (repeatable)")
      ->type_name("NAME=VALUE")
      ->allow_extra_args(false);
}

void add_plot(CLI::App* verb, std::string& plot) {
  verb->add_option("--plot", plot, "plot to write: .png, .svg or .pdf")->type_name("FILE");
}

// A flag that is given or not: "--name=0" is refused.
void add_flag(CLI::App* verb, const char* name, bool& flag, const char* what) {
  verb->add_flag(name, flag, what)->disable_flag_override();
}

void add_bar(CLI::App* verb, bool& bar) {
  add_flag(verb, "--bar", bar, "say pressures in bar instead of psi");
}

void add_exact(CLI::App* verb, bool& exact) {
  add_flag(verb, "--exact", exact,
           "each number alone, without what guessed numbers of the fork and rider leave open");
}

void add_json(CLI::App* verb, bool& json, const char* what = "print results as JSON in SI units") {
  add_flag(verb, "--json", json, what);
}

void add_unsealed(CLI::App* verb, bool& unsealed) {
  add_flag(verb, "--unsealed", unsealed,
           "read files without plunge's check sum too: another program wrote or changed them");
}

void add_replace(CLI::App* verb, bool& replace) {
  add_flag(verb, "--replace", replace, "write over a file that plunge did not write, too");
}

void add_help_flag(CLI::App& app) { app.set_help_flag("-h,--help", "explain this"); }

void add_version(CLI::App& app) {
  app.set_version_flag("-V,--version", build_text())->description("say which version this is");
}

// What is given is done at once, so that it holds wherever it stands.
void add_quiet(CLI::App& app) {
  app.add_flag_callback("-q,--quiet", be_quiet, "no notes and no progress, only what is wrong")
      ->disable_flag_override();
}

std::vector<std::string> words_of(int argc, char** argv) {
  return {argv + std::min(argc, 1), argv + argc};
}

}  // namespace

CommandLine::CommandLine()
    : app_("predicts how an air-sprung bicycle fork behaves before anyone opens it", "plunge") {
  add_help_flag(app_);  // before the verbs, which take it from here
  app_.require_subcommand(1);
  add_version(app_);
  add_quiet(app_);
  add_ride();
  add_curve();
  add_compare();
  add_table();
  add_modes();
  add_check();
  add_fork();
  add_fit();
  add_sweep();
  add_suggest();
  add_sheet();
  add_page();
  add_log();
  add_help();
}

CLI::App* CommandLine::add_verb(CLI::App& parent, const char* name, const char* what,
                                std::function<int()> run) {
  CLI::App* verb = parent.add_subcommand(name, what);
  // Before the verb that it belongs to, which is asked for as well.
  const auto place =
      std::ranges::find(runs_, &parent, [](const auto& entry) { return entry.first; });
  runs_.insert(place, {verb, std::move(run)});
  add_quiet(*verb);
  return verb;
}

void CommandLine::add_ride() {
  CLI::App* verb = add_verb(app_, "ride", "simulate a scene: summary, HDF5, plot",
                            [this] { return ride_verb(ride_); });
  verb->add_option("scene", ride_.scene, "scene file (TOML)")->required()->type_name("SCENE");
  add_set(verb, ride_.set);
  verb->add_option("--vary", ride_.vary,
                   "ride once for each value, such as fork.spacers=0..4 or "
                   "fork.pressure=60psi..90psi:5psi (repeatable: every combination)")
      ->type_name("NAME=VALUES")
      ->allow_extra_args(false);
  verb->add_option(
          "--hold", ride_.hold,
          "sag=22% or sag=35mm: solve the pressure again for each ride; pressure: keep it as "
          "given")
      ->type_name("WHAT");
  verb->add_option("-o,--output", ride_.output,
                   "HDF5 file to write (default: SCENE.h5 here; -: the standard output)")
      ->type_name("FILE");
  add_plot(verb, ride_.plot);
  add_replace(verb, ride_.replace);
  add_exact(verb, ride_.exact);
  add_json(verb, ride_.json);
  add_bar(verb, ride_.bar);
}

void CommandLine::add_curve() {
  CLI::App* verb = add_verb(app_, "curve", "static force over travel, or a damper's over speed",
                            [this] { return curve_verb(curve_); });
  verb->add_option("files", curve_.files,
                   "fork files (TOML), laid side by side where there are several, or a scene")
      ->required()
      ->type_name("FORK...");
  verb->add_option("--rider", curve_.rider, "rider file, to see sag with fork files")
      ->type_name("FILE");
  add_set(verb, curve_.set);
  verb->add_option("--spacers", curve_.spacers, "spacer counts to lay side by side: 0..4")
      ->type_name("VALUES");
  add_flag(verb, "--damper", curve_.damper,
           "the damper: force over speed, both directions, by the clicks of each adjuster");
  verb->add_option("--vary", curve_.vary,
                   "lay values side by side, such as fork.pressure=60psi..90psi:10psi or "
                   "ambient.temperature=-10degC,20degC; with --damper such as "
                   "fork.rebound.clicks=0..16:4 (repeatable: every combination, of --spacers too)")
      ->type_name("NAME=VALUES")
      ->allow_extra_args(false);
  verb->add_option(
          "--hold", curve_.hold,
          "sag=22% or sag=35mm: solve the pressure again for each curve; pressure: keep it")
      ->type_name("WHAT");
  add_plot(verb, curve_.plot);
  add_replace(verb, curve_.replace);
  add_exact(verb, curve_.exact);
  add_json(verb, curve_.json);
  add_bar(verb, curve_.bar);
}

void CommandLine::add_compare() {
  CLI::App* verb = add_verb(app_, "compare", "travel use and peak forces of results side by side",
                            [this] { return compare_verb(compare_); });
  verb->add_option("files", compare_.files, "result files (HDF5)")
      ->required()
      ->type_name("FILE...");
  add_plot(verb, compare_.plot);
  add_replace(verb, compare_.replace);
  add_unsealed(verb, compare_.unsealed);
  add_json(verb, compare_.json);
  add_bar(verb, compare_.bar);
}

void CommandLine::add_table() {
  CLI::App* verb = add_verb(app_, "table", "results as CSV: a row for each ride, or traces of one",
                            [this] { return table_verb(table_); });
  verb->add_option("file", table_.file, "result file of ride or sweep merge (HDF5)")
      ->required()
      ->type_name("FILE");
  verb->add_option("--metrics", table_.metrics,
                   "travel_max,hand_force_max: these alone (all names: plunge help metrics)")
      ->delimiter(',')
      ->type_name("NAMES")
      ->allow_extra_args(false);
  verb->add_option("--traces", table_.traces,
                   "travel,fork_force: what happened in one ride, a row for each sample")
      ->delimiter(',')
      ->type_name("NAMES")
      ->allow_extra_args(false);
  verb->add_option("--ride", table_.ride, "number of the ride whose traces are meant")
      ->type_name("N");
  verb->add_option("-o,--output", table_.output, "file to write (default: standard output)")
      ->type_name("FILE");
  add_replace(verb, table_.replace);
  add_flag(verb, "--si", table_.si, "SI units under the names that HDF5 uses");
  add_unsealed(verb, table_.unsealed);
  add_json(verb, table_.json, "write JSON in SI units in place of CSV");
  add_bar(verb, table_.bar);
}

void CommandLine::add_modes() {
  CLI::App* verb =
      add_verb(app_, "modes", "natural frequencies, damping ratios and transmissibility at sag",
               [this] { return modes_verb(modes_); });
  verb->add_option("scene", modes_.scene, "scene file (TOML)")->required()->type_name("SCENE");
  add_set(verb, modes_.set);
  verb->add_option("--hold", modes_.hold,
                   "sag=22% or sag=35mm: solve the pressure; pressure: keep it")
      ->type_name("WHAT");
  verb->add_option("--grade", modes_.grade, "even slope to ride on, as -10deg; level unless given")
      ->type_name("ANGLE");
  add_json(verb, modes_.json);
  add_bar(verb, modes_.bar);
}

void CommandLine::add_check() {
  CLI::App* verb = add_verb(app_, "check", "find every fault of scene, fork, ... files",
                            [this] { return check_verb(check_); });
  verb->add_option("files", check_.files, "files to check (TOML)")
      ->required()
      ->type_name("FILE...");
  add_json(verb, check_.json, "print the faults, and what plans hold, as JSON");
}

void CommandLine::add_fork() {
  CLI::App* verb = add_verb(app_, "fork", "begin a fork file from what a workshop can read off it",
                            [this] { return fork_verb(fork_); });
  const auto add = [verb](const char* name, std::string& text, const char* what, const char* type) {
    return verb->add_option(name, text, what)->type_name(type);
  };
  add("--travel", fork_.travel, "travel, such as 140mm", "LENGTH")->required();
  add("--stanchion", fork_.stanchion, "outer diameter of the upper tubes, such as 34mm", "LENGTH");
  add("--bore", fork_.bore, "inner diameter of the tube of the air spring, where it is known",
      "LENGTH");
  add("--wheel", fork_.wheel, "wheel size, such as 27.5in (default: 29in)", "LENGTH");
  add("--spacer", fork_.spacer, "volume of one spacer, such as 8cm3", "VOLUME");
  add("--spacer-limit", fork_.spacer_limit, "most spacers by the maker's manual", "N");
  add("--pressure-limit", fork_.pressure_limit, "the maker's pressure rating, such as 120psi",
      "PRESSURE");
  add("--name", fork_.name, "what the fork is called", "NAME");
  add("-o,--output", fork_.output, "fork file to write (default: to the standard output)", "FILE");
  add_replace(verb, fork_.replace);
  add_json(verb, fork_.json, "print what is known of each number as JSON in SI units");
  add_bar(verb, fork_.bar);
}

void CommandLine::add_fit() {
  CLI::App* verb = add_verb(app_, "fit", "numbers of a fork from readings of the workshop",
                            [this] { return fit_verb(fit_); });
  verb->add_option("fork", fit_.fork, "fork file (TOML); with --log a name or number of the log")
      ->required()
      ->type_name("FORK");
  verb->add_option(
          "readings", fit_.readings,
          "readings (TOML or CSV); left out with --log: those that the log has of the fork")
      ->type_name("READINGS");
  verb->add_option("--log", fit_.log, "log that the fork, and its readings, are taken from")
      ->type_name("FILE");
  verb->add_option("--add", fit_.add, "add the fitted fork to the log under this name")
      ->type_name("NAME");
  verb->add_option("--rider", fit_.rider, "rider file that the sag is for (default: of 80 kg)")
      ->type_name("FILE");
  verb->add_option("--sag", fit_.sag, "sag that the pressure is for (default: 22%)")
      ->type_name("SHARE");
  verb->add_option("--spacers", fit_.spacers,
                   "spacers that the second force is for (default: 4, or as many as may go in)")
      ->type_name("N");
  verb->add_option("--pressure", fit_.pressure,
                   "pressure that the forces are for (default: the fork's own)")
      ->type_name("PRESSURE");
  verb->add_option("--ask", fit_.ask,
                   "what the next reading should narrow: force, spaced or pressure (default: "
                   "spaced, the force with spacers)")
      ->type_name("WHAT");
  verb->add_option("-o,--output", fit_.output, "fitted fork file to write")->type_name("FILE");
  add_flag(verb, "--anyway", fit_.anyway, "write it although the readings contradict each other");
  add_replace(verb, fit_.replace);
  add_json(verb, fit_.json);
  add_bar(verb, fit_.bar);
}

void CommandLine::add_sweep() {
  CLI::App* verb = add_verb(app_, "sweep", "run a plan of many rides to its end in a folder",
                            [this] { return sweep_verb(sweep_); });
  verb->add_option(
          "plan", sweep_.plan,
          "plan file (TOML), or the folder of a sweep to go on with, which keeps its plan; "
          "one named status is ./status")
      ->type_name("PLAN");
  verb->add_option("-o,--output", sweep_.folder,
                   "folder of the results; the same command again goes on where it stopped")
      ->type_name("DIR");
  verb->add_option("--threads", sweep_.threads, "rides at once (default: one for each core)")
      ->type_name("N");
  verb->add_option("--lanes", sweep_.lanes,
                   "portable, avx2 or avx512 (default: the widest that this processor has; a "
                   "folder keeps the one that it began with)")
      ->type_name("SET");
  verb->add_option("--shard", sweep_.shard,
                   "2/8: the second of eight parts, for job arrays; all parts share the folder")
      ->type_name("I/N");
  add_json(verb, sweep_.json, "print the summary as JSON");
  verb->require_subcommand(0, 1);
  add_sweep_status(*verb);
  add_sweep_gather(*verb);
  add_sweep_merge(*verb);
  add_sweep_report(*verb);
  verb->parse_complete_callback([this, verb] {
    const bool other = !verb->get_subcommands().empty();
    if (other && !sweep_.plan.empty()) throw CLI::ExtrasError({sweep_.plan});
    if (!other && sweep_.plan.empty()) throw CLI::RequiredError("plan");
    std::error_code error;
    const bool begun = std::filesystem::is_directory(sweep_.plan, error);
    if (!other && !begun && sweep_.folder.empty()) throw CLI::RequiredError("--output");
  });
}

void CommandLine::add_sweep_status(CLI::App& sweep) {
  CLI::App* verb = add_verb(sweep, "status", "how far the sweep in a folder is",
                            [this] { return sweep_status_verb(status_); });
  verb->add_option("folder", status_.folder, "folder of a sweep")->required()->type_name("DIR");
  add_json(verb, status_.json, "print it as JSON");
}

void CommandLine::add_sweep_gather(CLI::App& sweep) {
  CLI::App* verb =
      add_verb(sweep, "gather", "parts that were ridden in other folders, put into one",
               [this] { return sweep_gather_verb(gather_); });
  verb->add_option("folder", gather_.folder, "folder of the sweep; a new one is begun")
      ->required()
      ->type_name("DIR");
  verb->add_option("from", gather_.from, "folders of the same sweep, whole or in parts")
      ->required()
      ->type_name("FROM...");
  add_json(verb, gather_.json, "print what was copied as JSON");
}

void CommandLine::add_sweep_merge(CLI::App& sweep) {
  CLI::App* verb = add_verb(sweep, "merge", "one HDF5 file of a finished sweep",
                            [this] { return sweep_merge_verb(merge_); });
  verb->add_option("folder", merge_.folder, "folder of a sweep")->required()->type_name("DIR");
  verb->add_option("-o,--output", merge_.output, "HDF5 file to write (-: the standard output)")
      ->required()
      ->type_name("FILE");
  add_replace(verb, merge_.replace);
  verb->add_option("--threads", merge_.threads, "shards at once (default: one for each core)")
      ->type_name("N");
  add_flag(verb, "--partial", merge_.partial,
           "merge what is there; rides that are missing have no numbers");
  add_json(verb, merge_.json, "print what was written as JSON");
}

void CommandLine::add_sweep_report(CLI::App& sweep) {
  CLI::App* verb =
      add_verb(sweep, "report", "what a merged sweep says: extremes, what matters, best",
               [this] { return sweep_report_verb(report_); });
  verb->add_option("file", report_.file, "HDF5 file of sweep merge")->required()->type_name("FILE");
  verb->add_option("--where", report_.where,
                   "rider=wren,alder or fork.pressure=60psi..80psi: only these rides (repeatable)")
      ->type_name("NAME=VALUE")
      ->allow_extra_args(false);
  verb->add_option("--metrics", report_.metrics,
                   "travel_max,metal_contacts: the metrics to show (default: all)")
      ->type_name("METRIC,...");
  verb->add_option("--limit", report_.limits,
                   "travel_use<=95%, metal_contacts=0: what counts as good (repeatable)")
      ->type_name("LIMIT")
      ->allow_extra_args(false);
  verb->add_option("--met", report_.met,
                   "share of what varies in which a choice must keep the limits (default: 90%)")
      ->type_name("SHARE");
  verb->add_option("--best", report_.best,
                   "hand_force_max, or travel_use:max: the ten best rides, or choices, within the "
                   "limits")
      ->type_name("METRIC[:min|max]");
  verb->add_option("--front", report_.front,
                   "hand_force_max:min,travel_use:max: the rides, or choices, that no other one "
                   "beats in both")
      ->type_name("GOAL,GOAL");
  verb->add_option("--map", report_.map,
                   "travel_use:fork.pressure,fork.spacers: draw a metric over two axes of the grid")
      ->type_name("METRIC:AXIS,AXIS");
  verb->add_option("--plot", report_.plot,
                   "plot to write, .png, .svg or .pdf: the map, else the front, else what matters")
      ->type_name("FILE");
  verb->add_option("-o,--output", report_.output,
                   ".html file to write: the report as a page, short first (-: the standard "
                   "output)")
      ->type_name("FILE");
  add_replace(verb, report_.replace);
  add_unsealed(verb, report_.unsealed);
  add_json(verb, report_.json, "print the report as JSON in SI units");
  add_bar(verb, report_.bar);
}

CLI::App* CommandLine::add_log_verb(CLI::App& log, const char* name, const char* what,
                                    int (*run)(const LogVerbOptions&)) {
  CLI::App* verb = add_verb(log, name, what, [this, run] { return run(log_); });
  verb->add_option("--log", log_.log,
                   "the log (default: what the environment variable PLUNGE_LOG says, else "
                   "workshop.plunge-log here)")
      ->type_name("FILE");
  add_json(verb, log_.json);
  return verb;
}

void CommandLine::add_log() {
  CLI::App* log = add_log_verb(
      app_, "log", "the workshop's log: forks, settings, rides, readings, predictions", log_verb);
  add_bar(log, log_.bar);
  log->require_subcommand(0, 1);

  CLI::App* add = add_log_verb(*log, "add", "add an entry; the first begins the log", log_add_verb);
  add->add_option("kind", log_.kind,
                  "bike, rider, fork, setting, ride, reading, prediction or note")
      ->required()
      ->type_name("KIND");
  add->add_option("fields", log_.words,
                  "what it says, such as ring=141mm or fork.pressure=72psi; a word without = is "
                  "its first field (all fields: scenarios/log.md)")
      ->type_name("FIELD=VALUE...");
  add_unsealed(add, log_.unsealed);
  add_bar(add, log_.bar);

  CLI::App* list = add_log_verb(*log, "list", "what the log holds", log_list_verb);
  list->add_option("kind", log_.kind, "entries of this kind alone, as a table: rides")
      ->type_name("KIND");
  add_flag(list, "--all", log_.all, "also what is undone, and the undos");
  add_bar(list, log_.bar);

  CLI::App* show = add_log_verb(*log, "show", "one entry, and what names it", log_show_verb);
  show->add_option("entry", log_.entry, "its name or its number")->required()->type_name("ENTRY");
  add_bar(show, log_.bar);

  CLI::App* undo = add_log_verb(*log, "undo", "mark the last entry as undone; nothing is removed",
                                log_undo_verb);
  add_bar(undo, log_.bar);
  CLI::App* redo = add_log_verb(*log, "redo", "take the last undo back, if nothing was added since",
                                log_redo_verb);
  add_bar(redo, log_.bar);

  CLI::App* give =
      add_log_verb(*log, "export", "the whole log as JSON, or one kind as CSV", log_export_verb);
  give->add_option("-o,--output", log_.output, "file to write (default: standard output)")
      ->type_name("FILE");
  give->add_option("--csv", log_.csv, "entries of this kind as CSV: rides")->type_name("KIND");
  add_flag(give, "--all", log_.all, "in CSV also what is undone");
  add_replace(give, log_.replace);
  add_bar(give, log_.bar);

  CLI::App* take =
      add_log_verb(*log, "import", "add what an export has and the log has not", log_import_verb);
  take->add_option("file", log_.input, "JSON of plunge log export")->required()->type_name("FILE");

  CLI::App* copy = add_log_verb(*log, "backup", "a copy of the log, while others write to it too",
                                log_backup_verb);
  copy->add_option("-o,--output", log_.output, "file to write")->required()->type_name("FILE");
  add_replace(copy, log_.replace);
}

void CommandLine::add_suggest() {
  CLI::App* verb =
      add_verb(app_, "suggest", "set-ups that meet a brief, and the next small step to take",
               [this] { return suggest_verb(suggest_); });
  BriefFlags& flags = suggest_.flags;
  verb->add_option("brief", suggest_.brief,
                   "brief file (TOML); left out where --fork, --rider and --scene say enough")
      ->type_name("BRIEF");
  verb->add_option("--fork", flags.fork, "fork file, in place of the brief's")->type_name("FILE");
  verb->add_option("--rider", flags.rider, "rider file, likewise")->type_name("FILE");
  verb->add_option("--bike", flags.bike, "bike file, in place of the scenes'")->type_name("FILE");
  verb->add_option("--scene", flags.scenes, "scene file, in place of the brief's (repeatable)")
      ->type_name("FILE")
      ->allow_extra_args(false);
  verb->add_option("--pressure", flags.pressure, "today's pressure: 72psi")->type_name("PRESSURE");
  verb->add_option("--sag", flags.sag, "today's sag, in place of a pressure: 22% or 33mm")
      ->type_name("SAG");
  verb->add_option("--spacers", flags.spacers, "spacers in it today")->type_name("N");
  verb->add_option("--compression", flags.compression, "today's clicks from closed")
      ->type_name("N");
  verb->add_option("--rebound", flags.rebound, "today's clicks from closed")->type_name("N");
  verb->add_option("--complaint", flags.complaints,
                   "what the rider feels: \"dives braking\", \"harsh\", ... (repeatable)")
      ->type_name("WORDS")
      ->allow_extra_args(false);
  verb->add_option("--threads", suggest_.threads, "rides at once (default: one for each core)")
      ->type_name("N");
  verb->add_option("--lanes", suggest_.lanes,
                   "portable, avx2 or avx512 (default: the widest that this processor has)")
      ->type_name("SET");
  verb->add_option("--log", suggest_.log, "log that today's set-up is taken from")
      ->type_name("FILE");
  verb->add_option("--setting", suggest_.setting, "today's setting: its name or number in the log")
      ->type_name("SETTING");
  add_flag(verb, "--keep", suggest_.keep,
           "add the next step and what is foretold of its ring to the log");
  add_flag(verb, "--exact", suggest_.exact,
           "take the fork's numbers as they stand, however well they are known");
  add_json(verb, suggest_.json);
  add_bar(verb, suggest_.bar);
}

void CommandLine::add_sheet() {
  CLI::App* verb = add_verb(app_, "sheet", "the printable bench sheet of a fork and its next step",
                            [this] { return sheet_verb(sheet_); });
  SheetRequest& request = sheet_.request;
  const auto add = [verb](const char* name, std::string& text, const char* what, const char* type) {
    return verb->add_option(name, text, what)->type_name(type);
  };
  add("fork", request.fork, "fork file (TOML); left out where --brief or --log is given", "FORK");
  add("--rider", request.rider, "rider file (needed with a fork file)", "FILE");
  add("--bike", request.bike, "bike file", "FILE");
  verb->add_option("--scene", request.scenes,
                   "scene file to predict, before and after (repeatable)")
      ->type_name("FILE")
      ->allow_extra_args(false);
  add("--spacers", request.spacers, "spacers to have in it afterwards", "N");
  add("--pressure", request.pressure, "pressure to set: 72psi", "PRESSURE");
  add("--sag", request.sag, "sag to set, in place of a pressure: 22% or 33mm", "SAG");
  add("--compression", request.compression, "clicks from closed to set", "N");
  add("--rebound", request.rebound, "clicks from closed to set", "N");
  add("--temperature", request.temperature, "of the air where it is pumped: 20degC", "TEMPERATURE");
  add("--altitude", request.altitude, "where it is pumped: 300m", "LENGTH");
  add("--ride-temperature", request.ride_temperature, "of the air where it is ridden: 5degC",
      "TEMPERATURE");
  add("--ride-altitude", request.ride_altitude, "where it is ridden: 1800m", "LENGTH");
  add("--brief", sheet_.brief, "brief file: from today's set-up to the next step of suggest",
      "FILE");
  add("--log", sheet_.log, "the workshop's log: from one setting to another", "FILE");
  add("--from", sheet_.from, "setting of the log that is in the fork, by name or number",
      "SETTING");
  add("--to", sheet_.to, "setting of the log that it is to get", "SETTING");
  add("-o,--output", sheet_.output, "sheet to write: .pdf or .html", "FILE");
  add("--paper", sheet_.paper, "a4 or letter (default: a4)", "PAPER");
  add_replace(verb, sheet_.replace);
  add_json(verb, sheet_.json, "print what the sheet says as JSON, numbers in SI units");
  add_bar(verb, sheet_.bar);
}

void CommandLine::add_page() {
  CLI::App* verb =
      add_verb(app_, "page", "the learning page: the model in one file for a browser, a lesson",
               [this] { return page_verb(page_); });
  verb->add_option("-o,--output", page_.output, "page to write: .html")->type_name("FILE");
  add_replace(verb, page_.replace);
  add_json(verb, page_.json, "print the file and its size as JSON");
}

void CommandLine::add_help() {
  CLI::App* verb = add_verb(app_, "help", "explain a verb", [this] { return explain(); });
  verb->add_option("verb", topic_, "the verb to explain: ride, sweep merge, ...")
      ->type_name("VERB...");
}

namespace {

// The names that --metrics, --best and their like take, with what people call them.
std::string metrics_text() {
  Table table(2);
  table.column("metric", "");
  table.column("", "");
  table.column("what people call it", "");
  for (const MetricRow& row : metric_rows()) {
    table.row({row.name, unit_of(row.said), row.label});
  }
  return table.text();
}

}  // namespace

int CommandLine::explain() const {
  if (topic_ == std::vector<std::string>{"metrics"}) {
    say_text(metrics_text());
    return kDone;
  }
  const CLI::App* explained = &app_;
  for (const std::string& word : topic_) {
    const auto inner = verbs_of(*explained);
    const auto found = std::ranges::find(inner, word, &CLI::App::get_name);
    if (found == inner.end()) {
      tell("plunge: {}; try: plunge help\n", shown(unknown_verb(*explained, word)));
      return kWrongInput;
    }
    explained = *found;
  }
  say_text(help_text(*explained, line_width()));
  return kDone;
}

int CommandLine::run(int argc, char** argv) {
  try {
    if (const auto code = read_command_line(app_, argc, argv)) return *code;
    const auto asked =
        std::ranges::find_if(runs_, [](const auto& entry) { return entry.first->parsed(); });
    return asked->second();
  } catch (const std::exception&) {
    return tell_exception();
  }
}

std::optional<int> read_command_line(CLI::App& app, int argc, char** argv) {
  try {
    app.parse(argc, argv);
    const std::string empty = empty_name(app);
    if (empty.empty()) return std::nullopt;
    tell("plunge: {}\n", empty);
    return kWrongInput;
  } catch (const CLI::CallForHelp&) {
    say_text(help_text(asked_verb(app), line_width()));
    return kDone;
  } catch (const CLI::CallForVersion& version) {
    say("{}\n", version.what());
    return kDone;
  } catch (const CLI::ParseError& error) {
    tell("plunge: {}\n", complaint(app, error, words_of(argc, argv)));
    return kWrongInput;
  }
}

void add_sweep_over_hosts(CLI::App& app, SweepVerbOptions& sweep) {
  app.name("plunge_mpi");
  app.description(
      "runs the plan of plunge sweep over all ranks: mpirun -n 32 plunge_mpi PLAN -o DIR");
  add_help_flag(app);
  add_version(app);
  add_quiet(app);
  app.add_option("plan", sweep.plan, "plan file (TOML), on a file system that all hosts share")
      ->required()
      ->type_name("PLAN");
  app.add_option("-o,--output", sweep.folder,
                 "folder of the results, on a file system that all hosts share; the same command "
                 "again goes on where it stopped")
      ->required()
      ->type_name("DIR");
  app.add_option("--lanes", sweep.lanes,
                 "portable, avx2 or avx512 (default: the widest that all processors have; a folder "
                 "keeps the one that it began with)")
      ->type_name("SET");
  add_json(&app, sweep.json, "print the summary as JSON");
}

}  // namespace plunge
