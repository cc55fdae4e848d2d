#include <fmt/core.h>

#include <exception>

#include "models/setup/fault.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

int tell_exception() {
  try {
    throw;
  } catch (const InputError& error) {
    for (const Fault& fault : error.faults()) tell("plunge: {}\n", to_string(fault));
    return 2;
  } catch (const std::exception& error) {
    tell("plunge: {}\n", shown(error.what()));
    return 1;
  }
}

}  // namespace plunge
