#include "sim/report/used_parameters.hpp"

#include <cmath>
#include <string>

#include "models/setup/parameters.hpp"

namespace plunge {

std::vector<UsedParameter> used_parameters(const Setup& setup) {
  std::vector<UsedParameter> used;
  for (const Choice<Setup>& choice : choices()) {
    if (choice.needed != nullptr && !choice.needed(setup)) continue;
    const auto place = static_cast<std::size_t>(choice.get(setup));
    used.push_back({std::string(choice.name), "", std::string(choice.meaning), kUnset,
                    std::string(choice.values[place].name)});
  }
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.get(setup);
    const bool read = parameter.needed != nullptr && parameter.needed(setup);
    if (!read && std::isnan(value)) continue;
    used.push_back({std::string(parameter.name), std::string(parameter.unit),
                    std::string(parameter.meaning), value, ""});
  }
  return used;
}

}  // namespace plunge
