#include "sim/report/used_parameters.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <filesystem>
#include <map>
#include <span>

#include "models/setup/assemble.hpp"
#include "models/setup/damper.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/ride_line.hpp"
#include "models/setup/statics.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "tests/random_setup.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"
#include "tests/scratch.hpp"

namespace plunge::used_parameters_test {
namespace {

std::map<std::string, UsedParameter> by_name(const plunge::Setup& setup) {
  std::map<std::string, UsedParameter> used;
  for (const UsedParameter& p : used_parameters(setup)) {
    EXPECT_TRUE(used.emplace(p.name, p).second) << p.name;
  }
  return used;
}

// A file that holds nothing of a ride but what it used.
void write_used(const std::string& path, const std::vector<plunge::Setup>& setups) {
  ResultFile file;
  for (const plunge::Setup& setup : setups) {
    Result ride;
    ride.setup = setup;
    ride.time = {0.0};
    ride.channels = {{"travel", "m", "fork travel", {0.0}}};
    file.rides.push_back(ride);
    file.parameters.push_back(used_parameters(setup));
    file.tables.push_back(used_tables(setup));
  }
  write_result_file(path, file);
}

// The rows of one list of one ride, from its group in /parameters.
template <class Owner>
std::vector<Owner> rows_of(const Hdf5Reader& reader, const std::string& group, std::size_t ride,
                           std::span<const Field<Owner>> fields,
                           std::span<const Choice<Owner>> choices) {
  std::vector<Owner> rows;
  if (!reader.has(group)) return rows;
  const std::size_t size = reader.shape(group + "/row")[0];
  rows.resize(size);
  std::vector<bool> there(size, false);
  for (const Choice<Owner>& choice : choices) {
    const std::string path = group + "/" + std::string(choice.name);
    if (!reader.has(path)) continue;
    const std::vector<std::string> texts = reader.texts(path);
    for (std::size_t i = 0; i < size; ++i) {
      const int value = find_value(choice.values, texts[ride * size + i]);
      if (value < 0) continue;
      choice.set(rows[i], value);
      there[i] = true;
    }
  }
  for (const Field<Owner>& field : fields) {
    const std::string path = group + "/" + std::string(field.name);
    if (!reader.has(path)) continue;
    EXPECT_EQ(reader.text_attribute(path, "units"), field.unit);
    const std::vector<double> values = reader.numbers(path);
    for (std::size_t i = 0; i < size; ++i) {
      const double value = values[ride * size + i];
      if (std::isnan(value)) continue;
      field.set(rows[i], value);
      there[i] = true;
    }
  }
  while (!there.empty() && !there.back()) there.pop_back();
  rows.resize(there.size());
  return rows;
}

// The set-up of one ride, from /parameters alone: numbers that were computed as if given.
plunge::Setup rebuilt(const std::string& path, std::size_t ride) {
  plunge::Setup setup;
  const ResultFile file = read_result_file(path);
  for (const UsedParameter& used : file.parameters[ride]) {
    for (const Choice<plunge::Setup>& choice : choices()) {
      if (choice.name == used.name && !used.text.empty()) {
        choice.set(setup, find_value(choice.values, used.text));
      }
    }
    if (const Parameter* parameter = find_parameter(used.name)) parameter->set(setup, used.value);
  }
  const Hdf5Reader reader(path);
  setup.events =
      rows_of<RideEvent>(reader, "/parameters/event", ride, event_fields(), event_choices());
  setup.terrain =
      rows_of<Feature>(reader, "/parameters/terrain", ride, feature_fields(), feature_choices());
  if (reader.has("/parameters/terrain_profile")) {
    const std::size_t size = reader.shape("/parameters/terrain_profile/row")[0];
    const auto column = [&](const char* name) {
      return reader.numbers(std::string("/parameters/terrain_profile/") + name);
    };
    const std::vector<double> feature = column("feature");
    const std::vector<double> distance = column("distance");
    const std::vector<double> elevation = column("elevation");
    for (std::size_t i = ride * size; i < (ride + 1) * size; ++i) {
      if (std::isnan(feature[i])) continue;
      Feature& f = setup.terrain[static_cast<std::size_t>(feature[i])];
      f.distance.push_back(distance[i]);
      f.elevation.push_back(elevation[i]);
    }
  }
  for (const auto& [damper, name] : {std::pair{&setup.fork.compression, "fork_compression"},
                                     std::pair{&setup.fork.rebound, "fork_rebound"}}) {
    const std::string group = std::string("/parameters/") + name + "_points";
    damper->points = rows_of<SpeedForce>(reader, group, ride, speed_force_fields(), {});
  }
  return setup;
}

std::span<const std::byte> bytes_between(const void* begin, const void* end) {
  const auto* first = static_cast<const std::byte*>(begin);
  return {first, static_cast<std::size_t>(static_cast<const std::byte*>(end) - first)};
}

void expect_same_bytes(std::span<const std::byte> a, std::span<const std::byte> b,
                       const std::string& what) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t k = 0; k + sizeof(double) <= a.size(); k += sizeof(double)) {
    double one = 0.0;
    double other = 0.0;
    std::memcpy(&one, &a[k], sizeof one);
    std::memcpy(&other, &b[k], sizeof other);
    EXPECT_TRUE(one == other || (std::isnan(one) && std::isnan(other)))
        << what << ", number " << k / sizeof(double) << ": " << one << " and " << other;
  }
}

