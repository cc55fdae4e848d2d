#include "tools/cli/table.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "models/setup/parameters.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

double find(const std::vector<Metric>& metrics, const std::string& name) {
  for (const Metric& m : metrics) {
    if (m.name == name) return m.value;
  }
  return kUnset;
}

constexpr Told kTold[] = {
    {"pressure", "pressure", "psi", 1},
    {"pressure_reattached", "pressure with the hose back on", "psi", 1},
    {"sag", "sag", "mm", 1},
    {"sag_share", "sag, of full travel", "%", 1},
    {"breakaway_force", "breakaway force", "N", 1},
    {"stiffness_slow", "stiffness at sag, slow", "N/mm", 2},
    {"stiffness_fast", "stiffness at sag, fast", "N/mm", 2},
    {"progression", "progression, end over middle", "1", 2},
    {"travel_max", "travel used", "mm", 1},
    {"travel_use", "of full travel", "%", 1},
    {"travel_mean", "mean travel", "mm", 1},
    {"time_past_90", "time past 90 %", "%", 2},
    {"bumper_contacts", "bumper contacts", "1", 0},
    {"metal_contacts", "metal contacts", "1", 0},
    {"metal_speed_max", "metal closing speed", "m/s", 2},
    {"metal_energy_max", "metal closing energy", "J", 1},
    {"packing", "packing over bumps", "mm", 1},
    {"axle_force_max", "axle force peak", "N", 0},
    {"fork_force_max", "fork force peak", "N", 0},
    {"damper_force_max", "damper force peak", "N", 0},
    {"hand_force_max", "hand force peak", "N", 0},
    {"hand_force_rms", "hand force rms", "N", 0},
    {"sprung_acceleration_max", "frame acceleration peak", "m/s2", 1},
    {"hand_acceleration", "weighted at the bar, ISO 5349-1", "m/s2", 2},
    {"vibration_dose", "vibration dose, ISO 2631-1", "1", 1},
    {"tyre_load_variation", "tyre load variation", "%", 1},
    {"time_off_ground", "time off the ground", "%", 1},
    {"lift_offs", "lift-offs", "1", 0},
    {"rim_strikes", "rim strikes", "1", 0},
    {"brake_dive_max", "largest brake dive, bumps included", "mm", 1},
    {"brake_dive_steady", "steady brake dive", "mm", 1},
    {"brake_dive_settle", "brake dive settles in", "s", 2},
    {"corner_dive_max", "largest corner dive, bumps included", "mm", 1},
    {"corner_dive_steady", "steady corner dive", "mm", 1},
    {"corner_dive_settle", "corner dive settles in", "s", 2},
    {"damper_power", "mean damper power", "W", 1},
    {"compression_speed_p50", "compression speed, median", "m/s", 2},
    {"compression_speed_p95", "compression speed, 95 %", "m/s", 2},
    {"compression_speed_p99", "compression speed, 99 %", "m/s", 2},
    {"rebound_speed_p50", "rebound speed, median", "m/s", 2},
    {"rebound_speed_p95", "rebound speed, 95 %", "m/s", 2},
    {"rebound_speed_p99", "rebound speed, 99 %", "m/s", 2},
};

std::string padded(const std::string& cell, std::size_t width, bool left) {
  const std::string blanks(width - std::min(width, count_letters(cell)), ' ');
  return left ? cell + blanks : blanks + cell;
}

}  // namespace

void Table::column(std::string name, std::string unit) {
  names_.push_back(std::move(name));
  units_.push_back(std::move(unit));
}

void Table::row(std::vector<std::string> cells) {
  cells.resize(names_.size());
  rows_.push_back(std::move(cells));
}

std::string Table::text() const {
  std::vector<std::size_t> width(names_.size());
  for (std::size_t c = 0; c < names_.size(); ++c) {
    width[c] = std::max(count_letters(names_[c]), count_letters(units_[c]));
    for (const auto& cells : rows_) width[c] = std::max(width[c], count_letters(cells[c]));
  }
  std::string text;
  const auto line = [&](const std::vector<std::string>& cells) {
    std::string out;
    for (std::size_t c = 0; c < cells.size(); ++c) {
      if (c > 0) out += "  ";
      out += padded(cells[c], width[c], c == 0);
    }
    out.erase(out.find_last_not_of(' ') + 1);
    text += out + "\n";
  };
  line(names_);
  if (std::any_of(units_.begin(), units_.end(), [](const auto& u) { return !u.empty(); })) {
    line(units_);
  }
  for (const auto& cells : rows_) line(cells);
  return text;
}

std::string in_unit(double value, const std::string& said, int decimals) {
  if (!std::isfinite(value)) return "-";
  const CommonUnit* unit = find_common_unit(said);
  const double shown = unit ? unit->from_si(value) : value;
  const std::string text = fmt::format("{:.{}f}", shown, decimals);
  return text.find_first_not_of("-0.") == std::string::npos && text.front() == '-' ? text.substr(1)
                                                                                   : text;
}

double metric(const Result& result, const std::string& name) { return find(result.metrics, name); }

double energy(const Result& result, const std::string& name) { return find(result.energy, name); }

const Told& how_told(const std::string& name) {
  for (const Told& told : kTold) {
    if (told.name == name) return told;
  }
  throw std::out_of_range("no way to tell " + name);
}

}  // namespace plunge
