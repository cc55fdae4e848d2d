#include <fmt/core.h>

#include "sim/sweep/check_file.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

int check_verb(const CheckOptions& options) {
  Faults all;
  for (const std::string& file : options.files) {
    const Faults faults = check_file(file);
    if (!options.json) {
      for (const Fault& fault : faults) say("{}\n", to_string(fault));
      if (faults.empty()) say("{}: good\n", shown(file));
    }
    all.insert(all.end(), faults.begin(), faults.end());
  }
  if (options.json) say("{}\n", faults_json(all));
  return all.empty() ? 0 : 2;
}

}  // namespace plunge
