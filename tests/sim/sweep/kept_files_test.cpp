#include "sim/sweep/kept_files.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "models/setup/fault.hpp"
#include "tests/scratch.hpp"

namespace plunge::kept_files_test {
namespace {

namespace fs = std::filesystem;

class Kept : public testing::Test {
 protected:
  void write_index(const std::string& lines) const {
    fs::create_directories(directory_ / "files");
    std::ofstream(directory_ / "files/index.txt") << "plunge kept files 1\n" << lines;
  }
  const std::string folder() const { return directory_.path().string(); }
  const ScratchDirectory directory_;
};

TEST_F(Kept, TextsComeBackByThePathsThatTheyWereReadBy) {
  const ReadTexts texts = {
      {"plans/a b%.toml", "the plan\n"},  {"/far/scene.toml", "one"}, {"../scene.toml", "two"},
      {"odd/\xc3\xa9\n\t.toml", "three"}, {"/.hidden", ""},           {"index.txt", "an index"}};
  write_kept_files(folder(), texts);
  const KeptFiles kept(folder());
  EXPECT_EQ(kept.plan(), "plans/a b%.toml");
  for (const auto& [path, text] : texts) {
    EXPECT_TRUE(kept.has(path)) << path;
    EXPECT_EQ(kept.read(path), text) << path;
  }
  EXPECT_FALSE(kept.has("scene.toml"));
  EXPECT_EQ(complaint([&] { kept.read("scene.toml"); }),
            "scene.toml: is not among the files that the sweep keeps");
}

// Whatever the paths were, nothing stands but beside the index.
TEST_F(Kept, NothingIsWrittenOutsideItsFolder) {
  write_kept_files(folder(),
                   {{"../../../plan.toml", "a"}, {"/etc/..", "b"}, {"..", "c"}, {"x/", "d"}});
  EXPECT_EQ(directory_.entries(), 1u);
  std::size_t files = 0;
  for (const auto& entry : fs::directory_iterator(directory_ / "files")) {
    EXPECT_TRUE(entry.is_regular_file());
    EXPECT_NE(entry.path().filename().string().front(), '.');
    ++files;
  }
  EXPECT_EQ(files, 5u);
  EXPECT_EQ(KeptFiles(folder()).read(".."), "c");
}

TEST_F(Kept, AnIndexThatLeadsOutOfTheFolderIsRefused) {
  std::ofstream(directory_ / "secret.toml") << "not yours";
  for (const char* name : {"../secret.toml", "..", ".", "", "a/b", "/etc/passwd", ".hidden"}) {
    write_index(std::string(name) + "\tplan.toml\n");
    const std::string said = complaint([&] { KeptFiles kept(folder()); });
    EXPECT_NE(said.find("index.txt:2:1: "), std::string::npos) << said;
    EXPECT_NE(said.find("must begin with the plain name"), std::string::npos) << said;
  }
}

TEST_F(Kept, LinksAreNotFollowed) {
  write_kept_files(folder(), {{"plan.toml", "mine"}});
  std::ofstream(directory_ / "other.toml") << "not mine";
  fs::remove(directory_ / "files/plan.toml");
  fs::create_symlink("../other.toml", directory_ / "files/plan.toml");
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("plan.toml: is a link"),
            std::string::npos);
  fs::rename(directory_ / "files", directory_ / "elsewhere");
  fs::create_symlink("elsewhere", directory_ / "files");
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("files: is a link"),
            std::string::npos);
}

TEST_F(Kept, ADamagedIndexIsRefusedWithItsLine) {
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("does not exist"), std::string::npos);
  write_index("");
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("the file is damaged"),
            std::string::npos);
  write_index("plan.toml\n");
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("must have a tab and a path"),
            std::string::npos);
  write_index("plan.toml\tplan.toml\n");
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("plan.toml: does not exist"),
            std::string::npos);
  std::ofstream(directory_ / "files/index.txt") << "plunge kept files 9\n";
  EXPECT_NE(complaint([&] { KeptFiles kept(folder()); }).find("must be \"plunge kept files 1\""),
            std::string::npos);
}

TEST(NotedFiles, EachTextIsNotedOnceInTheOrderOfReading) {
  MemoryFiles files;
  files.put("a", "1");
  files.put("b", "2");
  const NotedFiles noted(files);
  for (const char* path : {"b", "a", "b"}) EXPECT_EQ(noted.read(path), files.read(path));
  EXPECT_EQ(noted.texts(), (ReadTexts{{"b", "2"}, {"a", "1"}}));
  EXPECT_THROW(noted.read("c"), InputError);
  EXPECT_TRUE(noted.has("a"));
}

}  // namespace
}  // namespace plunge::kept_files_test
