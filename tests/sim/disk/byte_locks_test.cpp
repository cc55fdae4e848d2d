#include "sim/disk/byte_locks.hpp"

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>

#include "tests/scratch.hpp"

namespace plunge::byte_locks_test {
namespace {

// Two objects on one file are as far apart as two processes.
TEST(ByteLocks, AByteHasOneHolder) {
  const ScratchDirectory directory;
  ByteLocks one(directory / "locks", ByteLocks::For::taking);
  ByteLocks other(directory / "locks", ByteLocks::For::taking);
  const std::uint64_t far = std::uint64_t{1} << 40;
  EXPECT_TRUE(one.take(7));
  EXPECT_TRUE(other.take(8));
  EXPECT_FALSE(other.take(7));
  EXPECT_TRUE(one.take(far));
  EXPECT_FALSE(other.take(far));
  EXPECT_TRUE(other.taken(7));
  EXPECT_FALSE(one.taken(7));  // one's own
  one.give(7);
  EXPECT_TRUE(other.take(7));
  EXPECT_TRUE(one.works());
}

TEST(ByteLocks, ALinkIsNoFileOfLocks) {
  const ScratchDirectory directory;
  std::filesystem::create_symlink("elsewhere", directory / "locks");
  EXPECT_NE(complaint([&] { ByteLocks(directory / "locks", ByteLocks::For::taking); }), "");
  EXPECT_EQ(directory.entries(), 1u);  // nothing is made where it leads
}

TEST(ByteLocks, WhoOnlyLooksSeesThem) {
  const ScratchDirectory directory;
  const ByteLocks nothing(directory / "locks", ByteLocks::For::looking);
  EXPECT_FALSE(nothing.taken(3));
  ByteLocks one(directory / "locks", ByteLocks::For::taking);
  one.take(3);
  const ByteLocks looking(directory / "locks", ByteLocks::For::looking);
  EXPECT_TRUE(looking.taken(3));
  EXPECT_FALSE(looking.taken(4));
}

TEST(ByteLocks, AKilledHolderHoldsNothing) {
  const ScratchDirectory directory;
  int ready[2];
  ASSERT_EQ(::pipe(ready), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    ByteLocks locks(directory / "locks", ByteLocks::For::taking);
    const char word = locks.take(1) ? 'y' : 'n';
    if (::write(ready[1], &word, 1) == 1) ::pause();
    ::_exit(0);
  }
  char word = ' ';
  ASSERT_EQ(::read(ready[0], &word, 1), 1);
  ByteLocks locks(directory / "locks", ByteLocks::For::taking);
  EXPECT_EQ(word, 'y');
  EXPECT_FALSE(locks.take(1));
  ::kill(child, SIGKILL);
  ::waitpid(child, nullptr, 0);
  EXPECT_TRUE(locks.take(1));
}

}  // namespace
}  // namespace plunge::byte_locks_test
