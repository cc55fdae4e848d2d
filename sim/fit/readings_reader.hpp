// Files of readings, in TOML or as a table (CSV).
//
//   TOML  type = "readings", [ambient], [instruments], [[reading]]: scenarios/format.md
//   CSV   a line that names the columns, kind, reads, spread and conditions, then a line for each
//         reading; cells are quantities as people write them, "70 psi", and may be empty. Parted by
//         comma, semicolon or tab, whichever the first line uses; lines that begin with # are
//         comments. Ambient and instruments are as they are where nothing is said.
// A file whose name ends in .csv is a table. Every fault is told with its file, line, column, key,
// value and rule. Not here: the fit (fork_fit.hpp).
#pragma once

#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/fit/bench.hpp"
#include "sim/fit/readings.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

inline constexpr std::size_t kMostReadings = 1000;  // chosen

// Throws InputError.
Readings load_readings(const TextFiles& files, const std::string& path);

// Whether a file is a table, or says that it holds readings; a broken one is for other readers.
bool is_readings(const TextFiles& files, const std::string& path);

// Every fault of such a file and of the scenes that it names.
Faults check_readings(const TextFiles& files, const std::string& path);

// The readings with their scenes, whose fork is the one at `fork`. Throws InputError.
std::vector<BenchReading> with_scenes(const TextFiles& files, const Readings& readings,
                                      const std::string& fork);

}  // namespace plunge
