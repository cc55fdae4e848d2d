#include "sim/input/scene_reader.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "models/setup/knob.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/sweep/check_file.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/text/toml_file.hpp"
#include "tests/scene_files.hpp"
#include "tests/scratch.hpp"
#include "tests/support.hpp"

namespace plunge::scene_reader_test {
namespace {

constexpr char kFork[] = R"(type = "fork"
format = [1, 0]
name = "reed 150"
travel = "150 mm"
spacers = 1
spacer_limit = 5
pressure = "85 psi"
pressure_limit = "150 psi"

[air]
main_volume = "198 cm3"
main_area = "7.5 cm2"
negative_volume = "15 cm3"
negative_area = "6.7 cm2"

[compression]
clicks = 6
knee = "0.25 m/s"
click_table = [
  {clicks = 0, low_speed = "800 Ns/m", high_speed = "250 N.s/m"},
  {clicks = 12, low_speed = "150 Ns/m", high_speed = "120 N.s/m"},
]

[rebound]
kind = "points"
points = [
  {speed = "0.1 m/s", force = "70 N"},
  {speed = "0.5 m/s", force = "320 N"},
]
)";

constexpr char kRider[] = R"(type = "rider"
format = [1, 0]
mass = "180 lbs"
front_share = "38 %"
)";

constexpr char kTerrain[] = R"(type = "terrain"
format = [1, 0]

[[terrain]]
kind = "flat"
length = "10 m"

[[terrain]]
kind = "drop"
height = "0.9 m"
landing_angle = "20 deg"
landing_length = "4 m"
run_out = "3 m"

[[terrain]]
kind = "rough"
length = "60 m"
roughness = "class D"
seed = 7

[[terrain]]
kind = "profile"
file = "ground.csv"
)";

constexpr char kScene[] = R"(type = "scene"
format = [1, 0]
name = "from the lip"
fork = "../forks/reed.toml"
rider = "../riders/light.toml"
terrain = "../terrain/drop.toml"

[ride]
speed = "25 km/h"

[[event]]
kind = "brake"
at = "20 m"
rate = "5 m/s2"
to_speed = "10 km/h"
)";

// A small tree of files as a workshop has it.
class SceneFile : public ::testing::Test {
 protected:
  SceneFile() {
    write("forks/reed.toml", kFork);
    write("riders/light.toml", kRider);
    write("terrain/drop.toml", kTerrain);
    write("terrain/ground.csv", "distance [m],height [mm]\n0,0\n1,50\n2,0\n");
    write("scenes/lip.toml", kScene);
  }

  void write(const std::string& name, const std::string& text) {
    const std::filesystem::path path = scratch_ / name;
    std::filesystem::create_directories(path.parent_path());
    std::ofstream(path, std::ios::binary) << text;
  }

  // Replaces the first match in a file of the tree.
  void change(const std::string& name, const std::string& from, const std::string& to) {
    std::string text = bytes_of(scratch_ / name);
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    write(name, text.replace(at, from.size(), to));
  }

  std::string scene() const { return scratch_ / "scenes/lip.toml"; }

  // Every fault, one a line, with the path of the tree left out.
  std::string faults_of(const std::string& name) const {
    std::string text;
    for (const Fault& fault : check_file(scratch_ / name).faults) text += to_string(fault) + "\n";
    const std::string root = scratch_.path().string() + "/";
    for (std::size_t at; (at = text.find(root)) != std::string::npos;) text.erase(at, root.size());
    return text;
  }

  std::string faults() const { return faults_of("scenes/lip.toml"); }

  ScratchDirectory scratch_;
};

