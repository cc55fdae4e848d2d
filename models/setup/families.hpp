// The family of air forks: what a fork of some travel and bore is likely to be.
//
//   ln p = ln m(travel, bore, wheel) + e     or, as a share of the piston area A+ or A-,
//   ln p = ln m + (ln A - ln A_m) + e        e normal, of the row's spread
//
// One table holds every number that a fork needs and a workshop seldom knows: its median as a
// formula, its spread (standard deviation of the natural logarithm) and the reason of both. They
// are engineering estimates of this project with wide spreads, from bore times stroke; they
// describe nobody's product, and no maker's chart is in them. Good for single-crown and
// double-crown forks of 100 to 200 mm travel with an air spring.
//
// Medians are rounded to three digits in the units of people.
// A limit of the maker (pressure, spacers) that is guessed is guessed low and has no spread: the
// maker's manual says the real one.
// Not here: what was measured or fitted (knowledge.hpp).
#pragma once

#include <span>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// What a workshop reads off a fork before anything is opened.
struct Family {
  double stanchion = kUnset;  // outer diameter of the upper tubes [m]
  double bore = kUnset;       // inner diameter of the tube that the piston runs in [m]
  double wheel = kUnset;      // nominal diameter of the wheel [m]; unset: 29 in
};

// Ranges outside of which the family says nothing [m].
inline constexpr double kFamilyTravel[] = {0.1, 0.2};
inline constexpr double kFamilyStanchion[] = {0.028, 0.042};
inline constexpr double kFamilyBore[] = {0.024, 0.04};
inline constexpr double kFamilyWheel[] = {24.0 * 0.0254, 29.5 * 0.0254};

struct FamilyRow {
  std::string_view name;  // of the parameter table
  double (*median)(const ForkSetup& fork, const Family& family);
  double (*spread)(const Family& family);
  std::string_view share_of;  // "": of nothing
  std::string_view reason;
};

std::span<const FamilyRow> family_rows();

// Faults of what the family is given, by the keys "fork.family.bore" and so on.
Faults judge(const Family& family);

// Fills what the fork reads and has not, and adds it to what is known. `held`: the pressure is
// solved for, and not filled.
void fill_from_family(const Family& family, bool held, Setup& setup, Knowledge& knowledge);

// How well a fork file that says nothing of it is known: the spreads of the family around its own
// numbers, all of them guesses.
Knowledge spreads_of_family(const Setup& setup);

}  // namespace plunge
