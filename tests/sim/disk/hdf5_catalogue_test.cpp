#include "sim/disk/hdf5_catalogue.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <stdexcept>
#include <string>

namespace plunge::hdf5_catalogue_test {
namespace {

Hdf5Catalogue some_catalogue() {
  return {{"/", Hdf5Kind::group, {}, {{"title", Hdf5Kind::text, "naïve\n", {}}}},
          {"/travel",
           Hdf5Kind::real,
           {2, 3},
           {{"flag_values", Hdf5Kind::whole, "", {-1, std::numeric_limits<std::int64_t>::max()}}}}};
}

TEST(Hdf5Catalogue, ArrivesAsItWasPacked) {
  const Hdf5Catalogue got = unpacked_catalogue(packed(some_catalogue()));
  ASSERT_EQ(got.size(), 2u);
  EXPECT_EQ(got[0].path, "/");
  EXPECT_EQ(got[0].kind, Hdf5Kind::group);
  EXPECT_EQ(got[0].attributes.at(0).name, "title");
  EXPECT_EQ(got[0].attributes[0].text, "naïve\n");
  EXPECT_EQ(got[1].shape, (std::vector<std::uint64_t>{2, 3}));
  EXPECT_EQ(count_of(got[1].shape), 6u);
  EXPECT_EQ(got[1].attributes.at(0).wholes,
            (std::vector<std::int64_t>{-1, std::numeric_limits<std::int64_t>::max()}));
}

// Bytes as a process that was broken into might send them.
TEST(Hdf5Catalogue, ADamagedMessageIsRefusedAndAsksForNoMemory) {
  const std::string whole = packed(some_catalogue());
  for (std::size_t size = 0; size < whole.size(); ++size) {
    EXPECT_THROW(unpacked_catalogue(whole.substr(0, size)), std::length_error) << size;
  }
  EXPECT_THROW(unpacked_catalogue(whole + '\0'), std::length_error);
  std::size_t refused = 0;
  for (std::size_t at = 0; at + 8 <= whole.size(); ++at) {
    std::string other = whole;
    other.replace(at, 8, 8, '\xff');
    try {
      unpacked_catalogue(other);
    } catch (const std::length_error&) {
      ++refused;
    }
  }
  EXPECT_GT(refused, whole.size() / 2);
}

}  // namespace
}  // namespace plunge::hdf5_catalogue_test
