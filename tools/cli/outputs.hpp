// The files that a verb writes, settled before it does any work.
#pragma once

#include <string>
#include <vector>

namespace plunge {

struct Outputs {
  std::string results;  // HDF5, of --output; empty: none, "-": the standard output
  std::string plot;     // of --plot; empty: none
  bool replace = false;
  bool json = false;       // goes to the standard output as well
  std::string table = {};  // of --output, text; empty: none
};

// Refuses what sim/disk/output_gate.hpp refuses, where inputs are all text files that were read so
// far, `inputs`, and the files in `folder`; an output with the name of an input, and one that is
// part of a sweep; and a standard output that is an input or another output, where words go there.
// Call it once everything is read. Where results go to the standard output, what
// is said goes to standard error from here on.
void open_outputs(const Outputs& outputs, const std::vector<std::string>& inputs = {},
                  const std::string& folder = "");

// Refuses a standard output that is one of the files that were read so far, one of `inputs`, or a
// file of the sweep in `folder`. For verbs that write no files of their own; before a word is said.
void demand_free_standard_output(const std::vector<std::string>& inputs = {},
                                 const std::string& folder = "");

// As people read where results went.
std::string name_of_output(const std::string& path);

}  // namespace plunge
