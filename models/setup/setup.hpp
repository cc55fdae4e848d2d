// Everything that a ride is made of, as plain numbers in SI units.
//
// A Setup is what a scene file, the files it names and --set amount to. Each number here has one
// line in the parameter table (parameters.hpp) with its name, unit, range, default and meaning;
// unset is NaN. judge() (judge.hpp) says whether a Setup can be ridden.
#pragma once

#include <string>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

enum class Spring { air, coil };                      // what carries the rider
enum class NegativeSpring { air, coil, none };        // what softens the start of an air spring
enum class DamperKind { slopes, points, hydraulic };  // how a damper is described

// One row of a click table: the two slopes of a damper at a number of clicks from closed.
struct ClickRow {
  double clicks = kUnset;      // [1]
  double low_speed = kUnset;   // slope below the knee [N.s/m]
  double high_speed = kUnset;  // slope above the knee [N.s/m]
};

// One reading of a dynamometer: force against speed, both positive.
struct SpeedForce {
  double speed = kUnset;  // [m/s]
  double force = kUnset;  // [N]
};

// One direction of a damper. See models/setup/damper.hpp for the laws.
struct DamperSetup {
  DamperKind kind = DamperKind::slopes;
  double clicks = kUnset;      // adjuster position from closed [1]
  double low_speed = kUnset;   // slopes, where there is no click table [N.s/m]
  double high_speed = kUnset;  // [N.s/m]
  double knee = kUnset;        // knee speed [m/s]
  std::vector<ClickRow> click_table;
  std::vector<SpeedForce> points;

  // hydraulic
  double piston_area = kUnset;        // A_p [m2]
  double bleed_area = kUnset;         // needle orifice, wide open [m2]
  double bleed_length = kUnset;       // its laminar length [m]
  double bleed_clicks = kUnset;       // clicks from closed to wide open [1]
  double shim_preload = kUnset;       // cracking pressure of the shim stack [Pa]
  double shim_slope = kUnset;         // flow area that opens per pressure past cracking [m2/Pa]
  double shim_area = kUnset;          // largest flow area of the shim stack [m2]
  double blow_off_pressure = kUnset;  // cracking pressure of the blow-off valve [Pa]
  double blow_off_slope = kUnset;     // [m2/Pa]
};

struct OilSetup {
  double density = kUnset;        // [kg/m3]
  double viscosity_40 = kUnset;   // kinematic viscosity at 40 degC [m2/s]
  double viscosity_100 = kUnset;  // kinematic viscosity at 100 degC [m2/s]
  double temperature = kUnset;    // of the damper oil [K]
  double discharge = kUnset;      // orifice coefficient C_d [1]
};

struct AirSetup {
  double main_volume = kUnset;      // V0, at full extension, no spacer, no oil [m3]
  double main_area = kUnset;        // A+ [m2]
  double negative_volume = kUnset;  // V0-, at full extension [m3]
  double negative_area = kUnset;    // A- [m2]
  double spacer_volume = kUnset;    // one spacer [m3]
  double oil_volume = kUnset;       // oil on top of the piston [m3]
  double port_position = kUnset;    // deepest travel at which the port connects the chambers [m]
  double port_length = kUnset;      // length of the transfer window [m]
  double port_area = kUnset;        // effective flow area of the open port [m2]
  double main_time = kUnset;        // thermal time constant of the main chamber [s]
  double negative_time = kUnset;    // of the negative chamber [s]
  double hose_volume = kUnset;      // of the pump hose [m3]
  double leg_volume = kUnset;       // air sealed in the lower legs at full extension [m3]
  double leg_area = kUnset;         // area that sweeps it, 0: no such air [m2]
  double leg_time = kUnset;         // its thermal time constant [s]
};

struct CoilSetup {
  double rate = kUnset;     // [N/m]
  double preload = kUnset;  // [N]
};

struct NegativeCoilSetup {
  double rate = kUnset;    // [N/m]
  double length = kUnset;  // travel over which it pushes [m]
};

