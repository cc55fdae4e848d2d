// Numbers of an HDF5 file in SI units, whatever units their variable says.
//
// plunge writes SI; other programs that hand a file on may not. A unit of another dimension, and
// one that is not known, are refused, as are infinite numbers. NaN passes: "does not apply". Throws
// InputError that names file and variable.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"

namespace plunge {

// The SI unit that the numbers of a variable convert to, by its attribute `units`. known: what it
// has to be, where that is known.
std::string si_unit_of(const Hdf5Reader& reader, const std::string& variable,
                       const std::string& known = "");

// Values of a variable in the SI unit `unit`; all, or a run of them.
std::vector<double> numbers_in(const Hdf5Reader& reader, const std::string& variable,
                               const std::string& unit);
std::vector<double> numbers_in(const Hdf5Reader& reader, const std::string& variable,
                               const std::string& unit, std::size_t first, std::size_t count);

// Throws InputError unless every number is finite and above the one before it.
void demand_rising(const Hdf5Reader& reader, const std::string& variable,
                   const std::vector<double>& numbers);

}  // namespace plunge
