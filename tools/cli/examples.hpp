// Commands that work as they stand, from the folder that holds scenarios/, each after those before
// it. The help, the manual and the tests take them from here.
#pragma once

#include <span>

namespace plunge {

struct Example {
  const char* verb;     // "sweep merge"
  const char* command;  // "plunge sweep merge ..."
  const char* what;     // what it does, in a few words
};

// All examples, two or more for each verb.
std::span<const Example> examples();

}  // namespace plunge
