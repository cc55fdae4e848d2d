// What help says of a verb: its usage, its options, examples.
//
// All of it follows from the command line itself, but for the examples (examples.hpp). The
// manual page (tools/install/) is written from the same.
#pragma once

#include <CLI/CLI.hpp>
#include <cstddef>
#include <string>
#include <vector>

#include "tools/cli/examples.hpp"

namespace plunge {

std::vector<Example> examples_of(const CLI::App& verb);

extern const char* const kCautions;

// The verbs of a program or of a verb, and its options: those with a name, or those by their place.
std::vector<const CLI::App*> verbs_of(const CLI::App& app);
std::vector<const CLI::Option*> options_of(const CLI::App& app, bool by_place);

bool takes_value(const CLI::Option& option);
bool takes_file(const CLI::Option& option);  // or a folder

// "-o" and "--output".
std::vector<std::string> spellings(const CLI::Option& option);

// "sweep merge"; "plunge sweep merge".
std::string verb_name(const CLI::App& app);
std::string full_name(const CLI::App& app);

// "plunge sweep merge DIR -o FILE [OPTION ...]".
std::string usage(const CLI::App& app);

// The page of a program or a verb in lines of that width.
std::string help_text(const CLI::App& app, std::size_t width);

}  // namespace plunge
