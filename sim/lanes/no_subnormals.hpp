// Takes floats too small for their full digits, under 1e-38, for zero while it lives: some
// processors need a hundred times as long for them. The mode is the thread's; where the compiler
// has no name for it, nothing changes but the time.
#pragma once

#if defined(__SSE2__)
#include <xmmintrin.h>
#endif

namespace plunge {

class NoSubnormals {
 public:
#if defined(__SSE2__)
  NoSubnormals() : before_(_mm_getcsr()) { _mm_setcsr(before_ | kFlushResults | kTakeForZero); }
  ~NoSubnormals() { _mm_setcsr(before_); }
#else
  NoSubnormals() = default;
#endif
  NoSubnormals(const NoSubnormals&) = delete;
  NoSubnormals& operator=(const NoSubnormals&) = delete;

#if defined(__SSE2__)
 private:
  static constexpr unsigned kFlushResults = 1U << 15U;
  static constexpr unsigned kTakeForZero = 1U << 6U;
  unsigned before_;
#endif
};

}  // namespace plunge
