#include <fmt/core.h>

#include <cstdio>
#include <exception>

#include "models/setup/fault.hpp"
#include "tools/cli/verbs.hpp"

namespace plunge {

int tell_exception() {
  try {
    throw;
  } catch (const InputError& error) {
    for (const Fault& fault : error.faults()) fmt::print(stderr, "plunge: {}\n", to_string(fault));
    return 2;
  } catch (const std::exception& error) {
    fmt::print(stderr, "plunge: {}\n", error.what());
    return 1;
  }
}

}  // namespace plunge
