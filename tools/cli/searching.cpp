#include "tools/cli/searching.hpp"

#include <fmt/core.h>

#include "tools/cli/interrupt.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// The line of the progress, gone however the work ends.
class ProgressLine {
 public:
  ProgressLine() = default;
  ProgressLine(const ProgressLine&) = delete;
  ~ProgressLine() { clear_progress(); }
};

}  // namespace

Suggestion suggested(const Brief& brief, SearchWatch watch) {
  const InterruptGuard guard;
  watch.stop = InterruptGuard::asked;
  if (shows_progress()) {
    watch.on_progress = [](std::size_t ridden) {
      show_progress(fmt::format("{} rides of some thousands", ridden));
    };
  }
  const ProgressLine line;
  return suggest(brief, watch);
}

}  // namespace plunge
