#include "sim/input/settle.hpp"

#include <fmt/core.h>

#include <cmath>

#include "models/setup/knob.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/balance.hpp"

namespace plunge {
namespace {

double sag_share(const Setup& setup) {
  const HoldSetup& hold = setup.hold;
  return std::isnan(hold.sag_length) ? hold.sag : hold.sag_length / setup.fork.travel;
}

Faults judge_sag(const Setup& setup) {
  const double length = setup.hold.sag_length;
  if (std::isnan(length)) return std::isnan(setup.hold.sag) ? Faults() : judge_hold(setup.hold.sag);
  const double travel = setup.fork.travel;
  if (!(travel > 0.0) || judge_hold(length / travel).empty()) return {};
  return {{"hold.sag",
           say(length, "mm"),
           fmt::format("must be {}, {} of the travel",
                       say_range(kLeastSag * travel, kMostSag * travel, "mm"),
                       say_range(kLeastSag, kMostSag, "%")),
           {}}};
}

// The balance of a ride whose sag may still have to be held; one that cannot be held is judged when
// it is.
Faults judge_balance_held(const Setup& setup) {
  Setup held = setup;
  if (holds(setup.hold)) {
    try {
      hold_sag(held, sag_share(setup));
    } catch (const InputError&) {
      return {};
    }
  }
  const double spring =
      held.fork.spring == Spring::air ? held.fork.pressure : held.fork.coil.preload;
  return std::isnan(spring) ? Faults() : judge_balance_of(held);
}

}  // namespace

Faults judge_ground_of(const Setup& setup) { return judge_ground(setup.terrain, setup.bike); }

Faults judge_balance_of(const Setup& setup) {
  return judge_balance_on(build_grade(setup.terrain, setup.bike), setup);
}

Faults judge_balance_on(const GradeLine& grade, const Setup& setup) {
  return judge_balance(setup, assemble_ridden(setup), grade,
                       RideLine(setup.ride, setup.events, terrain_length(setup.terrain)));
}

Faults judge_ride(const Setup& setup, Held held, const GroundJudge& ground) {
  Faults faults = judge_sag(setup);
  for (Fault& fault : judge(setup, holds(setup.hold) ? Held::sag : held)) {
    faults.push_back(std::move(fault));
  }
  if (!faults.empty() || !ground) return faults;
  faults = ground(setup);
  return faults.empty() ? judge_balance_held(setup) : faults;
}

Faults settle(Setup& setup, const GroundJudge& ground, const BalanceJudge& balance) {
  Faults faults = judge_ride(setup, Held::nothing, {});
  if (faults.empty() && holds(setup.hold)) {
    try {
      hold_sag(setup, sag_share(setup));
    } catch (const InputError& error) {
      faults = error.faults();
      for (Fault& fault : faults) {
        if (!std::isnan(setup.hold.sag_length)) fault.value = say(setup.hold.sag_length, "mm");
      }
      return faults;
    }
    setup.hold = {};
    faults = judge(setup);
  }
  if (faults.empty() && ground) faults = ground(setup);
  if (faults.empty() && balance) faults = balance(setup);
  return faults;
}

NamedValue solved_by_hold(const Setup& setup) {
  const bool air = setup.fork.spring == Spring::air;
  const Parameter& solved = *find_parameter(air ? "fork.pressure" : "fork.coil.preload");
  return {std::string(solved.name), std::string(solved.unit), solved.get(setup)};
}

bool sets_spring(std::string_view name) {
  return name == "fork.pressure" || name == "fork.coil.preload";
}

std::string rule_beside(std::string_view spring) {
  return fmt::format("cannot be held while {} is given: leave one out", spring);
}

}  // namespace plunge
