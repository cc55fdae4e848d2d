#include "tools/cli/ride_figure.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/figure/figure_layout.hpp"
#include "sim/report/ride_to_file.hpp"
#include "sim/ride/run.hpp"
#include "tests/scratch.hpp"

namespace plunge::ride_figure_test {
namespace {

// A figure as `ride --plot` draws it, with the rides that it shows.
struct Drawn {
  std::vector<Result> rides;
  Figure figure;
};

Drawn drawn(const std::string& scene, const std::vector<std::string>& vary,
            const std::vector<std::string>& set = {}) {
  Wishes wishes;
  wishes.set = set;
  wishes.vary = vary;
  wishes.hold = "sag=22%";
  const ReadyRides all = ready(disk_files(), "scenarios/scenes/" + scene + ".toml", wishes);
  PlotTraces traces(all);
  RideFileOptions options;
  options.on_block = [&](std::size_t ride, const std::vector<Channel>& block) {
    traces.take(ride, block);
  };
  const ScratchDirectory directory;
  Drawn drawn;
  drawn.rides = ride_to_file(directory / "a.h5", all, options);
  traces.add_numbers(drawn.rides);
  const std::vector<DrawnRide> rides = traces.rides();
  drawn.figure = ride_figure(rides, {all.name, settings_of(rides, false)});
  return drawn;
}

// The drop with 0, 2 and 4 spacers.
const Drawn& drop_with_spacers() {
  static const Drawn drop = drawn("drop-to-landing", {"fork.spacers=0..4:2"});
  return drop;
}

double value(const Result& ride, const std::string& name) {
  return std::ranges::find(ride.metrics, name, &Metric::name)->value;
}

const Panel& panel(const Figure& figure, const std::string& y_label, int number = 0) {
  for (const Panel& panel : figure.panels) {
    if (panel.y_label == y_label && number-- == 0) return panel;
  }
  throw std::out_of_range(y_label);
}

bool has(const Figure& figure, const std::string& y_label) {
  return std::ranges::find(figure.panels, y_label, &Panel::y_label) != figure.panels.end();
}

const StripColumn& column(const Figure& figure, const std::string& label) {
  const auto& columns = figure.panels[0].strip.columns;
  return *std::ranges::find(columns, label, &StripColumn::label);
}

// The samples lie beside the peaks: what is marked is what the metrics say, which were located.
TEST(RideFigure, PeaksAreMarkedWithTheirLocatedValues) {
  const Drawn& drop = drop_with_spacers();
  for (const auto& [label, name, scale] : {std::tuple("travel [mm]", "travel_max", 1e3),
                                           {"fork force [kN]", "fork_force_max", 1e-3},
                                           {"ground force [kN]", "ground_force_max", 1e-3},
                                           {"hand force [kN]", "hand_force_max", 1e-3}}) {
    const int whole =
        std::string(label) == "hand force [kN]" || std::string(label) == "ground force [kN]"
            ? 0
            : 1;  // behind the enlarged one
    const Panel& traces = panel(drop.figure, label, whole);
    ASSERT_EQ(traces.spots.size(), 3u) << label;
    for (std::size_t i = 0; i < 3; ++i) {
      const Series& line = traces.series[i];
      const auto largest = std::ranges::max_element(line.y);
      EXPECT_DOUBLE_EQ(traces.spots[i].y, scale * value(drop.rides[i], name)) << label;
      EXPECT_GE(traces.spots[i].y, *largest - 1e-9) << label;
      EXPECT_EQ(traces.spots[i].x, line.x[static_cast<std::size_t>(largest - line.y.begin())])
          << label;
    }
  }
}

TEST(RideFigure, TheStripSaysWhatIsSetAndWhatComesOfIt) {
  const Drawn& drop = drop_with_spacers();
  const Strip& strip = drop.figure.panels[0].strip;
  EXPECT_EQ(strip.rows, (std::vector<std::string>{"0 spacers", "2 spacers", "4 spacers"}));
  EXPECT_EQ(strip.paints[0].shade, 0.0);
  EXPECT_EQ(strip.paints[2].shade, 1.0);
  // The README's table has the same.
  EXPECT_EQ(column(drop.figure, "pressure").texts,
            (std::vector<std::string>{"70.4", "68.4", "66.1"}));
  const StripColumn& travel = column(drop.figure, "travel used");
  EXPECT_EQ(travel.texts, (std::vector<std::string>{"151.8", "150.4", "148.8"}));
  EXPECT_EQ(travel.warnings, (std::vector<std::string>{"2 × metal", "2 × metal", ""}));
  EXPECT_DOUBLE_EQ(travel.limit, 150.0);
  EXPECT_EQ(column(drop.figure, "brake dive peak").texts[0], "67.1");
}

TEST(RideFigure, TheDeepestStrokeIsEnlargedAndItsLoopDrawn) {
  const Drawn& drop = drop_with_spacers();
  const Panel& depth = panel(drop.figure, "travel [mm]");
  const Panel& whole = panel(drop.figure, "travel [mm]", 1);
  const auto [from, to] = std::ranges::minmax(depth.series[0].x);
  EXPECT_GT(from, 10.0);  // the landing is at 11 m of 40
  EXPECT_LT(to, 16.0);
  EXPECT_GE(std::ranges::max(depth.series[0].y), std::ranges::max(whole.series[0].y));
  ASSERT_EQ(whole.zones.size(), 1u);
  EXPECT_NEAR(whole.zones[0].from, from, 0.01);
  EXPECT_EQ(depth.series[0].label, "0 spacers, 151.8 mm");
  // Around a loop the fork takes energy: more force on the way in than on the way out.
  const Panel& loop = panel(drop.figure, "fork force [kN]");
  const Series& series = loop.series[0];
  double work = 0.0;
  for (std::size_t k = 1; k < series.x.size(); ++k) {
    work += 0.5 * (series.y[k] + series.y[k - 1]) * (series.x[k] - series.x[k - 1]);
  }
  EXPECT_GT(work, 10.0);  // [J]
}

TEST(RideFigure, DifferencesAreThoseOfTheTraces) {
  const Drawn& drop = drop_with_spacers();
  const Panel& change = panel(drop.figure, "travel less that of 0 spacers [mm]");
  ASSERT_EQ(change.series.size(), 2u);
  const Panel& whole = panel(drop.figure, "travel [mm]", 1);
  // Both ride at one speed, so that their samples are at the same places, but for rounding.
  for (std::size_t k = 0; k < change.series[1].y.size(); k += 97) {
    EXPECT_NEAR(change.series[1].y[k], whole.series[2].y[k] - whole.series[0].y[k], 1e-9);
  }
  EXPECT_LT(std::ranges::min(change.series[1].y), -10.0);
}

// A second by hand, as a ride that failed leaves it: traces without metrics.
Result by_hand(double rise) {
  Result ride;
  for (const char* name :
       {"distance", "travel", "fork_force", "ground_force", "hand_force", "path_height"}) {
    ride.channels.push_back({name, "", "", {}});
  }
  for (int i = 0; i <= 100; ++i) {
    ride.time.push_back(0.01 * i);
    ride.channels[0].values.push_back(0.1 * i);
    for (std::size_t k = 1; k < 5; ++k) ride.channels[k].values.push_back(0.001 * (i % 40));
    ride.channels[5].values.push_back(rise * i / 100.0);
  }
  return ride;
}

TEST(RideFigure, FlatGroundHasNoPanel) {
  for (const double rise : {0.0, 0.0005, 0.002, -1.0}) {
    const Result ride = by_hand(rise);
    const Figure figure = ride_figure({{&ride, &ride}}, {"title", {}});
    EXPECT_EQ(has(figure, "wheel path [m]"), std::abs(rise) > 0.001) << rise;
    EXPECT_NO_THROW(lay_out(figure));
  }
}

// A minute by hand: bands from the lowest to the highest of each stretch, over time.
TEST(RideFigure, ALongRideIsABandOverTime) {
  Result ride = by_hand(-1.0);
  for (double& time : ride.time) time *= 60.0;
  const Figure figure = ride_figure({{&ride, &ride}}, {"title", {}});
  const Panel& travel = panel(figure, "travel [mm]", 1);
  EXPECT_TRUE(travel.clock);
  EXPECT_EQ(travel.x_label, "time [min:s]");
  ASSERT_EQ(travel.series[0].mark, Mark::band);
  EXPECT_EQ(travel.series[1].mark, Mark::line);
  const Series& band = travel.series[0];
  EXPECT_EQ(std::ranges::max(band.high), 39.0);  // by hand: 0 to 39 mm, again and again
  EXPECT_EQ(std::ranges::min(band.low), 0.0);
  for (std::size_t k = 0; k < band.x.size(); ++k) EXPECT_LE(band.low[k], band.high[k]);
}

// A minute by hand, with what it uses of the travel [m] and its way [m].
Result minute(double travel, double way) {
  Result ride = by_hand(-1.0);
  for (double& time : ride.time) time *= 60.0;
  for (double& place : ride.channels[0].values) place *= way / 10.0;
  for (double& depth : ride.channels[1].values) depth *= travel / 0.039;
  return ride;
}

std::vector<DrawnRide> side_by_side(const std::vector<Result>& rides) {
  std::vector<DrawnRide> drawn;
  for (const Result& ride : rides) drawn.push_back({&ride, &ride});
  return drawn;
}

// Of three rides bands would hide one another: the high ends alone, and of hands, that pull as they
// push, the low ends too. By hand: the second pulls 90 N where the others push 39 at most.
TEST(RideFigure, ThreeLongRidesShowTheirHighEndsAndPeaksThatPull) {
  std::vector<Result> rides(3, minute(0.1, 10.0));
  rides[1].channels[4].values[50] = -90.0;
  for (Result& ride : rides) ride.metrics = {{"hand_force_max", "N", "", 39.0}};
  rides[1].metrics[0].value = 90.5;  // located between samples
  const Figure figure = ride_figure(side_by_side(rides), {"title", {}});
  const Panel& travel = panel(figure, "travel [mm]", 1);
  EXPECT_EQ(travel.title, "the whole ride, highest of every 0.1 s");  // 60 s in 600
  ASSERT_EQ(travel.series.size(), 3u);
  EXPECT_TRUE(travel.clock);
  const Panel& hands = panel(figure, "hand force [kN], highest and lowest");
  ASSERT_EQ(hands.series.size(), 6u);
  EXPECT_EQ(hands.series[3].paint, hands.series[2].paint);
  EXPECT_DOUBLE_EQ(std::ranges::min(hands.series[3].y), -0.09);
  ASSERT_EQ(hands.spots.size(), 3u);
  EXPECT_DOUBLE_EQ(hands.spots[1].y, -0.0905);
  EXPECT_EQ(hands.spots[1].x, 30.0);  // sample 50 of 100 of a minute
  // What is marked lies within the axis, at the end of a line.
  const PanelLayout layout = lay_out({"", {hands}}).panels[0];
  EXPECT_LT(layout.y.range.low, -0.0905);
  const Figure two = ride_figure(side_by_side({rides[0], rides[1]}), {"title", {}});
  EXPECT_TRUE(has(two, "hand force [kN]"));
}

// At the same places, as short ones: over time they would lie beside one another. By hand: the
// longest goes 1 200 m, of which 600 parts are 2 m each.
TEST(RideFigure, LongRidesOfDifferentPaceGoOverDistance) {
  const std::vector<Result> rides = {minute(0.1, 600.0), minute(0.12, 1200.0)};
  const Figure figure = ride_figure(side_by_side(rides), {"title", {}});
  const Panel& travel = panel(figure, "travel [mm]", 1);
  EXPECT_FALSE(travel.clock);
  EXPECT_EQ(travel.x_label, "distance [m]");
  EXPECT_EQ(travel.title, "the whole ride, lowest to highest of every 2 m");
  EXPECT_EQ(travel.series.back().x.front(), 1.0);  // middle of the first part
  EXPECT_EQ(travel.series.back().x.back(), 1200.0);
  ASSERT_EQ(travel.references.size(), 1u);
  EXPECT_NEAR(travel.references[0].at, 1200.0 * 0.39, 1e-9);  // sample 39 is the deepest
  const Figure paced = ride_figure(side_by_side({rides[0], minute(0.12, 600.0)}), {"title", {}});
  EXPECT_TRUE(panel(paced, "travel [mm]", 1).clock);
}

// The longest of all says how long a part is, also where the first one failed after some seconds.
TEST(RideFigure, PartsOfALongRideHaveARoundLength) {
  std::vector<Result> rides = {minute(0.1, 10.0), minute(0.1, 10.0)};
  for (double& time : rides[0].time) time *= 0.06;
  for (double& place : rides[0].channels[0].values) place *= 1e-3;
  for (double& time : rides[1].time) time *= 60.0;
  const Figure figure = ride_figure(side_by_side(rides), {"title", {}});
  const Panel& travel = panel(figure, "travel [mm]", 1);
  // An hour: 6 s or more.
  EXPECT_EQ(travel.title, "the whole ride, lowest to highest of every 10 s");
}

TEST(RideFigure, GroundsThatDifferAreAllDrawn) {
  std::vector<Result> rides = {by_hand(-1.0), by_hand(-1.0)};
  const auto wheel_path = [&]() -> Panel {
    const Figure figure = ride_figure(side_by_side(rides), {"title", {}});
    return *std::ranges::find_if(
        figure.panels, [](const Panel& panel) { return panel.y_label.starts_with("wheel path"); });
  };
  EXPECT_EQ(wheel_path().series.size(), 1u);
  EXPECT_EQ(wheel_path().y_label, "wheel path [m]");
  // The same ground at half the speed, sampled at other places.
  for (double& place : rides[0].channels[0].values) place *= 0.5;
  for (double& height : rides[0].channels[5].values) height *= 0.5;
  EXPECT_EQ(wheel_path().series.size(), 1u);
  EXPECT_EQ(wheel_path().series[0].x.back(), 10.0);  // of the one that goes farther
  // A stone on either.
  rides[1].channels[5].values[30] += 0.2;
  EXPECT_EQ(wheel_path().series.size(), 2u);
  rides[1].channels[5].values[30] -= 0.2;
  rides[0].channels[5].values[60] += 0.2;
  const Panel differs = wheel_path();
  ASSERT_EQ(differs.series.size(), 2u);
  EXPECT_EQ(differs.y_label, "wheel path [m], of each ride its own");
  EXPECT_NE(differs.series[0].y[60], differs.series[1].y[30]);
  EXPECT_FALSE(differs.series[0].paint == differs.series[1].paint);
  // A flat one first hides no other.
  rides[0] = by_hand(0.0);
  EXPECT_EQ(wheel_path().series.size(), 2u);
}

// By hand: seven colours, each once more in dashes and dots.
TEST(RideFigure, MoreRidesThanColoursAreShadedByTheirTravel) {
  std::vector<Result> rides;
  for (int i = 0; i < 15; ++i) {
    rides.push_back(minute(0.01 * (i * 7 % 15 + 1), 10.0));
    rides.back().set = {{"fork.spacers", "1", static_cast<double>(i % 4)},
                        {"fork.rebound.clicks", "1", static_cast<double>(i)}};
  }
  const Figure figure = ride_figure(side_by_side(rides), {"title", {}});
  EXPECT_EQ(figure.panels[0].title, "the darker, the more travel is used");
  const std::vector<Paint>& paints = figure.panels[0].strip.paints;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    EXPECT_DOUBLE_EQ(paints[i].shade, static_cast<double>(i * 7 % 15) / 14.0);
    EXPECT_EQ(panel(figure, "travel [mm]", 1).series[i].paint, paints[i]);
  }
  rides.pop_back();
  const Figure few = ride_figure(side_by_side(rides), {"title", {}});
  EXPECT_EQ(few.panels[0].title, "");
  EXPECT_EQ(few.panels[0].strip.paints[13].colour, 13);
}

TEST(RideFigure, ARideWithoutWhatIsDrawnIsRefusedWithItsFile) {
  Result ride = by_hand(0.0);
  EXPECT_NO_THROW(demand_drawn_traces(ride, "a.h5"));
  ride.channels.erase(ride.channels.begin() + 1);
  ride.channels.pop_back();
  try {
    demand_drawn_traces(ride, "a.h5");
    FAIL();
  } catch (const InputError& error) {
    EXPECT_EQ(std::string(error.what()),
              "a.h5: --plot: draws traces that the file does not hold: travel, path_height");
  }
}

// 30 000 samples are thinned, but for those around the deepest travel, and no peak is lost.
TEST(RideFigure, ManySamplesAreThinnedAndTheDeepestStrokeIsNot) {
  const Drawn drop = drawn("drop-to-landing", {}, {"ride.sample_rate=5000Hz"});
  const Panel& whole = panel(drop.figure, "travel [mm]", 1);
  const Panel& depth = panel(drop.figure, "travel [mm]");
  const Series& line = whole.series[0];
  EXPECT_LT(line.x.size(), 25'000u);
  EXPECT_GT(line.x.size(), 2'000u);
  EXPECT_TRUE(std::ranges::is_sorted(line.x));
  EXPECT_TRUE(std::ranges::is_sorted(depth.series[0].x));
  EXPECT_EQ(std::ranges::max(depth.series[0].y), std::ranges::max(line.y));
  EXPECT_EQ(depth.spots.size(), 1u);
  // Of the way that is enlarged every sample: 5000 a second, at most at the speed of 35 km/h.
  const double way = depth.series[0].x.back() - depth.series[0].x.front();
  EXPECT_GE(static_cast<double>(depth.series[0].x.size()), 5000.0 * way / (35.0 / 3.6));
}

TEST(RideFigure, NothingRiddenIsAnEmptyFigure) {
  const Figure figure = ride_figure({}, {"title", {}});
  EXPECT_NO_THROW(lay_out(figure));
}

TEST(RideFigure, MoreRidesThanAPictureShowsAreRefused) {
  EXPECT_NO_THROW(demand_drawable(kMostDrawn));
  EXPECT_THROW(demand_drawable(kMostDrawn + 1), InputError);
}

}  // namespace
}  // namespace plunge::ride_figure_test
