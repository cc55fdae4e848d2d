// What is wrong with a command line, in the program's own words.
#pragma once

#include <string>
#include <vector>

#include "tools/cli/help.hpp"

namespace plunge {

// One line. `words` are the arguments, `error` is what reading them into `app` threw.
std::string complaint(const CLI::App& app, const CLI::ParseError& error,
                      const std::vector<std::string>& words);

// What an empty text was given for in place of the name of a file: such a name may come from a
// variable of a script that is not set. Empty: nothing.
std::string empty_name(const CLI::App& app);

// The verb that was asked for, as far as it was read; the program itself where none was.
const CLI::App& asked_verb(const CLI::App& app);

// "there is no verb "rdie"; did you mean "ride"?", among the verbs of a program or verb.
std::string unknown_verb(const CLI::App& app, const std::string& word);

}  // namespace plunge
