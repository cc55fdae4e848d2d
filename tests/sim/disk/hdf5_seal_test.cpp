#include "sim/disk/hdf5_seal.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include <fstream>
#include <string>

#include "models/setup/fault.hpp"
#include "sim/disk/check_sum.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "tests/scratch.hpp"
#include "tests/small_hdf5.hpp"

namespace plunge::hdf5_seal_test {
namespace {

TEST(Hdf5Seal, AFileCutShortAnywhereIsRefusedInSilence) {
  const ScratchDirectory directory;
  small_file().save(directory / "whole.h5");
  const std::string whole = bytes_of(directory / "whole.h5");
  const std::string cut = directory / "cut.h5";
  testing::internal::CaptureStderr();
  for (std::size_t size = 0; size < whole.size(); size += 11) {
    std::ofstream(cut, std::ios::binary).write(whole.data(), static_cast<std::streamsize>(size));
    EXPECT_THROW(Hdf5Reader reader(cut), InputError) << size << " bytes of " << whole.size();
  }
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
  std::ofstream(cut, std::ios::binary)
      .write(whole.data(), static_cast<std::streamsize>(whole.size() - 1));
  const std::string message = complaint([&] { Hdf5Reader reader(cut); });
  EXPECT_EQ(message.rfind(cut + ": is damaged or cut short: ", 0), 0u) << message;
}

TEST(Hdf5Seal, ItIsTheLastLineOfTheFile) {
  const ScratchDirectory directory;
  small_file().save(directory / "whole.h5");
  const std::string whole = bytes_of(directory / "whole.h5");
  const std::string seal = seal_of(RegularFile(directory / "whole.h5"));
  EXPECT_EQ(seal.rfind("plunge check sum 2 ", 0), 0u) << seal;
  EXPECT_EQ(whole.substr(whole.size() - seal.size() - 1), seal + "\n");
  const std::string without = directory / "without.h5";
  std::ofstream(without, std::ios::binary) << whole.substr(0, whole.size() - seal.size() - 1);
  EXPECT_EQ(seal_of(RegularFile(without)), "");
}

TEST(Hdf5Seal, AnyDamagedByteIsNoticed) {
  const ScratchDirectory directory;
  small_file().save(directory / "whole.h5");
  const std::string whole = bytes_of(directory / "whole.h5");
  const std::string path = directory / "damaged.h5";
  for (std::size_t i = 0; i < whole.size(); i += 13) {
    std::string damaged = whole;
    damaged[i] = static_cast<char>(damaged[i] ^ 1);
    std::ofstream(path, std::ios::binary) << damaged;
    EXPECT_THROW(Hdf5Reader reader(path), InputError) << "byte " << i;
  }
}

// As files of before are sealed: the FNV-1a of what comes before the seal.
TEST(Hdf5Seal, AnOlderSealIsCheckedToo) {
  const ScratchDirectory directory;
  small_file().save(directory / "new.h5");
  const std::string whole = bytes_of(directory / "new.h5");
  const std::string part = whole.substr(0, whole.rfind("plunge check sum "));
  const std::string path = directory / "old.h5";
  const std::string old = part + fmt::format("plunge check sum {:016x}\n", check_sum(part));
  std::ofstream(path, std::ios::binary) << old;
  EXPECT_TRUE(check_seal(RegularFile(path)));
  for (std::size_t i = 0; i < old.size(); i += 101) {
    std::string damaged = old;
    damaged[i] = static_cast<char>(damaged[i] ^ 1);
    std::ofstream(path, std::ios::binary) << damaged;
    EXPECT_THROW(Hdf5Reader reader(path), InputError) << "byte " << i;
  }
}

TEST(Hdf5Seal, BytesPutBeforeTheSealAreNoticed) {
  const ScratchDirectory directory;
  small_file().save(directory / "whole.h5");
  std::string bytes = bytes_of(directory / "whole.h5");
  bytes.insert(bytes.rfind("plunge check sum "), 4, '\0');  // zeros add nothing to the sum
  std::ofstream(directory / "longer.h5", std::ios::binary) << bytes;
  EXPECT_THROW(check_seal(RegularFile(directory / "longer.h5")), InputError);
}

}  // namespace
}  // namespace plunge::hdf5_seal_test
