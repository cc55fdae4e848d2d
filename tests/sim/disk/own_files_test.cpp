#include "sim/disk/own_files.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"

namespace plunge::own_files_test {
namespace {

// A PNG of one grey pixel, a drawing, a document and a page of nothing.
constexpr char kPng[] =
    "\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\0\0\0\0\x3a\x7e\x9b\x55"
    "\0\0\0\nIDATx\x9c\x63\x68\0\0\0\x82\0\x81\x77\xcd\x72\xb6\0\0\0\0IEND\xae\x42\x60\x82";
const std::string kPictures[] = {
    {kPng, sizeof kPng - 1},
    "<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\"/>\n",
    "%PDF-1.5\n1 0 obj\n<<>>\nendobj\nxref\n0 1\ntrailer\n<< /Size 1 >>\nstartxref\n31\n%%EOF\n",
    "<!doctype html>\n<title>nothing</title>\n",
};

bool is_own(const std::string& bytes) {
  const ScratchDirectory directory;
  std::ofstream(directory / "a", std::ios::binary) << bytes;
  return is_own_file(directory / "a");
}

TEST(OwnFiles, APictureIsOwnOnceItIsMarkedAndUntilAnyByteChanges) {
  for (const std::string& picture : kPictures) {
    EXPECT_FALSE(is_own(picture)) << picture;
    const std::string marked = marked_picture(picture);
    EXPECT_TRUE(is_own(marked)) << marked;
    EXPECT_FALSE(is_own(marked + "\n"));
    for (std::size_t i = 0; i < marked.size(); ++i) {
      std::string changed = marked;
      changed[i] = static_cast<char>(changed[i] ^ 1);
      EXPECT_FALSE(is_own(changed)) << i;
      EXPECT_FALSE(i > 0 && is_own(marked.substr(0, i))) << i;
    }
  }
}

TEST(OwnFiles, AMarkStandsWhereOtherProgramsPassItOver) {
  const std::string& png = kPictures[0];
  const std::string marked = marked_picture(png);
  EXPECT_EQ(marked.substr(0, 33), png.substr(0, 33));  // signature and header
  EXPECT_EQ(marked.substr(37, 4), "tEXt");
  EXPECT_TRUE(marked.ends_with(png.substr(33)));
  EXPECT_EQ(marked_picture(kPictures[1]).find("?>\n<!-- plunge plot "), 19u);
  const std::string pdf = marked_picture(kPictures[2]);
  EXPECT_NE(pdf.find(">>\n%plunge plot "), std::string::npos);
  EXPECT_TRUE(
      pdf.ends_with("\nstartxref\n31\n%%EOF\n"));  // the table that it points to stands before
}

// Python's zlib knows the check sum that PNG asks for.
TEST(OwnFiles, TheChunksOfAMarkedPngHaveTheirCheckSums) {
  const ScratchDirectory directory;
  std::ofstream(directory / "a.png", std::ios::binary) << marked_picture(kPictures[0]);
  const std::string script =
      "import struct,sys,zlib\nb=open(sys.argv[1],'rb').read()\nat=8\nwhile at<len(b):\n"
      " n,=struct.unpack('>I',b[at:at+4])\n c,=struct.unpack('>I',b[at+8+n:at+12+n])\n"
      " print(b[at+4:at+8].decode(), zlib.crc32(b[at+4:at+8+n])==c)\n at+=12+n\n";
  EXPECT_EQ(output_of(fmt::format("python3 -c \"{}\" {}", script, directory / "a.png")),
            "IHDR True\ntEXt True\nIDAT True\nIEND True\n");
}

TEST(OwnFiles, AnHdf5FileIsOwnByItsSeal) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.h5";
  Hdf5Writer writer;
  writer.attributes("/", {{"title", "a"}});
  writer.save(path);
  const std::string whole = bytes_of(path);
  EXPECT_TRUE(is_own(whole));
  EXPECT_FALSE(is_own(whole.substr(0, whole.find("plunge check sum"))));
  EXPECT_FALSE(is_own(whole.substr(0, whole.size() - 1)));
  EXPECT_FALSE(is_own(whole.substr(1)));
}

TEST(OwnFiles, AnEmptyFileIsNobodysAndAFolderIsNone) {
  EXPECT_TRUE(is_own(""));
  EXPECT_FALSE(is_own("a text"));
  EXPECT_FALSE(is_own("a"));
  const ScratchDirectory directory;
  EXPECT_FALSE(is_own_file(directory.path()));
  EXPECT_FALSE(is_own_file(directory / "not there"));
}

TEST(OwnFiles, OtherBytesBearNoMark) { EXPECT_EQ(marked_picture("GIF89a"), "GIF89a"); }

}  // namespace
}  // namespace plunge::own_files_test
