// From files and wishes to rides that are ready: judged, varied, held.
//
//   load     the files of a scene, or a fork alone, with what --set and --hold lay over them
//   vary     every combination of the variations, the last one fastest
//   settle   each judged as a whole, its sag held (sim/input/settle.hpp)
// All faults of all rides come together in one InputError; the option or file that is at fault
// stands in each. Nothing is printed: what a person should know beside the rides is in `notes`.
//
// A number that nothing reads is refused, wherever it comes from: one of `set` that no ride reads,
// one of `vary` that not every ride reads, one that the purpose does not read.
// A pressure or preload that is set or varied is not solved for: the file's own hold gives way,
// which is a note; a sag that is asked for beside it is a fault.
//
// ride_one() takes such a ride to its labelled result; sim/sweep/ride_many.hpp rides many.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/measure/result.hpp"
#include "sim/ride/run.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

// What the rides are for: a number that it does not read is refused.
enum class Purpose {
  ride,
  modes,       // small motions on level ground: no terrain, no events, no samples
  curve,       // a fork at rest under a rider: no speed either
  bare_curve,  // a fork at rest: no rider, no bike
  damper,      // the laws of a damper: its own numbers and those of its oil
};

struct Wishes {
  std::vector<std::string> set;   // "fork.spacers=2" (sim/input/overrides.hpp)
  std::vector<std::string> vary;  // "fork.spacers=0..4"
  std::string hold;               // "sag=22%", "sag=35mm", "pressure"; empty: as the file says
  Purpose purpose = Purpose::ride;
  std::string vary_option = "--vary";  // as faults name it
  std::string spacers = {};            // "0..4": varied before all others, faults name --spacers
  bool bar = false;                    // labels say pressures in bar, not in psi
};

struct ReadyRide {
  std::string label;             // "2 spacers": how people tell it from its neighbours
  Setup setup;                   // judged, pressure solved
  std::vector<NamedValue> set;   // what was varied
  std::vector<NamedValue> held;  // what the hold solved for
  HoldSetup hold;                // the sag that it was solved for; unset: none
};

struct ReadyRides {
  std::string name;                // of the scene
  HoldSetup hold;                  // the sag that all of them hold; unset: none, or it is varied
  std::vector<ReadyRide> rides;    // one or more
  std::vector<std::string> notes;  // each a sentence
  Knowledge knowledge;             // how well the fork's numbers are known
};

// A scene by its path, or as text whose files are sought in `folder`.
ReadyRides ready(const TextFiles& files, const std::string& path, const Wishes& wishes = {});
ReadyRides ready_text(const TextFiles& files, std::string_view text, const std::string& name,
                      const Wishes& wishes = {}, const std::string& folder = "");

// A fork alone, under a rider (empty: none in particular); its purpose is a curve where it is not
// its damper.
ReadyRides ready_fork(const TextFiles& files, const std::string& fork, const std::string& rider,
                      const Wishes& wishes = {});

// Forks side by side, each as ready_fork() makes it; where there are several, labels begin with the
// fork's name. What is set or varied is laid over those forks that read it, which must be one at
// least; a note says over which it is not.
std::vector<ReadyRides> ready_forks(const TextFiles& files, const std::vector<std::string>& forks,
                                    const std::string& rider, const Wishes& wishes = {});

// "air negative volume": how labels say a number, by its name.
std::string label_words(std::string_view name);

// "22.0 %" or "35.0 mm"; empty: none.
std::string say_sag(const HoldSetup& hold);

// What of a ride's own numbers, varied to tell it from its neighbours, nothing in it reads: found
// in results that come from elsewhere. By its scene's text.
Faults unread_variations(const Result& ride);

// The ride's result with its label, its scene and what was varied and held; its traces go to the
// sink where there is one (sim/ride/run.hpp).
Result ride_one(const ReadyRide& ride, const TraceSink& sink = {});

}  // namespace plunge
