#include <algorithm>
#include <filesystem>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/disk/own_files.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/log/workshop_log.hpp"
#include "sim/search/settings.hpp"
#include "sim/sheet/sheet_html.hpp"
#include "sim/sheet/sheet_layout.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/searching.hpp"
#include "tools/cli/sheet_words.hpp"
#include "tools/cli/suggest_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

const Paper& paper_asked(const std::string& word) {
  constexpr ChoiceValue kWords[] = {{kPapers[0].name, ""}, {kPapers[1].name, ""}};
  const int found = word.empty() ? 0 : find_value(kWords, word);
  if (found < 0) throw InputError(Fault{"--paper", word, word_rule(kWords, word), {}});
  return kPapers[static_cast<std::size_t>(found)];
}

enum class MadeFrom { fork, brief, log };

// What the sheet is made from; one thing alone.
MadeFrom source_of(const SheetOptions& options) {
  const SheetRequest& request = options.request;
  const auto refuse = [](const char* option, const std::string& value, const char* rule) {
    if (!value.empty()) throw InputError(Fault{option, value, rule, {}});
  };
  const auto refuse_request = [&](const char* rule) {
    refuse("FORK", request.fork, rule);
    refuse("--rider", request.rider, rule);
    refuse("--bike", request.bike, rule);
    refuse("--scene", request.scenes.empty() ? "" : request.scenes.front(), rule);
    refuse("--spacers", request.spacers, rule);
    refuse("--pressure", request.pressure, rule);
    refuse("--sag", request.sag, rule);
    refuse("--compression", request.compression, rule);
    refuse("--rebound", request.rebound, rule);
    refuse("--temperature", request.temperature, rule);
    refuse("--altitude", request.altitude, rule);
    refuse("--ride-temperature", request.ride_temperature, rule);
    refuse("--ride-altitude", request.ride_altitude, rule);
  };
  if (!options.brief.empty()) {
    refuse_request("is not read beside --brief, which says all of it");
    refuse("--log", options.log, "is not read beside --brief");
    refuse("--from", options.from, "is not read beside --brief");
    refuse("--to", options.to, "is not read beside --brief");
    return MadeFrom::brief;
  }
  if (!options.log.empty() || !options.from.empty() || !options.to.empty()) {
    refuse_request("is not read beside --log, whose settings say all of it");
    const auto demand = [](const char* option, const std::string& value, const char* rule) {
      if (value.empty()) throw InputError(Fault{option, "", rule, {}});
    };
    demand("--log", options.log, "must be given beside --from and --to");
    demand("--from", options.from, "must name the setting that is in the fork");
    demand("--to", options.to, "must name the setting that it is to get");
    return MadeFrom::log;
  }
  if (request.fork.empty()) {
    throw InputError(
        Fault{"FORK", "", "must be given, a fork file with --rider; or --brief; or --log", {}});
  }
  if (request.rider.empty()) {
    throw InputError(Fault{"--rider", "", "must be given: sag and pressure are a rider's", {}});
  }
  return MadeFrom::fork;
}

bool is_html(const std::string& path) {
  const std::string suffix = std::filesystem::path(path).extension().string();
  if (suffix == ".html" || suffix == ".pdf") return suffix == ".html";
  throw InputError(Fault{"--output", path, "must end in .pdf or .html", {}});
}

// What to do to get from the one set-up to the other, in workshop words.
std::string task_words(const SheetCase& sheet, bool bar) {
  if (!sheet.before) return {};
  return actions_words(settings_of(sheet.before->fork), settings_of(sheet.after.fork), bar);
}

Outputs outputs_of(const SheetOptions& options) {
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  outputs.json = options.json;
  return outputs;
}

SheetCase case_of(const SheetOptions& options, MadeFrom source) {
  switch (source) {
    case MadeFrom::brief: {
      const Brief brief = read_brief(disk_files(), options.brief);
      open_outputs(outputs_of(options));
      return sheet_of_brief(brief, suggested(brief, {}, drawn_forks(brief)));
    }
    case MadeFrom::log: {
      const LogContent content = WorkshopLog(options.log).read();
      open_outputs(outputs_of(options), {options.log});
      return sheet_of_log(content, options.from, options.to);
    }
    case MadeFrom::fork:
      break;
  }
  SheetCase sheet = sheet_of_fork(disk_files(), options.request);
  open_outputs(outputs_of(options));
  return sheet;
}

}  // namespace

int sheet_verb(const SheetOptions& options) {
  const MadeFrom source = source_of(options);
  const Paper& paper = paper_asked(options.paper);
  if (options.output.empty() && !options.json) {
    throw InputError(Fault{"--output", "", "must be given, a .pdf or .html file, or --json", {}});
  }
  const bool html = !options.output.empty() && is_html(options.output);
  SheetCase sheet = case_of(options, source);
  sheet.task = task_words(sheet, options.bar);
  const SheetContent content = sheet_content(sheet, options.bar);
  if (options.json) {
    say("{}\n", sheet_json(content));
  } else {
    say("{}", sheet_text(content));
  }
  if (options.output.empty()) return 0;
  const Typesetter typesetter;
  const SheetPage page = lay_out(content, paper, typesetter);
  finish_saying();
  write_file_atomically(options.output, marked_picture(html ? page_html(page) : page_pdf(page)));
  remember_written(options.output);
  note("sheet: {}\n", shown(options.output));
  return 0;
}

}  // namespace plunge
