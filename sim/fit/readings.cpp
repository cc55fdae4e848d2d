#include "sim/fit/readings.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>

#include "models/laws/constants.hpp"
#include "sim/disk/check_sum.hpp"

namespace plunge {
namespace {

constexpr double kPsiUnit = 6894.757293168361;  // [Pa], from the exact inch, pound and g

constexpr ReadingRow kRows[] = {
    {ReadingKind::pump_on, "pump_on", "Pa", "psi", 0.0, 700.0 * kPsiUnit,
     "the gauge of the pump that stays on while the fork is pressed to a travel"},
    {ReadingKind::pump_again, "pump_again", "Pa", "psi", 0.0, 700.0 * kPsiUnit,
     "the gauge of the pump, taken off after filling and screwed on again at a travel"},
    {ReadingKind::sag, "sag", "m", "mm", 1e-3, 0.3, "travel at which the fork carries a weight"},
    {ReadingKind::push, "push", "kg", "kg", 0.1, 1e3,
     "a scale that the fork is pressed onto slowly, straight along its legs"},
    {ReadingKind::spacers, "spacers", "m3", "cm3", 1e-7, 1e-3,
     "volume of spacers, by the water that they push aside"},
    {ReadingKind::bore, "bore", "m", "mm", 0.01, 0.06,
     "inner diameter of the tube that the piston runs in"},
    {ReadingKind::wheel, "wheel", "kg", "kg", 0.1, 20.0,
     "mass of the front wheel with tyre, rotor and axle"},
    {ReadingKind::ring, "ring", "m", "mm", 1e-3, 0.3, "largest travel of a scene that was ridden"},
    {ReadingKind::back, "return", "s", "ms", 1e-3, 10.0,
     "time in which the wheel, hanging free and let go at a travel, comes back"},
};

constexpr ChoiceValue kMovings[] = {{"settled", "shaken until friction plays no part"},
                                    {"down", "came there in compression"},
                                    {"up", "came there in rebound"}};

bool is(const Reading& reading, std::initializer_list<ReadingKind> kinds) {
  return std::ranges::find(kinds, reading.kind) != kinds.end();
}

using Of = ReadingKind;
bool fills(const Reading& r) {
  return is(r, {Of::pump_on, Of::pump_again, Of::sag, Of::push, Of::ring, Of::back});
}
bool goes_to(const Reading& r) { return is(r, {Of::pump_on, Of::pump_again, Of::push, Of::back}); }
bool stands(const Reading& r) { return is(r, {Of::sag, Of::push, Of::back}); }
bool comes_back(const Reading& r) { return r.kind == Of::back; }
bool carries(const Reading& r) { return r.kind == Of::sag; }
bool counts(const Reading& r) { return r.kind == Of::spacers; }

#define AT(member) [](Reading& r) -> double& { return r.member; }
#define OF(member) [](Instruments& i) -> double& { return i.member; }

constexpr auto kNone = Basis::none;
constexpr auto kChosen = Basis::chosen;
constexpr auto kEstimate = Basis::estimate;
constexpr bool (*kOptional)(const Reading&) = nullptr;

// clang-format off
constexpr Field<Reading> kConditions[] = {
    {"pressure", "Pa", "psi", 0.0, 700.0 * kPsiUnit, kUnset, kNone, false,
     "what the gauge showed at full extension when the fork was filled", AT(pressure), fills},
    {"spacers", "1", "1", 0.0, 50.0, kUnset, kNone, true,
     "spacers in the fork; unset: as its file says", AT(spacers), kOptional, fills},
    {"travel", "m", "mm", 0.0, 0.3, kUnset, kNone, false,
     "travel that the fork was pressed to; unset: full travel", AT(travel), kOptional, goes_to},
    {"until", "m", "mm", 0.0, 0.3, kUnset, kNone, false,
     "travel at which the clock stops; unset: half of that which the wheel was let go at", AT(until),
     kOptional, comes_back},
    {"weight", "kg", "kg", 0.1, 500.0, kUnset, kNone, false,
     "what the fork carries: the scale below the wheel, less the wheel and lower legs",
     AT(weight), carries},
    {"angle", "rad", "deg", kPi / 6.0, kPi / 2.0, kPi / 2.0, kChosen, false,
     "angle of the legs from the horizontal", AT(angle), stands},
    {"count", "1", "1", 1.0, 50.0, kUnset, kNone, true,
     "spacers that were measured together", AT(count), counts},
};

bool every(const Instruments&) { return true; }

constexpr Field<Instruments> kInstruments[] = {
    {"pressure", "Pa", "psi", 0.0, 20.0 * kPsiUnit, 0.7 * kPsiUnit, kEstimate, false,
     "scatter of a pressure that is set, one standard deviation", OF(pressure), every},
    {"travel", "m", "mm", 0.0, 0.02, 1e-3, kEstimate, false,
     "scatter of a travel that the fork is pressed to", OF(travel), every},
    {"gauge", "1", "%", 0.0, 0.2, 0.02, kEstimate, false,
     "share by which the gauge may be off in all of the readings", OF(gauge), every},
};
// clang-format on
#undef AT
#undef OF

std::string kinds_that(bool (*read)(const Reading&)) {
  std::string list;
  for (const ReadingRow& row : kRows) {
    Reading reading;
    reading.kind = row.kind;
    if (read(reading)) list += (list.empty() ? "" : ", ") + std::string(row.name);
  }
  return list;
}

}  // namespace

std::span<const ReadingRow> reading_rows() { return kRows; }

const ReadingRow& row_of(ReadingKind kind) { return kRows[static_cast<int>(kind)]; }

std::vector<ChoiceValue> reading_kinds() {
  std::vector<ChoiceValue> kinds;
  for (const ReadingRow& row : kRows) kinds.push_back({row.name, row.meaning});
  return kinds;
}

std::span<const ChoiceValue> movings() { return kMovings; }

std::span<const Field<Reading>> condition_fields() { return kConditions; }

std::span<const Field<Instruments>> instrument_fields() { return kInstruments; }

Instruments usual_instruments() {
  Instruments usual;
  for (const Field<Instruments>& field : kInstruments) field.set(usual, field.fallback);
  return usual;
}

std::string reading_id(const Reading& reading) {
  std::string text =
      fmt::format("{} {} {:.9g} {:.9g}", row_of(reading.kind).name,
                  kMovings[static_cast<int>(reading.moving)].name, reading.reads, reading.spread);
  for (const Field<Reading>& field : kConditions) {
    if (is_read(field, reading)) text += fmt::format(" {:.9g}", field.get(reading));
  }
  text += "\n" + reading.scene + "\n" + reading.instrument;
  return fmt::format("{:08x}", check_sum(text) & 0xffffffffU);
}

bool reads_moving(ReadingKind kind) { return kind == Of::sag || kind == Of::push; }

bool reads_travel(ReadingKind kind) {
  Reading reading;
  reading.kind = kind;
  return goes_to(reading);
}

std::string readings_page() {
  std::string text = "| kind | reads | said in | allowed |\n|---|---|---|---|\n";
  for (const ReadingRow& row : kRows) {
    text += fmt::format("| `{}` | {} | {} | {} |\n", row.name, row.meaning, row.said,
                        say_range(row.low, row.high, row.said));
  }
  text += "\n| condition | meaning | allowed | left out | of |\n|---|---|---|---|---|\n";
  for (const Field<Reading>& field : kConditions) {
    const bool needed = field.needed != nullptr;
    const std::string fallback =
        std::isnan(field.fallback) ? needed ? "refused" : "" : say(field.fallback, field);
    text += fmt::format("| `{}` | {} | {} | {} | {} |\n", field.name, field.meaning,
                        say_range(field.low, field.high, field.said), fallback,
                        kinds_that(needed ? field.needed : field.read));
  }
  text += "| `moving` | which way the fork came to rest: ";
  for (const ChoiceValue& value : kMovings) {
    text += fmt::format("{}`{}` {}", &value == kMovings ? "" : "; ", value.name, value.meaning);
  }
  text += " |  | settled | sag, push |\n";
  text += "| `scene` | path of the scene that was ridden |  | refused | ring |\n";
  text += "\n| instrument | meaning | allowed | left out |\n|---|---|---|---|\n";
  for (const Field<Instruments>& field : kInstruments) {
    text += fmt::format("| `{}` | {} | {} | {} |\n", field.name, field.meaning,
                        say_range(field.low, field.high, field.said), say(field.fallback, field));
  }
  return text;
}

}  // namespace plunge
