#include "models/fault.hpp"
#include "tools/verbs.hpp"

namespace plunge {

int sweep_merge_verb(const SweepMergeOptions& options) {
  throw RunError("cannot merge " + options.folder + " yet");
}

}  // namespace plunge
