// The command line of plunge: reads what is asked, calls the verb, turns errors into exit codes.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <exception>
#include <iostream>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/text/version.hpp"
#include "tools/cli/verbs.hpp"

namespace {

constexpr int kDone = 0;
constexpr int kFailed = 1;
constexpr int kWrongInput = 2;

constexpr const char* kCautions =
    "Suspension work can hurt. Let all air out before you open a fork, never exceed the maker's\n"
    "pressure or spacer limit, follow the maker's manual, and ask a qualified mechanic when in\n"
    "doubt. A prediction is no safety certificate.";

void add_set(CLI::App* verb, std::vector<std::string>& set) {
  verb->add_option("--set", set, "set a number by its name, such as fork.spacers=2 (repeatable)")
      ->type_name("NAME=VALUE")
      ->allow_extra_args(false);
}

// What CLI11 says of a wrong command line, in the program's words.
std::string complaint(const CLI::App& app, const CLI::ParseError& error, int argc, char** argv) {
  std::vector<std::string> names;
  for (const CLI::App* verb : app.get_subcommands({})) names.push_back(verb->get_name());
  const std::string first = argc > 1 ? argv[1] : "";
  const bool known = std::ranges::find(names, first) != names.end();
  if (known || first.starts_with("-")) return error.what();
  if (first.empty()) return fmt::format("a verb is needed: {}", fmt::join(names, ", "));
  const std::string nearest =
      plunge::nearest_name(first, std::vector<std::string_view>(names.begin(), names.end()));
  const std::string none = "there is no verb \"" + first + "\"";
  return nearest.empty() ? none : none + "; did you mean \"" + nearest + "\"?";
}

int run(int argc, char** argv) {
  using namespace plunge;
  CLI::App app("Predicts how an air-sprung bicycle fork behaves before anyone opens it.", "plunge");
  app.footer(kCautions);
  app.require_subcommand(1);
  app.get_formatter()->label("SUBCOMMAND", "VERB");
  app.get_formatter()->label("Subcommands", "Verbs");
  app.set_version_flag("--version", std::string("plunge ") + kProgramVersion);

  RideOptions ride;
  auto* ride_app = app.add_subcommand("ride", "simulate a scene: summary, HDF5, plot");
  ride_app->add_option("scene", ride.scene, "scene file (TOML)")->required()->type_name("SCENE");
  add_set(ride_app, ride.set);
  ride_app
      ->add_option("--vary", ride.vary,
                   "ride once for each value, such as fork.spacers=0..4 or "
                   "fork.pressure=60psi..90psi:5psi (repeatable: every combination)")
      ->type_name("NAME=VALUES")
      ->allow_extra_args(false);
  ride_app
      ->add_option("--hold", ride.hold,
                   "sag=22%: solve the pressure again for each ride; pressure: keep it as given")
      ->type_name("WHAT");
  ride_app->add_option("-o,--output", ride.output, "HDF5 file to write (default: SCENE.h5 here)")
      ->type_name("FILE");
  ride_app->add_option("--plot", ride.plot, "plot to write: .png, .svg or .pdf")->type_name("FILE");
  ride_app->add_flag("--json", ride.json, "print results as JSON in SI units");
  ride_app->add_flag("--bar", ride.bar, "say pressures in bar instead of psi");

  CurveOptions curve;
  auto* curve_app = app.add_subcommand("curve", "static force over travel, slow and fast");
  curve_app->add_option("file", curve.file, "fork or scene file (TOML)")
      ->required()
      ->type_name("FORK");
  curve_app->add_option("--rider", curve.rider, "rider file, to see sag with a fork file")
      ->type_name("FILE");
  add_set(curve_app, curve.set);
  curve_app->add_option("--spacers", curve.spacers, "spacer counts to lay side by side: 0..4")
      ->type_name("VALUES");
  curve_app
      ->add_option("--hold", curve.hold,
                   "sag=22%: solve the pressure again for each spacer count; pressure: keep it")
      ->type_name("WHAT");
  curve_app->add_option("--plot", curve.plot, "plot to write: .png, .svg or .pdf")
      ->type_name("FILE");
  curve_app->add_flag("--json", curve.json, "print results as JSON in SI units");
  curve_app->add_flag("--bar", curve.bar, "say pressures in bar instead of psi");

  CompareOptions compare;
  auto* compare_app =
      app.add_subcommand("compare", "travel use and peak forces of results side by side");
  compare_app->add_option("files", compare.files, "result files (HDF5)")
      ->required()
      ->type_name("FILE...");
  compare_app->add_option("--plot", compare.plot, "plot to write: .png, .svg or .pdf")
      ->type_name("FILE");
  compare_app->add_flag("--json", compare.json, "print results as JSON in SI units");

  ModesOptions modes;
  auto* modes_app = app.add_subcommand(
      "modes", "natural frequencies, damping ratios and transmissibility at sag");
  modes_app->add_option("scene", modes.scene, "scene file (TOML)")->required()->type_name("SCENE");
  add_set(modes_app, modes.set);
  modes_app->add_option("--hold", modes.hold, "sag=22%: solve the pressure; pressure: keep it")
      ->type_name("WHAT");
  modes_app->add_flag("--json", modes.json, "print results as JSON in SI units");

  CheckOptions check;
  auto* check_app = app.add_subcommand("check", "find every fault of scene, fork, ... files");
  check_app->add_option("files", check.files, "files to check (TOML)")
      ->required()
      ->type_name("FILE...");
  check_app->add_flag("--json", check.json, "print the faults as JSON");

  SweepVerbOptions sweep;
  auto* sweep_app = app.add_subcommand("sweep", "run a plan of many rides to its end in a folder");
  sweep_app->get_formatter()->label("SUBCOMMAND", "status|merge|report");
  sweep_app->add_option("plan", sweep.plan, "plan file (TOML); one named status is ./status")
      ->type_name("PLAN");
  sweep_app
      ->add_option("-o,--output", sweep.folder,
                   "folder of the results; the same command again goes on where it stopped")
      ->type_name("DIR");
  sweep_app->add_option("--threads", sweep.threads, "rides at once (default: one for each core)")
      ->type_name("N");
  sweep_app
      ->add_option("--lanes", sweep.lanes,
                   "portable, avx2 or avx512 (default: the widest that this processor has; a "
                   "folder keeps the one that it began with)")
      ->type_name("SET");
  sweep_app
      ->add_option("--shard", sweep.shard,
                   "2/8: the second of eight parts, for job arrays; all parts share the folder")
      ->type_name("I/N");
  sweep_app->add_flag("--json", sweep.json, "print the summary as JSON");
  sweep_app->require_subcommand(0, 1);

  SweepStatusOptions status;
  auto* status_app = sweep_app->add_subcommand("status", "how far the sweep in a folder is");
  status_app->add_option("folder", status.folder, "folder of a sweep")
      ->required()
      ->type_name("DIR");
  status_app->add_flag("--json", status.json, "print it as JSON");

  SweepMergeOptions merge;
  auto* merge_app = sweep_app->add_subcommand("merge", "one HDF5 file of a finished sweep");
  merge_app->add_option("folder", merge.folder, "folder of a sweep")->required()->type_name("DIR");
  merge_app->add_option("-o,--output", merge.output, "HDF5 file to write")
      ->required()
      ->type_name("FILE");
  merge_app->add_flag("--partial", merge.partial,
                      "merge what is there; rides that are missing have no numbers");
  merge_app->add_flag("--json", merge.json, "print what was written as JSON");

  SweepReportOptions report;
  auto* report_app =
      sweep_app->add_subcommand("report", "what a merged sweep says: extremes, what matters, best");
  report_app->add_option("file", report.file, "HDF5 file of sweep merge")
      ->required()
      ->type_name("FILE");
  report_app
      ->add_option("--limit", report.limits,
                   "travel_use<=95%, metal_contacts=0: rides that count as good (repeatable)")
      ->type_name("LIMIT")
      ->allow_extra_args(false);
  report_app
      ->add_option("--best", report.best,
                   "hand_force_max, or travel_use:max: the ten best rides within the limits")
      ->type_name("METRIC:min|max");
  report_app
      ->add_option("--front", report.front,
                   "hand_force_max:min,travel_use:max: the rides that no other one beats in both")
      ->type_name("GOAL,GOAL");
  report_app
      ->add_option("--map", report.map,
                   "travel_use:fork.pressure,fork.spacers: draw a metric over two axes of the grid")
      ->type_name("METRIC:AXIS,AXIS");
  report_app
      ->add_option("--plot", report.plot,
                   "plot to write, .png, .svg or .pdf: the map, else the front, else what matters")
      ->type_name("FILE");
  report_app->add_flag("--json", report.json, "print the report as JSON in SI units");

  sweep_app->parse_complete_callback([&] {
    const bool other = *status_app || *merge_app || *report_app;
    if (other && !sweep.plan.empty()) throw CLI::ExtrasError({sweep.plan});
    if (!other && sweep.plan.empty()) throw CLI::RequiredError("plan");
    if (!other && sweep.folder.empty()) throw CLI::RequiredError("--output");
  });

  std::string topic;
  auto* help_app = app.add_subcommand("help", "explain a verb");
  help_app->add_option("verb", topic, "the verb to explain")->type_name("VERB");

  // Once a verb is parsed, help() is that verb's own.
  const std::string overview = app.help();
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& asked) {  // --help, --version
    return app.exit(asked);
  } catch (const CLI::ParseError& error) {
    std::cerr << "plunge: " << complaint(app, error, argc, argv) << "; try: plunge help\n";
    return kWrongInput;
  }

  try {
    if (*ride_app) return ride_verb(ride);
    if (*curve_app) return curve_verb(curve);
    if (*compare_app) return compare_verb(compare);
    if (*modes_app) return modes_verb(modes);
    if (*check_app) return check_verb(check);
    if (*status_app) return sweep_status_verb(status);
    if (*merge_app) return sweep_merge_verb(merge);
    if (*report_app) return sweep_report_verb(report);
    if (*sweep_app) return sweep_verb(sweep);
    if (topic.empty()) {
      std::cout << overview;
      return kDone;
    }
    const auto verbs =
        app.get_subcommands([&](const CLI::App* verb) { return verb->get_name() == topic; });
    if (verbs.empty()) {
      std::cerr << "plunge: help: there is no verb \"" << topic << "\"; try: plunge help\n";
      return kWrongInput;
    }
    std::cout << verbs.front()->help(app.get_name());
    return kDone;
  } catch (const std::exception&) {
    return tell_exception();
  }
}

}  // namespace

int main(int argc, char** argv) {
  const int code = run(argc, argv);
  if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return code;
  std::cerr << "plunge: cannot write to the standard output\n";
  return code == kDone ? kFailed : code;
}
