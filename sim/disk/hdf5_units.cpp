#include "sim/disk/hdf5_units.hpp"

#include <fmt/core.h>

#include <cmath>

#include "models/setup/fault.hpp"
#include "sim/text/units.hpp"

namespace plunge {
namespace {

std::string units_of(const Hdf5Reader& reader, const std::string& variable) {
  return reader.text_attribute(variable, "units");
}

}  // namespace

std::string si_unit_of(const Hdf5Reader& reader, const std::string& variable,
                       const std::string& known) {
  const std::string found = units_of(reader, variable);
  const std::string unit = si_unit_of(found);
  if (unit.empty()) reader.refuse(variable, found, "its units are none that plunge knows");
  if (!known.empty() && unit != known) {
    reader.refuse(variable, found, fmt::format("its units must convert to \"{}\"", known));
  }
  return unit;
}

std::vector<double> numbers_in(const Hdf5Reader& reader, const std::string& variable,
                               const std::string& unit, std::size_t first, std::size_t count) {
  const std::string found = units_of(reader, variable);
  if (found != unit && si_unit_of(reader, variable) != unit) {
    reader.refuse(variable, found, fmt::format("its units must convert to \"{}\"", unit));
  }
  std::vector<double> numbers = reader.numbers(variable, first, count);
  for (double& number : numbers) {
    if (std::isnan(number)) continue;
    if (std::isinf(number)) reader.refuse(variable, "infinity", "must be a number");
    if (found == unit) continue;
    try {
      number = to_si(Quantity{number, found}, unit);
    } catch (const InputError& error) {
      reader.refuse(variable, fmt::format("{} {}", number, found), error.faults().front().rule);
    }
  }
  return numbers;
}

std::vector<double> numbers_in(const Hdf5Reader& reader, const std::string& variable,
                               const std::string& unit) {
  std::size_t count = 1;
  for (const std::size_t size : reader.shape(variable)) count *= size;
  return numbers_in(reader, variable, unit, 0, count);
}

void demand_rising(const Hdf5Reader& reader, const std::string& variable,
                   const std::vector<double>& numbers) {
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const bool rises = std::isfinite(numbers[i]) && (i == 0 || numbers[i] > numbers[i - 1]);
    if (!rises) {
      reader.refuse(variable, fmt::format("{}", numbers[i]),
                    "must be a number above the one before it");
    }
  }
}

}  // namespace plunge
