// The traces of a ride: one table that says what each is and how it follows from an instant.
#pragma once

#include <string_view>
#include <vector>

#include "models/setup/assemble.hpp"
#include "sim/measure/instant.hpp"
#include "sim/measure/label.hpp"

namespace plunge {

struct ChannelRow : Label {
  double (*value)(const Instant&, const Rider&) = nullptr;
};

const std::vector<ChannelRow>& channel_rows();

// The row of that name, or null.
const ChannelRow* find_channel(std::string_view name);

}  // namespace plunge
