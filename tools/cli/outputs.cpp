#include "tools/cli/outputs.hpp"

#include <filesystem>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/disk/output_gate.hpp"
#include "sim/report/plot.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// Every file that a command reads, by now or by what its verb says.
OutputGate gate_of(const std::vector<std::string>& inputs, const std::string& folder) {
  OutputGate gate;
  gate.reads(files_read());
  gate.reads(inputs);
  if (!folder.empty()) {
    // Words may go into what others put there beside the sweep, such as a log.
    gate.reads_folder(folder,
                      [](const std::string& path) { return !sweep_that_owns(path).empty(); });
  }
  return gate;
}

}  // namespace

void open_outputs(const Outputs& outputs, const std::vector<std::string>& inputs,
                  const std::string& folder) {
  const bool piped = outputs.results == kStandardOutput;
  const std::string suffix = std::filesystem::path(outputs.results).extension().string();
  if (suffix == ".toml" || suffix == ".csv") {
    throw InputError(
        Fault{"--output", outputs.results, "has the name of an input; results end in .h5", {}});
  }
  if (!outputs.plot.empty()) demand_plot_name(outputs.plot);
  if (piped && outputs.json) {
    throw InputError(Fault{
        "--output", outputs.results, "is where --json goes: name a file for one of them", {}});
  }
  OutputGate gate = gate_of(inputs, folder);
  if (!piped) gate.speaks();
  const auto write = [&](const char* option, const std::string& path) {
    const std::string sweep = path == kStandardOutput ? "" : sweep_that_owns(path);
    if (!sweep.empty()) {
      throw InputError(
          Fault{option, path, "is part of the sweep in " + sweep + ": name another file", {}});
    }
    gate.writes(option, path);
  };
  write("--output", outputs.results);
  write("--output", outputs.table);
  write("--plot", outputs.plot);
  gate.open(outputs.replace);
  if (piped) say_on_standard_error();
}

void demand_free_standard_output(const std::vector<std::string>& inputs,
                                 const std::string& folder) {
  OutputGate gate = gate_of(inputs, folder);
  gate.speaks();
  gate.open(false);
}

std::string name_of_output(const std::string& path) {
  return path == kStandardOutput ? "the standard output" : path;
}

}  // namespace plunge
