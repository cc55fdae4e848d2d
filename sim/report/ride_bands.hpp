// What the uncertain numbers of a fork and its rider leave open of the numbers of its rides.
//
// Joint draws (sim/input/draws.hpp), the same ones for every variant, each settled anew: a sag that
// is held is held by a pressure of its own, so that the band of the pressure is of what to pump.
// Rides go through the lanes, forks at rest through whatever reads them. What a variation turns is
// as it says and not drawn. The same bits whatever the threads.
//
//   band     95 % of the draws that have the number (sim/numerics/band.hpp)
//   change   the same of what a variant changes of the first one's number, fork by fork: much of
//            what is not known of a number is alike in both
//   causes   what people tell apart (plain_name() of models/setup/knowledge.hpp), each with the sum
//            of the shares of its numbers, the largest first
// After a fit numbers hang together: number k then stands for what it has of its own beside those
// before it (draws.hpp), so that what two of them share counts for the first.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/knowledge.hpp"
#include "sim/numerics/band.hpp"
#include "sim/ride/ready.hpp"
#include "sim/sweep/ride_many.hpp"

namespace plunge {

struct BandCause {
  std::string words;   // "air volumes"
  double share = 0.0;  // of the variance [1]
};

// One number of one variant.
struct OpenNumber {
  std::string name;
  Band band;
  Band change;                    // over the draws that both have; not known for the first variant
  double applies = 0.0;           // share of the draws that have it [1]
  std::vector<BandCause> causes;  // those of kLeastCause or more
  std::vector<double> r;          // of each uncertain number (correlations() of band.hpp)
};

// A cause that explains less is not told: chance alone seems to explain as much now and then [1].
inline constexpr double kLeastCause = 0.1;

struct OpenRide {
  std::vector<OpenNumber> numbers;  // in the order in which they were asked for
  std::size_t failed = 0;           // draws that cannot be ridden so
  std::string failure;              // of the first of them

  // Null: not asked for.
  const OpenNumber* find(std::string_view name) const;
};

struct RideBands {
  std::size_t draws = 0;
  Knowledge knowledge;          // of what was drawn
  std::vector<OpenRide> rides;  // of each variant; none: nothing is uncertain

  bool empty() const { return rides.empty(); }
};

inline constexpr std::uint64_t kBandSeed = 1;

struct BandOptions {
  std::size_t draws = kUsualDraws;
  std::uint64_t seed = kBandSeed;
  RideWatch watch;  // over the draws of all variants
};

// Whether anything is drawn for these rides at all.
bool has_bands(const ReadyRides& all);

// Of metrics by their names (sim/measure/metrics.hpp); nothing after a stop.
std::optional<RideBands> ride_bands(const ReadyRides& all, const std::vector<std::string>& metrics,
                                    const BandOptions& options = {});

// Of numbers that `read` takes off a fork at rest, as many as there are names; NaN: does not apply.
RideBands bands_at_rest(const ReadyRides& all, const std::vector<std::string>& names,
                        const std::function<std::vector<double>(const ReadyRide&)>& read,
                        const BandOptions& options = {});

}  // namespace plunge
