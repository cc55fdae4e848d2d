#include "sim/sweep/merge.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>
#include <string>
#include <thread>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/sweep/shard_file.hpp"
#include "tests/made_up_sweep.hpp"
#include "tests/scratch.hpp"

namespace plunge::merge_test {
namespace {

constexpr char kSample[] =
    "[[axis]]\nname = \"fork.pressure\"\ndistribution = \"uniform\"\nlow = \"60 psi\"\n"
    "high = \"90 psi\"\n[[axis]]\nname = \"ride.speed\"\ndistribution = \"uniform\"\n"
    "low = \"4 m/s\"\nhigh = \"6 m/s\"\n[sample]\nmethod = \"pick_freeze\"\npoints = 2\n";
constexpr char kTraces[] = "traces = [\"travel\"]\ntrace_rate = \"100 Hz\"\n";

TEST(Merge, EveryRideStandsAtItsPlace) {
  const MadeUpSweep sweep;
  sweep.write_all();
  const MergeReport report = sweep.merge("all.h5");
  EXPECT_EQ(report.rides, 6u);
  EXPECT_EQ(report.failed, 1u);  // ride 3
  EXPECT_EQ(report.redone, 2u);  // 1 and 5
  EXPECT_EQ(report.not_ridden, 0u);
  const Hdf5Reader reader(sweep.file("all.h5"));
  EXPECT_EQ(reader.shape("/travel_max"), (std::vector<std::size_t>{1, 2, 3}));
  EXPECT_EQ(reader.texts("/rider"), (std::vector<std::string>{"alder", "wren"}));
  EXPECT_EQ(reader.numbers("/fork_spacers"), (std::vector<double>{0, 1, 2}));
  const std::vector<double> travel = reader.numbers("/travel_max");
  for (std::size_t ride = 0; ride < 6; ++ride) {
    if (ride == 3) {
      EXPECT_TRUE(std::isnan(travel[ride]));
    } else {
      EXPECT_EQ(travel[ride], static_cast<double>(ride) / 1000.0);
    }
  }
  EXPECT_EQ(reader.integers("/origin"), (std::vector<int>{0, 1, 0, 2, 0, 1}));
  EXPECT_EQ(reader.integers("/reason"), (std::vector<int>{0, 0, 0, 1, 0, 0}));
  EXPECT_EQ(reader.texts("/reasons"),
            (std::vector<std::string>{"", "at 3 s: the made-up fork broke"}));
  EXPECT_EQ(reader.text_attribute("/", "plan_fingerprint"), sweep.folder().fingerprint);
  EXPECT_EQ(reader.text_attribute("/", "plan"), bytes_of(sweep.plan().path()));
}

TEST(Merge, ASampleComesWithItsNumbersAndMatrices) {
  const MadeUpSweep sweep(kSample);
  sweep.write_all();
  sweep.merge("all.h5");
  const MergedSweep merged(sweep.file("all.h5"));
  EXPECT_EQ(merged.design(), Design::pick_freeze);
  EXPECT_EQ(merged.points(), 8u);  // 2 (2 + 2)
  EXPECT_EQ(merged.base_points(), 2u);
  EXPECT_EQ(merged.size(), 48u);
  const std::vector<double> pressure = merged.sample(0);
  for (std::size_t row = 0; row < 8; ++row) {
    EXPECT_EQ(pressure[row], sweep.plan().sample(row)[0]) << row;
  }
  const Hdf5Reader reader(sweep.file("all.h5"));
  EXPECT_EQ(reader.integers("/matrix"), (std::vector<int>{0, 1, 2, 3, 0, 1, 2, 3}));
  EXPECT_EQ(reader.integers("/base_row"), (std::vector<int>{0, 0, 0, 0, 1, 1, 1, 1}));
  EXPECT_EQ(reader.text_attribute("/matrix", "flag_meanings"),
            "A B AB_fork_pressure AB_ride_speed");
  // Ride 29 = rider 1, spacers 0, row 5 (by hand: 29 = 1 24 + 0 8 + 5).
  EXPECT_EQ(merged.index(29), (std::vector<std::size_t>{0, 1, 0, 5}));
  EXPECT_EQ(merged.index(29), sweep.plan().index(29));
  EXPECT_EQ(merged.metric("travel_max")[29], 0.029);
}

TEST(Merge, TracesAreFilledUpToTheLongest) {
  const MadeUpSweep sweep("", kTraces);
  sweep.write_all();
  sweep.merge("all.h5");
  const Hdf5Reader reader(sweep.file("all.h5"));
  EXPECT_EQ(reader.shape("/travel"), (std::vector<std::size_t>{1, 2, 3, 6}));
  EXPECT_EQ(reader.numbers("/sample_time")[5], 0.05);
  const std::vector<double> travel = reader.numbers("/travel");
  for (std::size_t ride = 0; ride < 6; ++ride) {
    for (std::size_t k = 0; k < 6; ++k) {
      const double value = travel[6 * ride + k];
      if (k <= ride && ride != 3) {
        EXPECT_EQ(value, static_cast<double>(ride));
      } else {
        EXPECT_TRUE(std::isnan(value)) << ride << " " << k;
      }
    }
  }
}

TEST(Merge, TheSameShardsGiveTheSameBytes) {
  const MadeUpSweep sweep(kSample, kTraces);
  sweep.write_all();
  sweep.merge("a.h5");
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // the library's clock has seconds
  sweep.merge("b.h5");
  EXPECT_EQ(bytes_of(sweep.file("a.h5")), bytes_of(sweep.file("b.h5")));
}

TEST(Merge, MissingShardsAreCountedAndNamed) {
  const MadeUpSweep sweep(kSample);
  for (const std::size_t shard : {0u, 1u, 2u, 3u, 5u, 6u, 7u, 9u, 10u, 11u}) sweep.write(shard);
  const std::string message = complaint([&] { sweep.merge("all.h5"); });
  EXPECT_EQ(message, fmt::format("{0}: 2 of 12 shards are missing (shard-00000004.h5, "
                                 "shard-00000008.h5); finish the sweep with plunge sweep {1} -o "
                                 "{0}, or merge what is there with --partial",
                                 sweep.folder().path, sweep.plan().path()));
  EXPECT_FALSE(std::filesystem::exists(sweep.file("all.h5")));
}

TEST(Merge, APartialFileSaysWhatIsNotRidden) {
  const MadeUpSweep sweep("", kTraces);
  sweep.write(0);  // rides 0 to 3; 4 and 5 are missing
  const MergeReport report = sweep.merge("all.h5", true);
  EXPECT_EQ(report.not_ridden, 2u);
  EXPECT_EQ(report.shards_merged, 1u);
  const MergedSweep merged(sweep.file("all.h5"));
  EXPECT_EQ(merged.origins(), (std::vector<int>{0, 1, 0, 2, kNotRidden, kNotRidden}));
  EXPECT_EQ(merged.metric("travel_max")[2], 0.002);
  EXPECT_TRUE(std::isnan(merged.metric("travel_max")[4]));
  EXPECT_TRUE(std::isnan(Hdf5Reader(sweep.file("all.h5")).numbers("/travel").back()));
}

TEST(Merge, DamagedShardsAreNamedAndLeftOutWherePartial) {
  const MadeUpSweep sweep(kSample);
  sweep.write_all();
  for (const std::size_t shard : {2u, 7u}) {
    std::string bytes = bytes_of(sweep.shard(shard));
    bytes[bytes.size() / 2] = static_cast<char>(bytes[bytes.size() / 2] ^ 4);
    std::ofstream(sweep.shard(shard), std::ios::binary) << bytes;
  }
  std::ofstream(sweep.file("all.h5")) << "the old one";
  const std::string message = complaint([&] { sweep.merge("all.h5"); });
  for (const std::string& part :
       {sweep.shard(2) + ": is damaged: its check sum differs",
        sweep.shard(7) + ": is damaged: its check sum differs",
        std::string("shards are damaged; run the sweep again, which sets them aside and does them "
                    "anew, or merge the rest with --partial")}) {
    EXPECT_NE(message.find(part), std::string::npos) << part << "\nin " << message;
  }
  EXPECT_EQ(bytes_of(sweep.file("all.h5")), "the old one");
  const MergeReport report = sweep.merge("all.h5", true);
  EXPECT_EQ(report.damaged.size(), 2u);
  EXPECT_EQ(report.not_ridden, 8u);
  EXPECT_TRUE(std::isnan(MergedSweep(sweep.file("all.h5")).metric("travel_max")[9]));
}

TEST(Merge, AStopLeavesNothing) {
  const MadeUpSweep sweep;
  sweep.write_all();
  MergeOptions options;
  int asked = 0;
  options.stop = [&] { return ++asked == 4; };  // in the second round over two shards
  EXPECT_TRUE(merge_sweep(sweep.folder(), sweep.plan(), sweep.file("all.h5"), options).stopped);
  EXPECT_FALSE(std::filesystem::exists(sweep.file("all.h5")));
}

TEST(Merge, OtherFilesAreRefused) {
  const MadeUpSweep sweep;
  sweep.write_all();
  EXPECT_EQ(complaint([&] { MergedSweep merged(sweep.shard(0)); }),
            sweep.shard(0) +
                ": file_type: must be \"plunge sweep\": the file that plunge sweep merge writes");
}

// The format's page says what the program does.
TEST(Merge, PageNamesTypeVersionAndEveryLabel) {
  const std::string whole = bytes_of("scenarios/results.md");
  const std::string page = whole.substr(whole.find("# The merged file of a sweep"));
  EXPECT_NE(page.find(fmt::format("`{}`, format version [{}, {}]", kSweepFileType,
                                  kSweepFormatMajor, kSweepFormatMinor)),
            std::string::npos);
  EXPECT_NE(page.find(fmt::format("Past {} texts", kMostReasonTexts)), std::string::npos);
  const MadeUpSweep sweep(kSample, kTraces);
  sweep.write_all();
  sweep.merge("all.h5");
  const std::string dump = output_of("h5dump -A " + sweep.file("all.h5"));
  std::set<std::string> names;
  for (const std::string kind : {"ATTRIBUTE \"", "DATASET \""}) {
    for (std::size_t at = 0; (at = dump.find(kind, at)) != std::string::npos;) {
      at += kind.size();
      names.insert(dump.substr(at, dump.find('"', at) - at));
    }
  }
  // Those of the dimension scales themselves are HDF5's own; what all files have is told above.
  for (const char* known : {"CLASS", "NAME", "DIMENSION_LIST", "REFERENCE_LIST", "units",
                            "long_name", "_FillValue", "metal_contacts", "fork_pressure"}) {
    names.erase(known);
  }
  EXPECT_GT(names.size(), 25u) << "the dump must have been read";
  for (const std::string& name : names) {
    EXPECT_NE(page.find("`" + name + "`"), std::string::npos) << name;
  }
}

TEST(Merge, XarrayOpensOneLabelledDataSet) {
  const MadeUpSweep sweep(kSample, kTraces);
  sweep.write_all();
  sweep.merge("all.h5");
  const std::string said =
      output_of("/usr/bin/python3 -B tests/sim/sweep/merge_outside.py " + sweep.file("all.h5"));
  if (said.starts_with("skipped")) GTEST_SKIP() << said;
  EXPECT_EQ(said, "as labelled\n");
}

// A parameter's variable stands beside metrics and traces in one file.
TEST(Merge, NoTwoNamesOfAFileAreSpelledAlike) {
  std::set<std::string> names = {"scene",         "fork",        "rider",    "bike",
                                 "point",         "origin",      "reason",   "reasons",
                                 "reason_number", "sample_time", "base_row", "matrix"};
  std::size_t count = names.size();
  const auto add = [&](const std::string& name) {
    EXPECT_TRUE(names.insert(name).second) << name;
    ++count;
  };
  for (const Parameter& parameter : parameters()) add(hdf5_name(std::string(parameter.name)));
  for (const Label& metric : metric_rows()) add(metric.name);
  std::set<std::string> traces = names;
  for (const Label& trace : keepable_traces()) EXPECT_TRUE(traces.insert(trace.name).second);
  EXPECT_GT(count, 100u);
}

}  // namespace
}  // namespace plunge::merge_test
