#include "sim/fit/readings_reader.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "sim/disk/disk_files.hpp"
#include "sim/disk/text_file.hpp"
#include "tests/scratch.hpp"
#include "tests/support.hpp"

namespace plunge::readings_reader_test {
namespace {

constexpr char kHead[] = "type = \"readings\"\nformat = [1, 4]\n";

Faults faults_of(const std::string& text, const std::string& name = "readings.toml") {
  MemoryFiles files;
  files.put(name, text);
  return check_readings(files, name);
}

TEST(ReadingsReader, ATableIsTheSameAsItsToml) {
  const Readings toml = load_readings(disk_files(), "scenarios/readings/rented-140.toml");
  const Readings table = load_readings(disk_files(), "scenarios/readings/rented-140.csv");
  ASSERT_EQ(toml.list.size(), table.list.size());
  for (std::size_t i = 0; i < toml.list.size(); ++i) {
    const Reading& a = toml.list[i];
    const Reading& b = table.list[i];
    EXPECT_EQ(a.kind, b.kind);
    EXPECT_EQ(a.moving, b.moving);
    EXPECT_EQ(a.reads, b.reads);
    EXPECT_EQ(a.spread, b.spread);
    EXPECT_EQ(a.instrument, b.instrument);
    for (const auto& field : condition_fields()) {
      const double x = field.get(a);
      EXPECT_TRUE(x == field.get(b) || (std::isnan(x) && std::isnan(field.get(b)))) << field.name;
    }
  }
  EXPECT_EQ(toml.instruments.gauge, table.instruments.gauge);
}

TEST(ReadingsReader, TellsTheCellOfATable) {
  const std::string head = "# a comment\nkind;reads;spread;pressure;weight\n";
  const Faults faults = faults_of(head + "sag; 29 mm;2 mm;70 ps;30 kg\n", "bench.csv");
  ASSERT_EQ(faults.size(), 1u);
  EXPECT_EQ(faults[0].key, "reading[0].pressure");
  EXPECT_EQ(faults[0].place.line, 3);
  EXPECT_EQ(faults[0].place.column, 17);
  const Faults cells = faults_of(head + "sag;29 mm;2 mm;70 psi\n", "bench.csv");
  ASSERT_EQ(cells.size(), 1u);
  EXPECT_NE(cells[0].rule.find("5 cells"), std::string::npos);
}

TEST(ReadingsReader, SaysWhatAKindNeedsAndWhatIsNotItsOwn) {
  const Faults faults = faults_of(std::string(kHead) +
                                  "[[reading]]\nkind = \"sag\"\nreads = \"30 mm\"\n"
                                  "travel = \"40 mm\"\nweigth = \"30 kg\"\n");
  std::vector<std::string> keys;
  for (const Fault& fault : faults) keys.push_back(fault.key + ": " + fault.rule);
  const auto told = [&](const std::string& words) {
    return std::ranges::any_of(
        keys, [&](const std::string& key) { return key.find(words) != std::string::npos; });
  };
  EXPECT_TRUE(told("reading[0].spread: must be given"));
  EXPECT_TRUE(told("reading[0].pressure: must be given"));
  EXPECT_TRUE(told("reading[0].weight: must be given"));
  EXPECT_TRUE(told("reading[0].travel: does not belong to the kind \"sag\""));
  EXPECT_TRUE(told("reading[0].weigth: is no known key; did you mean \"weight\"?"));
}

TEST(ReadingsReader, TheExampleOfTheFormatPageIsRead) {
  const std::string page = read_text_file("scenarios/format.md");
  const std::size_t start = page.find("type = \"readings\"\n");
  std::string text = page.substr(start, page.find("```", start) - start);
  const std::string scenes = "\"../scenes/";
  text.replace(text.find(scenes), scenes.size(),
               "\"" + std::filesystem::absolute("scenarios/scenes").string() + "/");
  const ScratchDirectory scratch;
  std::ofstream(scratch / "readings.toml") << text;
  const Readings readings = load_readings(disk_files(), scratch / "readings.toml");
  EXPECT_EQ(readings.list.size(), 2u);
  EXPECT_TRUE(check_readings(disk_files(), scratch / "readings.toml").empty());
}

TEST(ReadingsReader, ARingIsReadWithItsScene) {
  Reading ring;
  ring.kind = ReadingKind::ring;
  ring.scene = "scenarios/scenes/drop-to-flat.toml";
  ring.pressure = 60.0 * kPsi;
  ring.spacers = 2.0;
  Readings readings;
  readings.list = {ring};
  const auto bench = with_scenes(disk_files(), readings, "scenarios/forks/sorrel-120.toml");
  EXPECT_EQ(bench[0].scene.fork.travel, 0.12);
  EXPECT_EQ(bench[0].scene.fork.spacers, 2.0);
  EXPECT_EQ(bench[0].scene.fork.pressure, ring.pressure);
}

}  // namespace
}  // namespace plunge::readings_reader_test
