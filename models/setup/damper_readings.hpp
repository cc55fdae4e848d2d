// What a workshop reads off one direction of a damper: its adjusters, and its law by their clicks.
//
//   slope at rest  dF/dv at v = 0 [N.s/m]: what low speed is about
//   knee           the speed past which the law is that of high speed [m/s]: of slopes v_k, of
//                  hydraulics the speed at which the shims crack; points and a damper without shims
//                  have none
//   forces         F at the speeds of kReadSpeeds [N]
//
// Law and symbols: models/setup/damper.hpp. Not here: printing, plots (tools/).
#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/laws/damper.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// What an adjuster turns: both slopes of a click table; the slope below the knee or the needle; the
// slope above the knee or the preload of the shims.
enum class Adjusts { both, low_speed, high_speed };

struct Adjuster {
  Adjusts adjusts = Adjusts::both;
  std::string_view key;                     // "clicks" or "high_speed_clicks"
  double DamperSetup::*position = nullptr;  // clicks from closed
  double first = 0.0;                       // fewest clicks that it takes, 0: closed
  double last = 0.0;                        // most
};

// "adjuster", "low-speed adjuster" or "high-speed adjuster".
std::string_view to_string(Adjusts adjusts);

// "low speed" or "high speed"; nothing where both are adjusted.
std::string_view speed_of(Adjusts adjusts);

// The adjusters of a direction, low speed first; none: it is fixed.
std::vector<Adjuster> adjusters_of(const DamperSetup& damper);

// Speeds at which forces are read [m/s]: chosen, from a slow stroke to a hard hit.
inline constexpr std::array<double, 4> kReadSpeeds = {0.1, 0.5, 1.0, 2.0};

struct DamperReading {
  double slope_at_rest = kUnset;
  double knee = kUnset;        // NaN: none
  double knee_force = kUnset;  // F there [N]
  std::array<double, kReadSpeeds.size()> force{};
};

// dF/dv of a law at v = 0 [N.s/m].
double slope_at_rest(const DamperLaw<double>& law);

// Whether a damper that is sound at other clicks is refused at these: they lock it.
bool is_locked(const DamperSetup& damper, const OilSetup& oil);

// The set-up must have passed judge().
DamperReading read_damper(const DamperSetup& damper, const OilSetup& oil);

// F over speeds from 0 to the fastest of kReadSpeeds, closer together where it is slow.
struct DamperCurve {
  std::vector<double> speed;  // [m/s]
  std::vector<double> force;  // that resists it [N]
};

// The set-up must have passed judge().
DamperCurve damper_curve(const DamperSetup& damper, const OilSetup& oil);

}  // namespace plunge
