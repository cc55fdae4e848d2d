// What --json prints: SI numbers under the names that HDF5 uses. Not-a-number becomes null.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/measure/result.hpp"
#include "sim/report/ride_bands.hpp"
#include "sim/ride/modes.hpp"
#include "tools/cli/damper_curves.hpp"
#include "tools/cli/inputs.hpp"
#include "tools/cli/spring_curves.hpp"

namespace plunge {

// A ride at a time, so that no text of all of them is in memory.
void put_rides_json(const std::vector<Result>& rides, const RideBands& bands,
                    const std::function<void(const std::string&)>& put);
std::string curves_json(const std::vector<CurveTable>& curves);
std::string dampers_json(const std::vector<DamperCurves>& dampers);
std::string comparison_json(const std::vector<FileRide>& rides);
std::string modes_json(const ModeReport& report);
std::string page_json(const std::string& file, std::size_t bytes);

}  // namespace plunge
