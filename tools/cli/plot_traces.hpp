// The traces that a plot of rides draws, taken block by block as rides go.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

inline constexpr std::size_t kMostDrawn = 100;  // rides in one picture, chosen

// Refuses more rides than kMostDrawn: InputError.
void demand_drawable(std::size_t rides);

// Refuses a ride without all traces that plots draw: InputError, with the file that it is from.
void demand_drawn_traces(const Result& ride, const std::string& file);

// A ride as a plot takes it: its traces, and those around its deepest travel, sample by sample.
struct DrawnRide {
  const Result* ride = nullptr;
  const Result* moment = nullptr;  // the same where no sample of the ride is left out
};

// Thinned to what a picture shows: of each stretch of a long ride the samples where one of the
// traces is largest or least.
class PlotTraces {
 public:
  using Drawn = std::vector<const std::vector<double>*>;  // the drawn traces of a block

  // Refuses more rides than kMostDrawn: InputError.
  explicit PlotTraces(const ReadyRides& all);

  // From several threads at once, each ride from one.
  void take(std::size_t ride, const std::vector<Channel>& block);

  // What is known of the rides, once they are ridden, but for their traces.
  void add_numbers(const std::vector<Result>& ridden);

  // Those that have samples. They live as long as this does.
  std::vector<DrawnRide> rides() const;

 private:
  struct Taken {
    Result ride;
    Result recent;            // the last samples of a long ride
    Result moment;            // those around the deepest travel so far
    std::size_t stretch = 1;  // samples of which extremes are kept; 1: all are
    std::size_t samples = 0;  // taken so far
    std::size_t awaited = 0;  // samples that the moment still takes
    double deepest = 0.0;     // travel [m]
    double rate = 0.0;        // [Hz]
  };
  void watch(Taken& taken, const Drawn& block, std::size_t sample) const;

  std::vector<Taken> taken_;
};

}  // namespace plunge
