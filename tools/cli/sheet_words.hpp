// What sheet says: the settings of a sheet as a table, and all of it as JSON.
#pragma once

#include <string>

#include "sim/sheet/sheet_content.hpp"

namespace plunge {

std::string sheet_text(const SheetContent& content);
std::string sheet_json(const SheetContent& content);

}  // namespace plunge
