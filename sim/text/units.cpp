#include "sim/text/units.hpp"

#include <fmt/core.h>

#include <charconv>
#include <cmath>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/text/unit_database.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

// What a unit measures, and how one writes such a quantity.
struct Dimension {
  std::string_view unit;
  std::string_view noun;
  std::string_view example;
};

constexpr Dimension kDimensions[] = {
    {"1", "a number", "0.4"},
    {"m", "a length", "150 mm"},
    {"m2", "an area", "7.5 cm2"},
    {"m3", "a volume", "198 cm3"},
    {"kg", "a mass", "75 kg"},
    {"s", "a time", "3 s"},
    {"rad", "an angle", "65 deg"},
    {"Pa", "a pressure", "72 psi"},
    {"K", "a temperature", "20 degC"},
    {"N", "a force", "12 N"},
    {"N m-1", "a stiffness", "90 kN/m"},
    {"N s m-1", "a damping", "300 N.s/m"},
    {"m s-1", "a speed", "25 km/h"},
    {"m s-2", "an acceleration", "5 m/s2"},
    {"kg m2", "a moment of inertia", "0.2 kg.m2"},
    {"kg m-3", "a density", "860 kg/m3"},
    {"m2 s-1", "a kinematic viscosity", "15 cSt"},
    {"m2 Pa-1", "an area per pressure", "0.5 mm2/bar"},
    {"N m-3", "a cubic stiffness", "6.5 N/mm3"},
    {"N m-1.5", "a contact stiffness", "1e8 N/m^1.5"},
    {"s m-1", "a loss factor", "0.2 s/m"},
    {"Hz", "a frequency", "1000 Hz"},
    {"J", "an energy", "20 J"},
    {"W", "a power", "150 W"},
    {"m s-1.75", "a vibration dose", "12 m s-1.75"},
};

const Dimension* find_dimension(std::string_view unit) {
  for (const Dimension& dimension : kDimensions) {
    if (dimension.unit == unit) return &dimension;
  }
  return nullptr;
}

[[noreturn]] void refuse(std::string_view text, std::string rule) {
  throw InputError(Fault{"", fmt::format("\"{}\"", text), std::move(rule), {}});
}

std::string written(const Quantity& quantity) {
  return quantity.unit.empty() ? fmt::format("{}", quantity.number)
                               : fmt::format("{} {}", quantity.number, quantity.unit);
}

// What a unit measures; null: nothing that plunge uses.
const Dimension* dimension_of(std::string_view text) {
  if (const Dimension* dimension = find_dimension(text)) return dimension;
  if (const CommonUnit* common = find_common_unit(text)) return find_dimension(common->unit);
  UnitLine line;
  for (const Dimension& dimension : kDimensions) {
    if (unit_line(text, dimension.unit, line)) return &dimension;
  }
  return nullptr;
}

// Refuses a unit that does not convert, and says what it is.
[[noreturn]] void refuse_unit(const Quantity& quantity, std::string_view unit) {
  const std::string text = written(quantity);
  const std::string needs = "needs " + needed_quantity(unit);
  if (quantity.unit.empty()) refuse(text, needs + "; a bare number has no unit");
  if (const Dimension* found = dimension_of(quantity.unit)) {
    refuse(text, fmt::format("{}; \"{}\" is {}", needs, text, found->noun));
  }
  if (knows_unit(quantity.unit)) {
    refuse(text, fmt::format("{}; \"{}\" measures something else", needs, quantity.unit));
  }
  if (quantity.unit.front() == ',') refuse(text, needs + "; decimals follow a decimal point");
  refuse(text, fmt::format("{}; \"{}\" is no unit that is known{}", needs, quantity.unit,
                           unit_shortfall()));
}

double checked(double value, const Quantity& quantity) {
  if (!std::isfinite(value)) refuse(written(quantity), "is too large");
  return value;
}

}  // namespace

Quantity split_quantity(std::string_view text) {
  const std::string_view whole = trimmed(text);
  std::string_view digits = whole;
  if (digits.starts_with('+')) digits.remove_prefix(1);
  const std::size_t sign = digits.starts_with('-') && whole.front() != '+' ? 1 : 0;
  const bool begins = digits.size() > sign && (is_digit(digits[sign]) || digits[sign] == '.');
  Quantity quantity;
  const auto [end, error] =
      std::from_chars(digits.data(), digits.data() + digits.size(), quantity.number);
  if (!begins || error == std::errc::invalid_argument) {
    refuse(text, "must begin with a decimal number");
  }
  if (error != std::errc{}) refuse(text, "is a number too large or too small to hold");
  quantity.unit = trimmed(digits.substr(static_cast<std::size_t>(end - digits.data())));
  return quantity;
}

double to_si(const Quantity& quantity, std::string_view unit) {
  if (quantity.unit == unit) return quantity.number;
  if (quantity.unit.empty()) {
    if (unit != "1") refuse_unit(quantity, unit);
    return quantity.number;
  }
  if (const CommonUnit* common = find_common_unit(quantity.unit)) {
    if (common->unit != unit) refuse_unit(quantity, unit);
    return checked(common->to_si(quantity.number), quantity);
  }
  return to_si_by_udunits(quantity, unit);
}

double to_si(std::string_view text, std::string_view unit) {
  try {
    return to_si(split_quantity(text), unit);
  } catch (const InputError& error) {
    std::string rule = error.faults().front().rule;
    if (rule == "must begin with a decimal number") rule = "needs " + needed_quantity(unit);
    refuse(text, std::move(rule));
  }
}

double to_si_by_udunits(const Quantity& quantity, std::string_view unit) {
  UnitLine line;
  if (!unit_line(quantity.unit, unit, line)) refuse_unit(quantity, unit);
  return checked(quantity.number * line.slope + line.offset, quantity);
}

std::string si_unit_of(std::string_view unit) {
  const Dimension* dimension = unit.empty() ? nullptr : dimension_of(unit);
  return dimension == nullptr ? "" : std::string(dimension->unit);
}

std::string needed_quantity(std::string_view unit) {
  const Dimension* dimension = find_dimension(unit);
  if (dimension == nullptr) return fmt::format("a quantity in \"{}\"", unit);
  if (unit == "1") return "a plain number such as 0.4, or a percentage such as \"40 %\"";
  return fmt::format("{} such as \"{}\"", dimension->noun, dimension->example);
}

}  // namespace plunge