TEST_F(SceneFile, GathersItsFilesIntoSi) {
  EXPECT_EQ(faults(), "");
  const Scene scene = load_scene(this->scene());
  const plunge::Setup& setup = scene.setup;
  EXPECT_EQ(setup.name, "from the lip");
  EXPECT_EQ(setup.fork.name, "reed 150");
  EXPECT_EQ(setup.fork.travel, 0.15);
  EXPECT_EQ(setup.fork.spacers, 1.0);
  EXPECT_DOUBLE_EQ(setup.fork.pressure, 85.0 * kPsi);
  EXPECT_EQ(setup.fork.air.main_volume, 198e-6);
  EXPECT_EQ(setup.fork.compression.click_table.at(1).low_speed, 150.0);
  EXPECT_TRUE(std::isnan(setup.fork.compression.low_speed));
  EXPECT_EQ(setup.fork.rebound.kind, DamperKind::points);
  EXPECT_EQ(setup.fork.rebound.points.at(1).force, 320.0);
  EXPECT_EQ(setup.rider.mass, 180.0 * 0.45359237);
  EXPECT_EQ(setup.rider.front_share, 0.38);
  EXPECT_EQ(setup.bike.mass, 15.0);  // no bike named: defaults
  EXPECT_DOUBLE_EQ(setup.ride.speed, 25.0 / 3.6);
  ASSERT_EQ(setup.terrain.size(), 4U);
  EXPECT_EQ(setup.terrain[1].height, 0.9);
  EXPECT_DOUBLE_EQ(setup.terrain[2].roughness, 1024e-6);  // ISO 8608 class D: 16 * 4^3
  EXPECT_EQ(setup.terrain[3].elevation, (std::vector<double>{0.0, 0.05, 0.0}));
  EXPECT_EQ(setup.events.at(0).rise, 0.15);
  EXPECT_FALSE(holds(scene.setup.hold));
}

TEST_F(SceneFile, LaterSaysWin) {
  write("scenes/lip.toml", std::string(kScene) + R"(
[set]
"fork.spacers" = 2
"terrain[1].height" = "0.7 m"
bike.mass = "17 kg"
[set.fork.air]
oil_volume = "5 cm3"
)");
  plunge::Setup setup = load_scene(scene()).setup;
  EXPECT_EQ(setup.fork.spacers, 2.0);
  EXPECT_EQ(setup.terrain[1].height, 0.7);
  EXPECT_EQ(setup.bike.mass, 17.0);
  EXPECT_EQ(setup.fork.air.oil_volume, 5e-6);
  setup = load_scene(scene(), {"fork.spacers=3", "event[0].at = 21m", "bike.contact=average",
                               "bike.contact_length=250 mm", "terrain[2].roughness=class A"})
              .setup;
  EXPECT_EQ(setup.fork.spacers, 3.0);
  EXPECT_EQ(setup.events[0].at, 21.0);
  EXPECT_EQ(setup.bike.contact, WheelContact::average);
  EXPECT_EQ(setup.terrain[2].roughness, 16e-6);
}

TEST_F(SceneFile, AHeldSagStandsInForThePressure) {
  change("forks/reed.toml", "pressure = \"85 psi\"\n", "");
  EXPECT_EQ(faults(), "forks/reed.toml: fork.pressure: must be given, 1 psi to 700 psi\n");
  const Scene by_option = load_scene(scene(), {"hold.sag=22%"});
  EXPECT_EQ(by_option.setup.hold.sag, 0.22);
  write("scenes/lip.toml", std::string(kScene) + "\n[hold]\nsag = \"25 %\"\n");
  EXPECT_EQ(faults(), "");
  EXPECT_EQ(load_scene(scene()).setup.hold.sag, 0.25);
  change("scenes/lip.toml", "\"25 %\"", "0.25");
  EXPECT_EQ(faults(), "");
  change("scenes/lip.toml", "0.25", "25");
  EXPECT_EQ(faults(),
            "scenes/lip.toml:18:7: hold.sag = 25: needs a share of the travel such as \"22 %\", or "
            "a length such as \"35 mm\"; a bare number has no unit: did you mean \"25%\" or "
            "\"25mm\"?\n");
  change("scenes/lip.toml", "sag = 25", "sag = \"95 %\"");
  EXPECT_EQ(faults(), "scenes/lip.toml:18:7: hold.sag = \"95 %\": must be 1 % to 90 %\n");
  change("scenes/lip.toml", "\"95 %\"", "\"35 mm\"");
  EXPECT_EQ(faults(), "");
  EXPECT_EQ(load_scene(scene()).setup.hold.sag_length, 0.035);
  change("scenes/lip.toml", "\"35 mm\"", "\"140 mm\"");  // of 150 mm of travel
  EXPECT_EQ(faults(),
            "scenes/lip.toml:18:7: hold.sag = \"140 mm\": must be 1.5 mm to 135 mm, 1 % to 90 % of "
            "the travel\n");
  EXPECT_EQ(faults_of("forks/reed.toml"), "");  // a fork alone may be without pressure
}

