#include "models/setup/parameters.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "models/setup/masses.hpp"
#include "models/setup/oil.hpp"

namespace plunge {

namespace {

// Which Setups read a number.
bool always(const Setup&) { return true; }
bool with_air(const Setup& s) { return s.fork.spring == Spring::air; }
bool with_coil(const Setup& s) { return s.fork.spring == Spring::coil; }
bool with_negative_air(const Setup& s) {
  return with_air(s) && s.fork.negative == NegativeSpring::air;
}
bool with_negative_coil(const Setup& s) {
  return with_air(s) && s.fork.negative == NegativeSpring::coil;
}
bool with_leg_air(const Setup& s) { return s.fork.air.leg_area > 0.0; }
bool with_gas(const Setup& s) { return with_air(s) || with_leg_air(s); }
bool with_hydraulic_stop(const Setup& s) { return s.fork.hydraulic_stop.length > 0.0; }
bool with_average(const Setup& s) { return s.bike.contact == WheelContact::average; }

bool has_low_speed(const DamperSetup& d) {
  return d.kind == DamperKind::slopes && d.click_table.empty() && d.low_speed_table.empty();
}
bool has_high_speed(const DamperSetup& d) {
  return d.kind == DamperKind::slopes && d.click_table.empty() && d.high_speed_table.empty();
}
bool has_clicks(const DamperSetup& d) {
  return d.kind == DamperKind::hydraulic ||
         (d.kind == DamperKind::slopes && !(d.click_table.empty() && d.low_speed_table.empty()));
}
bool has_shims(const DamperSetup& d) {
  return d.kind == DamperKind::hydraulic && d.shim_area > 0.0;
}
bool has_shim_adjuster(const DamperSetup& d) { return has_shims(d) && !std::isnan(d.shim_clicks); }
bool has_high_speed_clicks(const DamperSetup& d) {
  return has_shim_adjuster(d) || (d.kind == DamperKind::slopes && !d.high_speed_table.empty());
}

// Which Setups read a number of a direction.
#define DAMPER_PREDICATES(side)                                                                \
  bool side##_low_speed(const Setup& s) { return has_low_speed(s.fork.side); }                 \
  bool side##_high_speed(const Setup& s) { return has_high_speed(s.fork.side); }               \
  bool side##_knee(const Setup& s) { return s.fork.side.kind == DamperKind::slopes; }          \
  bool side##_clicks(const Setup& s) { return has_clicks(s.fork.side); }                       \
  bool side##_high_speed_clicks(const Setup& s) { return has_high_speed_clicks(s.fork.side); } \
  bool side##_hydraulic(const Setup& s) { return s.fork.side.kind == DamperKind::hydraulic; }  \
  bool side##_shims(const Setup& s) { return has_shims(s.fork.side); }                         \
  bool side##_shim_adjuster(const Setup& s) { return has_shim_adjuster(s.fork.side); }         \
  bool side##_blow_off(const Setup& s) {                                                       \
    return side##_hydraulic(s) && s.fork.side.blow_off_slope > 0.0;                            \
  }
DAMPER_PREDICATES(compression)
DAMPER_PREDICATES(rebound)
#undef DAMPER_PREDICATES
bool with_oil(const Setup& s) { return compression_hydraulic(s) || rebound_hydraulic(s); }

constexpr bool (*kOptional)(const Setup&) = nullptr;

// The predicates above in words, for those who set a number that nothing reads.
struct Reader {
  bool (*reads)(const Setup&);
  std::string_view words;
};

#define DAMPER_READERS(side)                                                                       \
  {side##_low_speed, "slopes without a table of low speed (fork." #side ".kind, fork." #side       \
                     ".click_table, fork." #side ".low_speed_table)"},                             \
      {side##_high_speed, "slopes without a table of high speed (fork." #side ".kind, fork." #side \
                          ".click_table, fork." #side ".high_speed_table)"},                       \
      {side##_knee, "slopes (fork." #side ".kind)"},                                               \
      {side##_clicks, "a click table, a low-speed table or a hydraulic damper (fork." #side        \
                      ".click_table, fork." #side ".low_speed_table, fork." #side ".kind)"},       \
      {side##_high_speed_clicks,                                                                   \
       "a high-speed adjuster (fork." #side ".high_speed_table; of a hydraulic damper fork." #side \
       ".shim_clicks)"},                                                                           \
      {side##_shim_adjuster, "shims whose preload has an adjuster (fork." #side ".shim_clicks)"},  \
      {side##_hydraulic, "a hydraulic damper (fork." #side ".kind)"},                              \
      {side##_shims, "a hydraulic damper with shims (fork." #side ".shim_area above 0)"}, {        \
    side##_blow_off,                                                                               \
        "a hydraulic damper with a blow-off valve (fork." #side ".blow_off_slope above 0)"         \
  }

constexpr Reader kReaders[] = {
    {with_air, "an air spring (fork.spring)"},
    {with_coil, "a coil spring (fork.spring)"},
    {with_negative_air, "an air spring with a negative chamber (fork.spring, fork.negative)"},
    {with_negative_coil, "an air spring with a negative coil (fork.spring, fork.negative)"},
    {with_leg_air, "a fork with air in its lower legs (fork.air.leg_area above 0)"},
    {with_gas, "an air spring or air in the lower legs (fork.spring, fork.air.leg_area above 0)"},
    {with_hydraulic_stop, "a fork with a hydraulic stop (fork.hydraulic_stop.length above 0)"},
    {with_average, "a wheel that averages the ground (bike.contact)"},
    {with_oil, "a hydraulic damper (fork.compression.kind, fork.rebound.kind)"},
    DAMPER_READERS(compression),
    DAMPER_READERS(rebound),
};
#undef DAMPER_READERS

std::string_view words_of(bool (*reads)(const Setup&)) {
  const auto found = std::ranges::find(kReaders, reads, &Reader::reads);
  return found == std::end(kReaders) ? std::string_view() : found->words;
}

constexpr double kNone = kUnset;
constexpr double kDegree = kPi / 180.0;

// Factors are defined, not measured: inch 0.0254 m, pound 0.45359237 kg, standard gravity, mile
// 1609.344 m.
constexpr double kInch = 0.0254;
constexpr double kPoundForce = 0.45359237 * kGravity;
constexpr double kPsi = kPoundForce / (kInch * kInch);

#define AT(path) [](Setup& s) -> double& { return s.path; }

constexpr auto kPublished = Basis::published;
constexpr auto kEstimate = Basis::estimate;
constexpr auto kPractice = Basis::common_practice;
constexpr auto kChosen = Basis::chosen;
constexpr auto kNoBasis = Basis::none;

// clang-format off
constexpr Parameter kParameters[] = {
    // fork
    {"fork.travel", "m", "mm", 0.01, 2.0, kNone, kNoBasis, false,
     "travel from full extension to the metal stop", AT(fork.travel), always},
    {"fork.unsprung_mass", "kg", "kg", 0.5, 50.0, 3.8, kEstimate, false,
     "wheel, lower legs and brake", AT(fork.unsprung_mass), always},
    {"fork.wheel_share", "1", "1", 0.0, 1.0, 0.79, kEstimate, false,
     "share of the wheel in the unsprung mass, for the force at the axle", AT(fork.wheel_share),
     always},
    {"fork.spacers", "1", "1", 0.0, 50.0, 0.0, kChosen, true,
     "volume spacers in the main chamber", AT(fork.spacers), with_air},
    {"fork.spacer_limit", "1", "1", 0.0, 50.0, kNone, kNoBasis, true,
     "most spacers that the maker allows", AT(fork.spacer_limit), with_air},
    {"fork.pressure", "Pa", "psi", 1.0 * kPsi, 700.0 * kPsi, kNone, kNoBasis, false,
     "pump pressure, gauge, at full extension and wall temperature", AT(fork.pressure), with_air},
    {"fork.pressure_limit", "Pa", "psi", 1.0 * kPsi, 700.0 * kPsi, kNone, kNoBasis, false,
     "the maker's pressure rating, gauge", AT(fork.pressure_limit), with_air},

    {"fork.air.main_volume", "m3", "cm3", 1e-6, 0.02, kNone, kNoBasis, false,
     "main chamber at full extension without spacers or oil", AT(fork.air.main_volume), with_air},
    {"fork.air.main_area", "m2", "cm2", 1e-6, 0.01, kNone, kNoBasis, false,
     "piston area of the main chamber", AT(fork.air.main_area), with_air},
    {"fork.air.negative_volume", "m3", "cm3", 1e-7, 0.01, kNone, kNoBasis, false,
     "negative chamber at full extension", AT(fork.air.negative_volume), with_negative_air},
    {"fork.air.negative_area", "m2", "cm2", 1e-6, 0.01, kNone, kNoBasis, false,
     "piston area of the negative chamber", AT(fork.air.negative_area), with_negative_air},
    {"fork.air.spacer_volume", "m3", "cm3", 0.0, 1e-3, 9e-6, kPractice, false,
     "volume of one spacer", AT(fork.air.spacer_volume), with_air},
    {"fork.air.oil_volume", "m3", "cm3", 0.0, 1e-3, 3e-6, kEstimate, false,
     "oil on top of the piston", AT(fork.air.oil_volume), with_air},
    {"fork.air.port_position", "m", "mm", 1e-5, 0.2, 6e-3, kEstimate, false,
     "deepest travel at which the transfer port joins the chambers",
     AT(fork.air.port_position), with_negative_air},
    {"fork.air.port_length", "m", "mm", 1e-5, 0.2, 2e-3, kEstimate, false,
     "length of the transfer window", AT(fork.air.port_length), with_negative_air},
    {"fork.air.port_area", "m2", "mm2", 0.0, 1e-4, 2e-6, kEstimate, false,
     "effective flow area of the open port", AT(fork.air.port_area), with_negative_air},
    {"fork.air.main_time", "s", "s", 1e-3, 1e6, 3.0, kEstimate, false,
     "thermal time constant of the main chamber", AT(fork.air.main_time), with_air},
    {"fork.air.negative_time", "s", "s", 1e-3, 1e6, 2.0, kEstimate, false,
     "thermal time constant of the negative chamber", AT(fork.air.negative_time),
     with_negative_air},
    {"fork.air.hose_volume", "m3", "cm3", 0.0, 1e-3, 2e-6, kEstimate, false,
     "volume of the pump's hose", AT(fork.air.hose_volume), with_air},
    {"fork.air.leg_area", "m2", "cm2", 0.0, 0.01, 0.0, kChosen, false,
     "area that sweeps the air sealed in the lower legs; 0: no such air",
     AT(fork.air.leg_area), always},
    {"fork.air.leg_volume", "m3", "cm3", 1e-6, 0.02, kNone, kNoBasis, false,
     "air sealed in the lower legs at full extension", AT(fork.air.leg_volume), with_leg_air},
    {"fork.air.leg_time", "s", "s", 1e-3, 1e6, 1.0, kEstimate, false,
     "thermal time constant of the air in the lower legs", AT(fork.air.leg_time), with_leg_air},

    {"fork.coil.rate", "N m-1", "N/mm", 1e2, 1e7, kNone, kNoBasis, false,
     "rate of a coil main spring", AT(fork.coil.rate), with_coil},
    {"fork.coil.preload", "N", "N", 0.0, 1e6, 0.0, kChosen, false,
     "force of a coil main spring at full extension", AT(fork.coil.preload), with_coil},
    {"fork.negative_coil.rate", "N m-1", "N/mm", 1e2, 1e7, kNone, kNoBasis, false,
     "rate of a coil negative spring", AT(fork.negative_coil.rate), with_negative_coil},
    {"fork.negative_coil.length", "m", "mm", 1e-3, 1.0, kNone, kNoBasis, false,
     "travel over which a coil negative spring pushes", AT(fork.negative_coil.length),
     with_negative_coil},

#define DAMPER(side, low_slope, high_slope, knee_speed)                                            \
    {"fork." #side ".clicks", "1", "1", 0.0, 200.0, kNone, kNoBasis, true,                         \
     "adjuster of " #side " damping, of two the low-speed one, clicks from closed",                \
     AT(fork.side.clicks), side##_clicks},                                                         \
    {"fork." #side ".high_speed_clicks", "1", "1", 0.0, 200.0, kNone, kNoBasis, true,              \
     "high-speed adjuster of " #side " damping, clicks from closed",                               \
     AT(fork.side.high_speed_clicks), side##_high_speed_clicks},                                              \
    {"fork." #side ".low_speed", "N s m-1", "N.s/m", 0.0, 1e5, low_slope, kEstimate, false,        \
     #side " damping below the knee", AT(fork.side.low_speed), side##_low_speed},                  \
    {"fork." #side ".high_speed", "N s m-1", "N.s/m", 0.0, 1e5, high_slope, kEstimate, false,      \
     #side " damping above the knee", AT(fork.side.high_speed), side##_high_speed},                \
    {"fork." #side ".knee", "m s-1", "m/s", 1e-3, 20.0, knee_speed, kEstimate, false,              \
     "knee speed of " #side " damping", AT(fork.side.knee), side##_knee},                          \
    {"fork." #side ".piston_area", "m2", "cm2", 1e-6, 0.01, kNone, kNoBasis, false,                \
     "damper piston area that " #side " flow comes from", AT(fork.side.piston_area),               \
     side##_hydraulic},                                                                            \
    {"fork." #side ".bleed_area", "m2", "mm2", 1e-9, 1e-3, kNone, kNoBasis, false,                  \
     #side " needle orifice, wide open", AT(fork.side.bleed_area), side##_hydraulic},              \
    {"fork." #side ".bleed_length", "m", "mm", 1e-6, 1.0, kNone, kNoBasis, false,                   \
     "laminar length of the " #side " needle orifice", AT(fork.side.bleed_length),                 \
     side##_hydraulic},                                                                            \
    {"fork." #side ".bleed_clicks", "1", "1", 1.0, 200.0, kNone, kNoBasis, true,                   \
     "clicks of the " #side " needle from closed to wide open", AT(fork.side.bleed_clicks),        \
     side##_hydraulic},                                                                            \
    {"fork." #side ".bleed_closed", "1", "%", 1e-4, 1.0, kNone, kNoBasis, false,                   \
     "share of its area that a closed " #side                                                      \
     " needle leaves open; unset: half of what its first click opens",                             \
     AT(fork.side.bleed_closed), kOptional, side##_hydraulic},                                     \
    {"fork." #side ".shim_area", "m2", "mm2", 0.0, 1e-3, 0.0, kChosen, false,                      \
     "largest flow area of the " #side " shim stack; 0: none", AT(fork.side.shim_area),            \
     side##_hydraulic},                                                                            \
    {"fork." #side ".shim_preload", "Pa", "bar", 0.0, 1e8, kNone, kNoBasis, false,                 \
     "cracking pressure of the " #side " shim stack, with an adjuster wide open",                  \
     AT(fork.side.shim_preload), side##_shims},                                                    \
    {"fork." #side ".shim_preload_closed", "Pa", "bar", 0.0, 1e8, kNone, kNoBasis, false,          \
     "cracking pressure of the " #side " shim stack with its adjuster closed",                     \
     AT(fork.side.shim_preload_closed), side##_shim_adjuster},                                     \
    {"fork." #side ".shim_clicks", "1", "1", 1.0, 200.0, kNone, kNoBasis, true,                    \
     "clicks of the adjuster of the " #side                                                        \
     " shim stack from closed to wide open; unset: no adjuster",                                   \
     AT(fork.side.shim_clicks), kOptional, side##_shims},                                          \
    {"fork." #side ".shim_slope", "m2 Pa-1", "mm2/bar", 1e-17, 1e-6, kNone, kNoBasis, false,         \
     "flow area that the " #side " shim stack opens per pressure past cracking",                   \
     AT(fork.side.shim_slope), side##_shims},                                                      \
    {"fork." #side ".blow_off_slope", "m2 Pa-1", "mm2/bar", 0.0, 1e-6, 0.0, kChosen, false,        \
     "flow area that the " #side " blow-off valve opens per pressure past cracking; 0: none",      \
     AT(fork.side.blow_off_slope), side##_hydraulic},                                              \
    {"fork." #side ".blow_off_pressure", "Pa", "bar", 1e3, 1e9, kNone, kNoBasis, false,            \
     "cracking pressure of the " #side " blow-off valve", AT(fork.side.blow_off_pressure),         \
     side##_blow_off}

    DAMPER(compression, 300.0, 150.0, 0.25),
    DAMPER(rebound, 700.0, 500.0, 0.4),
#undef DAMPER

    {"fork.oil.density", "kg m-3", "kg/m3", 100.0, 5000.0, 860.0, kEstimate, false,
     "density of the damper oil", AT(fork.oil.density), with_oil},
    {"fork.oil.viscosity_40", "m2 s-1", "cSt", kThinnestOil, 1e-2, 15e-6, kEstimate, false,
     "kinematic viscosity of the damper oil at 40 degC", AT(fork.oil.viscosity_40), with_oil},
    {"fork.oil.viscosity_100", "m2 s-1", "cSt", kThinnestOil, 1e-2, 3.6e-6, kEstimate, false,
     "kinematic viscosity of the damper oil at 100 degC", AT(fork.oil.viscosity_100), with_oil},
    {"fork.oil.temperature", "K", "degC", kColdestOil, kHottestOil, 293.15, kChosen, false,
     "temperature of the damper oil", AT(fork.oil.temperature), with_oil},
    {"fork.oil.discharge", "1", "1", 0.1, 1.0, 0.611, kPublished, false,
     "discharge coefficient of the damper's orifices", AT(fork.oil.discharge), with_oil},

    {"fork.hydraulic_stop.length", "m", "mm", 0.0, 1.0, 0.0, kChosen, false,
     "last stretch of travel with hydraulic bottom-out damping; 0: none",
     AT(fork.hydraulic_stop.length), always},
    {"fork.hydraulic_stop.damping", "N s m-1", "N.s/m", 0.0, 1e5, kNone, kNoBasis, false,
     "hydraulic bottom-out damping at full travel", AT(fork.hydraulic_stop.damping),
     with_hydraulic_stop},

    {"fork.friction.seal", "N", "N", 0.0, 1e4, 12.0, kEstimate, false,
     "drag of seals and bushings without side load", AT(fork.friction.seal), always},
    {"fork.friction.bushing", "1", "1", 0.0, 1.0, 0.015, kEstimate, false,
     "coefficient of friction of the bushings", AT(fork.friction.bushing), always},
    {"fork.friction.bushing_spacing", "m", "mm", 0.01, 2.0, 0.13, kEstimate, false,
     "distance between the two bushings", AT(fork.friction.bushing_spacing), always},
    {"fork.friction.bushing_reach", "m", "mm", 0.0, 2.0, 0.28, kEstimate, false,
     "distance from the axle to the lower bushing", AT(fork.friction.bushing_reach), always},
    {"fork.friction.static_ratio", "1", "1", 1.0, 3.0, 1.25, kEstimate, false,
     "breakaway level of friction over its sliding level", AT(fork.friction.static_ratio), always},
    {"fork.friction.stribeck_speed", "m s-1", "mm/s", 1e-4, 1.0, 5e-3, kEstimate, false,
     "speed over which friction falls from breakaway to sliding",
     AT(fork.friction.stribeck_speed), always},
    {"fork.friction.presliding_stiffness", "N m-1", "N/mm", 1e3, 1e8, 2e5, kEstimate, false,
     "stiffness before friction breaks away", AT(fork.friction.presliding_stiffness), always},
    {"fork.friction.presliding_damping", "N s m-1", "N.s/m", 0.0, 20.0, 5.0, kEstimate, false,
     "damping before friction breaks away", AT(fork.friction.presliding_damping), always},
    {"fork.friction.viscous", "N s m-1", "N.s/m", 0.0, 1e4, 10.0, kEstimate, false,
     "part that grows with speed, beside seals or bushings that rub", AT(fork.friction.viscous), always},

    {"fork.stops.bumper_length", "m", "mm", 1e-3, 0.2, 0.01, kEstimate, false,
     "last stretch of travel that the bottom-out bumper fills", AT(fork.stops.bumper_length),
     always},
    {"fork.stops.bumper_stiffness", "N m-1", "N/mm", 0.0, 1e7, 3e4, kEstimate, false,
     "linear stiffness of the bumper", AT(fork.stops.bumper_stiffness), always},
    {"fork.stops.bumper_cubic", "N m-3", "N/mm3", 0.0, 1e13, 6.5e9, kEstimate, false,
     "cubic stiffness of the bumper", AT(fork.stops.bumper_cubic), always},
    {"fork.stops.bumper_loss", "s m-1", "s/m", 0.0, 10.0, 0.2, kEstimate, false,
     "loss factor of the bumper", AT(fork.stops.bumper_loss), always},
    {"fork.stops.metal_stiffness", "N m-1.5", "N/m^1.5", 1e6, 1e11, 1e8, kEstimate, false,
     "stiffness of metal contact past the travel", AT(fork.stops.metal_stiffness), always},
    {"fork.stops.metal_loss", "s m-1", "s/m", 0.0, 10.0, 0.2, kEstimate, false,
     "loss factor of metal contact", AT(fork.stops.metal_loss), always},
    {"fork.stops.chassis_stiffness", "N m-1", "N/mm", 1e4, 1e9, 2.5e5, kEstimate, false,
     "chassis and steerer, which give way in series with metal contact",
     AT(fork.stops.chassis_stiffness), always},
    {"fork.stops.top_out_stiffness", "N m-1", "N/mm", 1e3, 1e8, 2e5, kEstimate, false,
     "stiffness of the top-out stop", AT(fork.stops.top_out_stiffness), always},
    {"fork.stops.top_out_loss", "s m-1", "s/m", 0.0, 10.0, 0.3, kEstimate, false,
     "loss factor of the top-out stop", AT(fork.stops.top_out_loss), always},

    // bike
    {"bike.mass", "kg", "kg", 1.0, 500.0, 15.0, kEstimate, false,
     "the whole bike", AT(bike.mass), always},
    {"bike.head_angle", "rad", "deg", 30.0 * kDegree, kPi / 2.0, 65.0 * kDegree, kPractice, false,
     "angle of the fork from the horizontal", AT(bike.head_angle), always},
    {"bike.wheelbase", "m", "mm", 0.3, 1e6, 1.22, kPractice, false,
     "distance between the axles; an endless one leaves a quarter car alone", AT(bike.wheelbase), always},
    {"bike.cg_height", "m", "mm", 0.0, 3.0, 1.1, kEstimate, false,
     "height of the centre of gravity of bike and rider", AT(bike.cg_height), always},
    {"bike.line_length", "m", "m", 0.0, 100.0, 4.0, kEstimate, false,
     "length of ground over which the grade under the bike is smoothed; 0: the bike stays level",
     AT(bike.line_length), always},
    {"bike.rolling_resistance", "1", "1", 0.0, 0.5, 0.03, kEstimate, false,
     "rolling resistance over weight", AT(bike.rolling_resistance), always},
    {"bike.drag_area", "m2", "m2", 0.0, 10.0, 0.55, kEstimate, false,
     "drag coefficient times area of bike and rider in the air", AT(bike.drag_area), always},
    {"bike.wheel_inertia", "kg m2", "kg.m2", 0.0, 10.0, 0.2, kEstimate, false,
     "moment of inertia of the front wheel about its axle", AT(bike.wheel_inertia), always},
    {"bike.wheel_radius", "m", "mm", 0.05, 1.0, 0.35, kPractice, false,
     "radius of the front wheel with its tyre", AT(bike.wheel_radius), always},
    {"bike.contact_length", "m", "mm", 1e-3, 5.0, kNone, kNoBasis, false,
     "length of the moving average with which the wheel reads the ground",
     AT(bike.contact_length), with_average},
    {"bike.tyre_stiffness", "N m-1", "kN/m", 1e3, 1e7, 9e4, kPublished, false,
     "vertical stiffness of the tyre", AT(bike.tyre_stiffness), always},
    {"bike.tyre_damping", "N s m-1", "N.s/m", 0.0, 1e5, 70.0, kEstimate, false,
     "vertical damping of the tyre", AT(bike.tyre_damping), always},
    {"bike.tyre_onset", "m", "mm", 0.0, 0.1, 0.0, kChosen, false,
     "deflection below which the tyre's force grows with the power 1.5; 0: linear",
     AT(bike.tyre_onset), always},
    {"bike.tyre_height", "m", "mm", 1e-3, 1.0, 0.045, kPractice, false,
     "section height at which the rim is met", AT(bike.tyre_height), always},
    {"bike.rim_stiffness", "N m-1", "kN/m", 0.0, 1e8, 1e6, kEstimate, false,
     "stiffness of rim contact", AT(bike.rim_stiffness), always},
    {"bike.tyre_grip", "1", "1", 0.01, 3.0, 0.8, kEstimate, false,
     "coefficient of friction of tyre on ground", AT(bike.tyre_grip), always},

    // rider
    {"rider.mass", "kg", "kg", 1.0, 500.0, kNone, kNoBasis, false,
     "rider with clothing and pack", AT(rider.mass), always},
    {"rider.front_share", "1", "%", 0.01, 0.99, 0.40, kEstimate, false,
     "static share of bike and rider on the front wheel", AT(rider.front_share), always},
    {"rider.body_share", "1", "%", 0.0, 1.0, 0.8, kEstimate, false,
     "part of the rider's front share that rides on legs and arms", AT(rider.body_share), always},
    {"rider.sprung_mass", "kg", "kg", kLeastSprungMass, 2000.0, kNone, kNoBasis, false,
     "in place of the computed mass carried rigidly on the fork", AT(rider.sprung_mass),
     kOptional},
    {"rider.body_mass", "kg", "kg", 0.0, 2000.0, kNone, kNoBasis, false,
     "in place of the computed mass on legs and arms", AT(rider.body_mass), kOptional},
    {"rider.body_stiffness", "N m-1", "kN/m", 0.0, 1e7, 4e3, kEstimate, false,
     "stiffness of legs and arms together", AT(rider.body_stiffness), always},
    {"rider.body_damping", "N s m-1", "N.s/m", 0.0, 1e5, 300.0, kEstimate, false,
     "damping of legs and arms together", AT(rider.body_damping), always},
    {"rider.arm_part", "1", "%", 0.0, 1.0, 0.3, kEstimate, false,
     "part of the arms in this stiffness and damping", AT(rider.arm_part), always},
    {"rider.hand_share", "1", "%", 0.0, 1.0, 0.25, kEstimate, false,
     "part of the upper body's weight that the hands carry at rest", AT(rider.hand_share),
     always},

    // surroundings
    {"ambient.altitude", "m", "m", -500.0, 6000.0, 0.0, kChosen, false,
     "altitude of the ride", AT(ambient.altitude), always},
    {"ambient.temperature", "K", "degC", 223.15, 343.15, 293.15, kChosen, false,
     "air temperature of the ride", AT(ambient.temperature), always},
    {"pumped.altitude", "m", "m", -500.0, 6000.0, kNone, kNoBasis, false,
     "altitude at which the fork was pumped; unset: as ridden", AT(pumped.altitude), kOptional,
     with_gas},
    {"pumped.temperature", "K", "degC", 223.15, 343.15, kNone, kNoBasis, false,
     "air temperature at which the fork was pumped; unset: as ridden", AT(pumped.temperature),
     kOptional, with_gas},

    // ride
    {"ride.speed", "m s-1", "km/h", 0.1, 40.0, kNone, kNoBasis, false,
     "forward speed at the start", AT(ride.speed), always},
    {"ride.brake_share", "1", "%", 0.0, 1.0, 0.65, kEstimate, false,
     "part of the front wheel in the braking that holds the speed where no event brakes",
     AT(ride.brake_share), always},
    {"ride.duration", "s", "s", 1e-3, 1e6, kNone, kNoBasis, false,
     "length of the ride; unset: until the ground ends", AT(ride.duration), kOptional},
    {"ride.sample_rate", "Hz", "Hz", 10.0, 1e5, 1000.0, kChosen, false,
     "samples of the results in a second", AT(ride.sample_rate), always},
    {"ride.tolerance", "1", "1", 1e-12, 1e-3, 5e-8, kChosen, false,
     "relative error of one integration step", AT(ride.tolerance), always},
};
// clang-format on
#undef AT

template <FeatureKind... kinds>
bool of_kind(const Feature& feature) {
  return ((feature.kind == kinds) || ...);
}

template <EventKind... kinds>
bool of_kind(const RideEvent& event) {
  return ((event.kind == kinds) || ...);
}

#define AT(field) [](Feature& f) -> double& { return f.field; }
using enum FeatureKind;

// clang-format off
constexpr FeatureField kFeatureFields[] = {
    {"length", "m", "m", 1e-3, 2e4, kNone, kNoBasis, false,
     "length along the horizontal; of one bump", AT(length), of_kind<flat, bump, bumps, rough>},
    {"grade", "rad", "deg", -45.0 * kDegree, 45.0 * kDegree, 0.0, kChosen, false,
     "slope angle, negative downhill", AT(grade), of_kind<flat>},
    {"height", "m", "mm", -5.0, 5.0, kNone, kNoBasis, false,
     "height; of a drop, how far down", AT(height), of_kind<bump, bumps, drop>},
    {"spacing", "m", "m", 1e-3, 1e3, kNone, kNoBasis, false,
     "start of one bump to start of the next", AT(spacing), of_kind<bumps>},
    {"count", "1", "1", 1.0, 1e5, kNone, kNoBasis, true,
     "number of bumps", AT(count), of_kind<bumps>},
    {"landing_angle", "rad", "deg", 0.0, 60.0 * kDegree, 0.0, kChosen, false,
     "downhill angle of the landing, 0: flat", AT(landing_angle), of_kind<drop>},
    {"landing_length", "m", "m", 0.0, 1e3, 0.0, kChosen, false,
     "horizontal length of the landing", AT(landing_length), of_kind<drop>},
    {"run_out", "m", "m", 0.0, 1e3, 0.0, kChosen, false,
     "horizontal length of the curve from the landing back to level", AT(run_out), of_kind<drop>},
    {"roughness", "m3", "cm3", 1e-9, 0.3, kNone, kNoBasis, false,
     "displacement spectrum at 0.1 cycles/m; or \"class A\" to \"class H\" of ISO 8608",
     AT(roughness), of_kind<rough>},
    {"seed", "1", "1", 0.0, 4294967295.0, 1.0, kChosen, true,
     "seed of the random phases", AT(seed), of_kind<rough>},
    {"longest", "m", "m", 0.1, 1e3, 50.0, kChosen, false,
     "longest wavelength", AT(longest), of_kind<rough>},
    {"shortest", "m", "m", 0.01, 1e2, 0.2, kChosen, false,
     "shortest wavelength", AT(shortest), of_kind<rough>},
    {"fade", "m", "m", 0.0, 1e3, 2.0, kChosen, false,
     "length over which it rises from level, and again returns to it", AT(fade), of_kind<rough>},
    {"scale", "1", "1", -100.0, 100.0, 1.0, kChosen, false,
     "factor on the heights", AT(scale), of_kind<profile>},
};
#undef AT

#define AT(field) [](RideEvent & e) -> double& { return e.field; }
using enum EventKind;

constexpr EventField kEventFields[] = {
    {"at", "m", "m", 0.0, 2e4, kNone, kNoBasis, false,
     "distance along the ground at which it begins", AT(at), of_kind<brake, accelerate, corner>},
    {"rate", "m s-2", "m/s2", 1e-3, 30.0, kNone, kNoBasis, false,
     "size of the change of speed", AT(rate), of_kind<brake, accelerate>},
    {"to_speed", "m s-1", "km/h", 0.3, 40.0, kNone, kNoBasis, false,
     "speed at which it ends", AT(to_speed), of_kind<brake, accelerate>},
    {"rise", "s", "s", 1e-3, 10.0, 0.15, kEstimate, false,
     "time to come on, and again to go off", AT(rise), of_kind<brake, accelerate, corner>},
    {"front_share", "1", "%", 0.0, 1.0, 0.7, kEstimate, false,
     "part of the braking force at the front wheel", AT(front_share), of_kind<brake>},
    {"lean", "rad", "deg", 0.0, 70.0 * kDegree, kNone, kNoBasis, false,
     "lean angle from the vertical", AT(lean), of_kind<corner>},
    {"length", "m", "m", 0.0, 2e4, kNone, kNoBasis, false,
     "length of the corner without its beginning and end", AT(length), of_kind<corner>},
};
#undef AT

bool in_every_row(const ClickRow&) { return true; }
bool in_every_row(const SlopeRow&) { return true; }
bool in_every_row(const SpeedForce&) { return true; }

#define AT(Row, field) [](Row & r) -> double& { return r.field; }
constexpr ClickField kClickFields[] = {
    {"clicks", "1", "1", 0.0, 200.0, kNone, kNoBasis, true,
     "adjuster position from closed", AT(ClickRow, clicks), in_every_row},
    {"low_speed", "N s m-1", "N.s/m", 0.0, 1e5, kNone, kNoBasis, false,
     "damping below the knee", AT(ClickRow, low_speed), in_every_row},
    {"high_speed", "N s m-1", "N.s/m", 0.0, 1e5, kNone, kNoBasis, false,
     "damping above the knee", AT(ClickRow, high_speed), in_every_row},
};

constexpr SlopeField kSlopeFields[] = {
    {"clicks", "1", "1", 0.0, 200.0, kNone, kNoBasis, true,
     "adjuster position from closed", AT(SlopeRow, clicks), in_every_row},
    {"slope", "N s m-1", "N.s/m", 0.0, 1e5, kNone, kNoBasis, false,
     "damping below the knee in a low-speed table, above it in a high-speed table",
     AT(SlopeRow, slope), in_every_row},
};

constexpr SpeedForceField kSpeedForceFields[] = {
    {"speed", "m s-1", "m/s", 0.0, 50.0, kNone, kNoBasis, false,
     "speed of the shaft", AT(SpeedForce, speed), in_every_row},
    {"force", "N", "N", 0.0, 1e6, kNone, kNoBasis, false,
     "damping force at that speed", AT(SpeedForce, force), in_every_row},
};
#undef AT

constexpr ChoiceValue kSprings[] = {
    {"air", "an air spring"},
    {"coil", "a linear coil spring"},
};
constexpr ChoiceValue kNegatives[] = {
    {"air", "a second chamber, filled through the transfer port"},
    {"coil", "a coil that pushes over the first part of the travel"},
    {"none", "nothing"},
};
constexpr ChoiceValue kDamperKinds[] = {
    {"slopes", "two slopes with a rounded knee, or tables of them by clicks"},
    {"points", "readings of a dynamometer"},
    {"hydraulic", "needle, shim stack and blow-off valve"},
};
constexpr ChoiceValue kContacts[] = {
    {"circle", "a round wheel that rolls over the ground"},
    {"point", "a point that follows the ground"},
    {"average", "the moving average of the ground over bike.contact_length"},
};
constexpr ChoiceValue kFeatureKinds[] = {
    {"flat", "straight ground"},
    {"bump", "one obstacle"},
    {"bumps", "a train of equal obstacles"},
    {"drop", "straight down, then a landing"},
    {"rough", "random ground after ISO 8608"},
    {"profile", "measured distance and height"},
};
constexpr ChoiceValue kBumpShapes[] = {
    {"half_sine", "half a sine wave"},
    {"cosine", "a whole cosine wave, smooth at both ends"},
    {"square", "straight up, level, straight down"},
    {"ramp", "a straight line up, then straight down"},
    {"root", "a circular arc"},
};
constexpr ChoiceValue kProfileJoins[] = {
    {"linear", "straight lines between the points"},
    {"smooth", "a smooth curve through the points"},
};
constexpr ChoiceValue kEventKinds[] = {
    {"brake", "slow down"},
    {"accelerate", "speed up"},
    {"corner", "lean over"},
};

constexpr NameField kNames[] = {
    {"name", [](Setup& s) -> std::string& { return s.name; }},
    {"fork.name", [](Setup& s) -> std::string& { return s.fork.name; }},
    {"bike.name", [](Setup& s) -> std::string& { return s.bike.name; }},
    {"rider.name", [](Setup& s) -> std::string& { return s.rider.name; }},
};

#define CHOICE(Owner, E, path)                                     \
  [](const Owner& o) { return static_cast<int>(o.path); },         \
      [](Owner& o, int value) { o.path = static_cast<E>(value); }

constexpr Choice<Setup> kChoices[] = {
    {"fork.spring", "what carries the rider", kSprings,
     CHOICE(Setup, Spring, fork.spring), always},
    {"fork.negative", "what softens the start of an air spring", kNegatives,
     CHOICE(Setup, NegativeSpring, fork.negative), with_air},
    {"fork.compression.kind", "how compression damping is described", kDamperKinds,
     CHOICE(Setup, DamperKind, fork.compression.kind), always},
    {"fork.rebound.kind", "how rebound damping is described", kDamperKinds,
     CHOICE(Setup, DamperKind, fork.rebound.kind), always},
    {"bike.contact", "how the wheel reads the ground", kContacts,
     CHOICE(Setup, WheelContact, bike.contact), always},
};

constexpr Choice<Feature> kFeatureChoices[] = {
    {"kind", "what the ground does", kFeatureKinds, CHOICE(Feature, FeatureKind, kind),
     of_kind<flat, bump, bumps, drop, rough, profile>},
    {"shape", "shape of a bump", kBumpShapes, CHOICE(Feature, BumpShape, shape),
     of_kind<bump, bumps>},
    {"join", "how the points are joined", kProfileJoins, CHOICE(Feature, ProfileJoin, join),
     of_kind<profile>},
};

constexpr Choice<RideEvent> kEventChoices[] = {
    {"kind", "what the rider does", kEventKinds, CHOICE(RideEvent, EventKind, kind),
     of_kind<brake, accelerate, corner>},
};
#undef CHOICE

constexpr CommonUnit kCommonUnits[] = {
    {"1", "1", 1.0, 1.0, 0.0},
    {"%", "1", 1.0, 100.0, 0.0},
    {"m", "m", 1.0, 1.0, 0.0},
    {"mm", "m", 1.0, 1e3, 0.0},
    {"cm", "m", 1.0, 1e2, 0.0},
    {"km", "m", 1e3, 1.0, 0.0},
    {"in", "m", kInch, 1.0, 0.0},
    {"m2", "m2", 1.0, 1.0, 0.0},
    {"cm2", "m2", 1.0, 1e4, 0.0},
    {"cm^2", "m2", 1.0, 1e4, 0.0},
    {"mm2", "m2", 1.0, 1e6, 0.0},
    {"mm^2", "m2", 1.0, 1e6, 0.0},
    {"m3", "m3", 1.0, 1.0, 0.0},
    {"cm3", "m3", 1.0, 1e6, 0.0},
    {"cm^3", "m3", 1.0, 1e6, 0.0},
    {"ml", "m3", 1.0, 1e6, 0.0},
    {"mm3", "m3", 1.0, 1e9, 0.0},
    {"kg", "kg", 1.0, 1.0, 0.0},
    {"g", "kg", 1.0, 1e3, 0.0},
    {"lb", "kg", 0.45359237, 1.0, 0.0},
    {"lbs", "kg", 0.45359237, 1.0, 0.0},
    {"s", "s", 1.0, 1.0, 0.0},
    {"ms", "s", 1.0, 1e3, 0.0},
    {"min", "s", 60.0, 1.0, 0.0},
    {"rad", "rad", 1.0, 1.0, 0.0},
    {"deg", "rad", kPi, 180.0, 0.0},
    {"Pa", "Pa", 1.0, 1.0, 0.0},
    {"kPa", "Pa", 1e3, 1.0, 0.0},
    {"MPa", "Pa", 1e6, 1.0, 0.0},
    {"bar", "Pa", 1e5, 1.0, 0.0},
    {"psi", "Pa", kPsi, 1.0, 0.0},
    {"K", "K", 1.0, 1.0, 0.0},
    {"degC", "K", 1.0, 1.0, kZeroCelsius},
    {"N", "N", 1.0, 1.0, 0.0},
    {"kN", "N", 1e3, 1.0, 0.0},
    {"N m-1", "N m-1", 1.0, 1.0, 0.0},
    {"N/m", "N m-1", 1.0, 1.0, 0.0},
    {"N/mm", "N m-1", 1e3, 1.0, 0.0},
    {"kN/m", "N m-1", 1e3, 1.0, 0.0},
    {"lbf/in", "N m-1", kPoundForce / kInch, 1.0, 0.0},
    {"N s m-1", "N s m-1", 1.0, 1.0, 0.0},
    {"N.s/m", "N s m-1", 1.0, 1.0, 0.0},
    {"Ns/m", "N s m-1", 1.0, 1.0, 0.0},
    {"N·s/m", "N s m-1", 1.0, 1.0, 0.0},
    {"m s-1", "m s-1", 1.0, 1.0, 0.0},
    {"m/s", "m s-1", 1.0, 1.0, 0.0},
    {"mm/s", "m s-1", 1.0, 1e3, 0.0},
    {"km/h", "m s-1", 1.0, 3.6, 0.0},
    {"mph", "m s-1", 0.44704, 1.0, 0.0},
    {"m s-2", "m s-2", 1.0, 1.0, 0.0},
    {"m/s2", "m s-2", 1.0, 1.0, 0.0},
    {"m/s^2", "m s-2", 1.0, 1.0, 0.0},
    {"kg m2", "kg m2", 1.0, 1.0, 0.0},
    {"kg.m2", "kg m2", 1.0, 1.0, 0.0},
    {"kg m-3", "kg m-3", 1.0, 1.0, 0.0},
    {"kg/m3", "kg m-3", 1.0, 1.0, 0.0},
    {"m2 s-1", "m2 s-1", 1.0, 1.0, 0.0},
    {"cSt", "m2 s-1", 1.0, 1e6, 0.0},
    {"m2 Pa-1", "m2 Pa-1", 1.0, 1.0, 0.0},
    {"mm2/bar", "m2 Pa-1", 1.0, 1e11, 0.0},
    {"N m-3", "N m-3", 1.0, 1.0, 0.0},
    {"N/mm3", "N m-3", 1e9, 1.0, 0.0},
    {"N m-1.5", "N m-1.5", 1.0, 1.0, 0.0},
    {"N/m^1.5", "N m-1.5", 1.0, 1.0, 0.0},
    {"s m-1", "s m-1", 1.0, 1.0, 0.0},
    {"s/m", "s m-1", 1.0, 1.0, 0.0},
    {"Hz", "Hz", 1.0, 1.0, 0.0},
    {"/min", "Hz", 1.0, 60.0, 0.0},
    {"J", "J", 1.0, 1.0, 0.0},
    {"W", "W", 1.0, 1.0, 0.0},
};
// clang-format on

template <class Owner>
void fill(std::span<const Field<Owner>> fields, Owner& owner) {
  for (const Field<Owner>& field : fields) {
    double& value = field.at(owner);
    if (std::isnan(value) && field.needed != nullptr && field.needed(owner)) {
      value = field.fallback;
    }
  }
}

// Least number of inserted, removed, changed or swapped letters between two words.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before[j - 2] + 1);
      }
    }
    before.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

// The kinds that read a field, as a list: "bump, bumps, drop".
std::string kinds_of(std::span<const ChoiceValue> kinds, auto&& reads) {
  std::string text;
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    if (!reads(static_cast<int>(k))) continue;
    if (!text.empty()) text += ", ";
    text += kinds[k].name;
  }
  return text;
}

template <class Owner>
std::string table_row(const Field<Owner>& field, const std::string& reads) {
  const std::string fallback = std::isnan(field.fallback) ? "" : say(field.fallback, field.said);
  return fmt::format("| `{}` | {}{} | {} | {} | {} | {}{} |\n", field.name, field.meaning,
                     field.whole ? " (a whole number)" : "", field.unit,
                     say_range(field.low, field.high, field.said), fallback, to_string(field.basis),
                     reads);
}

constexpr std::string_view kTableHead =
    "| name | meaning | SI unit | allowed | default | basis |\n|---|---|---|---|---|---|\n";
constexpr std::string_view kKindTableHead =
    "| name | meaning | SI unit | allowed | default | basis | in "
    "|\n|---|---|---|---|---|---|---|\n";
constexpr std::string_view kChoiceHead = "| name | meaning | one of |\n|---|---|---|\n";

template <class Owner>
std::string choice_row(const Choice<Owner>& choice) {
  std::string values;
  for (const ChoiceValue& value : choice.values) {
    if (!values.empty()) values += "; ";
    values += fmt::format("`{}` {}", value.name, value.meaning);
  }
  return fmt::format("| `{}` | {} | {} |\n", choice.name, choice.meaning, values);
}

template <class Owner, class Kind>
std::string kind_table(std::span<const Field<Owner>> fields,
                       std::span<const Choice<Owner>> owner_choices) {
  std::string text(kChoiceHead);
  for (const auto& choice : owner_choices) text += choice_row(choice);
  text += "\n";
  text += kKindTableHead;
  for (const auto& field : fields) {
    text += table_row(field, " | " + kinds_of(owner_choices[0].values, [&](int kind) {
                               Owner owner;
                               owner.kind = static_cast<Kind>(kind);
                               return field.needed(owner);
                             }));
  }
  return text;
}

constexpr int kDigits = 6;  // significant digits of a number that people read

// Largest count whose digits are all printed: 2^53, past which doubles skip some.
constexpr double kLargestCount = 9007199254740992.0;

const CommonUnit& common_unit(std::string_view said) {
  const CommonUnit* unit = find_common_unit(said);
  if (unit == nullptr) throw std::invalid_argument(fmt::format("{} is not a common unit", said));
  return *unit;
}

std::string printed(double number, std::string_view said) {
  number += 0.0;  // -0 is 0
  const bool counts = number == std::floor(number) && std::abs(number) < kLargestCount;
  if (said == "1")
    return counts ? fmt::format("{:.0f}", number) : fmt::format("{:.{}g}", number, kDigits);
  return fmt::format("{:.{}g} {}", number, kDigits, said);
}

// Rounding of a limit that has been converted to another unit and back.
double rounding(double limit) {
  return 4.0 * std::numeric_limits<double>::epsilon() * std::abs(limit);
}

// The number of `kDigits` digits nearest to a limit on the side of `way` (-1 below, 1 above).
double printed_inside(double limit, const CommonUnit& unit, double way) {
  const double exact = unit.from_si(limit);
  if (exact == 0.0) return 0.0;
  const double digit = std::pow(10.0, std::floor(std::log10(std::abs(exact))) - kDigits + 1);
  const double nearest = std::round(exact / digit) * digit;
  const bool outside = way * (unit.to_si(nearest) - limit) < -rounding(limit);
  return outside ? nearest + way * digit : nearest;
}

}  // namespace

std::string_view to_string(Basis basis) {
  switch (basis) {
    case Basis::none:
      return "";
    case Basis::published:
      return "published";
    case Basis::estimate:
      return "estimate";
    case Basis::common_practice:
      return "common practice";
    case Basis::chosen:
      return "chosen";
  }
  return "";
}

std::span<const Parameter> parameters() { return kParameters; }
std::span<const FeatureField> feature_fields() { return kFeatureFields; }
std::span<const EventField> event_fields() { return kEventFields; }
std::span<const ClickField> click_fields() { return kClickFields; }
std::span<const SlopeField> slope_fields() { return kSlopeFields; }
std::span<const SpeedForceField> speed_force_fields() { return kSpeedForceFields; }
std::span<const Choice<Setup>> choices() { return kChoices; }
std::span<const Choice<Feature>> feature_choices() { return kFeatureChoices; }
std::span<const Choice<RideEvent>> event_choices() { return kEventChoices; }
std::span<const CommonUnit> common_units() { return kCommonUnits; }

const Parameter* find_parameter(std::string_view name) {
  const auto found = std::ranges::find(kParameters, name, &Parameter::name);
  return found == std::end(kParameters) ? nullptr : found;
}

std::string_view reader_of(const Parameter& parameter) {
  return words_of(parameter.read != nullptr ? parameter.read : parameter.needed);
}

std::string_view reader_of(const Choice<Setup>& choice) { return words_of(choice.needed); }

std::span<const NameField> name_fields() { return kNames; }

const NameField* find_name(std::string_view key) {
  const auto found = std::ranges::find(kNames, key, &NameField::key);
  return found == std::end(kNames) ? nullptr : found;
}

const Choice<Setup>* find_choice(std::string_view name) {
  const auto found = std::ranges::find(kChoices, name, &Choice<Setup>::name);
  return found == std::end(kChoices) ? nullptr : found;
}

std::vector<std::string_view> dotted_names() {
  std::vector<std::string_view> names;
  for (const Parameter& parameter : parameters()) names.push_back(parameter.name);
  for (const auto& choice : choices()) names.push_back(choice.name);
  for (const NameField& name : kNames) names.push_back(name.key);
  return names;
}

int find_value(std::span<const ChoiceValue> values, std::string_view word) {
  const auto found = std::ranges::find(values, word, &ChoiceValue::name);
  return found == values.end() ? -1 : static_cast<int>(found - values.begin());
}

std::string_view to_string(FeatureKind kind) {
  return kFeatureKinds[static_cast<std::size_t>(kind)].name;
}

std::string_view to_string(EventKind kind) {
  return kEventKinds[static_cast<std::size_t>(kind)].name;
}

void fill_defaults(Setup& setup) {
  fill(parameters(), setup);
  for (Feature& feature : setup.terrain) fill_defaults(feature);
  for (RideEvent& event : setup.events) fill_defaults(event);
}

void fill_defaults(Feature& feature) { fill(feature_fields(), feature); }

void fill_defaults(RideEvent& event) { fill(event_fields(), event); }

Setup defaults() {
  Setup setup;
  fill_defaults(setup);
  return setup;
}

std::string nearest_name(std::string_view word, std::span<const std::string_view> candidates) {
  constexpr std::size_t kLongestWord = 100;
  constexpr std::size_t kShortestStem = 3;  // letters that stand for the word they begin
  if (word.size() > kLongestWord) return {};
  std::string_view best;
  std::size_t best_distance = std::max<std::size_t>(2, word.size() / 3) + 1;
  for (const std::string_view candidate : candidates) {
    const bool cut_short = word.size() >= kShortestStem && candidate.starts_with(word);
    const std::size_t distance = cut_short ? 1 : edit_distance(word, candidate);
    const bool nearer =
        distance < best_distance || (distance == best_distance && candidate.size() < best.size());
    if (nearer && distance < candidate.size()) {
      best = candidate;
      best_distance = distance;
    }
  }
  return std::string(best);
}

namespace {

// What stands behind the last dot of a name; the name where it has none.
std::string_view last_part(std::string_view name) { return name.substr(name.rfind('.') + 1); }

// The dotted names that end in a word, or in the word most like it; those that begin as it does
// before others.
std::vector<std::string_view> ending_in(std::string_view word,
                                        std::span<const std::string_view> candidates) {
  const auto found = [&](std::string_view end) {
    std::vector<std::string_view> names;
    for (const std::string_view name : candidates) {
      const bool longer = name.size() > end.size() && name[name.size() - end.size() - 1] == '.';
      if (longer && name.ends_with(end)) names.push_back(name);
    }
    return names;
  };
  if (word.empty()) return {};
  std::vector<std::string_view> names = found(word);
  if (names.empty() && word.find('.') != std::string_view::npos) {
    names = found(last_part(word));
    const std::string_view begin = word.substr(0, word.find('.') + 1);
    const auto strange = [&](std::string_view name) { return !name.starts_with(begin); };
    if (!std::ranges::all_of(names, strange)) std::erase_if(names, strange);
  }
  if (names.empty()) {
    std::vector<std::string_view> ends;
    for (const std::string_view name : candidates) ends.push_back(last_part(name));
    const std::string nearest = nearest_name(word, ends);
    if (!nearest.empty()) names = found(nearest);
  }
  return names;
}

}  // namespace

std::string suggestion(std::string_view word, std::span<const std::string_view> candidates) {
  constexpr std::size_t kMost = 4;  // names; more are no help
  std::vector<std::string_view> names = ending_in(word, candidates);
  const std::string nearest = nearest_name(word, candidates);
  const bool ends_so = !names.empty() && names.front().ends_with(word);
  if (!nearest.empty() && !ends_so) names = {nearest};
  if (names.empty() || names.size() > kMost) return {};
  std::string list;
  for (std::size_t i = 0; i < names.size(); ++i) {
    list += i == 0 ? "" : i + 1 < names.size() ? ", " : " or ";
    list += fmt::format("\"{}\"", names[i]);
  }
  return fmt::format("; did you mean {}?", list);
}

const CommonUnit* find_common_unit(std::string_view name) {
  const auto found = std::ranges::find(kCommonUnits, name, &CommonUnit::name);
  return found == std::end(kCommonUnits) ? nullptr : found;
}

double in_common_unit(double value, std::string_view said) {
  const CommonUnit* unit = find_common_unit(said);
  return unit == nullptr ? value : unit->from_si(value);
}

std::vector<double> in_common_unit(std::vector<double> values, std::string_view said) {
  for (double& value : values) value = in_common_unit(value, said);
  return values;
}

std::string say(double value, std::string_view said) {
  const CommonUnit& unit = common_unit(said);
  return printed(unit.from_si(value), said);
}

std::string say_range(double low, double high, std::string_view said) {
  return fmt::format("{} to {}", say(low, said), say(high, said));
}

bool in_range(double value, double low, double high) {
  return value >= low - rounding(low) && value <= high + rounding(high);
}

std::string say_at_most(double limit, std::string_view said) {
  return printed(printed_inside(limit, common_unit(said), -1.0), said);
}

std::string say_at_least(double limit, std::string_view said) {
  return printed(printed_inside(limit, common_unit(said), 1.0), said);
}

std::string parameter_page() {
  std::string text = "### Words\n\n";
  text += kChoiceHead;
  for (const auto& choice : choices()) text += choice_row(choice);
  text += "\n### Numbers\n\n";
  text += kTableHead;
  for (const Parameter& parameter : parameters()) text += table_row(parameter, "");
  text += "\n### Columns of a click table\n\n";
  text += kTableHead;
  for (const auto& field : click_fields()) text += table_row(field, "");
  text += "\n### Columns of a low-speed and a high-speed table\n\n";
  text += kTableHead;
  for (const auto& field : slope_fields()) text += table_row(field, "");
  text += "\n### Columns of dynamometer points\n\n";
  text += kTableHead;
  for (const auto& field : speed_force_fields()) text += table_row(field, "");
  text += "\n### Terrain features\n\n";
  text += kind_table<Feature, FeatureKind>(feature_fields(), feature_choices());
  text += "\n### Events\n\n";
  text += kind_table<RideEvent, EventKind>(event_fields(), event_choices());
  return text;
}

}  // namespace plunge
