#include "sim/report/ride_bands.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

#include "sim/input/draws.hpp"
#include "sim/input/settle.hpp"

namespace plunge {
namespace {

using Values = std::vector<std::vector<double>>;  // of each number, a value for each draw

// What is drawn: not what a variation turns.
Knowledge drawn_knowledge(const ReadyRides& all) {
  Knowledge knowledge = all.knowledge;
  for (const NamedValue& varied : all.rides.front().set) {
    const std::size_t place = knowledge.find(varied.name);
    if (place < knowledge.size()) knowledge.remove(place);
  }
  return knowledge;
}

// A variant with the numbers of each draw; those that can't be settled are left out.
struct DrawnRides {
  std::vector<ReadyRide> rides;
  std::vector<std::size_t> draws;  // whose each is
};

DrawnRides drawn_rides(const ReadyRide& variant, const std::vector<ForkDraw>& draws,
                       OpenRide& open) {
  DrawnRides drawn;
  for (std::size_t i = 0; i < draws.size(); ++i) {
    ReadyRide ride;
    ride.setup = variant.setup;
    ride.setup.hold = variant.hold;
    put(ride.setup, draws[i]);
    const Faults faults = settle(ride.setup, {}, {});
    if (!faults.empty()) {
      if (open.failed++ == 0) open.failure = to_string(faults.front());
      continue;
    }
    drawn.rides.push_back(std::move(ride));
    drawn.draws.push_back(i);
  }
  return drawn;
}

// The causes of a number by what people call them, largest first.
std::vector<BandCause> causes_of(const Knowledge& knowledge, const std::vector<double>& r) {
  std::vector<BandCause> causes;
  const std::vector<std::size_t> places = knowledge.uncertain();
  for (std::size_t k = 0; k < places.size(); ++k) {
    const std::string words(plain_name(knowledge.numbers()[places[k]].name));
    auto found = std::ranges::find(causes, words, &BandCause::words);
    if (found == causes.end()) found = causes.insert(found, {words, 0.0});
    found->share += r[k] * r[k];
  }
  std::ranges::stable_sort(causes, std::greater<>(), &BandCause::share);
  std::erase_if(causes, [](const BandCause& cause) { return cause.share < kLeastCause; });
  return causes;
}

// What a variant's draws change of those of the first.
Band change_of(const std::vector<double>& values, const std::vector<double>& first) {
  std::vector<double> changes(values.size());
  std::ranges::transform(values, first, changes.begin(), std::minus<>());
  return band_of(changes);
}

// `first`: of the first variant, empty where it is that one.
void put_numbers(OpenRide& open, const std::vector<std::string>& names, const Values& values,
                 const Values& first, const Knowledge& knowledge, const Values& evens) {
  for (std::size_t m = 0; m < names.size(); ++m) {
    OpenNumber number;
    number.name = names[m];
    number.band = band_of(values[m]);
    if (!first.empty()) number.change = change_of(values[m], first[m]);
    const auto has = std::ranges::count_if(values[m], [](double x) { return std::isfinite(x); });
    const std::size_t ridden = values[m].size() - open.failed;
    if (ridden > 0) number.applies = static_cast<double>(has) / static_cast<double>(ridden);
    number.r = correlations(values[m], evens);
    if (number.band.low < number.band.high) number.causes = causes_of(knowledge, number.r);
    open.numbers.push_back(std::move(number));
  }
}

// Values of the numbers of one variant's draws; nothing after a stop. The place of a draw that
// fails stays unset.
using Reader = std::function<std::optional<Values>(const DrawnRides& drawn, OpenRide& open)>;

std::optional<RideBands> bands(const ReadyRides& all, const std::vector<std::string>& names,
                               const BandOptions& options, const Reader& read) {
  RideBands found;
  found.knowledge = drawn_knowledge(all);
  if (found.knowledge.uncertain().empty()) return found;
  found.draws = options.draws;
  const std::vector<ForkDraw> draws =
      draw_forks(all.rides.front().setup, found.knowledge, options.draws, options.seed);
  Values evens(found.knowledge.uncertain().size());
  for (const ForkDraw& draw : draws) {
    for (std::size_t k = 0; k < draw.size(); ++k) evens[k].push_back(draw[k].even);
  }
  Values first;
  for (const ReadyRide& variant : all.rides) {
    OpenRide open;
    std::optional<Values> values = read(drawn_rides(variant, draws, open), open);
    if (!values) return std::nullopt;
    put_numbers(open, names, *values, first, found.knowledge, evens);
    found.rides.push_back(std::move(open));
    if (first.empty()) first = std::move(*values);
  }
  return found;
}

}  // namespace

const OpenNumber* OpenRide::find(std::string_view name) const {
  const auto found = std::ranges::find(numbers, name, &OpenNumber::name);
  return found == numbers.end() ? nullptr : &*found;
}

bool has_bands(const ReadyRides& all) { return !drawn_knowledge(all).uncertain().empty(); }

std::optional<RideBands> ride_bands(const ReadyRides& all, const std::vector<std::string>& metrics,
                                    const BandOptions& options) {
  std::size_t before = 0;
  RideWatch watch = options.watch;
  if (options.watch.on_progress) {
    watch.on_progress = [&](std::size_t ridden, std::size_t) {
      options.watch.on_progress(before + ridden, all.rides.size() * options.draws);
    };
  }
  return bands(all, metrics, options,
               [&](const DrawnRides& drawn, OpenRide& open) -> std::optional<Values> {
                 Values values(metrics.size(), std::vector<double>(options.draws, kUnset));
                 const auto rows = ride_in_lanes(drawn.rides, {metrics, {}, kUnset}, watch);
                 for (std::size_t i = 0; i < rows.size(); ++i) {
                   if (!rows[i]) return std::nullopt;
                   if (rows[i]->origin == Origin::failed) {
                     if (open.failed++ == 0) open.failure = rows[i]->failure;
                     continue;
                   }
                   for (std::size_t m = 0; m < metrics.size(); ++m) {
                     values[m][drawn.draws[i]] = rows[i]->metrics[m];
                   }
                 }
                 before += options.draws;
                 return values;
               });
}

RideBands bands_at_rest(const ReadyRides& all, const std::vector<std::string>& names,
                        const std::function<std::vector<double>(const ReadyRide&)>& read,
                        const BandOptions& options) {
  return *bands(all, names, options,
                [&](const DrawnRides& drawn, OpenRide&) -> std::optional<Values> {
                  Values values(names.size(), std::vector<double>(options.draws, kUnset));
                  for (std::size_t i = 0; i < drawn.rides.size(); ++i) {
                    const std::vector<double> numbers = read(drawn.rides[i]);
                    for (std::size_t m = 0; m < names.size(); ++m) {
                      values[m][drawn.draws[i]] = numbers[m];
                    }
                  }
                  return values;
                });
}

}  // namespace plunge
