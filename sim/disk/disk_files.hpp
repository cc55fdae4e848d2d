// Texts on the disk, as sim/text/text_files.hpp asks for them.
#pragma once

#include "sim/text/text_files.hpp"

namespace plunge {

// Reads as sim/disk/text_file.hpp does. One for all, good for the life of the program.
const TextFiles& disk_files();

}  // namespace plunge
