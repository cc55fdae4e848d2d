#include <fmt/core.h>

#include <cmath>

#include "sim/disk/disk_files.hpp"
#include "sim/input/overrides.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/modes.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// Third-octave steps about the range of body and wheel motions [Hz].
std::vector<double> looked_at() {
  std::vector<double> frequencies;
  for (int third = -4; third <= 16; ++third) frequencies.push_back(std::pow(10.0, third / 10.0));
  return frequencies;
}

std::string modes_text(const std::vector<Mode>& list) {
  Table modes;
  modes.column("what moves", "");
  modes.column("frequency", "Hz");
  modes.column("damping ratio", "");
  modes.column("time constant", "s");
  for (const Mode& mode : list) {
    const bool swings = mode.imaginary > 0.0;
    modes.row({mode.moves, swings ? fmt::format("{:.3g}", mode.frequency) : "-",
               swings ? fmt::format("{:.2f}", mode.damping) : "-",
               fmt::format("{:.3g}", -1.0 / mode.real)});
  }
  return modes.text();
}

}  // namespace

int modes_verb(const ModesOptions& options) {
  Wishes wishes{options.set, {}, options.hold, Purpose::modes};
  wishes.bar = options.bar;
  const double grade = options.grade.empty() ? 0.0 : parse_grade(options.grade, "--grade");
  const ReadyRides all = ready(disk_files(), options.scene, wishes);
  tell_notes(all);
  demand_free_standard_output();
  const Setup& setup = all.rides.front().setup;
  const ModeReport report = find_modes(setup, looked_at(), grade);
  if (options.json) {
    say("{}\n", modes_json(report));
    return 0;
  }
  std::string about = fmt::format(
      "small motions about {} mm of travel, where the fork rides at {} {}",
      in_unit(report.travel, "mm", 1), say(setup.ride.speed, "km/h"),
      grade == 0.0 ? "on level ground" : fmt::format("on a grade of {}", say(grade, "deg")));
  if (setup.fork.spring == Spring::air) {
    const Label pressure = in_bar(*find_metric("pressure"), options.bar);
    about +=
        fmt::format(", pumped to {} {}", in_said(setup.fork.pressure, pressure), pressure.said);
  }
  about +=
      ", friction left out; a damper's slope at rest differs by direction, so each table lets one "
      "direction's work both ways: how the strokes of that direction are damped";
  say("{}{}\n\n", header_text(all, wishes), wrapped(about, line_width()));
  say("compression, {} N.s/m at rest\n\n{}\n", in_unit(report.compression_slope, "N.s/m", 0),
      modes_text(report.compression));
  say("rebound, {} N.s/m at rest\n\n{}{}\n", in_unit(report.rebound_slope, "N.s/m", 0),
      modes_text(report.rebound),
      wrapped("without a frequency: does not swing, dies away with its time constant",
              line_width()));
  const std::string response_of = fmt::format(
      "per metre of ground, at {}, with the mean of both slopes:", say(setup.ride.speed, "km/h"));
  say("\n{}\n\n", wrapped(response_of, line_width()));
  Table response;
  response.column("frequency", "Hz");
  response.column("frame", "m/m");
  response.column("upper body", "m/m");
  response.column("fork travel", "m/m");
  response.column("ground force", "N/mm");
  for (const Transmissibility& row : report.transmissibility) {
    response.row({fmt::format("{:.3g}", row.frequency), fmt::format("{:.3f}", row.frame),
                  fmt::format("{:.3f}", row.body), fmt::format("{:.3f}", row.travel),
                  fmt::format("{:.1f}", row.ground_force / 1e3)});
  }
  say("{}", response.text());
  return 0;
}

}  // namespace plunge
