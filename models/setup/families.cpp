#include "models/setup/families.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "models/laws/constants.hpp"
#include "models/setup/parameters.hpp"

namespace plunge {
namespace {

constexpr double kInchLong = 0.0254;  // [m], defined
constexpr double kWall = 1.25e-3;     // of an aluminium upper tube [m]

double bore_of(const Family& family) {
  return std::isnan(family.bore) ? family.stanchion - 2.0 * kWall : family.bore;
}

double default_of(std::string_view name) { return find_parameter(name)->fallback; }

// Medians, in the order of the table.
double main_area(const ForkSetup&, const Family& family) {
  const double bore = bore_of(family);
  return kPi / 4.0 * bore * bore;
}
double negative_area(const ForkSetup& fork, const Family&) { return 0.9 * fork.air.main_area; }
double main_volume(const ForkSetup& fork, const Family&) {
  return fork.air.main_area * (fork.travel + 0.09);
}
double negative_volume(const ForkSetup& fork, const Family&) {
  return fork.air.negative_area * 0.0225;
}
double port_position(const ForkSetup& fork, const Family&) { return 0.04 * fork.travel; }
double spacer_volume(const ForkSetup&, const Family&) {
  return default_of("fork.air.spacer_volume");
}
double hose_volume(const ForkSetup&, const Family&) { return default_of("fork.air.hose_volume"); }
double seal(const ForkSetup&, const Family& family) {
  return default_of("fork.friction.seal") * bore_of(family) / 0.031;
}
double unsprung_mass(const ForkSetup& fork, const Family& family) {
  const double wheel = std::isnan(family.wheel) ? 29.0 * kInchLong : family.wheel;
  // Wheel and lower legs, each by its length.
  return 3.0 * wheel / (29.0 * kInchLong) + 0.8 * (0.7 + 0.3 * fork.travel / 0.15);
}
double wheel_share(const ForkSetup&, const Family&) { return default_of("fork.wheel_share"); }
double compression_low(const ForkSetup&, const Family&) {
  return default_of("fork.compression.low_speed");
}
double compression_high(const ForkSetup&, const Family&) {
  return default_of("fork.compression.high_speed");
}
double rebound_low(const ForkSetup&, const Family&) { return default_of("fork.rebound.low_speed"); }
double rebound_high(const ForkSetup&, const Family&) {
  return default_of("fork.rebound.high_speed");
}
double spacer_limit(const ForkSetup& fork, const Family&) {
  return std::clamp(std::round(6.0 - (fork.travel - 0.12) / 0.04), 4.0, 6.0);
}
double pressure_limit(const ForkSetup&, const Family&) {
  return find_common_unit("psi")->to_si(140.0);
}
double pressure(const ForkSetup& fork, const Family&) { return 1.3 * 284.0 / fork.air.main_area; }

double area_spread(const Family& family) { return std::isnan(family.bore) ? 0.05 : 0.01; }
template <int Thousandths>
double spread(const Family&) {
  return Thousandths * 1e-3;
}

constexpr std::string_view kMainArea = "fork.air.main_area";

// clang-format off
constexpr FamilyRow kRows[] = {
    {kMainArea, main_area, area_spread, "",
     "bore; of a stanchion, its diameter less two walls of 1.25 mm, 0.9 to 1.6 mm being built"},
    {"fork.air.negative_area", negative_area, spread<60>, kMainArea,
     "the piston less a shaft of 10 to 12 mm"},
    {"fork.air.main_volume", main_volume, spread<220>, kMainArea,
     "bore times stroke and 90 mm of dead length above it; 50 to 140 mm being built"},
    {"fork.air.negative_volume", negative_volume, spread<400>, "fork.air.negative_area",
     "a column of 22.5 mm below the piston; 10 to 50 mm being built"},
    {"fork.air.port_position", port_position, spread<330>, "",
     "a dimple 4 % of the travel below the top"},
    {"fork.air.spacer_volume", spacer_volume, spread<150>, "",
     "common practice: 6 to 12 cm3"},
    {"fork.air.hose_volume", hose_volume, spread<400>, "",
     "a hose of 3 to 4 mm bore and 15 to 25 cm length"},
    {"fork.friction.seal", seal, spread<600>, "",
     "seals and bushings grow with the bore and differ with wear and oil: 4 to 40 N"},
    {"fork.unsprung_mass", unsprung_mass, spread<100>, "",
     "a front wheel of 3 kg at 29 in, lower legs and brake of 0.8 kg at 150 mm"},
    {"fork.wheel_share", wheel_share, spread<50>, "", "the wheel in that mass"},
    {"fork.compression.low_speed", compression_low, spread<450>, "", "150 to 900 N.s/m"},
    {"fork.compression.high_speed", compression_high, spread<450>, "",
     "as widely as the low speed"},
    {"fork.rebound.low_speed", rebound_low, spread<400>, "", "400 to 1500 N.s/m"},
    {"fork.rebound.high_speed", rebound_high, spread<400>, "", "as widely as the low speed"},
    {"fork.spacer_limit", spacer_limit, spread<0>, "",
     "common practice: 6 in a short fork, 4 in a long one; the maker's manual says the real limit"},
    {"fork.pressure_limit", pressure_limit, spread<0>, "",
     "on the low side of what forks stand; the maker's manual says the real limit"},
    {"fork.pressure", pressure, spread<0>, "",
     "about a fifth of the travel of sag under a rider of 80 kg: a start"},
};
// clang-format on

void judge_length(double value, const double (&range)[2], const char* key, const char* said,
                  Faults& faults) {
  if (std::isnan(value) || in_range(value, range[0], range[1])) return;
  faults.push_back({key, say(value, said), "must be " + say_range(range[0], range[1], said), {}});
}

// An estimate has three digits, in the unit in which it is said.
double rounded(double value, const Parameter& parameter) {
  const CommonUnit& unit = *find_common_unit(parameter.said);
  const double number = unit.from_si(value);
  if (!(number > 0.0)) return value;
  const double step = std::pow(10.0, std::floor(std::log10(number)) - 2.0);
  return unit.to_si(std::round(number / step) * step);
}

void add_row(const FamilyRow& row, const Family& family, KnownNumber number, Knowledge& knowledge) {
  const std::size_t parent = knowledge.find(row.share_of);
  if (parent < knowledge.size()) {
    knowledge.add_share(std::move(number), row.spread(family), parent);
  } else {
    knowledge.add(std::move(number), row.spread(family));
  }
}

}  // namespace

std::span<const FamilyRow> family_rows() { return kRows; }

Faults judge(const Family& family) {
  Faults faults;
  if (std::isnan(family.stanchion) && std::isnan(family.bore)) {
    faults.push_back({"fork.family.stanchion",
                      "",
                      fmt::format("must be given, {}, unless fork.family.bore is",
                                  say_range(kFamilyStanchion[0], kFamilyStanchion[1], "mm")),
                      {}});
  }
  judge_length(family.stanchion, kFamilyStanchion, "fork.family.stanchion", "mm", faults);
  judge_length(family.bore, kFamilyBore, "fork.family.bore", "mm", faults);
  judge_length(family.wheel, kFamilyWheel, "fork.family.wheel", "mm", faults);
  if (family.bore >= family.stanchion) {
    faults.push_back(
        {"fork.family.bore",
         say(family.bore, "mm"),
         fmt::format("must be less than {} (fork.family.stanchion)", say(family.stanchion, "mm")),
         {}});
  }
  return faults;
}

void fill_from_family(const Family& family, bool held, Setup& setup, Knowledge& knowledge) {
  for (const FamilyRow& row : kRows) {
    const Parameter& parameter = *find_parameter(row.name);
    const bool solved = held && parameter.name == "fork.pressure";
    if (solved || !is_read(parameter, setup) || !std::isnan(parameter.get(setup))) continue;
    parameter.set(setup, rounded(row.median(setup.fork, family), parameter));
    add_row(row, family,
            {std::string(row.name), Evidence::guessed, "family: " + std::string(row.reason)},
            knowledge);
  }
}

Knowledge spreads_of_family(const Setup& setup) {
  Knowledge knowledge;
  for (const FamilyRow& row : kRows) {
    const Parameter& parameter = *find_parameter(row.name);
    if (!is_read(parameter, setup) || !(parameter.get(setup) > 0.0) || row.spread({}) == 0.0) {
      continue;
    }
    add_row(row, {},
            {std::string(row.name), Evidence::guessed, "as the file has it, spread of the family"},
            knowledge);
  }
  return knowledge;
}

}  // namespace plunge
