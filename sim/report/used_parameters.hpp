// What a ride used, as a result file keeps it: every number behind the assembled rider, its line
// and its ground, so that the file alone gives them back.
//
// used_parameters(): the choices, the numbers that the Setup reads, names, and what follows from
// them where nothing else is given: the slopes that a click table has at its clicks, the masses
// (models/setup/masses.hpp) and the air where the fork was pumped.
// used_tables(): events, features of the ground, points of its profiles, click tables and
// dynamometer points, a row each. A field that a row does not read is NaN or empty.
#pragma once

#include <vector>

#include "models/setup/setup.hpp"
#include "sim/report/result_content.hpp"

namespace plunge {

std::vector<UsedParameter> used_parameters(const Setup& setup);

std::vector<UsedTable> used_tables(const Setup& setup);

}  // namespace plunge
