// The judge of what is added to a log: every field by its row, every number by its table, and what
// must hold of the log as a whole.
//
//   a needed field is there, no other is; texts are UTF-8 and of a size that people write
//   a number by name is in a table, in its range, whole where it must be; a metric is finite
//   a setting's numbers keep to what its fork allows, such as its spacer and pressure limits
//   an entry names earlier entries, of the kind that its field asks for
//   a prediction is for a setting or a ride; its spread and value are of one dimension
//   a name is its own among the entries of a kind that are not undone
//   nothing that is not undone names something that is
//   an undo marks content that is not undone, a redo takes back an undo that is in force
// Faults name the field, "ring" or "fork.pressure", behind LogEntry::where.
#pragma once

#include <cstddef>

#include "models/setup/fault.hpp"
#include "sim/log/log_content.hpp"

namespace plunge {

// Judges the entries from the position `first` on, as added to those before them.
Faults judge_added(const LogContent& log, std::size_t first);

}  // namespace plunge
