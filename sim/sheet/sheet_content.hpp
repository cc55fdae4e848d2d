// What a bench sheet says: plain texts with their units, and the numbers behind them.
//
//   pressure   to be set with the pump on at full extension, where it is pumped; as it reads with
//              the hose back on; and as the same air reads where it is ridden:
//                p' = (p + p_amb) T'/T - p_amb'        at full extension, volume and air the same
//   sag        and the band in which friction leaves the fork at rest (models/setup/statics.hpp)
//   curves     force of the springs along the legs over travel: slow, and fast from sag
//   predicted  metrics of the rides over all scenes: the largest of all of them, before and after
//   ring       largest travel of each scene with what is to be set, the deepest first
//   band       what the uncertain numbers leave open (sim/report/ride_bands.hpp): of the pressure
//   for
//              the sag, of the sag at the pressure; not known where nothing is uncertain
// Values are SI; what is not known is NaN, its text empty: a line to fill in by hand.
// Not here: where things stand on the page (sheet_layout.hpp), whose set-ups they are
// (sheet_case.hpp).
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/service.hpp"
#include "sim/numerics/band.hpp"

namespace plunge {

// A scene with what is in the fork and with what is to be set.
struct SheetScene {
  Setup before;  // not read where the case has no `before`
  Setup after;
  double ring_low = kUnset;  // 5th and 95th percentile of the ring by luck, where it is known [m]
  double ring_high = kUnset;
};

// What a sheet is made for. Set-ups are settled (sim/input/settle.hpp), their forks sprung by air.
struct SheetCase {
  std::optional<Setup> before;  // nothing: it is not known, or nothing is changed
  Setup after;
  Knowledge knowledge;  // of the numbers of fork and rider
  Service service;
  std::vector<SheetScene> scenes;
  std::string task;  // what to do, in workshop words
};

struct SheetRow {
  std::string name;  // for programs: "fork.pressure"
  std::string label;
  std::string before;
  std::string after;
  std::string note;
  double before_value = kUnset;
  double after_value = kUnset;
  Band band = {};
};

struct SheetCurve {
  std::vector<double> travel;  // [m]
  std::vector<double> slow;    // [N]
  std::vector<double> fast;    // [N]
};

struct SheetPrediction {
  std::string metric;
  std::string label;
  std::string before;
  std::string after;
  double before_value = kUnset;
  double after_value = kUnset;
};

struct SheetRing {
  std::string scene;
  std::string expected;
  double value = kUnset;  // [m]
};

struct SheetContent {
  std::string fork;
  std::string rider;
  std::string bike;
  std::string task;
  std::vector<std::string> cautions;
  std::string closing;  // the last of them, for the whole sheet
  std::vector<SheetRow> rows;
  bool has_before = false;
  SheetCurve before;  // empty: none
  SheetCurve after;
  std::string predicted_for;                 // "the largest of 3 scenes"
  std::vector<SheetPrediction> predictions;  // empty: no scene
  std::vector<SheetRing> rings;
  std::string guesses;  // what is guessed of the fork; empty: nothing
  std::string tools;    // with what turns the cap; empty: the fork's file does not say
  std::vector<std::string> steps;
};

// Rides all scenes. Throws InputError or RunError as sim/ride/run.hpp does; a ride that fails has
// no prediction.
SheetContent sheet_content(const SheetCase& sheet, bool bar);

}  // namespace plunge
