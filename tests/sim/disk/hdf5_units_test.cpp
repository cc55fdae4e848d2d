#include "sim/disk/hdf5_units.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"

namespace plunge::hdf5_units_test {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

// The variable /x in a file of its own.
class Hdf5Units : public testing::Test {
 protected:
  Hdf5Reader with(const std::vector<double>& values, const std::string& unit) const {
    Hdf5Writer writer;
    writer.dimension("/n", std::vector<int>(values.size()), {});
    writer.variable("/x", {"/n"}, values, {{"units", unit}});
    writer.save(path_);
    return Hdf5Reader(path_);
  }

  const ScratchDirectory directory_;
  const std::string path_ = directory_ / "a.h5";
};

// By hand: 150 mm, 6 in of 25.4 mm, 20 degrees Celsius, 10 kilojoules (which only UDUNITS knows).
TEST_F(Hdf5Units, NumbersAreConverted) {
  EXPECT_EQ(numbers_in(with({150.0, 1.0}, "mm"), "/x", "m"), (std::vector<double>{0.15, 0.001}));
  EXPECT_NEAR(numbers_in(with({6.0}, "in"), "/x", "m")[0], 0.1524, 1e-15);
  EXPECT_EQ(numbers_in(with({20.0}, "degC"), "/x", "K")[0], 293.15);
  EXPECT_NEAR(numbers_in(with({10.0}, "kJ"), "/x", "J")[0], 1e4, 1e-9);
  EXPECT_EQ(si_unit_of(with({1.0}, "psi"), "/x"), "Pa");
  EXPECT_EQ(si_unit_of(with({1.0}, "m s-1.75"), "/x"), "m s-1.75");
  const std::vector<double> run = numbers_in(with({1.0, 2.0, 3.0}, "cm"), "/x", "m", 1, 2);
  EXPECT_EQ(run, (std::vector<double>{0.02, 0.03}));
}

TEST_F(Hdf5Units, WhatHasNoNumberPassesAndTheRestIsRefused) {
  EXPECT_TRUE(std::isnan(numbers_in(with({kNothing}, "mm"), "/x", "m")[0]));
  const auto said = [&](const std::vector<double>& values, const std::string& unit) {
    const Hdf5Reader reader = with(values, unit);
    return complaint([&] { numbers_in(reader, "/x", "m"); });
  };
  EXPECT_EQ(said({-kInfinity}, "m"), path_ + ": /x = infinity: must be a number");
  EXPECT_EQ(said({1.0}, "psi"), path_ + ": /x = psi: its units must convert to \"m\"");
  EXPECT_EQ(said({1.0}, "smoots"), path_ + ": /x = smoots: its units are none that plunge knows");
  EXPECT_NE(said({1e308}, "km"), "");
  const Hdf5Reader reader = with({1.0}, "m");
  EXPECT_EQ(complaint([&] { numbers_in(reader, "/n", "m"); }),
            path_ + ": /n: attribute units is missing");
}

TEST_F(Hdf5Units, TimesRise) {
  const Hdf5Reader reader = with({1.0}, "s");
  EXPECT_EQ(complaint([&] { demand_rising(reader, "/x", {0.0, 0.5, 2.0}); }), "");
  for (const double next : {0.0, -1.0, kNothing, kInfinity}) {
    EXPECT_NE(complaint([&] { demand_rising(reader, "/x", {0.0, next}); }), "") << next;
  }
}

}  // namespace
}  // namespace plunge::hdf5_units_test