// Every number that the rider holds lies before or after its damper, whose tables own memory.
void expect_same_rider(const Rider& a, const Rider& b) {
  static_assert(sizeof(Rider) % sizeof(double) == 0);
  expect_same_bytes(bytes_between(&a, &a.damper), bytes_between(&b, &b.damper), "before");
  expect_same_bytes(bytes_between(&a.hydraulic_stop, &a.has_air),
                    bytes_between(&b.hydraulic_stop, &b.has_air), "after");
  EXPECT_EQ(a.has_air, b.has_air);
  EXPECT_EQ(a.has_leg_air, b.has_leg_air);
  EXPECT_EQ(a.has_body, b.has_body);
  EXPECT_EQ(a.has_friction, b.has_friction);
  for (const auto law : {&Damper<double>::compression, &Damper<double>::rebound}) {
    const DamperLaw<double>& one = a.damper.*law;
    const DamperLaw<double>& other = b.damper.*law;
    EXPECT_EQ(one.low_speed, other.low_speed);
    EXPECT_EQ(one.high_speed, other.high_speed);
    EXPECT_EQ(one.knee, other.knee);
    ASSERT_EQ(static_cast<bool>(one.table), static_cast<bool>(other.table));
    if (!one.table) continue;
    const std::vector<ForcePiece>& pieces = one.table.table->pieces();
    ASSERT_EQ(pieces.size(), other.table.table->pieces().size());
    for (std::size_t k = 0; k + 1 < pieces.size(); ++k) {
      const ForcePiece& piece = other.table.table->pieces()[k];
      EXPECT_EQ(pieces[k].start, piece.start);
      EXPECT_EQ(pieces[k].force, piece.force);
      EXPECT_EQ(pieces[k].slope, piece.slope);
      EXPECT_EQ(pieces[k].c2, piece.c2);
      EXPECT_EQ(pieces[k].c3, piece.c3);
    }
  }
}

template <class Owner>
void expect_same_rows(const std::vector<Owner>& a, const std::vector<Owner>& b,
                      std::span<const Field<Owner>> fields,
                      std::span<const Choice<Owner>> choices) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (const Choice<Owner>& choice : choices) {
      if (!choice.needed(a[i])) continue;
      EXPECT_EQ(choice.get(a[i]), choice.get(b[i])) << choice.name;
    }
    for (const Field<Owner>& field : fields) {
      if (!field.needed(a[i])) continue;
      EXPECT_EQ(field.get(a[i]), field.get(b[i])) << field.name;
    }
  }
}

