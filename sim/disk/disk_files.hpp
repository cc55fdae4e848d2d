// Texts on the disk, as sim/text/text_files.hpp asks for them.
#pragma once

#include <string>
#include <vector>

#include "sim/text/text_files.hpp"

namespace plunge {

// Reads as sim/disk/text_file.hpp does. One for all, good for the life of the program.
const TextFiles& disk_files();

// Every path that was read through it since the program began, each once: what is never written
// over (sim/disk/output_gate.hpp).
std::vector<std::string> files_read();

}  // namespace plunge
