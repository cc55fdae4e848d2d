// What people and programs are told of a fork's numbers and of a fit.
#pragma once

#include <string>
#include <vector>

#include "sim/fit/fork_fit.hpp"

namespace plunge {

// Every number that is marked, with its spread and how it is known.
std::string numbers_text(const Setup& setup, const Knowledge& knowledge, bool bar);
std::string numbers_json(const Setup& setup, const Knowledge& knowledge);

std::string fit_text(const ForkFit& fit, const std::vector<BenchReading>& readings, bool bar);
std::string fit_json(const ForkFit& fit, const std::vector<BenchReading>& readings);

// Why a fit is not to be trusted; empty where nothing says so.
std::string alarm_text(const ForkFit& fit);

}  // namespace plunge
