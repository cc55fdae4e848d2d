#include "sim/disk/reading_process.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_lock.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"
#include "tests/small_hdf5.hpp"

namespace plunge::reading_process_test {
namespace {

namespace fs = std::filesystem;

// Children of this process, also those that ended and were not waited for.
std::vector<int> children() {
  std::vector<int> pids;
  for (const auto& task : fs::directory_iterator("/proc/self/task")) {
    std::ifstream file(task.path() / "children");
    for (int pid = 0; file >> pid;) pids.push_back(pid);
  }
  return pids;
}

class ReadingProcess : public testing::Test {
 protected:
  void SetUp() override { small_file().save(path()); }
  std::string path() const { return directory_ / "a.h5"; }

  // A reader in a process of its own, and that process.
  std::pair<std::unique_ptr<Hdf5Reader>, int> reader() const {
    auto made = std::make_unique<Hdf5Reader>(path(), Seal::not_needed);
    // The one that holds the file open.
    for (const int pid : children()) {
      std::error_code error;
      for (const auto& each :
           fs::directory_iterator(fs::path("/proc") / std::to_string(pid) / "fd", error)) {
        if (fs::read_symlink(each.path(), error) == fs::canonical(path()))
          return {std::move(made), pid};
      }
    }
    return {std::move(made), -1};
  }

  const ScratchDirectory directory_;
};

// Of bytes whose check sum does not vouch for them; else the machine is to blame.
TEST_F(ReadingProcess, ADeathOfItIsAMessageThatNamesTheFile) {
  const std::pair<int, const char*> ends[] = {
      {SIGSEGV, "the HDF5 library crashed on it"},
      {SIGABRT, "the HDF5 library crashed on it"},
      {SIGXCPU, "the HDF5 library took too long over it"},
      {SIGKILL, "the process that read it was killed"},
  };
  const std::string sealed = bytes_of(path());
  for (const bool trusted : {true, false}) {
    if (!trusted) fs::resize_file(path(), sealed.size() - 1);
    for (const auto& [signal, words] : ends) {
      const auto [reader, pid] = this->reader();
      ASSERT_GT(pid, 0);
      ASSERT_EQ(::kill(pid, signal), 0);
      const std::string expected =
          path() + ": could not be read: " + words +
          (trusted ? "; its check sum fits, so the machine is to blame, such as for too little "
                     "memory"
                   : "");
      EXPECT_EQ(complaint([&, &reader = reader] { reader->numbers("/travel"); }), expected);
      // And it stays so.
      if (trusted) {
        EXPECT_THROW(reader->texts("/label"), RunError);
      } else {
        EXPECT_THROW(reader->texts("/label"), InputError);
      }
      EXPECT_EQ(::kill(pid, 0), -1) << "it was not waited for";
      EXPECT_EQ(Hdf5Reader(path(), Seal::not_needed).numbers("/travel").size(), 6u);
    }
  }
}

TEST_F(ReadingProcess, TooFewOpenFilesAreSaid) {
  const std::string said = directory_ / "said";
  const pid_t child = ::fork();
  if (child == 0) {
    rlimit few = {};
    ::getrlimit(RLIMIT_NOFILE, &few);
    few.rlim_cur = 24;
    ::setrlimit(RLIMIT_NOFILE, &few);
    std::ofstream(said) << complaint([&] { const Hdf5Reader reader(path()); });
    ::_exit(0);
  }
  ::waitpid(child, nullptr, 0);
  EXPECT_EQ(bytes_of(said),
            "no process to read HDF5: too few open files are allowed (see ulimit -n)");
}

// What a terminal and a batch system send to all processes of a job.
TEST_F(ReadingProcess, InterruptsAreNotForIt) {
  const auto [reader, pid] = this->reader();
  ASSERT_GT(pid, 0);
  for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGUSR1}) ::kill(pid, signal);
  EXPECT_EQ(reader->numbers("/travel").size(), 6u);
}