struct HydraulicStopSetup {
  double length = kUnset;   // last stretch of travel in which it works [m]
  double damping = kUnset;  // at full travel [N.s/m]
};

struct FrictionSetup {
  double seal = kUnset;                  // Coulomb drag of seals and bushings without side load [N]
  double bushing = kUnset;               // coefficient of friction of the bushings [1]
  double bushing_spacing = kUnset;       // between the two bushings [m]
  double bushing_reach = kUnset;         // axle to lower bushing [m]
  double static_ratio = kUnset;          // static over Coulomb level [1]
  double stribeck_speed = kUnset;        // [m/s]
  double presliding_stiffness = kUnset;  // sigma0 [N/m]
  double presliding_damping = kUnset;    // sigma1 [N.s/m]
  double viscous = kUnset;               // sigma2 [N.s/m]
};

struct StopSetup {
  double bumper_length = kUnset;      // last millimetres of travel that the bumper fills [m]
  double bumper_stiffness = kUnset;   // k [N/m]
  double bumper_cubic = kUnset;       // k3 [N/m3]
  double bumper_loss = kUnset;        // loss factor chi [s/m]
  double metal_stiffness = kUnset;    // contact past the travel limit [N/m^1.5]
  double metal_loss = kUnset;         // Hunt-Crossley loss [s/m]
  double chassis_stiffness = kUnset;  // chassis and steerer in series with that contact [N/m]
  double top_out_stiffness = kUnset;  // [N/m]
  double top_out_loss = kUnset;       // [s/m]
};

struct ForkSetup {
  std::string name;
  Spring spring = Spring::air;
  NegativeSpring negative = NegativeSpring::air;
  double travel = kUnset;          // L [m]
  double unsprung_mass = kUnset;   // wheel, lower legs, brake [kg]
  double wheel_share = kUnset;     // of the wheel in it [1]
  double spacers = kUnset;         // n, a whole number
  double spacer_limit = kUnset;    // most spacers that the maker allows
  double pressure = kUnset;        // gauge, at full extension and wall temperature [Pa]
  double pressure_limit = kUnset;  // the maker's rating, gauge [Pa]
  AirSetup air;
  CoilSetup coil;
  NegativeCoilSetup negative_coil;
  DamperSetup compression;
  DamperSetup rebound;
  OilSetup oil;
  HydraulicStopSetup hydraulic_stop;
  FrictionSetup friction;
  StopSetup stops;
};

enum class WheelContact { circle, point, average };

struct BikeSetup {
  std::string name;
  double mass = kUnset;                // the whole bike [kg]
  double head_angle = kUnset;          // from the horizontal [rad]
  double wheelbase = kUnset;           // [m]
  double cg_height = kUnset;           // of bike and rider [m]
  double line_length = kUnset;         // of ground that the grade is taken over, 0: level [m]
  double rolling_resistance = kUnset;  // force over weight [1]
  double drag_area = kUnset;           // C_d A of bike and rider [m2]
  double wheel_inertia = kUnset;       // of the front wheel about its axle [kg.m2]
  WheelContact contact = WheelContact::circle;  // how the wheel reads the ground
  double wheel_radius = kUnset;                 // R [m]
  double contact_length = kUnset;               // of the moving average [m]
  double tyre_stiffness = kUnset;               // [N/m]
  double tyre_damping = kUnset;                 // [N.s/m]
  double tyre_onset = kUnset;   // deflection below which the force grows as delta^1.5, 0: none [m]
  double tyre_height = kUnset;  // section height at which the rim is met [m]
  double rim_stiffness = kUnset;  // [N/m]
  double tyre_grip = kUnset;      // mu of tyre on ground [1]
};

