#include "sim/log/log_draft.hpp"

#include <gtest/gtest.h>

#include "sim/report/result_file.hpp"
#include "sim/report/used_parameters.hpp"
#include "sim/ride/ready.hpp"
#include "tests/small_log.hpp"
#include "tests/support.hpp"

namespace plunge::log_draft_test {
namespace {

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

LogEntry drafted(const SmallLog& log, const char* kind, const std::vector<std::string>& words) {
  return LogDraft(demand_kind(kind), words, disk_files()).entry(log.read());
}

TEST(LogDraft, TakesWorkshopUnitsAndKeepsSi) {
  const SmallLog log;
  add_setting(log);
  const LogEntry ride = drafted(log, "ride", {"3", "ring=5.5 in", "bottom_outs=2", "scene=a=b"});
  EXPECT_NEAR(ride.quantity("ring"), 0.1397, 1e-12);  // 25.4 mm to the inch, exact
  EXPECT_EQ(ride.reference("bottom_outs"), 2);
  EXPECT_EQ(ride.reference("setting"), 3);
  EXPECT_EQ(ride.text("scene"), "a=b");
  const LogEntry reading = drafted(
      log, "reading", {"pressure, pump on", "fork=teasel", "value=72 psi", "spread=0.1 bar"});
  EXPECT_EQ(std::get<Measured>(*reading.find("value")).unit, "Pa");
  EXPECT_NEAR(std::get<Measured>(*reading.find("value")).value, 72.0 * kPsi, 1e-6);
  EXPECT_NEAR(std::get<Measured>(*reading.find("spread")).value, 1e4, 1e-9);
}

TEST(LogDraft, APrefixMayBeLeftOut) {
  const SmallLog log;
  add_setting(log);
  EXPECT_EQ(drafted(log, "rider", {"wren", "mass=58kg"}).numbers,
            drafted(log, "rider", {"wren", "rider.mass=58kg"}).numbers);
  EXPECT_TRUE(says(log.refusal("rider", {"wren", "mass=58kg", "rider.mass=59kg"}), "given twice"));
}

TEST(LogDraft, EveryFaultIsToldAtOnce) {
  const SmallLog log;
  add_setting(log);
  EXPECT_EQ(log.refusal("ride", {"3", "ring=141", "botom_outs=1", "scene=a", "scene=b",
                                 "bottom_outs=many"}),
            "ring = \"141\": needs a length such as \"150 mm\"; a bare number has no unit\n"
            "botom_outs = 1: is nothing of a ride; did you mean \"bottom_outs\"?\n"
            "scene = b: is given twice\n"
            "bottom_outs = many: must be a whole number");
  EXPECT_EQ(
      log.refusal("ride", {"3", "weather=wet"}),
      "weather = wet: is nothing of a ride; its fields are setting, scene, ring, bottom_outs, "
      "remarks");
  EXPECT_TRUE(says(log.refusal("ride", {"3", "ring=72psi"}), "ring"));
  EXPECT_TRUE(says(log.refusal("reading", {"sag", "fork=teasel", "value=33 smoots"}), "value"));
}

TEST(LogDraft, ASettingHasWhatItsParentHas) {
  const SmallLog log;
  add_setting(log);
  const LogEntry child = drafted(log, "setting", {"parent=3", "fork.spacers=2"});
  EXPECT_EQ(child.reference("fork"), 1);
  EXPECT_EQ(child.reference("rider"), 2);
  EXPECT_EQ(child.reference("parent"), 3);
  EXPECT_DOUBLE_EQ(child.numbers.at("fork.spacers"), 2.0);
  EXPECT_NEAR(child.numbers.at("fork.pressure"), 72.0 * kPsi, 1e-6);
  // Another fork has none of the first one's numbers.
  log.add("fork", {"sorrel", "file=scenarios/forks/sorrel-120.toml"});
  const LogEntry other = drafted(log, "setting", {"parent=3", "fork=sorrel"});
  EXPECT_TRUE(other.numbers.empty());
}

// A ride of scenarios/scenes/drop-to-flat.toml with 0 to 2 spacers, in a file.
class Predicted : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    directory_ = new ScratchDirectory;
    path_ = *directory_ / "drop.h5";
    ResultFile file;
    file.title = "drop";
    file.history = "plunge ride";
    Wishes wishes;
    wishes.set = {"fork.pressure=72psi"};
    wishes.vary = {"fork.spacers=0..2"};
    const ReadyRides rides = ready(disk_files(), "scenarios/scenes/drop-to-flat.toml", wishes);
    for (const ReadyRide& ride : rides.rides) {
      file.rides.push_back(ride_one(ride));
      file.parameters.push_back(used_parameters(file.rides.back().setup));
    }
    travel_ = file.rides[1].metrics;
    write_result_file(path_, file);
  }
  static void TearDownTestSuite() { delete directory_; }

