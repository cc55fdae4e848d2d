// Briefs: what they say, what is refused and where, and the page of their format.
#include "sim/search/brief.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "models/setup/statics.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/measure/metrics.hpp"

namespace plunge {
namespace {

constexpr char kHead[] = R"(type = "brief"
format = [1, 3]
fork = "scenarios/forks/teasel-150.toml"
rider = "scenarios/riders/hazel.toml"
bike = "scenarios/bikes/trail.toml"
scenes = ["scenarios/scenes/drop-to-flat.toml", "scenarios/scenes/drop-to-landing.toml"]
)";

// The tree's files, and briefs in memory.
class WithBriefs : public TextFiles {
 public:
  explicit WithBriefs(std::string text) : text_(std::move(text)) {}
  std::string read(const std::string& path) const override {
    return path == "brief.toml" ? text_ : disk_files().read(path);
  }
  bool has(const std::string& path) const override { return disk_files().has(path); }
  std::string folder_of(const std::string& path) const override {
    return disk_files().folder_of(path);
  }
  std::string beside(const std::string& folder, const std::string& path) const override {
    return disk_files().beside(folder, path);
  }

 private:
  std::string text_;
};

Brief brief_of(const std::string& more, const BriefFlags& flags = {}) {
  return read_brief(WithBriefs(kHead + more), "brief.toml", flags);
}

std::string refused(const std::string& more, const BriefFlags& flags = {}) {
  try {
    brief_of(more, flags);
  } catch (const InputError& error) {
    return error.what();
  }
  ADD_FAILURE() << "taken: " << more;
  return {};
}

TEST(Brief, SaysItInUnits) {
  const Brief brief = brief_of(R"(complaints = ["harsh"]
[today]
spacers = 2
pressure = "80 psi"
rebound = 4
[demands]
sag = ["18 %", 0.25]
brake_dive = "4 cm"
[comfort]
hands = "70 %"
)");
  EXPECT_EQ(brief.today, (ForkSettings{2.0, 80.0 * kPsiStep, 8.0, 4.0}));  // 8: the fork's own
  ASSERT_EQ(brief.demands.size(), 2U);
  EXPECT_EQ(brief.demands[0].high, 0.25);
  EXPECT_EQ(brief.demands[1].high, 0.04);
  EXPECT_EQ(brief.hands, 0.7);
  EXPECT_FALSE(brief.usual);
  ASSERT_EQ(brief.complaints.size(), 1U);
  EXPECT_EQ(brief.complaints[0]->words, "harsh");
  // All scenes with the same settings, also the one whose own file sets other clicks.
  ASSERT_EQ(brief.scenes.size(), 2U);
  for (const plunge::Setup& scene : brief.scenes) EXPECT_EQ(settings_of(scene.fork), brief.today);
}

TEST(Brief, ASagStandsForThePressureThatHoldsIt) {
  const Brief brief = brief_of("[today]\nsag = \"33 mm\"\n");
  EXPECT_TRUE(brief.sag_held);
  EXPECT_NEAR(sag(assemble_ridden(brief.scenes.front())), 0.033, 1e-6);
  EXPECT_EQ(brief.scenes[1].fork.pressure, brief.today.pressure);
  EXPECT_TRUE(brief.usual);
}

TEST(Brief, FlagsGoBeforeTheFile) {
  BriefFlags flags;
  flags.pressure = "6 bar";
  flags.spacers = "1";
  flags.scenes = {"scenarios/scenes/roots.toml"};
  flags.complaints = {"little grip"};
  const Brief brief = brief_of("[today]\nsag = \"22 %\"\nspacers = 4\n", flags);
  EXPECT_DOUBLE_EQ(brief.today.pressure, 6e5);
  EXPECT_EQ(brief.today.spacers, 1.0);
  EXPECT_EQ(brief.scenes.size(), 1U);
  EXPECT_EQ(brief.complaints.size(), 1U);
}

TEST(Brief, FlagsAloneWillDo) {
  BriefFlags flags;
  flags.fork = "scenarios/forks/sorrel-120.toml";
  flags.rider = "scenarios/riders/wren.toml";
  flags.scenes = {"scenarios/scenes/square-edge.toml"};
  EXPECT_EQ(read_brief(disk_files(), "", flags).scenes.size(), 1U);
  flags.rider.clear();
  EXPECT_THROW(read_brief(disk_files(), "", flags), InputError);
}

TEST(Brief, WhatIsWrongComesWithItsPlaceAndRule) {
  const std::pair<const char*, const char*> cases[] = {
      {"[today]\npressure = 80\n", "brief.toml:8:12: today.pressure = 80: needs a pressure"},
      {"[today]\nspacers = 6\n", "brief.toml:8:11: fork.spacers = 6: must be"},
      {"[today]\npressure = \"151 psi\"\n", "brief.toml:8:12: fork.pressure = 151 psi: must be"},
      {"[today]\nrebound = 40\n", "brief.toml:8:11: fork.rebound.clicks = 40: must be"},
      {"[today]\nsag = \"22 %\"\npressure = \"80 psi\"\n", "brief.toml:8:7: today.sag"},
      {"[today]\nclicks = 3\n", "brief.toml:8:1: today.clicks = 3: is no known key"},
      {"[demands]\nsag = \"22 %\"\n", "brief.toml:8:7: demands.sag = \"22 %\": must be two"},
      {"[demands]\nsag = [\"25 %\", \"18 %\"]\n", "brief.toml:8:7: demands.sag: must rise"},
      {"[demands]\nhand_load = \"3 mm\"\n", "brief.toml:8:13: demands.hand_load"},
      {"[demands]\n", "brief.toml:7:1: demands: must demand something"},
      {"complaints = [\"harhs\"]\n", "did you mean \"harsh\"?"},
      {"chance = \"100 %\"\n", "brief.toml:7:10: chance = \"100 %\": must be 5 % to 99 %"},
      {"colour = \"red\"\n", "brief.toml:7:1: colour = \"red\": is no known key"},
  };
  for (const auto& [text, says] : cases) {
    const std::string message = refused(text);
    EXPECT_NE(message.find(says), std::string::npos) << text << "\n" << message;
  }
}

TEST(Brief, AFlagThatIsWrongIsNamed) {
  BriefFlags flags;
  flags.spacers = "many";
  EXPECT_EQ(refused("", flags).rfind("--spacers: many", 0), 0U) << refused("", flags);
  flags = {};
  flags.spacers = "9";
  EXPECT_EQ(refused("", flags).rfind("--spacers: fork.spacers = 9", 0), 0U) << refused("", flags);
  flags = {};
  flags.complaints = {"too red"};
  EXPECT_EQ(refused("", flags).rfind("--complaint: too red", 0), 0U) << refused("", flags);
}

TEST(Brief, TheForkMustHaveWhatIsTurned) {
  BriefFlags flags;
  flags.fork = "scenarios/forks/sorrel-120.toml";
  const std::string message = refused("[today]\ncompression = 3\n", flags);
  EXPECT_NE(message.find("brief.toml:8:15: fork.compression.clicks: nothing reads it"),
            std::string::npos)
      << message;
}

TEST(Brief, ItsPageNamesEveryDemandAndComplaint) {
  std::ifstream file("scenarios/brief.md");
  std::stringstream text;
  text << file.rdbuf();
  const std::string page = text.str();
  for (const DemandRow& row : demand_rows()) {
    const std::string line =
        "| `" + std::string(row.key) + "` | `" + std::string(row.metric) + "` |";
    EXPECT_NE(page.find(line), std::string::npos) << line;
  }
  for (const ComplaintRow& row : complaint_rows()) {
    const std::string line =
        "| `\"" + std::string(row.words) + "\"` | `" + std::string(row.metric) + "` |";
    EXPECT_NE(page.find(line), std::string::npos) << line;
  }
  // The example of the page is a brief; its files are those of the tree.
  const std::size_t begin = page.find("```toml\n") + 8;
  const std::string example = page.substr(begin, page.find("```\n", begin) - begin);
  std::string here = example;
  for (std::size_t at = here.find("\"../"); at != std::string::npos; at = here.find("\"../", at)) {
    here.replace(at, 4, "\"scenarios/");
  }
  EXPECT_EQ(read_brief(WithBriefs(here), "brief.toml").demands.size(), demand_rows().size());
}

}  // namespace
}  // namespace plunge
