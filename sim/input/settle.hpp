// The last steps before a Setup is ridden: judged as a whole, its sag held.
//
// judge_ride() says what is wrong while the sag is still to be held: the sag itself, every number
// and relation (judge.hpp), the ground (terrain.hpp) where all else is good, then whether both
// wheels carry the bike along it (balance.hpp). settle() solves the hold and judges what came out.
// The loader, the command line, plans and the library all settle their rides here, and nowhere
// else; only the balance of a plan's ride is judged with the ground that it is ridden on, which
// takes long to make (sim/lanes/many_rides.hpp).
//
// A sag as a length is held as its share of that ride's own travel.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/setup.hpp"
#include "sim/ground/grade_line.hpp"
#include "sim/measure/result.hpp"

namespace plunge {

// What is wrong with the ground of a Setup; an empty function judges none. A caller that has judged
// the same ground before gives one that remembers.
using GroundJudge = std::function<Faults(const Setup&)>;

Faults judge_ground_of(const Setup& setup);

// Whether the wheels carry a Setup of which all else is good; an empty function judges nothing.
using BalanceJudge = std::function<Faults(const Setup&)>;

Faults judge_balance_of(const Setup& setup);

// The same on a grade line that is known already.
Faults judge_balance_on(const GradeLine& grade, const Setup& setup);

// Held::sag: a sag will be held, even where this Setup does not say so itself. The balance is
// judged where the ground is, and the spring given or to be solved for.
Faults judge_ride(const Setup& setup, Held held, const GroundJudge& ground = judge_ground_of);

// Solves what is held; setup.hold is then unset. The Setup can be ridden where no fault is found.
Faults settle(Setup& setup, const GroundJudge& ground = judge_ground_of,
              const BalanceJudge& balance = judge_balance_of);

// What a hold solved for: the pressure of an air spring or the preload of a coil.
NamedValue solved_by_hold(const Setup& setup);

// Whether a number of that name sets the spring itself, beside which no sag can be held.
bool sets_spring(std::string_view name);

// Why a sag is not held beside a number that sets the spring.
std::string rule_beside(std::string_view spring);

}  // namespace plunge