TEST(UsedParameters, WhatTheSetUpReadsIsKeptInSi) {
  const auto used = by_name(load_scene("scenarios/scenes/drop-to-landing.toml").setup);
  EXPECT_EQ(used.at("fork.travel").value, 0.15);
  EXPECT_EQ(used.at("fork.travel").unit, "m");
  EXPECT_EQ(used.at("fork.air.main_volume").value, 198e-6);
  EXPECT_EQ(used.at("fork.spring").text, "air");
  EXPECT_EQ(used.at("fork.name").text, "teasel 150");
  for (const auto& [name, parameter] : used) {
    EXPECT_TRUE(!parameter.text.empty() || std::isfinite(parameter.value)) << name;
  }
}

TEST(UsedParameters, WhatItDoesNotReadIsLeftOut) {
  const auto used = by_name(load_scene("scenarios/scenes/drop-to-landing.toml").setup);
  EXPECT_FALSE(used.contains("fork.coil.rate"));
  EXPECT_TRUE(used.contains("fork.compression.clicks"));
  EXPECT_FALSE(by_name(load_scene("scenarios/scenes/square-edge.toml").setup)
                   .contains("fork.compression.clicks"));
}

TEST(UsedParameters, WhatFollowsFromOtherNumbersIsKeptToo) {
  plunge::Setup setup = load_scene("scenarios/scenes/drop-to-landing.toml").setup;
  setup.fork.compression.clicks = 9.0;
  setup.ambient = {1500.0, 283.15};
  setup.pumped = {kUnset, 293.15};
  const auto used = by_name(setup);
  // By hand: 9 of the 6 to 15 clicks between 400 and 180, 190 and 140 N.s/m.
  EXPECT_NEAR(used.at("fork.compression.low_speed").value, 400.0 - 220.0 / 3.0, 1e-9);
  EXPECT_NEAR(used.at("fork.compression.high_speed").value, 190.0 - 50.0 / 3.0, 1e-9);
  EXPECT_EQ(used.at("pumped.altitude").value, 1500.0);
  EXPECT_EQ(used.at("pumped.temperature").value, 293.15);
  EXPECT_EQ(used.at("rider.sprung_mass").value, sprung_mass(setup));
  EXPECT_EQ(used.at("rider.sprung_mass").long_name, "mass carried rigidly on the fork");
  EXPECT_EQ(used.at("rider.body_mass").value, body_mass(setup));
  EXPECT_EQ(used.at("total_mass").value, setup.rider.mass + setup.bike.mass);
  setup.rider.body_mass = 20.0;
  EXPECT_EQ(by_name(setup).at("rider.body_mass").value, 20.0);
}

TEST(UsedParameters, BothAdjustersOfADirectionAreKeptWithTheirTables) {
  plunge::Setup setup = load_scene("scenarios/scenes/drop-to-landing.toml").setup;
  DamperSetup& damper = setup.fork.compression;
  damper.click_table.clear();
  damper.low_speed_table = {{0.0, 900.0}, {10.0, 500.0}};
  damper.high_speed_table = {{0.0, 400.0}, {6.0, 100.0}};
  damper.clicks = 4.0;
  damper.high_speed_clicks = 2.0;
  const auto used = by_name(setup);
  EXPECT_EQ(used.at("fork.compression.high_speed_clicks").value, 2.0);
  // By hand: 4 of 10 clicks from 900 to 500, 2 of 6 from 400 to 100 N.s/m.
  EXPECT_NEAR(used.at("fork.compression.low_speed").value, 740.0, 1e-12);
  EXPECT_NEAR(used.at("fork.compression.high_speed").value, 300.0, 1e-12);
  std::map<std::string, std::size_t> rows;
  for (const UsedTable& table : used_tables(setup)) rows[table.name] = table.rows();
  EXPECT_EQ(rows.at("fork.compression.low_speed_table"), 2U);
  EXPECT_EQ(rows.at("fork.compression.high_speed_table"), 2U);
  EXPECT_FALSE(rows.contains("fork.compression.click_table"));
  // What a closed needle leaves open, where nothing says so: half of the first of 16 clicks.
  damper.kind = DamperKind::hydraulic;
  damper.bleed_clicks = 16.0;
  EXPECT_EQ(by_name(setup).at("fork.compression.bleed_closed").value, 0.5 / 16.0);
  EXPECT_FALSE(used.contains("fork.compression.bleed_closed"));
  EXPECT_FALSE(used.contains("fork.rebound.high_speed_clicks"));
}