  static ScratchDirectory* directory_;
  static std::string path_;
  static std::vector<Metric> travel_;
};
ScratchDirectory* Predicted::directory_ = nullptr;
std::string Predicted::path_;
std::vector<Metric> Predicted::travel_;

TEST_F(Predicted, TakesTheRideOfItsSetting) {
  const SmallLog log;
  add_setting(log);
  const LogEntry prediction = drafted(log, "prediction", {"setting=3", "file=" + path_});
  for (const Metric& metric : travel_) {
    if (metric.name == "travel_max") {
      EXPECT_EQ(prediction.numbers.at("travel_max"), metric.value);
    }
  }
  EXPECT_EQ(prediction.text("history"), "plunge ride");
  EXPECT_GT(prediction.numbers.size(), 20u);
  log.add("ride", {"3", "ring=100mm"});
  EXPECT_EQ(drafted(log, "prediction", {"ride=4", "file=" + path_}).numbers, prediction.numbers);
  // The judge takes it whole.
  log.add("prediction", {"setting=3", "file=" + path_});
}

TEST_F(Predicted, RefusesARideOfAnotherSetting) {
  const SmallLog log;
  add_setting(log);
  log.add("setting", {"parent=3", "fork.pressure=80psi"});
  EXPECT_EQ(log.refusal("prediction", {"setting=4", "file=" + path_}),
            path_ + ": fork.pressure = 72 psi: of ride 1 must be 80 psi, as setting 4 says");
  // A gauge does not tell 72.5 from 72 psi.
  log.add("setting", {"parent=3", "fork.pressure=72.5psi"});
  log.add("prediction", {"setting=5", "file=" + path_});
  EXPECT_EQ(log.refusal("prediction", {"setting=3", "file=" + path_, "variant=2"}),
            path_ + ": fork.spacers = 2: of ride 2 must be 1, as setting 3 says");
  EXPECT_TRUE(says(log.refusal("prediction", {"setting=3", "file=" + path_, "variant=3"}),
                   "variant = 3: must be 0 to 2"));
  EXPECT_TRUE(says(log.refusal("prediction", {"setting=3", "variant=1"}), "give file=PATH too"));
  EXPECT_TRUE(says(log.refusal("prediction", {"setting=3", kTeasel}), "teasel-150.toml"));
  // Another rider: the log's weighs 58 kg.
  log.add("rider", {"wren", "mass=58kg"});
  log.add("setting", {"parent=3", "rider=wren"});
  EXPECT_TRUE(
      says(log.refusal("prediction", {"setting=8", "file=" + path_}), "rider.mass = 76 kg"));
  // A setting that says nothing of spacers leaves three to choose from.
  log.add("setting", {"fork=teasel", "fork.pressure=72psi"});
  EXPECT_TRUE(says(log.refusal("prediction", {"setting=9", "file=" + path_}),
                   "variant: must be given: rides 0, 1, ... were all ridden as setting 9 says"));
}

}  // namespace
}  // namespace plunge::log_draft_test
