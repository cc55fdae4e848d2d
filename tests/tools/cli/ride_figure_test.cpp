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
      EXPECT_DOUBLE_EQ(traces.spots[i].y, scale * value(drop.rides[i], name)) << label;
      EXPECT_GE(traces.spots[i].y, std::ranges::max(traces.series[i].y) - 1e-9) << label;
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
  // Both ride at one speed, so that their samples are at the same places.
  for (std::size_t k = 0; k < change.series[1].y.size(); k += 97) {
    EXPECT_NEAR(change.series[1].y[k], whole.series[2].y[k] - whole.series[0].y[k], 0.3);
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
