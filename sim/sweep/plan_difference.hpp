// In what two plans differ, in the units and words of people.
//
//   fork.pressure: was 60 to 95 psi in steps of 5, is 60 to 90 psi in steps of 5
//   rider.mass: was 58 kg, is 60 kg (in drop-to-flat, wren and 7 combinations more)
//   kept metrics: no longer lift_offs; new: travel_mean
// Keys are spelled as in the files. A text that is long is shown from where it differs.
#pragma once

#include <string>

namespace plunge {

// A line for each difference of two resolved plans (plan_facts.hpp), the first of them where there
// are many; empty: there is none.
std::string plan_difference(const std::string& before, const std::string& now);

}  // namespace plunge
