// A fork as a file for people: what differs from the defaults, in workshop units, with what is
// known of it and of working on it.
//
// Numbers have nine digits. What is read from the file is the same fork but for that rounding, with
// the same marks, spreads and correlations; numbers that nothing reads are left out.
// Not here: a whole set-up bit for bit (sim/input/scene_text.hpp).
#pragma once

#include <string>
#include <string_view>

#include "models/setup/families.hpp"
#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/service.hpp"

namespace plunge {

// `note`: free text at its head.
std::string fork_file_text(const Setup& setup, const Knowledge& knowledge, std::string_view note,
                           const Service& service = {});

// A rider or a bike as a file likewise, what differs from the defaults; `type`: "rider" or "bike".
std::string part_file_text(const Setup& setup, std::string_view type, std::string_view name);

// What begins a fork: what a workshop reads off it.
struct ForkStart {
  std::string name;
  double travel = kUnset;  // [m]
  Family family;
  double spacer_volume = kUnset;  // of one [m3]
  double spacer_limit = kUnset;
  double pressure_limit = kUnset;  // [Pa]
};

struct BegunFork {
  Setup setup;
  Knowledge knowledge;
};

// The fork of a family with what is given in it. Throws InputError whose faults are by keys:
// "fork.travel", "fork.family.bore".
BegunFork begin_fork(const ForkStart& start);

}  // namespace plunge
