// plunge as a library: what a program that rides includes, and where to read on.
//
//   #include "sim/sweep/plunge.hpp"
//
//   plunge::MemoryFiles files;
//   files.put("fork.toml", "...");
//   plunge::Wishes wishes;
//   wishes.vary = {"fork.spacers=0..4"};
//   wishes.hold = "sag=22%";
//   const auto all = plunge::ready_text(files, scene_text, "scene", wishes);  // or ready(path)
//   const plunge::Result result = plunge::ride_one(all.rides.front());
//   const auto results = plunge::ride_all(all.rides, {stop, on_progress});
//   const auto rows = plunge::ride_in_lanes(all.rides, {{"travel_max"}, {}});
//
// The steps: load (sim/input/scene_reader.hpp) → ready (sim/ride/ready.hpp) → ride (ride_one(),
// ride_many.hpp) → labelled result (sim/measure/result.hpp). Numbers are found by dotted names
// (models/setup/knob.hpp). Texts come from the disk, disk_files(), or from memory, MemoryFiles.
// The library prints nothing, catches no signal and writes no file; bad input throws InputError
// with every fault, a unit database that cannot be read RunError.
//
// It stands in sim/sweep, the last room in which anything is ridden. Not here: sweeps of plans
// (sweep.hpp), result files and figures (sim/report), which are more than a ride asks for.
// tests/sim/sweep/plunge_test.cpp is an example that compiles.
#pragma once

#include "models/setup/fault.hpp"
#include "models/setup/knob.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"
#include "sim/ride/run.hpp"
#include "sim/sweep/ride_many.hpp"
#include "sim/text/text_files.hpp"
