// The verbs of the command line: what each is asked, and what it does.
//
// command_line.cpp reads the command line into these structs. Each verb prints to standard output,
// says what it wrote and what went wrong on standard error, and returns the exit code: 0 done, 1
// the run failed. It throws InputError (exit 2) and RunError (exit 1), which tell_exception()
// tells.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/search/brief.hpp"
#include "sim/sheet/sheet_case.hpp"
#include "sim/sweep/sweep.hpp"

namespace plunge {

struct RideOptions {
  std::string scene;
  std::vector<std::string> set;
  std::vector<std::string> vary;
  std::string hold;    // "sag=22%", "pressure", or empty: as the scene says
  std::string output;  // HDF5; empty: the scene's name with .h5 in the current folder; "-"
  std::string plot;
  bool replace = false;  // files that plunge did not write
  bool json = false;
  bool exact = false;  // numbers alone, without what is not known of them
  bool bar = false;
};

struct CurveOptions {
  std::vector<std::string> files;  // forks, or a scene
  std::string rider;               // file; for forks
  std::vector<std::string> set;
  std::string spacers;  // "0..4"; empty: as the fork has
  bool damper = false;  // its force over speed in place of the spring's over travel
  std::vector<std::string> vary;
  std::string hold;
  std::string plot;
  bool replace = false;
  bool json = false;
  bool exact = false;  // numbers alone, without what is not known of them
  bool bar = false;
};

struct CompareOptions {
  std::vector<std::string> files;
  std::string plot;
  bool replace = false;
  bool unsealed = false;
  bool json = false;
  bool bar = false;
};

struct ModesOptions {
  std::string scene;
  std::vector<std::string> set;
  std::string hold;
  std::string grade;
  bool json = false;
  bool bar = false;
};

struct CheckOptions {
  std::vector<std::string> files;
  bool json = false;
};

struct ForkOptions {
  std::string travel;  // "140 mm", as the others with its unit
  std::string stanchion;
  std::string bore;
  std::string spacer;  // volume of one
  std::string spacer_limit;
  std::string pressure_limit;
  std::string wheel;
  std::string name;
  std::string output;  // empty or "-": the file itself goes to the standard output
  bool replace = false;
  bool json = false;
  bool bar = false;
};

struct FitOptions {
  std::string fork;      // file, or name or number in the log
  std::string readings;  // file; empty: those of the log
  std::string log;       // empty: none
  std::string add;       // name that the fitted fork has in the log; empty: it is not added
  std::string rider;     // file; empty: of 80 kg
  std::string sag;       // "22%"; empty: that
  std::string spacers;
  std::string pressure;
  std::string ask;     // "force", "spaced" or "pressure"; empty: spaced
  std::string output;  // the fitted fork; empty: none
  bool anyway = false;
  bool replace = false;
  bool json = false;
  bool bar = false;
};

struct SweepVerbOptions {
  std::string plan;    // file, or the folder of a sweep that has begun
  std::string folder;  // empty: that one
  int threads = 0;     // 0: one for each core
  std::string lanes;   // empty: as the folder began, the best for a new one
  std::string shard;   // "2/8": the second of eight parts; empty: all
  bool json = false;
  // Who runs it, and by what command.
  std::function<SweepState(const Plan&, const SweepOptions&)> run = run_sweep;
  std::string command = "plunge sweep";
};

struct SweepStatusOptions {
  std::string folder;
  bool json = false;
};

struct SweepMergeOptions {
  std::string folder;
  std::string output;
  bool replace = false;
  int threads = 0;  // 0: one for each core
  bool partial = false;
  bool json = false;
};

struct SweepGatherOptions {
  std::string folder;
  std::vector<std::string> from;
  bool json = false;
};

struct SweepReportOptions {
  std::string file;                 // merged
  std::vector<std::string> where;   // "rider=wren", "fork.pressure=60psi..80psi"
  std::string metrics;              // "travel_max,metal_contacts"; empty: all
  std::vector<std::string> limits;  // "travel_use<=95%"
  std::string met;                  // "90%" of what varies; empty: as usual
  std::string best;                 // "hand_force_max:min"
  std::string front;                // "hand_force_max:min,travel_use:max"
  std::string map;                  // "travel_use:fork.pressure,fork.spacers"
  std::string plot;                 // of the map, else the front, else what matters most
  std::string output;               // .html; empty: none
  bool replace = false;
  bool unsealed = false;
  bool json = false;
  bool bar = false;
};

struct TableOptions {
  std::string file;                  // of a ride or of a merged sweep
  std::vector<std::string> metrics;  // empty: all
  std::vector<std::string> traces;   // of one ride, in place of a row for each
  std::string ride;                  // its number; empty: the only one
  std::string output;                // empty or "-": standard output
  bool replace = false;
  bool si = false;
  bool unsealed = false;
  bool json = false;
  bool bar = false;
};

struct SuggestOptions {
  std::string brief;  // file; empty: what the flags say alone
  BriefFlags flags;
  int threads = 0;      // 0: one for each core
  std::string lanes;    // empty: the best
  std::string log;      // today's set-up is from there; empty: from files
  std::string setting;  // of the log: name or number
  bool keep = false;    // the next step and what is foretold go into the log
  bool exact = false;   // the fork's numbers as they stand
  bool json = false;
  bool bar = false;
};

struct SheetOptions {
  SheetRequest request;
  std::string brief;  // file, in place of a fork
  std::string log;    // file, in place of a fork
  std::string from;   // settings of the log
  std::string to;
  std::string paper;   // "a4" or "letter"; empty: a4
  std::string output;  // .pdf or .html; empty: none
  bool replace = false;
  bool json = false;
  bool bar = false;
};

struct PageOptions {
  std::string output;  // .html
  bool replace = false;
  bool json = false;
};

// What the verbs of the log are asked.
struct LogVerbOptions {
  std::string log;                 // file; empty: what PLUNGE_LOG says, else kUsualLog
  std::string kind;                // "ride"; empty: all
  std::vector<std::string> words;  // "ring=141mm"
  std::string entry;               // name or number
  std::string csv;                 // kind that is exported as CSV; empty: all, as JSON
  std::string input;
  std::string output;
  bool all = false;  // also what is undone
  bool replace = false;
  bool unsealed = false;
  bool json = false;
  bool bar = false;
};
inline constexpr char kUsualLog[] = "workshop.plunge-log";

// How a verb reads files whose seal is not asked for with --unsealed.
inline Seal seal_for(bool unsealed) { return unsealed ? Seal::not_needed : Seal::demanded; }

// Tells the exception that is being handled on standard error; returns the exit code.
int tell_exception();

int ride_verb(const RideOptions& options);
int curve_verb(const CurveOptions& options);
int compare_verb(const CompareOptions& options);
int modes_verb(const ModesOptions& options);
int check_verb(const CheckOptions& options);
int sweep_verb(const SweepVerbOptions& options);
int sweep_status_verb(const SweepStatusOptions& options);
int sweep_gather_verb(const SweepGatherOptions& options);
int sweep_merge_verb(const SweepMergeOptions& options);
int sweep_report_verb(const SweepReportOptions& options);
int table_verb(const TableOptions& options);
int suggest_verb(const SuggestOptions& options);
int sheet_verb(const SheetOptions& options);
int page_verb(const PageOptions& options);
int fork_verb(const ForkOptions& options);
int fit_verb(const FitOptions& options);
int log_verb(const LogVerbOptions& options);
int log_add_verb(const LogVerbOptions& options);
int log_list_verb(const LogVerbOptions& options);
int log_show_verb(const LogVerbOptions& options);
int log_undo_verb(const LogVerbOptions& options);
int log_redo_verb(const LogVerbOptions& options);
int log_export_verb(const LogVerbOptions& options);
int log_import_verb(const LogVerbOptions& options);
int log_backup_verb(const LogVerbOptions& options);

}  // namespace plunge
