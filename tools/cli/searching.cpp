#include "tools/cli/searching.hpp"

#include <fmt/core.h>

#include <cstdint>

#include "sim/input/draws.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

constexpr std::uint64_t kForkSeed = 1;  // of the draws: any will do, always the same one

}  // namespace

std::vector<KnobDraw> drawn_forks(const Brief& brief) {
  if (brief.knowledge.uncertain().empty()) return {};
  std::vector<KnobDraw> draws;
  for (const ForkDraw& fork :
       draw_forks(brief.scenes.front(), brief.knowledge, kDraws, kForkSeed)) {
    KnobDraw draw;
    for (const DrawnNumber& number : fork) draw.emplace_back(number.knob.name, number.value);
    draws.push_back(std::move(draw));
  }
  return draws;
}

Suggestion suggested(const Brief& brief, SearchWatch watch, std::span<const KnobDraw> forks) {
  const InterruptGuard guard;
  watch.stop = InterruptGuard::asked;
  if (shows_progress()) {
    watch.on_progress = [](std::size_t ridden, std::size_t most) {
      show_progress(fmt::format("{} rides of at most {}", ridden, most));
    };
  }
  const ProgressLine line;
  return suggest(brief, watch, forks);
}

}  // namespace plunge
