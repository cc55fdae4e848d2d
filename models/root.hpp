// A root of a continuous function between two points of opposite sign.
//
// The only file that includes Boost.Math's root finder (Alefeld, Potra & Shi 1995, ACM Trans.
// Math. Softw. 21, algorithm 748): safeguarded, about three to seven evaluations when f is smooth.
#pragma once

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <utility>

namespace plunge {

// f(a) = fa and f(b) = fb must not have the same sign. Stops when the bracket is narrower than
// `width`, and returns its end at which |f| is smaller.
template <class F>
double find_root(F&& f, double a, double b, double fa, double fb, double width) {
  if (fa == 0.0) return a;
  if (fb == 0.0) return b;
  std::uintmax_t most = 100;
  double best = std::abs(fa) < std::abs(fb) ? a : b;
  double least = std::min(std::abs(fa), std::abs(fb));
  const auto watched = [&](double t) {
    const double value = f(t);
    if (std::abs(value) < least) {
      least = std::abs(value);
      best = t;
    }
    return value;
  };
  const auto narrow = [&](double low, double high) { return high - low <= width; };
  boost::math::tools::toms748_solve(watched, a, b, fa, fb, narrow, most);
  return best;
}

}  // namespace plunge
