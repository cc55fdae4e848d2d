// The plots that the verbs draw.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/damper_curves.hpp"
#include "tools/cli/json_output.hpp"

namespace plunge {

// The traces that draw_rides() draws, taken block by block as rides go, thinned to what a picture
// shows: of each stretch of a long ride the samples where one of them is largest or least.
class PlotTraces {
 public:
  // Refuses more rides than kMostDrawn: InputError.
  explicit PlotTraces(const ReadyRides& all);

  // From several threads at once, each ride from one.
  void take(std::size_t ride, const std::vector<Channel>& block);

  // The rides as draw_rides() takes them.
  std::vector<const Result*> rides() const;

 private:
  std::vector<Result> rides_;
  std::vector<std::size_t> stretch_;  // samples of which extremes are kept; 1: all are
};
inline constexpr std::size_t kMostDrawn = 100;  // rides in one picture, chosen

// Refuses more rides than kMostDrawn: InputError.
void demand_drawable(std::size_t rides);

// Travel and ground force over distance, for each ride, and the ground under them.
void draw_rides(const std::vector<const Result*>& rides, const std::string& title,
                const std::string& path);

// Static force over travel, slow solid and fast dashed.
void draw_curves(const std::vector<CurveTable>& curves, const std::string& title,
                 const std::string& path);

// Force of a damper over speed, compression to the right and rebound to the left, low speed beside
// all speeds: one damper as set and with each adjuster closed and open, or several.
void draw_dampers(const std::vector<DamperCurves>& dampers, const std::string& title,
                  const std::string& path);

}  // namespace plunge
