// What rides side by side were given: where their inputs differ, and what they have in common.
#pragma once

#include <string>
#include <vector>

#include "sim/measure/label.hpp"
#include "sim/measure/result.hpp"
#include "sim/report/result_file.hpp"

namespace plunge {

// A ride as read from a file.
struct FileRide {
  std::string file;
  std::string scene;  // its name
  Result ride;
  std::vector<UsedParameter> parameters;
};

// An input that is not the same in all rides, as people read it: a value for each, "-" where a ride
// does not read it.
struct DifferingInput {
  std::string name;  // "fork.spacers"
  std::string said;  // unit
  std::vector<std::string> values;
};

// By the parameters of the files, in the order of the table of parameters. Left out is what a hold
// solved for in all of them, for which the sag stands where that differs; and what follows from an
// input that differs itself, such as the sprung mass from the rider's.
std::vector<DifferingInput> differing_inputs(const std::vector<const FileRide*>& rides, bool bar);

// Metrics of rides side by side, parted by what they say.
struct Sifted {
  std::vector<Label> differ;      // as they are printed; all that a ride alone has
  std::vector<std::string> same;  // "sag 33.0 mm": in all rides alike
  std::vector<std::string> none;  // "metal contacts": counts of what happened in no ride
};

// Those that are shown in such a place (Shown, sim/measure/metrics.hpp) and that a ride has. What
// is 0 in all rides is left out, but for counts. `open`: names that are printed in any case, as
// what is not known leaves more open than the rides show.
Sifted sift(const std::vector<const Result*>& rides, unsigned shown, bool bar,
            const std::vector<std::string>& open = {});

// "the same in all: ..." and "in none: ...", each on lines of its own; nothing where there is
// nothing.
std::string remarks(const Sifted& sifted);

}  // namespace plunge
