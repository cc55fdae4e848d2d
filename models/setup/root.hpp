// A root of a continuous function between two points of opposite sign.
//
// The only file that includes Boost.Math's root finder (Alefeld, Potra & Shi 1995, ACM Trans.
// Math. Softw. 21, algorithm 748): safeguarded, about three to seven evaluations when f is smooth.
#pragma once

#include <boost/math/tools/toms748_solve.hpp>
#include <cstdint>
#include <utility>

namespace plunge {

// f(a) = fa and f(b) = fb must not have the same sign. Narrows the bracket to `width` and returns
// its far end, where f has the sign of fb (or is 0), so that what happens at the root has happened;
// f may jump there.
template <class F>
double find_root(F&& f, double a, double b, double fa, double fb, double width) {
  if (fa == 0.0) return a;
  if (fb == 0.0) return b;
  std::uintmax_t most = 200;
  const auto narrow = [&](double low, double high) { return high - low <= width; };
  return boost::math::tools::toms748_solve(f, a, b, fa, fb, narrow, most).second;
}

}  // namespace plunge
