// The traces of a ride: one table that says what each is and how it follows from an instant.
#pragma once

#include <span>

#include "models/setup/assemble.hpp"
#include "sim/measure/instant.hpp"

namespace plunge {

struct ChannelField {
  const char* name;
  const char* unit;
  const char* long_name;
  double (*value)(const Instant&, const Rider&);
};

std::span<const ChannelField> channel_fields();

}  // namespace plunge
