// How musl brings an angle to within pi/4 for its sine and cosine, in the version that wasi-libc
// has: where two quadrants tie, the musl of this machine takes the other one at times, and its
// cosine may then differ in the last place.
//
//   x = n pi/2 + y0 + y1,  pi/2 in three parts of 33 bits each and what is left behind them
//
// Method: Cody and Waite; constants and limits as in FreeBSD's msun, which musl has them from, from
// memory; model_test.py holds them. Past some 1e6 musl's own way through all digits of 2/pi is
// taken.
#include <bit>
#include <cmath>
#include <cstdint>

// From 24 bits at a time, the first of exponent `exponent`; musl's own.
extern "C" int __rem_pio2_large(double* x, double* y, int exponent, int parts, int precision);

namespace {

constexpr double kFirst = 1.57079632673412561417e+00;
constexpr double kFirstRest = 6.07710050650619224932e-11;
constexpr double kSecond = 6.07710050630396597660e-11;
constexpr double kSecondRest = 2.02226624879595063154e-21;
constexpr double kThird = 2.02226624871116645580e-21;
constexpr double kThirdRest = 8.47842766036889956997e-32;
constexpr double kQuadrants = 6.36619772367581382433e-01;  // 2/pi
constexpr double kToWhole = 1.5 / 2.220446049250313e-16;

std::uint32_t high_word(double x) {
  return static_cast<std::uint32_t>(std::bit_cast<std::uint64_t>(x) >> 32) & 0x7fffffffU;
}

int exponent(double x) { return static_cast<int>(high_word(x) >> 20); }

int few(double x, int n, double* y) {
  const double z = x - n * kFirst;
  y[0] = z - n * kFirstRest;
  y[1] = (z - y[0]) - n * kFirstRest;
  return n;
}

int many(double x, double* y) {
  const double n = x * kQuadrants + kToWhole - kToWhole;
  double r = x - n * kFirst;
  double w = n * kFirstRest;
  y[0] = r - w;
  const auto next = [&](double part, double rest) {
    const double before = r;
    w = n * part;
    r = before - w;
    w = n * rest - ((before - r) - w);
    y[0] = r - w;
  };
  if (exponent(x) - exponent(y[0]) > 16) {
    next(kSecond, kSecondRest);
    if (exponent(x) - exponent(y[0]) > 49) next(kThird, kThirdRest);
  }
  y[1] = (r - y[0]) - w;
  return static_cast<int>(n);
}

int very_many(double x, double* y) {
  constexpr int kBits = 24;
  constexpr int kBias = 1023;
  double parts[3];
  const int first = exponent(x) - kBias - (kBits - 1);
  double rest = std::ldexp(std::abs(x), -first);
  int count = 0;
  for (double& part : parts) {
    part = std::trunc(rest);
    rest = std::ldexp(rest - part, kBits);
    if (part != 0.0) count = static_cast<int>(&part - parts) + 1;
  }
  double sums[2];
  const int n = __rem_pio2_large(parts, sums, first, count, 1);
  const double sign = x < 0.0 ? -1.0 : 1.0;
  y[0] = sign * sums[0];
  y[1] = sign * sums[1];
  return x < 0.0 ? -n : n;
}

}  // namespace

// NOLINTNEXTLINE(bugprone-reserved-identifier): musl's own name.
extern "C" int __rem_pio2(double x, double* y) {
  const std::uint32_t size = high_word(x);
  if (size >= 0x413921fb) return very_many(x, y);
  const bool one_or_two = size <= 0x400f6a7a;     // to 5 pi/4
  const bool three_or_four = size <= 0x401c463b;  // to 9 pi/4
  // Near a whole quarter the parts of few() cancel.
  const bool near_whole =
      one_or_two ? (size & 0xfffffU) == 0x921fb : size == 0x4012d97c || size == 0x401921fb;
  if (!three_or_four || near_whole) return many(x, y);
  const int n = size <= 0x4002d97c ? 1 : one_or_two ? 2 : size <= 0x4015fdbc ? 3 : 4;
  return few(x, x < 0.0 ? -n : n, y);
}
