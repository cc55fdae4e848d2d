#include "sim/disk/frames.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <unistd.h>

#include <string>
#include <thread>
#include <utility>

namespace plunge::frames_test {
namespace {

constexpr std::uint64_t kMost = std::uint64_t{1} << 30;

class Frames : public testing::Test {
 protected:
  void SetUp() override { ASSERT_EQ(::socketpair(AF_UNIX, SOCK_STREAM, 0, ends_), 0); }
  void TearDown() override {
    for (const int end : ends_) ::close(end);
  }
  void close_sender() { ::close(std::exchange(ends_[0], -1)); }

  int ends_[2] = {-1, -1};
  std::string bytes_;
  int file_ = -1;
};

TEST_F(Frames, AMessageLargerThanAnyBufferArrivesWhole) {
  std::string large(50'000'000, '\0');
  for (std::size_t i = 0; i < large.size(); ++i) large[i] = static_cast<char>(i * i >> 7);
  std::thread sender([&] {
    send_frame(ends_[0], large);
    send_frame(ends_[0], "");
  });
  EXPECT_EQ(receive_frame(ends_[1], bytes_, file_, kMost), FrameEnd::whole);
  EXPECT_TRUE(bytes_ == large);
  EXPECT_EQ(receive_frame(ends_[1], bytes_, file_, kMost), FrameEnd::whole);
  EXPECT_EQ(bytes_, "");
  sender.join();
}

TEST_F(Frames, AnOpenFileGoesAlong) {
  int pipe[2] = {-1, -1};
  ASSERT_EQ(::pipe(pipe), 0);
  ASSERT_TRUE(send_frame(ends_[0], "with", pipe[1]));
  ASSERT_TRUE(send_frame(ends_[0], "without"));
  ASSERT_EQ(receive_frame(ends_[1], bytes_, file_, kMost), FrameEnd::whole);
  ASSERT_GE(file_, 0);
  EXPECT_NE(file_, pipe[1]);
  ASSERT_EQ(::write(file_, "x", 1), 1);
  char got = 0;
  EXPECT_EQ(::read(pipe[0], &got, 1), 1);
  EXPECT_EQ(got, 'x');
  for (const int each : {file_, pipe[0], pipe[1]}) ::close(each);
  ASSERT_EQ(receive_frame(ends_[1], bytes_, file_, kMost), FrameEnd::whole);
  EXPECT_EQ(file_, -1);
}

TEST_F(Frames, SaysHowAMessageFailed) {
  EXPECT_EQ(receive_frame(ends_[1], bytes_, file_, kMost, 0.0), FrameEnd::late);
  send_frame(ends_[0], "too long");
  EXPECT_EQ(receive_frame(ends_[1], bytes_, file_, 7), FrameEnd::too_long);
  close_sender();
  std::string rest;
  EXPECT_EQ(receive_frame(ends_[1], rest, file_, 7), FrameEnd::too_long);  // eight bytes of text
  EXPECT_EQ(receive_frame(ends_[1], rest, file_, 7), FrameEnd::closed);
  EXPECT_FALSE(send_frame(ends_[1], "to nobody"));  // and no signal
}

}  // namespace
}  // namespace plunge::frames_test
