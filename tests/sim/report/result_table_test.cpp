#include "sim/report/result_table.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "sim/report/result_file.hpp"
#include "sim/sweep/merge.hpp"
#include "tests/made_up_sweep.hpp"
#include "tests/scratch.hpp"

namespace plunge::result_table_test {
namespace {

Result made_up_ride(const std::string& label, double travel, std::size_t samples) {
  Result ride;
  ride.label = label;
  ride.set = {{"fork.pressure", "Pa", 1e5 * travel}};
  ride.metrics = {{"travel_max", "m", "largest travel", travel}, {"odd", "kg", "a mass", 7.0}};
  for (std::size_t k = 0; k < samples; ++k) ride.time.push_back(0.5 * static_cast<double>(k));
  ride.channels = {{"travel", "m", "travel", std::vector<double>(samples, travel)}};
  ride.channels[0].values.back() = 9.0;
  return ride;
}

const TableColumn& column(const ResultTable& table, const std::string& name) {
  const auto found = std::ranges::find(table.columns(), name, &Label::name);
  EXPECT_NE(found, table.columns().end()) << name;
  return *found;
}

std::vector<double> numbers(const ResultTable& table, const std::string& name) {
  return column(table, name).read(0, table.rows()).numbers;
}

class ResultTables : public testing::Test {
 protected:
  void SetUp() override {
    ResultFile file;
    file.title = "two";
    file.program_version = "0";
    file.rides = {made_up_ride("a", 0.1, 3), made_up_ride("b", 0.2, 2)};
    file.rides[1].failure = "broke";
    file.parameters.resize(2);
    write_result_file(path_, file);
  }
  std::string complaint_of(const TableQuestion& question) const {
    return complaint([&] { ResultTable table(path_, question); });
  }

  const ScratchDirectory directory_;
  const std::string path_ = directory_ / "a.h5";
};

TEST_F(ResultTables, ARowForEachRideOfAFile) {
  const ResultTable table(path_, {});
  ASSERT_EQ(table.rows(), 2u);
  EXPECT_EQ(table.title(), "two");
  EXPECT_EQ(numbers(table, "ride"), (std::vector<double>{0.0, 1.0}));
  EXPECT_EQ(numbers(table, "travel_max"), (std::vector<double>{0.1, 0.2}));
  EXPECT_EQ(column(table, "travel_max").said, "mm");
  EXPECT_EQ(column(table, "fork_pressure").label, "fork.pressure");
  EXPECT_EQ(column(table, "fork_pressure").said, "psi");
  EXPECT_EQ(numbers(table, "odd"), (std::vector<double>{7.0, 7.0}));  // no metric of this program
  EXPECT_EQ(column(table, "odd").said, "kg");
  EXPECT_EQ(column(table, "label").read(0, 2).texts, (std::vector<std::string>{"a", "b"}));
  EXPECT_EQ(column(table, "failure").read(1, 1).texts, (std::vector<std::string>{"broke"}));
  const ResultTable one(path_, {{"odd"}, {}, {}});
  EXPECT_EQ(one.columns().size(), 5u);  // ride, label, pressure, odd, failure
}

TEST_F(ResultTables, TracesEndWhereTheirRideEnds) {
  const ResultTable longer(path_, {{}, {"travel"}, 0});
  EXPECT_EQ(numbers(longer, "time"), (std::vector<double>{0.0, 0.5, 1.0}));
  EXPECT_EQ(numbers(longer, "travel"), (std::vector<double>{0.1, 0.1, 9.0}));
  const ResultTable shorter(path_, {{}, {"travel"}, 1});
  EXPECT_EQ(numbers(shorter, "time"), (std::vector<double>{0.0, 0.5}));
  EXPECT_EQ(numbers(shorter, "travel"), (std::vector<double>{0.2, 9.0}));
}

TEST_F(ResultTables, SaysWhatTheFileDoesNotHave) {
  EXPECT_EQ(complaint_of({{}, {"travl"}, 0}),
            path_ + ": --traces = travl: is not in this file; did you mean \"travel\"?");
  EXPECT_EQ(complaint_of({{"travel_mex"}, {}, {}}),
            path_ + ": --metrics = travel_mex: is not in this file; did you mean \"travel_max\"?");
  EXPECT_EQ(complaint_of({{}, {"travel"}, {}}),
            path_ + ": --ride: is needed with --traces: 0 to 1");
  EXPECT_EQ(complaint_of({{}, {"travel"}, 2}), path_ + ": --ride = 2: must be 0 to 1");
  EXPECT_EQ(complaint_of({{}, {}, 1}), "--ride: needs --traces, whose ride it is");
  EXPECT_EQ(complaint_of({{"odd"}, {"travel"}, 1}), "--metrics: does not go with --traces");
}

// Every number is that of the rows that were merged, in any run of rows.
TEST(ResultTable, ASweepHasARowForEachRide) {
  const MadeUpSweep sweep(
      "[[axis]]\nname = \"rider.mass\"\ndistribution = \"uniform\"\nlow = \"60 kg\"\n"
      "high = \"80 kg\"\n[sample]\nmethod = \"sobol\"\npoints = 4\n",
      "traces = [\"travel\"]\ntrace_rate = \"50 Hz\"\n");
  sweep.write_all();
  merge_sweep(sweep.folder(), sweep.plan(), sweep.file("all.h5"));
  const MergedSweep merged(sweep.file("all.h5"));
  const ResultTable table(sweep.file("all.h5"), {});
  ASSERT_EQ(table.rows(), 24u);
  for (std::size_t first : {0u, 3u, 5u, 23u}) {
    const std::size_t count = std::min<std::size_t>(7, table.rows() - first);
    const std::vector<double> travel = column(table, "travel_max").read(first, count).numbers;
    const std::vector<double> mass = column(table, "rider_mass").read(first, count).numbers;
    const std::vector<double> spacers = column(table, "fork_spacers").read(first, count).numbers;
    const std::vector<std::string> rider = column(table, "rider").read(first, count).texts;
    const std::vector<std::string> reason = column(table, "reason").read(first, count).texts;
    const std::vector<std::string> outcome = column(table, "outcome").read(first, count).texts;
    for (std::size_t k = 0; k < count; ++k) {
      const std::size_t ride = first + k;
      const RideRow row = sweep.row_of(ride);
      EXPECT_TRUE(travel[k] == row.metrics[0] ||
                  (std::isnan(travel[k]) && std::isnan(row.metrics[0])));
      EXPECT_EQ(mass[k], merged.sample(0)[ride % 4]);
      EXPECT_EQ(spacers[k], static_cast<double>(ride / 4 % 3));
      EXPECT_EQ(rider[k], ride < 12 ? "alder" : "wren");
      EXPECT_EQ(reason[k], row.failure);
      EXPECT_EQ(outcome[k], row.origin == Origin::failed     ? "failed"
                            : row.origin == Origin::adaptive ? "adaptive"
                                                             : "lanes");
    }
  }
  // Ride n has n + 1 samples of n.
  const ResultTable trace(sweep.file("all.h5"), {{}, {"travel"}, 5});
  EXPECT_EQ(numbers(trace, "travel"), std::vector<double>(6, 5.0));
  EXPECT_EQ(numbers(trace, "time").back(), 0.1);
}

}  // namespace
}  // namespace plunge::result_table_test