struct RiderSetup {
  std::string name;
  double mass = kUnset;            // rider with clothing and pack [kg]
  double front_share = kUnset;     // static share of bike and rider on the front wheel [1]
  double body_share = kUnset;      // part of the rider's front share that is the upper body [1]
  double sprung_mass = kUnset;     // overrides the mass carried rigidly on the fork [kg]
  double body_mass = kUnset;       // overrides the mass on legs and arms [kg]
  double body_stiffness = kUnset;  // legs and arms together [N/m]
  double body_damping = kUnset;    // [N.s/m]
  double arm_part = kUnset;        // of the arms in both [1]
  double hand_share = kUnset;      // of the upper body's weight, at rest on the hands [1]
};

struct AirState {
  double altitude = kUnset;     // [m]
  double temperature = kUnset;  // [K]
};

enum class FeatureKind { flat, bump, bumps, drop, rough, profile };
enum class BumpShape { half_sine, cosine, square, ramp, root };
enum class ProfileJoin { linear, smooth };

// One stretch of ground. Which fields a kind reads, and their limits: the feature table in
// parameters.hpp; their geometry: sim/ground/terrain.hpp.
struct Feature {
  FeatureKind kind = FeatureKind::flat;
  BumpShape shape = BumpShape::half_sine;
  ProfileJoin join = ProfileJoin::linear;
  double length = kUnset;          // flat, bump, each of bumps, rough [m]
  double grade = kUnset;           // slope angle of a flat, negative downhill [rad]
  double height = kUnset;          // bump, each of bumps, drop [m]
  double spacing = kUnset;         // bumps: start to start [m]
  double count = kUnset;           // bumps: a whole number
  double landing_angle = kUnset;   // drop: downhill angle of the landing, 0 is flat [rad]
  double landing_length = kUnset;  // drop: along the horizontal [m]
  double run_out = kUnset;         // drop: horizontal length of the curve back to level [m]
  double roughness = kUnset;       // rough: G_d(n0) at n0 = 0.1 1/m [m3]
  double seed = kUnset;            // rough: a whole number
  double longest = kUnset;         // rough: longest wavelength [m]
  double shortest = kUnset;        // rough: shortest wavelength [m]
  double fade = kUnset;           // rough: length over which it rises from and returns to level [m]
  double scale = kUnset;          // profile: factor on the heights [1]
  std::vector<double> distance;   // profile: rising [m]
  std::vector<double> elevation;  // profile [m]
};

enum class EventKind { brake, accelerate, corner };

// Something the rider does along the way.
struct RideEvent {
  EventKind kind = EventKind::brake;
  double at = kUnset;           // distance at which it begins [m]
  double rate = kUnset;         // brake, accelerate: size of the change of speed [m/s2]
  double to_speed = kUnset;     // brake, accelerate: speed at which it ends [m/s]
  double rise = kUnset;         // time to come on, and again to go off [s]
  double front_share = kUnset;  // brake: part of the braking force at the front wheel [1]
  double lean = kUnset;         // corner: lean angle [rad]
  double length = kUnset;       // corner: along the ground, without the rise and the fall [m]
};

struct RideSetup {
  double speed = kUnset;        // at the start [m/s]
  double brake_share = kUnset;  // front part of the braking force where no event brakes [1]
  double duration = kUnset;     // unset: until the ground ends [s]
  double sample_rate = kUnset;  // of the results [Hz]
  double tolerance = kUnset;    // relative error of one integration step [1]
};

// The sag to hold, one of the two: the pressure of an air spring or the preload of a coil is solved
// for. Both unset: pressure and preload stay as given.
struct HoldSetup {
  double sag = kUnset;         // as a share of the travel [1]
  double sag_length = kUnset;  // as a length of travel [m]
};

struct Setup {
  std::string name;
  ForkSetup fork;
  BikeSetup bike;
  RiderSetup rider;
  AirState ambient;  // where it is ridden
  AirState pumped;   // where it was pumped; unset: as ambient
  RideSetup ride;
  std::vector<Feature> terrain;
  std::vector<RideEvent> events;
  HoldSetup hold;  // unset once it is solved for
};

}  // namespace plunge
