#include "sim/disk/file_kind.hpp"

#include <gtest/gtest.h>

#include "models/setup/fault.hpp"
#include "sim/text/build.hpp"
#include "sim/text/version.hpp"
#include "tests/scratch.hpp"

namespace plunge::file_kind_test {
namespace {

const FileKind kKind{"plunge made up", 3, 1, "the file of this test", "make it again"};

class FileKindOf : public testing::Test {
 protected:
  void write(const FileKind& kind) {
    Hdf5Writer writer;
    write_kind(writer, kind, "a title", "a command\nanother");
    writer.save(path_);
  }
  std::string refusal() {
    return complaint([&] { demand_kind(Hdf5Reader(path_), kKind); });
  }
  const ScratchDirectory directory_;
  const std::string path_ = directory_ / "a.nc";
};

TEST_F(FileKindOf, SaysWhatItIsAndWhoWroteItHow) {
  write(kKind);
  const Hdf5Reader reader(path_);
  const FileSaid said = demand_kind(reader, kKind);
  EXPECT_EQ(said.title, "a title");
  EXPECT_EQ(said.history, "a command\nanother");
  EXPECT_EQ(said.program_version, kProgramVersion);
  EXPECT_EQ(said.minor, 1);
  EXPECT_EQ(reader.text_attribute("/", "Conventions"), "CF-1.8");
  EXPECT_EQ(reader.text_attribute("/", "program_commit"), build_commit());
  EXPECT_EQ(reader.text_attribute("/", "program_compiler"), build_compiler());
}

TEST_F(FileKindOf, AnotherTypeOrMajorVersionIsRefusedWithWhatToDo) {
  FileKind other = kKind;
  other.minor = 7;
  write(other);
  EXPECT_EQ(refusal(), "");
  other.type = "plunge ride";
  write(other);
  EXPECT_EQ(refusal(), path_ +
                           ": file_type = plunge ride: must be \"plunge made up\": the file of "
                           "this test");
  other.type = kKind.type;
  other.major = 2;
  write(other);
  EXPECT_EQ(refusal(), path_ + ": was written by an older plunge (format 2.7): make it again");
  other.major = 4;
  write(other);
  EXPECT_EQ(refusal(), path_ + ": format_version = 4.7: must be 3.x: a newer plunge wrote it");
}

}  // namespace
}  // namespace plunge::file_kind_test
