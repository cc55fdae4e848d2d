// Messages between two processes over a local stream socket, each behind its length.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace plunge {

enum class FrameEnd { whole, closed, late, too_long };

// False where the other end is gone. descriptor: of an open file that goes along, or -1.
bool send_frame(int socket, std::string_view bytes, int descriptor = -1);

// The next message; `descriptor` becomes that of a file that came along, or -1.
// most: bytes from which a message is too long. seconds: how long to wait for it, counted only
// while this process runs, so that one that was stopped is not late; below 0: for ever.
FrameEnd receive_frame(int socket, std::string& bytes, int& descriptor, std::uint64_t most,
                       double seconds = -1.0);

}  // namespace plunge