TEST(UsedParameters, TheFileAloneGivesBackWhatWasRidden) {
  // Every shipped scene and random rides, side by side in one file: dampers of all three kinds,
  // events, every feature of the ground.
  std::vector<plunge::Setup> setups;
  for (const auto& file : std::filesystem::directory_iterator("scenarios/scenes")) {
    setups.push_back(shipped_setup(file.path().stem().string()));
  }
  for (std::uint64_t number = 0; number < 40; ++number) setups.push_back(good_setup(number));
  for (plunge::Setup& setup : setups) setup.ride.sample_rate = 1000.0;  // one file, one time axis
  const ScratchDirectory directory;
  const std::string path = directory / "used.h5";
  write_used(path, setups);
  std::size_t events = 0;
  std::size_t profiles = 0;
  std::size_t tables = 0;
  for (std::size_t i = 0; i < setups.size(); ++i) {
    SCOPED_TRACE(i);
    const plunge::Setup& setup = setups[i];
    const plunge::Setup again = rebuilt(path, i);
    expect_same_rider(assemble(setup), assemble(again));
    expect_same_rows<RideEvent>(setup.events, again.events, event_fields(), event_choices());
    expect_same_rows<Feature>(setup.terrain, again.terrain, feature_fields(), feature_choices());
    for (std::size_t k = 0; k < setup.terrain.size() && k < again.terrain.size(); ++k) {
      EXPECT_EQ(setup.terrain[k].distance, again.terrain[k].distance);
      EXPECT_EQ(setup.terrain[k].elevation, again.terrain[k].elevation);
      profiles += setup.terrain[k].distance.empty() ? 0 : 1;
    }
    EXPECT_EQ(setup.ride.speed, again.ride.speed);
    EXPECT_EQ(setup.ride.tolerance, again.ride.tolerance);
    events += setup.events.size();
    tables += setup.fork.compression.click_table.size() + setup.fork.rebound.points.size();
  }
  EXPECT_GT(events, 10U);
  EXPECT_GT(profiles, 5U);
  EXPECT_GT(tables, 20U);
}

TEST(UsedParameters, AClickTableIsAGroupOfItsOwn) {
  const ScratchDirectory directory;
  write_used(directory / "a.h5", {shipped_setup("drop-to-flat")});
  const Hdf5Reader reader(directory / "a.h5");
  const std::string group = "/parameters/fork_rebound_click_table";
  EXPECT_EQ(reader.text_attribute(group, "parameter"), "fork.rebound.click_table");
  // As the fork's file has it.
  EXPECT_EQ(reader.numbers(group + "/clicks"), (std::vector<double>{0.0, 8.0, 18.0}));
  EXPECT_EQ(reader.numbers(group + "/high_speed"), (std::vector<double>{900.0, 480.0, 300.0}));
  EXPECT_EQ(reader.shape(group + "/clicks"), (std::vector<std::size_t>{1, 3}));
}

TEST(UsedParameters, WhatACoilForkDoesNotHaveIsNotKept) {
  plunge::Setup setup = shipped_setup("drop-to-flat");  // an air fork
  EXPECT_EQ(by_name(setup).count("fork.air.main_volume"), 1U);
  setup.fork.spring = Spring::coil;
  setup.fork.coil = {9e3, 20.0};
  const auto used = by_name(setup);
  EXPECT_EQ(used.count("fork.coil.rate"), 1U);
  for (const char* name : {"fork.pressure", "fork.pressure_limit", "fork.spacers",
                           "fork.spacer_limit", "fork.air.main_volume", "fork.air.port_position"}) {
    EXPECT_EQ(used.count(name), 0U) << name;
  }
}

}  // namespace
}  // namespace plunge::used_parameters_test
