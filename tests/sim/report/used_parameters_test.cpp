#include "sim/report/used_parameters.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "sim/input/scene_file.hpp"

namespace plunge {
namespace {

std::map<std::string, UsedParameter> by_name(const std::string& scene) {
  std::map<std::string, UsedParameter> used;
  for (const UsedParameter& p :
       used_parameters(load_scene("scenarios/scenes/" + scene + ".toml").setup)) {
    EXPECT_TRUE(used.emplace(p.name, p).second) << p.name;
  }
  return used;
}

TEST(UsedParameters, WhatTheSetUpReadsIsKeptInSi) {
  const auto used = by_name("drop-to-landing");
  EXPECT_EQ(used.at("fork.travel").value, 0.15);
  EXPECT_EQ(used.at("fork.travel").unit, "m");
  EXPECT_EQ(used.at("fork.air.main_volume").value, 198e-6);
  EXPECT_EQ(used.at("fork.spring").text, "air");
  for (const auto& [name, parameter] : used) {
    EXPECT_TRUE(!parameter.text.empty() || std::isfinite(parameter.value)) << name;
  }
}

TEST(UsedParameters, WhatItDoesNotReadIsLeftOut) {
  const auto used = by_name("drop-to-landing");
  EXPECT_FALSE(used.contains("fork.coil.rate"));
  EXPECT_FALSE(used.contains("rider.sprung_mass"));
  EXPECT_TRUE(used.contains("fork.compression.clicks"));
  EXPECT_FALSE(by_name("square-edge").contains("fork.compression.clicks"));
}

}  // namespace
}  // namespace plunge
