#include "sim/disk/output_gate.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <algorithm>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_files.hpp"
#include "tests/scratch.hpp"

namespace plunge::output_gate_test {
namespace {

namespace fs = std::filesystem;

class OutputGateTest : public testing::Test {
 protected:
  OutputGateTest() {
    std::ofstream(directory_ / "scene") << "a scene";
    fs::create_symlink("scene", directory_ / "link");
    fs::create_hard_link(directory_ / "scene", directory_ / "twin");
    fs::create_directory(directory_ / "folder");
    fs::create_directory_symlink("folder", directory_ / "way");
    std::ofstream(directory_ / "folder/part") << "a part";
  }

  std::string path(const std::string& name) { return directory_ / name; }

  std::string refused(const OutputGate& gate, bool replace = true) {
    const std::size_t before = directory_.entries();
    EXPECT_THROW(gate.open(replace), InputError);
    EXPECT_EQ(directory_.entries(), before);
    return complaint([&] { gate.open(replace); });
  }

  const ScratchDirectory directory_;
};

TEST_F(OutputGateTest, AnInputIsRefusedByWhateverNameAndEvenWhereFilesMayBeReplaced) {
  for (const char* name : {"scene", "link", "twin", "./scene", "folder/../scene", "way/../scene"}) {
    OutputGate gate;
    gate.reads(path("scene"));
    gate.writes("--output", path(name));
    const std::string said = refused(gate);
    EXPECT_NE(said.find("a file that is read here: name another"), std::string::npos) << said;
    EXPECT_TRUE(said.starts_with("--output = " + path(name) + ": is ")) << said;
  }
  EXPECT_EQ(bytes_of(path("scene")), "a scene");
  OutputGate gate;
  gate.reads(path("scene"));
  gate.writes("--output", path("other"));
  gate.open(true);  // else all of the above would say nothing
}

TEST_F(OutputGateTest, WhatIsInAFolderThatIsReadIsAnInput) {
  fs::create_hard_link(path("folder/part"), path("outside"));
  for (const char* name : {"folder/part", "way/part", "outside"}) {
    OutputGate gate;
    gate.reads_folder(path("way/"));
    gate.writes("--output", path(name));
    EXPECT_NE(refused(gate).find("is read here"), std::string::npos) << name;
  }
  EXPECT_EQ(bytes_of(path("folder/part")), "a part");
}

TEST_F(OutputGateTest, TwoOutputsAreTwoFiles) {
  std::ofstream(path("empty")) << "";
  fs::create_symlink("empty", path("to-empty"));
  const std::pair<const char*, const char*> rows[] = {{"new", "./new"},
                                                      {"folder/new", "way/new"},
                                                      {"no/new", "no/x/../new"},
                                                      {"empty", "to-empty"}};
  for (const auto& [first, second] : rows) {
    OutputGate gate;
    gate.writes("--output", path(first));
    gate.writes("--plot", path(second));
    EXPECT_EQ(refused(gate), "--plot = " + path(second) + ": must not be the file of --output");
  }
  OutputGate gate;
  gate.writes("--output", path("new"));
  gate.writes("--plot", "");  // nobody wants it
  gate.open(false);
}

TEST_F(OutputGateTest, AForeignFileIsReplacedOnlyWhereThatIsAsked) {
  OutputGate gate;
  gate.writes("--output", path("twin"));
  EXPECT_EQ(refused(gate, false),
            "--output = " + path("twin") +
                ": is there, and plunge did not write it: name another file, or replace it with "
                "--replace");
  gate.open(true);
  EXPECT_EQ(bytes_of(path("twin")), "a scene");  // opened, not yet written
}

TEST_F(OutputGateTest, FoldersAreMadeAndWhatAKilledProcessLeftIsRemoved) {
  std::ofstream(path("folder/.plunge-1-0.part")) << "left";
  OutputGate gate;
  gate.writes("--output", path("a/b/c.h5"));
  gate.writes("--plot", path("way/c.png"));
  gate.open(false);
  EXPECT_TRUE(fs::is_directory(path("a/b")));
  EXPECT_TRUE(fs::is_empty(path("a/b")));
  EXPECT_FALSE(fs::exists(path("folder/.plunge-1-0.part")));
  EXPECT_TRUE(fs::exists(path("folder/part")));
}

TEST_F(OutputGateTest, NoFolderIsMadeForACommandThatIsRefused) {
  ::chmod(path("folder/part").c_str(), 0444);
  OutputGate gate;
  gate.writes("--output", path("a/b/c.h5"));
  gate.writes("--plot", path("folder/part"));
  EXPECT_THROW(gate.open(true), RunError);
  EXPECT_FALSE(fs::exists(path("a")));
}

// The record from which a command knows its inputs.
TEST_F(OutputGateTest, EveryTextThatWasReadIsKnown) {
  disk_files().read(path("scene"));
  disk_files().read(path("scene"));
  const std::vector<std::string> read = files_read();
  EXPECT_EQ(std::ranges::count(read, path("scene")), 1);
  EXPECT_EQ(std::ranges::count(read, path("folder/part")), 0);
}

}  // namespace
}  // namespace plunge::output_gate_test
