// Discrete Fourier transform of real signals, and lengths at which it is fast.
//
//   X_k = Σ_i x_i exp(−2πi·ik/n),  k = 0 ... n/2; the rest is the mirror image, X_{n−k} = conj X_k
//
// n: number of samples, a multiple of 4. The imaginary part of X_{n/2} is 0 for a real signal, and
// is passed over on the way back.
#pragma once

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace plunge {

// The least 4·2^i·3^j·5^k with j + k <= odd_factors that is not below n.
std::size_t fast_length(std::size_t n, int odd_factors = 64);

// X of x; n/2 + 1 numbers.
std::vector<std::complex<double>> spectrum_of(std::span<const double> x);

// n·x of X: the waves summed up, without the 1/n of the inverse transform.
std::vector<double> sum_of_waves(std::span<const std::complex<double>> spectrum, std::size_t n);

// x of X.
std::vector<double> signal_of(std::span<const std::complex<double>> spectrum, std::size_t n);

}  // namespace plunge
