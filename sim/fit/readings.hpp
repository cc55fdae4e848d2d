// What a workshop reads off a fork, each with its spread and the conditions under which it was
// read.
//
//   pump_on     the gauge of the pump that stays on while the fork is pressed to a travel
//   pump_again  the same pump, taken off after filling and screwed on again at a travel
//   sag         travel at which the fork stands under a weight, moved there down, up, or settled
//   push        what a scale below the fork shows while it is pressed slowly, or let come back
//   spacers     volume of some spacers together, by water
//   bore        inner diameter of the tube that the piston runs in
//   wheel       mass of the front wheel with tyre, rotor and axle
//   ring        largest travel of a scene that was ridden
//   return      time in which the wheel, held at a travel and let go, comes back
//
// `spread` is one standard deviation of the reading alone, in its own unit. What the setting of the
// pressure and the reading of the travel leave open is added through the model (Instruments).
// Pressures are gauge pressures as the pump shows them; a fork is set at full extension.
// Not here: what the model says of a reading (bench.hpp), files (readings_reader.hpp).
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

enum class ReadingKind { pump_on, pump_again, sag, push, spacers, bore, wheel, ring, back };
enum class Moving { settled, down, up };

struct Reading {
  ReadingKind kind = ReadingKind::sag;
  Moving moving = Moving::settled;  // sag, push: which way friction holds
  double reads = kUnset;            // in the unit of its kind
  double spread = kUnset;           // of reads
  double pressure = kUnset;         // set on the gauge at full extension [Pa]
  double spacers = kUnset;          // in the fork; unset: as its file has it
  double travel = kUnset;           // unset: full travel [m]
  double until = kUnset;            // return: the travel at which the clock stops [m]
  double weight = kUnset;           // sag: mass that the fork carries [kg]
  double angle = kUnset;            // of the legs from the horizontal [rad]
  double count = kUnset;            // spacers: how many were measured together
  std::string scene;                // ring: its path, as the readings can be read from it
  std::string instrument;           // what it was read with, in words
  std::string label;                // "reading 3, push" or its own name
  Place place;
};

// What the instruments leave open beside the spread of each reading.
struct Instruments {
  double pressure = kUnset;  // scatter of a pressure that is set [Pa]
  double travel = kUnset;    // scatter of a travel that is gone to [m]
  double gauge = kUnset;     // share by which the gauge may be off throughout [1]
};

struct Readings {
  std::string name;
  AirState ambient;  // where they were read
  Instruments instruments;
  std::vector<Reading> list;
};

// What a kind reads: its unit and the closed range that is taken.
struct ReadingRow {
  ReadingKind kind;
  std::string_view name;
  std::string_view unit;
  std::string_view said;
  double low;
  double high;
  std::string_view meaning;
};

std::span<const ReadingRow> reading_rows();
const ReadingRow& row_of(ReadingKind kind);
std::vector<ChoiceValue> reading_kinds();
std::span<const ChoiceValue> movings();

// The conditions, by the kinds that read them.
std::span<const Field<Reading>> condition_fields();
std::span<const Field<Instruments>> instrument_fields();

// What instruments leave open where nothing is said of them.
Instruments usual_instruments();

// Eight hexadecimal digits that follow from all that a reading says, wherever it is kept; not from
// its label and place. Two readings with one id are one reading, or came out the same with an
// instrument of the same name.
std::string reading_id(const Reading& reading);

// Whether a kind is read moving one way, and whether at a travel that the fork is pressed to.
bool reads_moving(ReadingKind kind);
bool reads_travel(ReadingKind kind);

// The tables of scenarios/format.md, in Markdown.
std::string readings_page();

}  // namespace plunge
