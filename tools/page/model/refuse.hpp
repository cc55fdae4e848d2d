// How a question that makes no sense is turned down.
#pragma once

#include <string>
#include <utility>

#include "models/setup/fault.hpp"

namespace plunge {

[[noreturn]] inline void refuse(std::string key, std::string value, std::string rule) {
  throw InputError(Fault{std::move(key), std::move(value), std::move(rule), {}});
}

}  // namespace plunge