TEST_F(SceneFile, FaultsNameFileLineColumnKeyValueAndRule) {
  const auto after = [&](const std::string& name, const std::string& from, const std::string& to) {
    const std::string before = bytes_of(scratch_ / name);
    change(name, from, to);
    const std::string found = faults();
    write(name, before);
    return found;
  };
  // Ranges and relations lead back to the value.
  EXPECT_EQ(after("forks/reed.toml", "spacers = 1", "spacers = 6"),
            "forks/reed.toml:5:11: fork.spacers = 6: must be 0 to 5 (fork.spacer_limit)\n");
  EXPECT_EQ(after("forks/reed.toml", "\"85 psi\"", "\"850 psi\""),
            "forks/reed.toml:7:12: fork.pressure = \"850 psi\": must be 1 psi to 700 psi\n");
  EXPECT_EQ(after("forks/reed.toml", "\"85 psi\"", "\"160 psi\""),
            "forks/reed.toml:7:12: fork.pressure = \"160 psi\": must be at most 150 psi "
            "(fork.pressure_limit)\n");
  // The rows of dampers are judged by damper.cpp; their places are found here.
  EXPECT_EQ(
      after("forks/reed.toml", "clicks = 12", "clicks = 0")
          .rfind("forks/reed.toml:21:13: fork.compression.click_table[1].clicks = 0: must", 0),
      0U);
  EXPECT_EQ(after("terrain/drop.toml", "\"0.9 m\"", "\"90 m\""),
            "terrain/drop.toml:10:10: terrain[1].height = \"90 m\": must be -5000 mm to 5000 mm\n");
  EXPECT_EQ(after("scenes/lip.toml", "\"10 km/h\"", "\"40 km/h\""),
            "scenes/lip.toml:15:12: event[0].to_speed = \"40 km/h\": must be below the speed at "
            "which the braking begins\n");
  // Missing keys, at the table or file that should have them.
  EXPECT_EQ(after("forks/reed.toml", "main_area = \"7.5 cm2\"\n", ""),
            "forks/reed.toml:10:1: fork.air.main_area: must be given, 0.01 cm2 to 100 cm2\n");
  EXPECT_EQ(after("forks/reed.toml", "travel = \"150 mm\"\n", ""),
            "forks/reed.toml: fork.travel: must be given, 10 mm to 2000 mm\n");
  EXPECT_EQ(after("scenes/lip.toml", "speed = \"25 km/h\"\n", ""),
            "scenes/lip.toml:8:1: ride.speed: must be given, 0.36 km/h to 144 km/h\n");
  EXPECT_EQ(after("scenes/lip.toml", "rider = \"../riders/light.toml\"\n", ""),
            "scenes/lip.toml: rider: must be given: the path of a rider file, or its content\n");
  // Units and types.
  EXPECT_EQ(after("forks/reed.toml", "\"150 mm\"", "150"),
            "forks/reed.toml:4:10: fork.travel = 150: needs a length such as \"150 mm\"; a bare "
            "number has no unit\n");
  EXPECT_EQ(after("forks/reed.toml", "\"85 psi\"", "\"85 mm\""),
            "forks/reed.toml:7:12: fork.pressure = \"85 mm\": needs a pressure such as \"72 psi\"; "
            "\"85 mm\" is a length\n");
  EXPECT_EQ(after("forks/reed.toml", "spacers = 1", "spacers = 1.5"),
            "forks/reed.toml:5:11: fork.spacers = 1.5: needs a whole number\n");
  EXPECT_EQ(after("forks/reed.toml", "spacers = 1", "spacers = \"20 %\""),
            "forks/reed.toml:5:11: fork.spacers = \"20 %\": needs a whole number\n");
  EXPECT_EQ(after("forks/reed.toml", "\"85 psi\"", "true"),
            "forks/reed.toml:7:12: fork.pressure = true: needs a pressure such as \"72 psi\"; "
            "found the boolean true\n");
  EXPECT_EQ(after("riders/light.toml", "\"38 %\"", "nan"),
            "riders/light.toml:4:15: rider.front_share = nan: must be finite\n");
  EXPECT_EQ(after("scenes/lip.toml", "rider = \"../riders/light.toml\"", "rider = 3"),
            "scenes/lip.toml:5:9: rider = 3: must be the path of a rider file or a table; found "
            "the bare number 3\n");
  // Unknown words.
  EXPECT_EQ(after("forks/reed.toml", "spacers = 1", "spacer = 1"),
            "forks/reed.toml:5:1: fork.spacer = 1: is no known key; did you mean \"spacers\"?\n");
  EXPECT_EQ(after("scenes/lip.toml", "[ride]", "[rides]"),
            "scenes/lip.toml:8:2: rides: is no known key; did you mean \"ride\"?\n"
            "scenes/lip.toml: ride.speed: must be given, 0.36 km/h to 144 km/h\n");
  EXPECT_EQ(after("forks/reed.toml", "\"points\"", "\"point\""),
            "forks/reed.toml:25:8: fork.rebound.kind = \"point\": must be one of \"slopes\", "
            "\"points\", \"hydraulic\"; did you mean \"points\"?\n");
  EXPECT_EQ(after("terrain/drop.toml", "kind = \"drop\"", "kind = \"dorp\""),
            "terrain/drop.toml:9:8: terrain[1].kind = \"dorp\": must be one of \"flat\", \"bump\", "
            "\"bumps\", \"drop\", \"rough\", \"profile\"; did you mean \"drop\"?\n");
  EXPECT_EQ(after("terrain/drop.toml", "seed = 7", "shape = \"root\""),
            "terrain/drop.toml:19:9: terrain[2].shape = \"root\": does not belong to the kind "
            "\"rough\"\n");
}