TEST_F(ReadingProcess, HoldsTheFileAndNothingElseOfThisProcess) {
  const std::string secret = directory_ / "secret";
  std::ofstream(secret) << "secret";
  const int kept = ::open(secret.c_str(), O_RDONLY);  // without FD_CLOEXEC
  const auto [reader, pid] = this->reader();
  ASSERT_GT(pid, 0);
  std::size_t count = 0;
  for (const auto& each : fs::directory_iterator(fs::path("/proc") / std::to_string(pid) / "fd")) {
    EXPECT_NE(fs::read_symlink(each.path()).string(), secret);
    ++count;
  }
  EXPECT_LE(count, 7u);
  ::close(kept);
  std::ifstream limits(fs::path("/proc") / std::to_string(pid) / "limits");
  const std::string text{std::istreambuf_iterator<char>(limits), {}};
  EXPECT_NE(text.find("Max file size             0                    0"), std::string::npos)
      << text;
  EXPECT_NE(text.find("Max core file size        0                    0"), std::string::npos);
  EXPECT_NE(text.find("Max open files            7                    7"), std::string::npos);
}

TEST_F(ReadingProcess, OneServesManyFilesAndNoDescriptorIsLeft) {
  { const Hdf5Reader first(path()); }
  const auto held = [] {
    return std::distance(fs::directory_iterator("/proc/self/fd"), fs::directory_iterator());
  };
  const auto before = held();
  const std::vector<int> serving = children();
  for (int k = 0; k < 50; ++k) EXPECT_EQ(Hdf5Reader(path()).numbers("/travel").size(), 6u);
  EXPECT_EQ(children(), serving);
  EXPECT_EQ(held(), before);
  // One that read what is not sealed reads nothing after it.
  for (int k = 0; k < 5; ++k) Hdf5Reader(path(), Seal::not_needed).numbers("/travel");
  EXPECT_LE(children().size(), serving.size());
  EXPECT_LE(held(), before);
}

TEST_F(ReadingProcess, ThreadsReadAtOnceWhileOthersWrite) {
  std::vector<std::string> wrong(4);
  std::vector<std::thread> threads;
  for (std::size_t k = 0; k < wrong.size(); ++k) {
    threads.emplace_back([&, k] {
      const std::vector<double> values(1000 + k, static_cast<double>(k));
      for (int turn = 0; turn < 25 && wrong[k].empty(); ++turn) {
        const std::string own = directory_ / (std::to_string(k) + ".h5");
        wrong[k] = complaint([&] {
          {
            const std::lock_guard lock(hdf5_lock());
            Hdf5Writer writer;
            writer.dimension("/n", values, {});
            writer.save(own);
          }
          if (Hdf5Reader(own).numbers("/n") != values) wrong[k] = "other numbers";
        });
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  for (const std::string& words : wrong) EXPECT_EQ(words, "");
}

TEST_F(ReadingProcess, ItEndsWithTheProcessThatItReadsForHoweverThatEnds) {
  for (const bool killed : {false, true}) {
    int line[2] = {-1, -1};
    ASSERT_EQ(::pipe(line), 0);
    const pid_t parent = ::fork();
    if (parent == 0) {
      const auto [reader, pid] = this->reader();
      if (::write(line[1], &pid, sizeof pid) != sizeof pid) ::_exit(1);
      if (!killed) ::_exit(0);
      for (;;) ::pause();
    }
    int pid = -1;
    ASSERT_EQ(::read(line[0], &pid, sizeof pid), static_cast<ssize_t>(sizeof pid));
    ASSERT_GT(pid, 0);
    if (killed) ::kill(parent, SIGKILL);
    ::waitpid(parent, nullptr, 0);
    const auto there = [&] {
      std::ifstream status(fs::path("/proc") / std::to_string(pid) / "stat");
      std::string number, name, state;
      return status >> number >> name >> state &&
             state != "Z";  // whose own parent is no process here
    };
    while (there()) std::this_thread::sleep_for(std::chrono::milliseconds(5));
    ::close(line[0]);
    ::close(line[1]);
  }
}

TEST_F(ReadingProcess, AProgramThatIgnoresItsChildrenReadsAsWell) {
  struct sigaction ignore = {}, before = {};
  ignore.sa_handler = SIG_IGN;
  ::sigaction(SIGCHLD, &ignore, &before);
  EXPECT_EQ(Hdf5Reader(path(), Seal::not_needed).numbers("/travel").size(), 6u);
  const auto [reader, pid] = this->reader();
  ::kill(pid, SIGSEGV);
  EXPECT_THROW(reader->numbers("/travel"), RunError);
  ::sigaction(SIGCHLD, &before, nullptr);
}

}  // namespace
}  // namespace plunge::reading_process_test
