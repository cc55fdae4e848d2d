#include <fmt/core.h>

#include <exception>
#include <new>
#include <string>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_room.hpp"
#include "tools/cli/allocation.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

int tell_exception() {
  try {
    throw;
  } catch (const InputError& error) {
    for (const Fault& fault : error.faults()) tell("plunge: {}\n", to_string(fault));
    return 2;
  } catch (const std::bad_alloc&) {
    const std::size_t size = refused_allocation();
    tell("plunge: not enough memory{}\n",
         size == 0 ? "" : fmt::format(": {} more were asked for", say_bytes(size)));
    return 1;
  } catch (const std::system_error& error) {
    const bool no_thread = error.code() == std::errc::resource_unavailable_try_again;
    tell("plunge: {}{}\n", no_thread ? "no thread could be started: " : "", error.what());
    return 1;
  } catch (const std::exception& error) {
    tell("plunge: {}\n", shown(error.what()));
    return 1;
  }
}

}  // namespace plunge
