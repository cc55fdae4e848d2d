#include "sim/text/units.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <string_view>

#include "models/setup/fault.hpp"

namespace plunge::units_test {
namespace {

// The rule of the fault that a text meets; empty: none.
std::string rule_of(std::string_view text, std::string_view unit) {
  try {
    to_si(text, unit);
    return {};
  } catch (const InputError& error) {
    return error.faults().at(0).rule;
  }
}

TEST(Units, WorkshopTextsBecomeSi) {
  // By hand: 1 in = 0.0254 m, 1 lb = 0.45359237 kg, g = 9.80665 m/s2, 1 mile = 1609.344 m.
  const double lbf = 0.45359237 * 9.80665;
  EXPECT_DOUBLE_EQ(to_si("72 psi", "Pa"), 72.0 * lbf / (0.0254 * 0.0254));
  EXPECT_EQ(to_si("22 %", "1"), 0.22);
  EXPECT_EQ(to_si("0.9 m", "m"), 0.9);
  EXPECT_EQ(to_si("0.9m", "m"), 0.9);
  EXPECT_DOUBLE_EQ(to_si("65 deg", "rad"), 65.0 * kPi / 180.0);
  EXPECT_DOUBLE_EQ(to_si("-3 deg", "rad"), -3.0 * kPi / 180.0);
  EXPECT_EQ(to_si("180 lbs", "kg"), 180.0 * 0.45359237);
  EXPECT_EQ(to_si("300 Ns/m", "N s m-1"), 300.0);
  EXPECT_EQ(to_si("300 N.s/m", "N s m-1"), 300.0);
  EXPECT_EQ(to_si("300 N·s/m", "N s m-1"), 300.0);
  EXPECT_EQ(to_si("300 N s/m", "N s m-1"), 300.0);
  EXPECT_DOUBLE_EQ(to_si("25 mph", "m s-1"), 25.0 * 1609.344 / 3600.0);
  EXPECT_EQ(to_si("5e5 Pa", "Pa"), 5e5);
  EXPECT_EQ(to_si("198 cm3", "m3"), 198e-6);
  EXPECT_EQ(to_si("198 cm^3", "m3"), 198e-6);
  EXPECT_EQ(to_si("20 degC", "K"), 293.15);
  EXPECT_DOUBLE_EQ(to_si("45 lbf/in", "N m-1"), 45.0 * lbf / 0.0254);
  EXPECT_EQ(to_si("16e-6 m3", "m3"), 16e-6);
  EXPECT_EQ(to_si("1e8 N/m^1.5", "N m-1.5"), 1e8);
  EXPECT_EQ(to_si("0.4", "1"), 0.4);
  EXPECT_EQ(to_si("+5 m", "m"), 5.0);
}

TEST(Units, RareSpellingsGoThroughUdunits) {
  EXPECT_DOUBLE_EQ(to_si("1 atm", "Pa"), 101325.0);  // defined
  EXPECT_DOUBLE_EQ(to_si("68 degF", "K"), 293.15);   // by hand: (68 - 32)/1.8 + 273.15
  EXPECT_DOUBLE_EQ(to_si("3 ft", "m"), 0.9144);      // defined
  EXPECT_DOUBLE_EQ(to_si("2 kN/mm", "N m-1"), 2e6);
  EXPECT_DOUBLE_EQ(to_si("50 s-1", "Hz"), 50.0);
  EXPECT_DOUBLE_EQ(to_si("65 °", "rad"), 65.0 * kPi / 180.0);
}

TEST(Units, CommonUnitsAgreeWithUdunits) {
  // UDUNITS lacks the first five and the power 1.5; "1" is no unit to write.
  int compared = 0;
  for (const CommonUnit& unit : common_units()) {
    const bool ours = unit.name == "deg" || unit.name == "lbs" || unit.name == "Ns/m" ||
                      unit.name == "mph" || unit.name == "/min" || unit.unit == "N m-1.5" ||
                      unit.name == "1";
    if (ours) continue;
    for (const double number : {-40.0, 0.1, 3.7, 250.0}) {
      const double expected = to_si_by_udunits({number, std::string(unit.name)}, unit.unit);
      EXPECT_NEAR(unit.to_si(number), expected, 1e-13 * (1.0 + std::abs(expected))) << unit.name;
      EXPECT_NEAR(unit.from_si(expected), number, 1e-12 * (1.0 + std::abs(number))) << unit.name;
    }
    ++compared;
  }
  EXPECT_GT(compared, 50);
}

TEST(Units, SiTextKeepsEveryBit) {
  for (const Parameter& p : parameters()) {
    for (const double value : {0.1, 1.0 / 3.0, 123456.789, 5e-324, 1.7976931348623157e308}) {
      char text[64];
      std::snprintf(text, sizeof text, "%.17g %s", value, std::string(p.unit).c_str());
      EXPECT_EQ(to_si(p.unit == "1" ? std::string_view(text, std::string_view(text).find(' '))
                                    : std::string_view(text),
                      p.unit),
                value)
          << p.name;
    }
  }
}

TEST(Units, AKeyTakesItsOwnDimensionOnly) {
  EXPECT_EQ(rule_of("72 mm", "Pa"), "needs a pressure such as \"72 psi\"; \"72 mm\" is a length");
  EXPECT_EQ(rule_of("72", "Pa"), "needs a pressure such as \"72 psi\"; a bare number has no unit");
  EXPECT_EQ(rule_of("72 frobs", "Pa"),
            "needs a pressure such as \"72 psi\"; \"frobs\" is no unit that is known");
  EXPECT_EQ(rule_of("5 gauss", "Pa"),
            "needs a pressure such as \"72 psi\"; \"gauss\" measures something else");
  // UDUNITS alone would take all of these.
  EXPECT_NE(rule_of("22 deg", "1"), "");
  EXPECT_NE(rule_of("22 %", "rad"), "");
  EXPECT_NE(rule_of("2 rad/s", "Hz"), "");
  EXPECT_NE(rule_of("1 s", "Hz"), "");
  EXPECT_NE(rule_of("120 us", "Hz"), "");
  EXPECT_NE(rule_of("5 Pa @ 3", "Pa"), "");
  EXPECT_NE(rule_of("5 m since 3", "m"), "");
  EXPECT_NE(rule_of("5 1000 Pa", "Pa"), "");
  EXPECT_NE(rule_of("5 Pa 1000", "Pa"), "");
  EXPECT_NE(rule_of("3 lg(re 1 mW)", "W"), "");
  EXPECT_NE(rule_of("10 kg", "N"), "");
}

TEST(Units, OnlyPlainDecimalNumbersAreRead) {
  for (const char* text :
       {"", " ", "psi", "nan Pa", "inf Pa", "-inf Pa", "0x10 Pa", "1e999 Pa", "1e-999 Pa", "+-5 Pa",
        "--5 Pa", "1,5 Pa", "1e308 MPa", "5 Pa.", "5 Pa-", "5 Pa/", "- 5 Pa", ".Pa", "5..6 Pa"}) {
    EXPECT_NE(rule_of(text, "Pa"), "") << text;
  }
  EXPECT_EQ(to_si(" 5 Pa ", "Pa"), 5.0);
  EXPECT_EQ(to_si("-0 Pa", "Pa"), 0.0);
}

TEST(Units, AFaultQuotesTheText) {
  try {
    to_si("72 mm", "Pa");
    FAIL();
  } catch (const InputError& error) {
    EXPECT_EQ(error.faults().at(0).value, "\"72 mm\"");
  }
}

}  // namespace
}  // namespace plunge::units_test
