#include "sim/sweep/shard_file.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <set>
#include <thread>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"
#include "tests/sweep_plan.hpp"

namespace plunge::shard_file_test {
namespace {

constexpr const char* kFingerprint = "0123456789abcdef";
constexpr const char* kKeep =
    "[keep]\nmetrics = [\"travel_max\", \"lift_offs\"]\n"
    "traces = [\"travel\"]\ntrace_rate = \"50 Hz\"\n";

// Shard 1 of the small plan, with a ride of each origin. The numbers are made up.
Shard some_shard() {
  Shard shard{1, 4, {}};
  shard.rows.push_back({Origin::lanes, {0.123456789, 1.0}, {{0.5f, 0.25f, 0.125f}}, ""});
  shard.rows.push_back({Origin::adaptive, {-0.0, kUnset}, {{1.0f}}, ""});
  shard.rows.push_back({Origin::failed, {kUnset, kUnset}, {}, "at 0.3 s: \"µ\" broke\ntwice"});
  shard.rows.push_back({Origin::failed, {kUnset, kUnset}, {{}}, "at 0.3 s: \"µ\" broke\ntwice"});
  return shard;
}

class ShardFile : public testing::Test {
 protected:
  std::string write(const Shard& shard) {
    const std::string path = directory_ / shard_name(shard.number);
    write_shard(path, shard, plan_, kFingerprint, InstructionSet::avx2);
    return path;
  }
  std::string refusal(const std::string& path, const std::string& fingerprint = kFingerprint) {
    const std::string of_all = complaint([&] { read_shard(path, plan_, fingerprint); });
    EXPECT_EQ(of_all, complaint([&] { read_shard_tally(path, plan_, fingerprint); }));
    return of_all;
  }
  const ScratchDirectory directory_;
  const Plan plan_ = small_plan(directory_, kKeep);
};

TEST_F(ShardFile, WhatIsWrittenIsReadBack) {
  const Shard shard = some_shard();
  const Shard read = read_shard(write(shard), plan_, kFingerprint);
  EXPECT_EQ(read.number, 1u);
  EXPECT_EQ(read.first, 4u);
  ASSERT_EQ(read.rows.size(), shard.rows.size());
  for (std::size_t ride = 0; ride < read.rows.size(); ++ride) {
    const RideRow& row = shard.rows[ride];
    EXPECT_EQ(read.rows[ride].origin, row.origin);
    EXPECT_EQ(read.rows[ride].failure, row.failure);
    ASSERT_EQ(read.rows[ride].metrics.size(), 2u);
    EXPECT_EQ(std::memcmp(read.rows[ride].metrics.data(), row.metrics.data(), 16), 0);
    const std::vector<float> trace = row.traces.empty() ? std::vector<float>() : row.traces[0];
    ASSERT_EQ(read.rows[ride].traces.size(), 1u);
    EXPECT_EQ(read.rows[ride].traces[0], trace);
  }
}

// By hand: one ride of four was redone, the third and the fourth failed.
TEST_F(ShardFile, ATallyCountsWhatTheRowsSay) {
  const std::string path = write(some_shard());
  for (const ShardTally& tally :
       {tally(some_shard()), read_shard_tally(path, plan_, kFingerprint)}) {
    EXPECT_EQ(tally.redone, 1u);
    EXPECT_EQ(tally.failed, (std::vector<std::size_t>{6, 7}));
    EXPECT_EQ(tally.failed_with.at(1), "at 0.3 s: \"µ\" broke\ntwice");
  }
}

TEST_F(ShardFile, SaysWhatItIsInLabelledHdf5) {
  const Hdf5Reader file(write(some_shard()));
  EXPECT_EQ(file.text_attribute("/", "file_type"), kShardFileType);
  EXPECT_EQ(file.integer_attribute("/", "format_version"),
            (std::vector<int>{kShardFormatMajor, kShardFormatMinor}));
  EXPECT_EQ(file.text_attribute("/", "plan_fingerprint"), kFingerprint);
  EXPECT_EQ(file.text_attribute("/", "lanes"), "avx2");
  EXPECT_EQ(file.integers("/ride"), (std::vector<int>{4, 5, 6, 7}));
  EXPECT_EQ(file.integers("/origin"), (std::vector<int>{0, 1, 2, 2}));
  EXPECT_EQ(file.integers("/reason"), (std::vector<int>{0, 0, 1, 1}));
  EXPECT_EQ(file.text_attribute("/travel_max", "units"), "m");
  EXPECT_EQ(file.numbers("/sample_time"), (std::vector<double>{0.0, 0.02, 0.04}));  // 50 Hz
  EXPECT_EQ(file.shape("/travel"), (std::vector<std::size_t>{4, 3}));
}

TEST_F(ShardFile, TheSameRowsGiveTheSameBytes) {
  const std::string first = bytes_of(write(some_shard()));
  Shard shard = some_shard();
  shard.rows[1].metrics[1] = -std::numeric_limits<double>::quiet_NaN();  // another kind of NaN
  std::vector<std::thread> others;
  const ScratchDirectory elsewhere;
  for (std::size_t k = 0; k < 4; ++k) {
    others.emplace_back([&, k] {
      write_shard(elsewhere / std::to_string(k), shard, plan_, kFingerprint, InstructionSet::avx2);
    });
  }
  for (std::thread& other : others) other.join();
  for (std::size_t k = 0; k < 4; ++k) EXPECT_TRUE(bytes_of(elsewhere / std::to_string(k)) == first);
  shard.rows[0].metrics[0] += 1e-9;
  EXPECT_FALSE(bytes_of(write(shard)) == first);
}

TEST_F(ShardFile, AShardOfFailedRidesAloneIsWrittenAndRead) {
  Shard shard{7, 28, {}};  // the last one has 2 rides
  for (int k = 0; k < 2; ++k) {
    shard.rows.push_back({Origin::failed, {kUnset, kUnset}, {}, "out of air"});
  }
  const Shard read = read_shard(write(shard), plan_, kFingerprint);
  ASSERT_EQ(read.rows.size(), 2u);
  EXPECT_EQ(read.rows[1].failure, "out of air");
  EXPECT_TRUE(read.rows[1].traces[0].empty());
}

TEST_F(ShardFile, EveryFlippedByteIsFound) {
  const std::string path = write(some_shard());
  const std::string whole = bytes_of(path);
  std::fstream file(path, std::ios::binary | std::ios::in | std::ios::out);
  const auto put = [&](std::size_t at, int byte) {
    file.seekp(static_cast<std::streamoff>(at)).put(static_cast<char>(byte)).flush();
  };
  for (std::size_t at = 0; at < whole.size(); ++at) {
    put(at, whole[at] ^ (1 << at % 8));
    EXPECT_THROW(read_shard_tally(path, plan_, kFingerprint), InputError) << at;
    put(at, whole[at]);
  }
  EXPECT_EQ(refusal(path), "");
}

TEST_F(ShardFile, AFileCutShortAnywhereIsFound) {
  const std::string path = write(some_shard());
  const std::string whole = bytes_of(path);
  for (std::size_t size = 0; size < whole.size(); size += 97) {
    std::ofstream(path, std::ios::binary) << whole.substr(0, size);
    EXPECT_NE(refusal(path).find("damaged or cut short"), std::string::npos) << size;
  }
}

TEST_F(ShardFile, WhatIsNotThisShardOfThisPlanIsRefused) {
  const std::string path = write(some_shard());
  EXPECT_EQ(refusal(path), "");
  EXPECT_EQ(refusal(path, "fedcba9876543210"),
            path +
                ": plan_fingerprint = 0123456789abcdef: is of another plan; this one has "
                "fedcba9876543210");
  const std::string misnamed = directory_ / shard_name(2);
  std::filesystem::copy_file(path, misnamed);
  EXPECT_EQ(refusal(misnamed), misnamed + ": shard = 1: must be 2, as the file's name says");
  const std::string elsewhere = directory_ / "copy.h5";
  std::filesystem::copy_file(path, elsewhere);
  EXPECT_EQ(refusal(elsewhere), elsewhere + ": must have a name like shard-00000000.h5");
  const std::string missing = directory_ / shard_name(3);
  EXPECT_EQ(refusal(missing), missing + ": cannot be read: No such file or directory");
  Shard longer = some_shard();
  longer.rows.push_back(longer.rows[0]);
  EXPECT_EQ(refusal(write(longer)), path + ": /ride: must have 4 rides");
}

TEST_F(ShardFile, AnUnknownMajorVersionIsRefused) {
  const std::string path = directory_ / shard_name(0);
  const auto write_version = [&](int major) {
    Hdf5Writer writer;
    writer.attributes("/", {{"file_type", std::string(kShardFileType)},
                            {"format_version", std::vector<int>{major, 0}}});
    writer.save(path);
  };
  write_version(5);
  EXPECT_EQ(refusal(path), path + ": format_version = 5.0: must be 4.x: a newer plunge wrote it");
  write_version(2);
  EXPECT_EQ(refusal(path), path + ": was written by an older plunge (format 2.0): sweep it again");
  Hdf5Writer other;
  other.save(path);
  EXPECT_EQ(refusal(path),
            path + ": file_type: must be \"plunge sweep shard\": a finished shard of a sweep");
}

// By hand: "at 0.3 s: "µ" broke\ntwice" with everything but letters, digits and _-.+@ as _, and µ
// two bytes of UTF-8.
TEST_F(ShardFile, NumbersThatStandForWordsSayWhichAsFlags) {
  const Hdf5Reader file(write(some_shard()));
  EXPECT_EQ(file.integer_attribute("/origin", "flag_values"), (std::vector<int>{0, 1, 2}));
  EXPECT_EQ(file.text_attribute("/origin", "flag_meanings"), "lanes adaptive failed");
  EXPECT_EQ(file.integer_attribute("/reason", "flag_values"), (std::vector<int>{0, 1}));
  EXPECT_EQ(file.text_attribute("/reason", "flag_meanings"),
            "did_not_fail at_0.3_s_______broke_twice");
  std::vector<std::string> many(kMostFlags + 1, "x");
  EXPECT_EQ(reason_attributes(many).size(), 1u);
  many.pop_back();
  EXPECT_EQ(reason_attributes(many).size(), 3u);
}

TEST_F(ShardFile, ThePageKnowsEveryAttributeAndVariable) {
  const std::string page = bytes_of("scenarios/results.md");
  EXPECT_NE(page.find(fmt::format("Type `{}`, format version [{}, {}]", kShardFileType,
                                  kShardFormatMajor, kShardFormatMinor)),
            std::string::npos);
  const std::string dump = output_of("h5dump -A " + write(some_shard()));
  std::set<std::string> names;
  for (const std::string kind : {"ATTRIBUTE \"", "DATASET \""}) {
    for (std::size_t at = 0; (at = dump.find(kind, at)) != std::string::npos;) {
      at += kind.size();
      names.insert(dump.substr(at, dump.find('"', at) - at));
    }
  }
  for (const char* own : {"CLASS", "NAME", "DIMENSION_LIST", "REFERENCE_LIST"}) names.erase(own);
  for (const char* kept : {"travel_max", "lift_offs", "travel"}) EXPECT_EQ(names.erase(kept), 1u);
  // By hand: 12 attributes of the root, 5 of variables, 3 dimensions, 3 variables.
  EXPECT_EQ(names.size(), 23u);
  for (const std::string& name : names) {
    EXPECT_NE(page.find("`" + name + "`"), std::string::npos) << name;
  }
}

TEST(ShardName, IsReadBackAndNothingElseIs) {
  std::size_t number = 0;
  for (const std::size_t shard : {0u, 42u, 99'999'999u, 123'456'789u}) {
    EXPECT_TRUE(is_shard_name(shard_name(shard), number));
    EXPECT_EQ(number, shard);
  }
  for (const char* name : {"shard-1.h5", "shard-.h5", "shard-00000001.h5.damaged", "shard.h5", "",
                           "shard-0000000x.h5", "shard-99999999999999999999999.h5"}) {
    EXPECT_FALSE(is_shard_name(name, number)) << name;
  }
}

}  // namespace
}  // namespace plunge::shard_file_test
