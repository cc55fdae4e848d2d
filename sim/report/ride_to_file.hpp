// Rides from the integrator to a ride file, in memory that does not grow with their length, and
// with their number by a few kilobytes a ride.
//
// What stays: of each ride its settings (sim/ride/ready.hpp), its numbers and its label; of each
// ride that is being ridden 40 bytes a sample, from which metrics are drawn, and while they are
// drawn some 150 more. The traces go to the file as they come (result_stream.hpp).
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"
#include "sim/sweep/ride_many.hpp"

namespace plunge {

struct RideFileOptions {
  std::string history;
  RideWatch watch;
  // Sees the traces on their way; from several threads at once, each ride from one.
  std::function<void(std::size_t ride, const std::vector<Channel>& block)> on_block;
};

// Rides all and writes them; after a stop those up to it, and no file where that is none. Returns
// what is in the file, in order, without what belongs to the file alone: no traces, set-up, text of
// the scene; of the metrics names and values.
// Throws InputError where the rides do not share the sampling times, RunError where the disk
// refuses or has too little room, which is asked first, or where there is too little memory, which
// is told with what is needed.
std::vector<Result> ride_to_file(const std::string& path, const ReadyRides& all,
                                 const RideFileOptions& options);

}  // namespace plunge
