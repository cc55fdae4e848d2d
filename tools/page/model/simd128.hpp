// A scalar that is four: what the laws are instantiated with in the lanes of a page, on
// WebAssembly's registers of 128 bits, as Pack (sim/lanes/lane_pack.hpp) is elsewhere.
//
//   e^x = 2^n e^r,  n = round(x/ln 2),  r = x - n ln 2,  |r| <= ln 2/2
//   e^r - 1 - r = r^2 P(r), P of degree 5                      within 1 in the last place or two
// Source: S. Moshier's Cephes library, expf, constants and polynomial.
#pragma once

#include <wasm_simd128.h>

#include <cstddef>
#include <cstdint>

namespace plunge {

struct Simd128Mask {
  v128_t lanes;

  explicit Simd128Mask(bool all = false) : lanes(wasm_i32x4_splat(all ? -1 : 0)) {}

  static Simd128Mask from(v128_t lanes) {
    Simd128Mask mask;
    mask.lanes = lanes;
    return mask;
  }

  friend Simd128Mask operator&&(Simd128Mask a, Simd128Mask b) {
    return from(wasm_v128_and(a.lanes, b.lanes));
  }
  friend Simd128Mask operator||(Simd128Mask a, Simd128Mask b) {
    return from(wasm_v128_or(a.lanes, b.lanes));
  }
  friend Simd128Mask operator!(Simd128Mask a) { return from(wasm_v128_not(a.lanes)); }
  friend bool any(Simd128Mask a) { return wasm_v128_any_true(a.lanes); }
  // The lanes as bits, the first lowest.
  friend std::uint32_t lane_bits(Simd128Mask a) { return wasm_i32x4_bitmask(a.lanes); }
};

struct Simd128 {
  using Real = float;
  using MaskType = Simd128Mask;
  static constexpr std::size_t kSize = 4;
  v128_t lanes;

  Simd128() = default;  // Simd128{} is 0, Simd128 s; is not set
  Simd128(double all) : lanes(wasm_f32x4_splat(static_cast<float>(all))) {}

  static Simd128 from(v128_t lanes) {
    Simd128 pack;
    pack.lanes = lanes;
    return pack;
  }
  static Simd128 load(const float* lanes) { return from(wasm_v128_load(lanes)); }
  void store(float* to) const { wasm_v128_store(to, lanes); }

  friend Simd128 operator+(Simd128 a, Simd128 b) { return from(wasm_f32x4_add(a.lanes, b.lanes)); }
  friend Simd128 operator-(Simd128 a, Simd128 b) { return from(wasm_f32x4_sub(a.lanes, b.lanes)); }
  friend Simd128 operator*(Simd128 a, Simd128 b) { return from(wasm_f32x4_mul(a.lanes, b.lanes)); }
  friend Simd128 operator/(Simd128 a, Simd128 b) { return from(wasm_f32x4_div(a.lanes, b.lanes)); }
  friend Simd128 operator-(Simd128 a) { return from(wasm_f32x4_neg(a.lanes)); }
  Simd128& operator+=(Simd128 b) { return *this = *this + b; }
  Simd128& operator-=(Simd128 b) { return *this = *this - b; }
  Simd128& operator*=(Simd128 b) { return *this = *this * b; }

  friend Simd128Mask operator<(Simd128 a, Simd128 b) {
    return Simd128Mask::from(wasm_f32x4_lt(a.lanes, b.lanes));
  }
  friend Simd128Mask operator>(Simd128 a, Simd128 b) { return b < a; }
  friend Simd128Mask operator<=(Simd128 a, Simd128 b) {
    return Simd128Mask::from(wasm_f32x4_le(a.lanes, b.lanes));
  }
  friend Simd128Mask operator>=(Simd128 a, Simd128 b) { return b <= a; }

  friend Simd128 select(Simd128Mask mask, Simd128 if_true, Simd128 if_false) {
    return from(wasm_v128_bitselect(if_true.lanes, if_false.lanes, mask.lanes));
  }
  friend Simd128 sqrt(Simd128 a) { return from(wasm_f32x4_sqrt(a.lanes)); }
  friend Simd128 abs(Simd128 a) { return from(wasm_f32x4_abs(a.lanes)); }
  // The second where one is NaN, as the registers of a processor have it.
  friend Simd128 min(Simd128 a, Simd128 b) { return from(wasm_f32x4_pmin(b.lanes, a.lanes)); }
  friend Simd128 max(Simd128 a, Simd128 b) { return from(wasm_f32x4_pmax(b.lanes, a.lanes)); }

  friend Simd128 exp(Simd128 x) {
    // Where 2^n is no normal number the ends stand in.
    x = max(min(x, Simd128(88.0)), Simd128(-87.3));
    constexpr double kInverseLn2 = 1.44269504088896341;
    constexpr double kLn2High = 0.693359375;  // a few digits, so that n ln 2 is exact
    constexpr double kLn2Low = -2.12194440e-4;
    const Simd128 n = from(wasm_f32x4_nearest((x * Simd128(kInverseLn2)).lanes));
    const Simd128 r = x - n * Simd128(kLn2High) - n * Simd128(kLn2Low);
    Simd128 p(1.9875691500e-4);
    for (const double c :
         {1.3981999507e-3, 8.3334519073e-3, 4.1665795894e-2, 1.6666665459e-1, 5.0000001201e-1}) {
      p = p * r + Simd128(c);
    }
    constexpr int kBias = 127;
    constexpr int kMantissa = 23;
    const v128_t exponent =
        wasm_i32x4_add(wasm_i32x4_trunc_sat_f32x4(n.lanes), wasm_i32x4_splat(kBias));
    return (p * r * r + r + Simd128(1.0)) * from(wasm_i32x4_shl(exponent, kMantissa));
  }
};

}  // namespace plunge
