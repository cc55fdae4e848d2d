// The command line of plunge: its verbs, their options, and what runs them.
//
// It reads what is asked, calls the verb, and turns errors into exit codes: 0 done, 1 failed, 2
// wrong input. What stands here is also what the manual page and the completions of the shells are
// written from (tools/install/).
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tools/cli/help.hpp"
#include "tools/cli/verbs.hpp"

namespace plunge {

class CommandLine {
 public:
  CommandLine();
  CommandLine(const CommandLine&) = delete;  // the options point into it
  CommandLine& operator=(const CommandLine&) = delete;

  // Prints to standard output and standard error; returns the exit code.
  int run(int argc, char** argv);

  const CLI::App& app() const { return app_; }

 private:
  void add_ride();
  void add_curve();
  void add_compare();
  void add_table();
  void add_modes();
  void add_check();
  void add_fork();
  void add_fit();
  void add_sweep();
  void add_sweep_status(CLI::App& sweep);
  void add_sweep_gather(CLI::App& sweep);
  void add_sweep_merge(CLI::App& sweep);
  void add_sweep_report(CLI::App& sweep);
  void add_suggest();
  void add_sheet();
  void add_page();
  void add_log();
  // A verb of the log, with what all of them are asked.
  CLI::App* add_log_verb(CLI::App& log, const char* name, const char* what,
                         int (*run)(const LogVerbOptions&));
  void add_help();

  // A verb, or one that belongs to a verb; `run` is called where it was asked for.
  CLI::App* add_verb(CLI::App& parent, const char* name, const char* what,
                     std::function<int()> run);
  int explain() const;

  CLI::App app_;
  // Those of a verb stand before the verb.
  std::vector<std::pair<const CLI::App*, std::function<int()>>> runs_;
  RideOptions ride_;
  CurveOptions curve_;
  CompareOptions compare_;
  TableOptions table_;
  ModesOptions modes_;
  CheckOptions check_;
  SuggestOptions suggest_;
  SheetOptions sheet_;
  PageOptions page_;
  ForkOptions fork_;
  FitOptions fit_;
  SweepVerbOptions sweep_;
  SweepStatusOptions status_;
  SweepGatherOptions gather_;
  SweepMergeOptions merge_;
  SweepReportOptions report_;
  LogVerbOptions log_;
  std::vector<std::string> topic_;
};

// Reads the arguments into `app`. Where they ask for no more than help or the version, or are
// wrong, it has said so: the exit code.
std::optional<int> read_command_line(CLI::App& app, int argc, char** argv);

// The command line of plunge_mpi, which reads into `sweep`.
void add_sweep_over_hosts(CLI::App& app, SweepVerbOptions& sweep);

}  // namespace plunge