TEST_F(SceneFile, FilesSayWhatTheyAre) {
  change("riders/light.toml", "\"rider\"", "\"fork\"");
  EXPECT_EQ(faults(), "riders/light.toml:1:8: type = \"fork\": must be \"rider\" here\n");
  change("riders/light.toml", "\"fork\"", "\"ryder\"");
  EXPECT_EQ(faults(),
            "riders/light.toml:1:8: type = \"ryder\": must be one of \"fork\", \"bike\", "
            "\"rider\", \"terrain\", \"scene\", \"plan\", \"readings\", \"brief\"; did you mean "
            "\"rider\"?\n");
  change("riders/light.toml", "type = \"ryder\"\n", "");
  EXPECT_NE(faults().find("riders/light.toml: type: must be given"), std::string::npos);
  write("riders/light.toml", kRider);
  change("riders/light.toml", "[1, 0]", "[2, 0]");
  EXPECT_EQ(faults(),
            "riders/light.toml:2:10: format = [2, 0]: must have major version 1; this program "
            "reads no other\n");
  change("riders/light.toml", "[2, 0]", "[1, 7]");
  EXPECT_EQ(faults(), "");
  change("riders/light.toml", "[1, 7]", "1");
  EXPECT_NE(faults().find("must be two whole numbers"), std::string::npos);
  change("scenes/lip.toml", "../riders/light.toml", "lip.toml");  // a scene inside itself
  EXPECT_EQ(faults(), "scenes/lip.toml:1:8: type = \"scene\": must be \"rider\" here\n");
}

TEST_F(SceneFile, EveryFaultIsFoundAtOnce) {
  change("forks/reed.toml", "spacers = 1", "spacers = 6");
  change("riders/light.toml", "\"180 lbs\"", "\"180 m\"");
  change("terrain/drop.toml", "seed = 7", "sed = 7");
  change("scenes/lip.toml", "\"25 km/h\"", "\"25\"");
  EXPECT_EQ(check_file(scene()).faults.size(), 4U) << faults();
  try {
    load_scene(scene());
    FAIL();
  } catch (const InputError& error) {
    EXPECT_EQ(error.faults().size(), 4U);
  }
}

