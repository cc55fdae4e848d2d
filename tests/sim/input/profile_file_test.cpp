#include "sim/input/profile_file.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "models/setup/fault.hpp"

namespace plunge::profile_file_test {
namespace {

// Faults of a text; empty: none.
Faults faults_of(const std::string& text) {
  try {
    parse_profile(text, "x.csv");
    return {};
  } catch (const InputError& error) {
    return error.faults();
  }
}

std::string first_of(const std::string& text) {
  const Faults faults = faults_of(text);
  return faults.empty() ? "" : to_string(faults.front());
}

TEST(ProfileFile, ColumnsTurnIntoMetres) {
  const std::vector<double> distance = {0.0, 0.5, 1.25};
  const std::vector<double> elevation = {0.0, 0.03, -0.01};
  for (const char* text :
       {"distance [m],height [mm]\n0,0\n0.5,30\n1.25,-10\n",
        "# measured\n\ndistance [m];height [mm]\n0;0\n0.5;30\n# between\n1.25;-10",
        "height [mm]\tnote\tdistance [m]\r\n0\ta\t0\r\n30\tb\t0.5\r\n-10\tc\t1.25\r\n",
        "distance [cm] , height [m]\n0, 0\n50, 0.03\n125, -0.01\n"}) {
    const MeasuredProfile profile = parse_profile(text, "x.csv");
    EXPECT_EQ(profile.distance, distance) << text;
    EXPECT_EQ(profile.elevation, elevation) << text;
  }
}

TEST(ProfileFile, FaultsNameLineAndColumn) {
  EXPECT_EQ(first_of("distance [m],height [m]\n0,0\n1,abc\n2,0\n"),
            "x.csv:3:3: height = \"abc\": must begin with a decimal number");
  EXPECT_EQ(first_of("distance [m],height [m]\n0,0\n1,0\n1,0\n"),
            "x.csv:4:1: distance = \"1\": must be above the row before it, 1 m");
  EXPECT_EQ(first_of("distance [m],height [m]\n0,0\n1\n2,0\n"),
            "x.csv:3:1: \"1\": has 1 column; the header has 2");
  EXPECT_EQ(first_of("distance [m],height [m]\n0,0\n1,\n2,0\n"),
            "x.csv:3:3: height = \"\": must not be empty");
  EXPECT_EQ(first_of("distance [m],height [m]\n0,0\n1,5 mm\n"),
            "x.csv:3:3: height = \"5 mm\": must be a number alone");
  EXPECT_EQ(first_of("distance [m],height [m]\n0,nan\n1,0\n"),
            "x.csv:2:3: height = \"nan\": must begin with a decimal number");
  EXPECT_EQ(first_of("distance [m],height [m]\n0,0\n"), "x.csv: 1 row: must have at least 2 rows");
  // All of them at once.
  EXPECT_EQ(faults_of("distance [m],height [m]\n0,a\n1,b\n2,0\n1,0\n").size(), 3U);
}

// By hand: 1 250 mm and 0,5 cm, as people write them where decimals follow a comma.
TEST(ProfileFile, DecimalCommasAreReadWhereTheyAreAnnounced) {
  const MeasuredProfile profile = parse_profile(
      "distance [m];height [cm];note\n0;0;a, b\n0,5;0,5;\n1,250;-1,5e1;1.000\n", "x.csv", ',');
  EXPECT_EQ(profile.distance, (std::vector<double>{0.0, 0.5, 1.25}));
  EXPECT_EQ(profile.elevation, (std::vector<double>{0.0, 0.005, -0.15}));
  const auto said = [](const std::string& text, char decimal) {
    try {
      parse_profile(text, "x.csv", decimal);
      return std::string();
    } catch (const InputError& error) {
      return to_string(error.faults().front());
    }
  };
  EXPECT_EQ(
      said("distance [m],height [m]\n0,0\n1,0\n", ','),
      "x.csv:1:1: \"distance [m],height [m]\": must part its columns with semicolons or tabs, "
      "since decimal = \",\"");
  EXPECT_EQ(said("distance [m];height [m]\n0;0\n1.234,5;0\n", ','),
            "x.csv:3:1: distance = \"1.234,5\": must have no point, since decimal = \",\"; "
            "thousands are not set apart");
  EXPECT_EQ(said("distance [m];height [m]\n0;0\n1,2,3;0\n", ','),
            "x.csv:3:1: distance = \"1,2,3\": must be a number alone, with one comma at most");
  EXPECT_EQ(said("distance [m];height [m]\n0;0\n1;0,5\n", '.'),
            "x.csv:3:3: height = \"0,5\": must be a number alone, with a decimal point; if all "
            "decimals here follow a comma, say decimal = \",\" beside file");
  EXPECT_EQ(said("distance [m],height [m]\n0,0,0,0\n1,5,0,5\n", '.'),
            "x.csv:2:1: \"0,0,0,0\": has 4 columns; the header has 2; if its decimals follow a "
            "comma, part the columns with semicolons and say decimal = \",\" beside file");
}

TEST(ProfileFile, HeadersMustNameDistanceAndHeightWithUnits) {
  EXPECT_EQ(first_of("distance [m],elevation [m]\n0,0\n1,0\n"),
            "x.csv:1:1: height = \"distance [m],elevation [m]\": is missing: the header must name "
            "it, \"height [m]\"");
  EXPECT_EQ(first_of("distance,height [m]\n0,0\n1,0\n"),
            "x.csv:1:1: distance = \"distance\": must say its unit in brackets, \"distance [m]\"");
  EXPECT_NE(first_of("distance [s],height [m]\n0,0\n1,0\n").find("is a time"), std::string::npos);
  EXPECT_NE(first_of("distance [m],distance [m],height [m]\n0,0,0\n").find("named once"),
            std::string::npos);
  EXPECT_NE(first_of("").find("must begin with a header"), std::string::npos);
  EXPECT_NE(first_of("0,0\n1,0\n"), "");
}

TEST(ProfileFile, TheFirstFewDozenFaultsAreEnough) {
  std::string text = "distance [m],height [m]\n";
  for (int i = 0; i < 10'000; ++i) text += "x,y\n";
  EXPECT_LT(faults_of(text).size(), 40U);
}

}  // namespace
}  // namespace plunge::profile_file_test
