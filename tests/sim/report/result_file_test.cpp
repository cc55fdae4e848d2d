#include "sim/report/result_file.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <set>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/text/version.hpp"
#include "tests/scratch.hpp"

namespace plunge::result_file_test {
namespace {

bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  return a.size() == b.size() &&
         (a.empty() || std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0);
}

// Two invented rides, the second shorter and failed, with numbers that have no short decimal form.
ResultFile two_rides() {
  ResultFile file;
  file.title = "Kestrel Hollow, the drop";
  file.history = "plunge ride drop.toml --vary fork.spacers=0..2";
  for (int i = 0; i < 2; ++i) {
    Result ride;
    ride.label = i == 0 ? "0 spacers" : "2 spacers, \"naïve\" µ";
    ride.scene_text = "[fork]\nname = \"teasel 150\"\n";
    ride.set = {{"fork.spacers", "1", 2.0 * i}};
    ride.held = {{"fork.pressure", "Pa", 608123.4567890123 - 9e3 * i}};
    const int samples = i == 0 ? 6 : 4;
    Channel travel{"travel", "m", "fork travel, 0 at full extension", {}};
    Channel force{"ground_force", "N", "vertical force of the ground on the tyre", {}};
    for (int k = 0; k < samples; ++k) {
      ride.time.push_back(k / 1000.0);
      travel.values.push_back(0.033 + std::sin(0.1 * k) / 30.0);
      force.values.push_back(k == 2 ? -0.0 : 612.0 / (k + i + 1.0));
    }
    ride.channels = {travel, force};
    ride.metrics = {{"travel_max", "m", "largest travel", 0.1 / (i + 3.0)},
                    {"metal_contacts", "1", "contacts past the travel limit", 1.0 * i}};
    ride.energy = {{"damper", "J", "turned into heat in the damper", 101.0 / 7.0},
                   {"closing_error", "1", "what the audit leaves open", 1e-7 / 3.0}};
    ride.solver = {{"steps", "1", "accepted steps", 12345.0}};
    ride.located = {{0.00123456789, "lift_off", 0.1 / 3.0},
                    {0.0021 + 0.0001 * i, "touch_down", 0.2 * i}};
    if (i == 1) ride.failure = "t = 0.004 s: tyre: no finite force";
    file.rides.push_back(ride);
    file.parameters.push_back(
        {{"fork.spacers", "1", "volume spacers in the main chamber", 2.0 * i, ""},
         {"fork.air.main_volume", "m3", "main chamber at full extension", 198e-6, ""},
         {"fork.pressure", "Pa", "gauge pressure of the main chamber", ride.held[0].value, ""},
         {"fork.spring", "", "what carries the rider", kUnset, "air"}});
    UsedTable events{"event", "number of the event, as in event[0]", {}};
    events.columns = {{"kind", "", "what the rider does", {}, {"brake"}},
                      {"rate", "m s-2", "size of the change of speed", {4.5}, {}}};
    if (i == 1) {
      events.columns[0].texts.push_back("corner");
      events.columns[1].values.push_back(kUnset);
    }
    file.tables.push_back({events});
  }
  return file;
}

template <class Item>
void expect_same_values(const std::vector<Item>& read, const std::vector<Item>& written) {
  ASSERT_EQ(read.size(), written.size());
  for (std::size_t i = 0; i < read.size(); ++i) {
    EXPECT_EQ(read[i].name, written[i].name);
    EXPECT_EQ(read[i].unit, written[i].unit) << written[i].name;
    EXPECT_TRUE(same_bits({read[i].value}, {written[i].value})) << written[i].name;
    if constexpr (requires { read[i].long_name; }) {
      EXPECT_EQ(read[i].long_name, written[i].long_name) << written[i].name;
    }
    if constexpr (requires { read[i].text; }) {
      EXPECT_EQ(read[i].text, written[i].text) << written[i].name;
    }
  }
}

TEST(ResultFile, WhatIsWrittenIsReadBackToTheLastBit) {
  const ScratchDirectory directory;
  const ResultFile written = two_rides();
  write_result_file(directory / "a.h5", written);
  const ResultFile read = read_result_file(directory / "a.h5");
  EXPECT_EQ(read.title, written.title);
  EXPECT_EQ(read.history, written.history);
  EXPECT_EQ(read.program_version, kProgramVersion);
  ASSERT_EQ(read.rides.size(), 2u);
  ASSERT_EQ(read.parameters.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    const Result& a = read.rides[i];
    const Result& b = written.rides[i];
    EXPECT_EQ(a.label, b.label);
    EXPECT_EQ(a.scene_text, b.scene_text);
    EXPECT_EQ(a.failure, b.failure);
    EXPECT_TRUE(same_bits(a.time, b.time));
    ASSERT_EQ(a.channels.size(), b.channels.size());
    for (std::size_t c = 0; c < a.channels.size(); ++c) {
      EXPECT_EQ(a.channels[c].name, b.channels[c].name);
      EXPECT_EQ(a.channels[c].unit, b.channels[c].unit);
      EXPECT_EQ(a.channels[c].long_name, b.channels[c].long_name);
      EXPECT_TRUE(same_bits(a.channels[c].values, b.channels[c].values)) << b.channels[c].name;
    }
    expect_same_values(a.set, b.set);
    expect_same_values(a.held, b.held);
    expect_same_values(a.metrics, b.metrics);
    expect_same_values(a.energy, b.energy);
    expect_same_values(a.solver, b.solver);
    expect_same_values(read.parameters[i], written.parameters[i]);
    ASSERT_EQ(a.located.size(), b.located.size());
    for (std::size_t k = 0; k < a.located.size(); ++k) {
      EXPECT_TRUE(same_bits({a.located[k].time, a.located[k].distance},
                            {b.located[k].time, b.located[k].distance}));
      EXPECT_EQ(a.located[k].what, b.located[k].what);
    }
  }
}

TEST(ResultFile, AShorterRideEndsInNaN) {
  const ScratchDirectory directory;
  write_result_file(directory / "a.h5", two_rides());
  const Hdf5Reader reader(directory / "a.h5");
  // By hand: 6 and 4 samples, so the second row of 6 has two NaN at its end.
  EXPECT_EQ(reader.shape("/travel"), (std::vector<std::size_t>{2, 6}));
  const std::vector<double> travel = reader.numbers("/travel");
  for (std::size_t i = 0; i < 12; ++i) EXPECT_EQ(std::isnan(travel[i]), i >= 10) << i;
}

TEST(ResultFile, OneRideKeepsTheRideDimension) {
  const ScratchDirectory directory;
  ResultFile file = two_rides();
  file.rides.resize(1);
  file.parameters.resize(1);
  file.tables.resize(1);
  file.rides[0].located.clear();
  write_result_file(directory / "a.h5", file);
  EXPECT_EQ(Hdf5Reader(directory / "a.h5").shape("/travel"), (std::vector<std::size_t>{1, 6}));
  const ResultFile read = read_result_file(directory / "a.h5");
  ASSERT_EQ(read.rides.size(), 1u);
  EXPECT_TRUE(read.rides[0].located.empty());
}

TEST(ResultFile, AValueThatOneRideLacksIsNaN) {
  const ScratchDirectory directory;
  ResultFile file = two_rides();
  file.rides[1].metrics.erase(file.rides[1].metrics.begin());
  file.rides[1].set.clear();
  write_result_file(directory / "a.h5", file);
  const ResultFile read = read_result_file(directory / "a.h5");
  EXPECT_EQ(read.rides[1].metrics[0].name, "travel_max");
  EXPECT_TRUE(std::isnan(read.rides[1].metrics[0].value));
  EXPECT_EQ(read.rides[1].metrics[1].value, 1.0);
  EXPECT_TRUE(read.rides[1].set.empty());
  EXPECT_EQ(read.rides[0].set.size(), 1u);
}

TEST(ResultFile, DumpShowsUnitsNamesAndKind) {
  const ScratchDirectory directory;
  write_result_file(directory / "a.h5", two_rides());
  const std::string dump = output_of("h5dump -A " + (directory / "a.h5"));
  for (const char* word :
       {"\"CF-1.8\"", "\"plunge ride\"", "\"plunge 0.1.0\"", "(0): 4, 1", "DATASET \"travel\"",
        "\"m\"", "\"N\"", "\"fork travel, 0 at full extension\"", "GROUP \"parameters\"",
        "GROUP \"energy\"", "GROUP \"solver\"", "GROUP \"located\"", "\"fork.air.main_volume\"",
        "DATASET \"fork_air_main_volume\"", "\"label fork_spacers fork_pressure\""}) {
    EXPECT_NE(dump.find(word), std::string::npos) << word;
  }
}

// The format's page says what the program does.
TEST(ResultFile, PageNamesTypeVersionAndEveryLabel) {
  const ScratchDirectory directory;
  const std::string page = bytes_of("scenarios/results.md");
  EXPECT_NE(
      page.find("Type `" + std::string(kResultFileType) + "`, format version [" +
                std::to_string(kResultFileMajor) + ", " + std::to_string(kResultFileMinor) + "]"),
      std::string::npos);
  write_result_file(directory / "a.h5", two_rides());
  const std::string dump = output_of("h5dump -A " + (directory / "a.h5"));
  // Attributes and groups; those of the dimension scales themselves are HDF5's own.
  std::set<std::string> names;
  for (const std::string kind : {"ATTRIBUTE \"", "GROUP \""}) {
    for (std::size_t at = 0; (at = dump.find(kind, at)) != std::string::npos;) {
      at += kind.size();
      names.insert(dump.substr(at, dump.find('"', at) - at));
    }
  }
  for (const char* own : {"/", "CLASS", "NAME", "DIMENSION_LIST", "REFERENCE_LIST"})
    names.erase(own);
  EXPECT_EQ(names.size(), 20u);  // by hand: 9 at the root, 6 of variables, 5 groups
  for (const std::string& name : names) {
    const bool found = page.find("`" + name + "`") != std::string::npos ||
                       page.find("`/" + name + "`") != std::string::npos;
    EXPECT_TRUE(found) << name;
  }
}

// Where h5py and xarray are installed they read the same labels (result_file_outside.py).
TEST(ResultFile, PythonOpensItLabelled) {
  const ScratchDirectory directory;
  write_result_file(directory / "a.h5", two_rides());
  const std::string said =
      output_of("/usr/bin/python3 tests/sim/report/result_file_outside.py " + (directory / "a.h5"));
  if (said.rfind("skipped: ", 0) == 0) GTEST_SKIP() << said;
  EXPECT_EQ(said, "as labelled\n");
}

TEST(ResultFile, RidesThatDoNotShareTheTimeAxisAreRefused) {
  const ScratchDirectory directory;
  ResultFile file = two_rides();
  file.rides[0].setup.ride.sample_rate = 1000.0;
  file.rides[1].setup.ride.sample_rate = 500.0;
  file.rides[1].time = {0.0, 0.002, 0.004, 0.006};
  EXPECT_EQ(complaint([&] { write_result_file(directory / "a.h5", file); }),
            "ride.sample_rate = 500 Hz in 2 spacers, \"naïve\" µ: must be the same for all rides "
            "of one file (1000 Hz in 0 spacers)");
  EXPECT_EQ(directory.entries(), 0u);
}

TEST(ResultFile, ContentsThatContradictThemselvesAreRefused) {
  const ScratchDirectory directory;
  const auto refuses = [&](auto change) {
    ResultFile file = two_rides();
    change(file);
    EXPECT_THROW(write_result_file(directory / "a.h5", file), std::invalid_argument);
  };
  refuses([](ResultFile& file) { file.rides.clear(); });
  refuses([](ResultFile& file) { file.parameters.pop_back(); });
  refuses([](ResultFile& file) { file.tables.pop_back(); });
  refuses([](ResultFile& file) { file.rides[0].channels[0].values.pop_back(); });
  refuses([](ResultFile& file) { file.rides[1].metrics[0].unit = "mm"; });
  refuses([](ResultFile& file) { file.rides[0].metrics[1].name = "travel_max"; });
  refuses([](ResultFile& file) { file.rides[0].metrics[1].name = "travel"; });
  EXPECT_EQ(directory.entries(), 0u);
}

TEST(ResultFile, ReaderNamesTheFileAndTheRule) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.h5";
  const auto said = [&] { return complaint([&] { read_result_file(path); }); };
  const auto write = [&](const std::string& type, const std::vector<int>& version) {
    Hdf5Writer writer;
    writer.attributes("/", {{"file_type", type},
                            {"format_version", version},
                            {"title", std::string("t")},
                            {"program_version", std::string("9.9")}});
    writer.save(path);
  };
  const std::string rule = "must be \"plunge ride\": the file that plunge ride writes";
  write("plunge sweep", {4, 0});
  EXPECT_EQ(said(), path + ": file_type = plunge sweep: " + rule);
  write(kResultFileType, {2, 0});
  EXPECT_EQ(said(), path + ": was written by an older plunge (format 2.0): ride it again");
  write(kResultFileType, {5, 3});
  EXPECT_EQ(said(), path + ": format_version = 5.3: must be 4.x: a newer plunge wrote it");
  write(kResultFileType, {4, 7});  // a later minor version only adds
  EXPECT_EQ(said(), path + ": /ride: is missing");
  Hdf5Writer().save(path);
  EXPECT_EQ(said(), path + ": file_type: " + rule);
}

}  // namespace
}  // namespace plunge::result_file_test