TEST_F(SceneFile, WhatIsNoTomlIsRefused) {
  const auto fork_is = [&](const std::string& text) {
    write("forks/reed.toml", text);
    return faults();
  };
  EXPECT_EQ(fork_is("type = \"fork\"\nformat = [1, 0\n").rfind("forks/reed.toml:", 0), 0U);
  EXPECT_NE(fork_is("type = \"fork\"\ntravel = 5 mm\n").find("forks/reed.toml:2:"),
            std::string::npos);
  EXPECT_NE(fork_is("type = \"fork\"\ntype = \"fork\"\n").find("is not TOML"), std::string::npos);
  EXPECT_EQ(fork_is(std::string("\x7f"
                                "ELF\0\1",
                                6)),
            "forks/reed.toml:1:5: byte 0x00: is not text: the file must be UTF-8\n");
  EXPECT_EQ(fork_is("# caf\xe9\n"),
            "forks/reed.toml:1:6: byte 0xe9: is not text: the file must be UTF-8\n");
  EXPECT_NE(fork_is("a = " + std::string(5000, '[')).find("forks/reed.toml:1:"), std::string::npos);
  std::string keys = "a";
  for (int i = 0; i < 100'000; ++i) keys += ".a";
  EXPECT_NE(fork_is(keys + " = 1\n").find("nest deeper"), std::string::npos);
  EXPECT_NE(fork_is("[" + keys + "]\n").find("nest deeper"), std::string::npos);
  EXPECT_NE(fork_is("b = {" + keys + " = 1}\n").find("nest deeper"), std::string::npos);
  EXPECT_NE(fork_is("").find("type: must be given"), std::string::npos);
  std::filesystem::remove(scratch_ / "forks/reed.toml");
  const std::string named = "scenes/lip.toml:4:8: fork = \"../forks/reed.toml\": forks/reed.toml ";
  EXPECT_EQ(faults(), named + "does not exist\n");
  std::filesystem::create_directory(scratch_ / "forks/reed.toml");
  EXPECT_EQ(faults(), named + "is a directory, not a file\n");
  std::filesystem::remove(scratch_ / "forks/reed.toml");
  write("forks/reed.toml", "");
  std::filesystem::resize_file(scratch_ / "forks/reed.toml", (std::uintmax_t{64} << 20) + 1);
  EXPECT_NE(faults().find("at most 67108864 are read"), std::string::npos);
}

TEST_F(SceneFile, ProfilesComeFromCsvOrFromTheFile) {
  write("terrain/ground.csv", "distance [m],height [mm]\n0,0\n1,abc\n");
  EXPECT_EQ(faults(),
            "terrain/ground.csv:3:3: height = \"abc\": must begin with a decimal number\n");
  change("terrain/drop.toml", "file = \"ground.csv\"",
         "distance = [0, 0.5, 1]\nelevation = [\"0 mm\", \"50 mm\", 0.0]");
  EXPECT_EQ(faults(), "");
  EXPECT_EQ(load_terrain(scratch_ / "terrain/drop.toml").at(3).elevation,
            (std::vector<double>{0.0, 0.05, 0.0}));
  change("terrain/drop.toml", "[0, 0.5, 1]", "[0, 0.5, 0.5]");
  EXPECT_EQ(faults(),
            "terrain/drop.toml:23:21: terrain[3].distance[2] = 0.5: must be above the distance "
            "before it, 0.5 m\n");
  change("terrain/drop.toml", "[0, 0.5, 0.5]", "[0, 0.5]");
  EXPECT_EQ(faults(),
            "terrain/drop.toml:24:13: terrain[3].elevation = 3 values: must have 2 values, as many "
            "as distance\n");
}

TEST_F(SceneFile, OverridesNameTheirOption) {
  const auto complaint_of = [&](const std::string& text) {
    return complaint([&] { load_scene(scene(), {text}); });
  };
  EXPECT_EQ(complaint_of("fork.spacers=9"),
            "--set: fork.spacers = 9: must be 0 to 5 (fork.spacer_limit)");
  EXPECT_EQ(complaint_of("fork.pressure=72"),
            "--set: fork.pressure = 72: needs a pressure such as \"72 psi\"; a bare number has no "
            "unit");
  EXPECT_EQ(complaint_of("fork.spacer=2"),
            "--set: fork.spacer = 2: is no known name; did you mean \"fork.spacers\"?");
  EXPECT_NE(complaint_of("fork.spring=steel").find("must be one of \"air\", \"coil\""),
            std::string::npos);
  EXPECT_NE(complaint_of("fork.spacers").find("must be name=value"), std::string::npos);
  EXPECT_NE(complaint_of("terrain[9].height=1 m").find("terrain[0] to terrain[3] are"),
            std::string::npos);
  EXPECT_NE(complaint_of("hold.sag=95%").find("must be 1 % to 90 %"), std::string::npos);
  EXPECT_NE(complaint_of("ride.tolerance=nan").find("--set: ride.tolerance = nan"),
            std::string::npos);
}

// A limit as it is printed, and the number next to it on the side that is not allowed.
template <class Owner>
std::vector<std::pair<std::string, bool>> around_limits(const Field<Owner>& field) {
  std::vector<std::pair<std::string, bool>> texts;  // with whether it is allowed
  for (const double way : {-1.0, 1.0}) {
    const std::string printed = say(way < 0.0 ? field.low : field.high, field.said);
    texts.emplace_back(printed, true);
    const double number = std::stod(printed);
    double digit = 1e-6;
    if (number != 0.0) digit = std::pow(10.0, std::floor(std::log10(std::abs(number))) - 5.0);
    std::ostringstream text;
    text.precision(10);
    text << number + way * (field.whole ? 1.0 : digit);
    if (field.said != "1") text << " " << field.said;
    texts.emplace_back(text.str(), false);
  }
  return texts;
}

TEST_F(SceneFile, EveryPrintedLimitIsTakenAndWhatIsPastItRefused) {
  // The limits that scenarios/format.md prints, in the unit in which it prints them, through --set.
  const auto expect = [&](const auto& field, const std::string& name) {
    const std::string range = "must be " + say_range(field.low, field.high, field.said);
    for (const auto& [text, allowed] : around_limits(field)) {
      const std::string all =
          complaint([&, value = text] { load_scene(scene(), {name + "=" + value}); });
      const bool refused = all.find(name + " = " + text + ": " + range) != std::string::npos;
      EXPECT_EQ(refused, !allowed) << name << " = " << text << "\n" << all;
    }
  };
  for (const Parameter& parameter : parameters()) expect(parameter, std::string(parameter.name));
  for (const FeatureField& field : feature_fields()) {
    for (const ChoiceValue& kind : feature_choices()[0].values) {
      Feature feature;
      feature.kind = static_cast<FeatureKind>(&kind - feature_choices()[0].values.data());
      if (!field.needed(feature)) continue;
      write("terrain/drop.toml", "type = \"terrain\"\nformat = [1, 0]\n[[terrain]]\nkind = \"" +
                                     std::string(kind.name) + "\"\n");
      expect(field, "terrain[0]." + std::string(field.name));
    }
  }
  write("terrain/drop.toml", kTerrain);
  const std::string without_event =
      std::string(kScene).substr(0, std::string(kScene).find("[[event]]"));
  for (const EventField& field : event_fields()) {
    for (const ChoiceValue& kind : event_choices()[0].values) {
      RideEvent event;
      event.kind = static_cast<EventKind>(&kind - event_choices()[0].values.data());
      if (!field.needed(event)) continue;
      write("scenes/lip.toml",
            without_event + "[[event]]\nkind = \"" + std::string(kind.name) + "\"\n");
      expect(field, "event[0]." + std::string(field.name));
    }
  }
  write("scenes/lip.toml", kScene);
  for (const auto& [text, allowed] : {std::pair("1 %", true), std::pair("0.999999 %", false),
                                      std::pair("90 %", true), std::pair("90.0001 %", false)}) {
    const std::string all =
        complaint([&, sag = text] { load_scene(scene(), {std::string("hold.sag=") + sag}); });
    EXPECT_EQ(all.find("hold.sag") == std::string::npos, allowed) << all;
  }
}

TEST_F(SceneFile, PrintedLimitsOfColumnsAreTakenToo) {
  const auto expect = [&](const auto& field, const std::string& key, const std::string& found) {
    const std::string range = "must be " + say_range(field.low, field.high, field.said);
    for (const auto& [text, allowed] : around_limits(field)) {
      write("forks/reed.toml", kFork);
      const std::string value = field.said == "1" ? text : "\"" + text + "\"";
      change("forks/reed.toml", key + " = " + found, key + " = " + value);
      const bool refused = faults().find(key + " = " + value + ": " + range) != std::string::npos;
      EXPECT_EQ(refused, !allowed) << key << " = " << value << "\n" << faults();
    }
  };
  expect(click_fields()[0], "clicks", "12");
  expect(click_fields()[1], "low_speed", "\"800 Ns/m\"");
  expect(click_fields()[2], "high_speed", "\"250 N.s/m\"");
  expect(speed_force_fields()[0], "speed", "\"0.1 m/s\"");
  expect(speed_force_fields()[1], "force", "\"70 N\"");
}

TEST_F(SceneFile, PartsLoadAlone) {
  EXPECT_EQ(load_fork(scratch_ / "forks/reed.toml", {"fork.spacers=4"}).spacers, 4.0);
  EXPECT_EQ(load_rider(scratch_ / "riders/light.toml").body_share, 0.8);
  EXPECT_EQ(faults_of("riders/light.toml"), "");
  EXPECT_EQ(faults_of("terrain/drop.toml"), "");
  EXPECT_THROW(load_rider(scratch_ / "forks/reed.toml"), InputError);
  EXPECT_NO_THROW(load_fork(scratch_ / "forks/reed.toml", {"fork.spacers=9"}, false));
  write("bikes/long.toml", "type = \"bike\"\nformat = [1, 0]\nmass = \"900 kg\"\n");
  EXPECT_EQ(faults_of("bikes/long.toml"),
            "bikes/long.toml:3:8: bike.mass = \"900 kg\": must be 1 kg to 500 kg\n");
}

TEST(SceneFiles, TheExamplesOfTheFormatPageAreRead) {
  const std::string page = bytes_of("scenarios/format.md");
  EXPECT_NE(page.find("file format " + std::to_string(kSceneFormatMajor) + "." +
                      std::to_string(kSceneFormatMinor)),
            std::string::npos);
  const std::regex block("```toml\n([^`]*)```");
  std::vector<std::string> blocks;
  for (std::sregex_iterator it(page.begin(), page.end(), block), end; it != end; ++it) {
    blocks.push_back((*it)[1]);
  }
  // Heading, fork, two adjusters, an unmeasured fork, marks, service, readings, terrain, scene,
  // plan, a sampled fork; those of readings are read in readings_reader_test.
  ASSERT_EQ(blocks.size(), 11U);
  const std::string two_adjusters = blocks[2];
  const std::string unmeasured = blocks[3];
  const std::string marks = blocks[4];
  const std::string service = blocks[5];
  blocks.erase(blocks.begin() + 2, blocks.begin() + 7);
  const ScratchDirectory scratch;
  for (const char* folder : {"forks", "riders", "bikes", "terrain", "scenes", "plans"}) {
    std::filesystem::create_directory(scratch / folder);
  }
  std::ofstream(scratch / "forks/example.toml") << blocks[1];
  std::ofstream(scratch / "terrain/drop.toml") << blocks[2];
  std::ofstream(scratch / "terrain/measured.csv") << "distance [m],height [mm]\n0,0\n1,20\n";
  std::ofstream(scratch / "scenes/x.toml") << blocks[3];
  std::ofstream(scratch / "riders/light.toml")
      << "type = \"rider\"\nformat = [1, 0]\nmass = \"60 kg\"\n";
  std::ofstream(scratch / "bikes/long.toml") << "type = \"bike\"\nformat = [1, 0]\n";
  EXPECT_EQ(complaint([&] { load_scene(scratch / "scenes/x.toml"); }), "");
  std::string fork = blocks[1];
  const std::size_t compression = fork.find("[compression]");
  fork.replace(compression, fork.find("[rebound]") - compression, two_adjusters + "\n");
  std::ofstream(scratch / "forks/two.toml") << fork;
  EXPECT_EQ(load_fork(scratch / "forks/two.toml").compression.high_speed_clicks, 3.0);
  std::ofstream(scratch / "forks/begun.toml") << unmeasured;
  std::ofstream(scratch / "forks/marked.toml") << unmeasured << marks;
  EXPECT_EQ(load_fork(scratch / "forks/begun.toml").travel, 0.14);
  EXPECT_EQ(load_fork(scratch / "forks/marked.toml").air.main_volume, 184e-6);
  std::ofstream(scratch / "forks/served.toml") << unmeasured << service;
  EXPECT_EQ(load_fork(scratch / "forks/served.toml").travel, 0.14);
  for (const char* scene : {"scenes/drop.toml", "scenes/roots.toml"}) {
    std::ofstream(scratch / scene) << blocks[3];
  }
  std::ofstream(scratch / "forks/other.toml") << blocks[1];
  std::ofstream(scratch / "plans/x.toml") << blocks[4];
  EXPECT_EQ(complaint([&] { load_plan(scratch / "plans/x.toml"); }), "");
  std::ofstream(scratch / "plans/rented.toml") << unmeasured;
  std::ofstream(scratch / "plans/y.toml")
      << "type = \"plan\"\nformat = [1, 5]\nscenes = [\"../scenes/x.toml\"]\n"
      << blocks[5];
  EXPECT_EQ(complaint([&] { load_plan(scratch / "plans/y.toml"); }), "");
}

}  // namespace
}  // namespace plunge::scene_reader_test
