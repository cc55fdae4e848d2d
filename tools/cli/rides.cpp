#include "tools/cli/rides.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/ride/run.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

// "2 spacers", "speed 25.2 km/h": how people tell one variant from another.
std::string value_label(const Variation& variation, double value, bool bar) {
  if (variation.name == "fork.spacers") {
    return fmt::format("{} spacer{}", value, value == 1.0 ? "" : "s");
  }
  const std::string_view said = variation.said == "psi" && bar ? "bar" : variation.said;
  // What stands behind the part's name: "speed", "rebound clicks".
  std::string word = variation.name.substr(variation.name.find('.') + 1);
  std::replace(word.begin(), word.end(), '.', ' ');
  std::replace(word.begin(), word.end(), '_', ' ');
  return word + " " + say(value, said);
}

NamedValue held_value(const Setup& setup) {
  if (setup.fork.spring == Spring::air) return {"fork.pressure", "Pa", setup.fork.pressure};
  return {"fork.coil.preload", "N", setup.fork.coil.preload};
}

}  // namespace

double sag_to_hold(const std::string& hold, double scene_sag, const std::vector<std::string>& set,
                   const std::vector<std::string>& vary) {
  if (hold == "pressure") return kUnset;
  const double asked = hold.empty() ? scene_sag : parse_hold(hold);
  if (std::isnan(asked)) return kUnset;
  for (const std::vector<std::string>* texts : {&set, &vary}) {
    for (const std::string& text : *texts) {
      std::string name = text.substr(0, text.find('='));
      std::erase(name, ' ');
      if (name != "fork.pressure" && name != "fork.coil.preload") continue;
      if (!hold.empty()) {
        throw InputError(Fault{"--hold",
                               hold,
                               fmt::format("cannot be held while {} is given: leave one out", name),
                               {}});
      }
      fmt::print(stderr, "{} is given, so the scene's sag of {} % is not held\n", name,
                 in_unit(asked, "%", 1));
      return kUnset;
    }
  }
  return asked;
}

std::vector<Variant> make_variants(const Scene& scene, const std::vector<std::string>& vary,
                                   double sag, bool bar) {
  std::vector<Variation> variations;
  std::size_t total = 1;
  for (const std::string& text : vary) {
    variations.push_back(parse_variation(text, scene.setup));
    const std::string& name = variations.back().name;
    if (std::ranges::count(variations, name, &Variation::name) > 1) {
      throw InputError(Fault{"--vary", name, "must be varied once", {}});
    }
    total *= variations.back().values.size();
    if (total > static_cast<std::size_t>(kMostVariants)) {
      throw InputError(Fault{"--vary",
                             fmt::format("{} rides", total),
                             fmt::format("must not ask for more than {} rides", kMostVariants),
                             {}});
    }
  }
  Faults faults;
  std::vector<Variant> variants;
  for (std::size_t number = 0; number < total; ++number) {
    Variant variant;
    variant.setup = scene.setup;
    std::size_t rest = number;
    for (std::size_t v = variations.size(); v-- > 0;) {
      const Variation& variation = variations[v];
      const std::size_t k = rest % variation.values.size();
      rest /= variation.values.size();
      apply_variation(variant.setup, variation, k);
      const double value = variation.values[k];
      variant.set.insert(variant.set.begin(), {variation.name, std::string(variation.unit), value});
      const std::string label = value_label(variation, value, bar);
      variant.label = variant.label.empty() ? label : label + ", " + variant.label;
    }
    if (variant.label.empty()) variant.label = scene.setup.name;
    const std::string which = variations.empty() ? "" : " (with " + variant.label + ")";
    Faults found = judge(variant.setup, std::isnan(sag) ? Held::nothing : Held::sag);
    if (found.empty() && !std::isnan(sag)) {
      try {
        hold_sag(variant.setup, sag);
        variant.held.push_back(held_value(variant.setup));
        found = judge(variant.setup);
      } catch (const InputError& error) {
        found = error.faults();
      }
    }
    const bool new_ground = std::ranges::any_of(variations, [](const Variation& variation) {
      return variation.name.starts_with("terrain[") || variation.name.starts_with("bike.");
    });
    if (found.empty() && new_ground)
      found = judge_ground(variant.setup.terrain, variant.setup.bike);
    for (Fault& fault : found) {
      fault.rule += which;
      fault.place.file = scene.path;
      faults.push_back(fault);
    }
    variants.push_back(std::move(variant));
  }
  if (!faults.empty()) throw InputError(faults);
  return variants;
}

std::vector<Result> ride_variants(const std::vector<Variant>& variants) {
  const InterruptGuard guard;
  std::vector<std::optional<Result>> slots(variants.size());
  std::atomic<std::size_t> next{0};
  std::atomic<std::size_t> done{0};
  std::exception_ptr trouble;
  std::mutex mutex;
  const bool show = isatty(STDERR_FILENO) != 0 && variants.size() > 1;

  const auto work = [&] {
    while (!InterruptGuard::asked()) {
      const std::size_t number = next++;
      if (number >= variants.size()) return;
      try {
        const Variant& variant = variants[number];
        Result result = run_ride(variant.setup);
        result.label = variant.label;
        result.set = variant.set;
        result.held = variant.held;
        result.scene_text = to_scene_text(variant.setup);
        slots[number] = std::move(result);
      } catch (...) {
        const std::lock_guard lock(mutex);
        if (!trouble) trouble = std::current_exception();
        InterruptGuard::ask();
      }
      const std::size_t ridden = ++done;
      if (show) {
        const std::lock_guard lock(mutex);
        std::fputs(fmt::format("\r{} of {} rides", ridden, variants.size()).c_str(), stderr);
        if (ridden == variants.size()) std::fputs("\r\x1b[K", stderr);
      }
    }
  };
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  std::vector<std::thread> team;
  for (std::size_t i = 1; i < std::min(cores, variants.size()); ++i) team.emplace_back(work);
  work();
  for (std::thread& member : team) member.join();
  if (trouble) std::rethrow_exception(trouble);

  std::vector<Result> results;
  for (auto& slot : slots) {
    if (slot) results.push_back(std::move(*slot));
  }
  return results;
}

}  // namespace plunge
