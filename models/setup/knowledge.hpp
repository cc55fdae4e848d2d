// How well the numbers of a fork and its rider are known: measured, fitted or guessed, each with
// its spread.
//
//   ln p = ln m + e,   e normal with mean 0 and covariance C
//
// m: the number as it stands in the Setup, the median. Spreads are standard deviations of the
// natural logarithm [1], the roots of C's diagonal: 0.05 is 5 %, and no draw falls below 0. A
// number whose spread is 0, like every number that is not named here, is taken as it stands.
// Not here: where the guesses come from (families.hpp), readings and their fit (sim/fit).
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/parameters.hpp"

namespace plunge {

enum class Evidence { measured, fitted, guessed };

std::string_view to_string(Evidence evidence);
std::span<const ChoiceValue> evidences();  // in the order of the enum

// One number of the parameter table, by its dotted name.
struct KnownNumber {
  std::string name;
  Evidence evidence = Evidence::guessed;
  std::string source;  // in words
};

// Largest spread that is taken [1]: chosen; a factor of e to the 2 either way says nothing.
inline constexpr double kLargestSpread = 2.0;

class Knowledge {
 public:
  const std::vector<KnownNumber>& numbers() const { return numbers_; }
  std::size_t size() const { return numbers_.size(); }
  bool empty() const { return numbers_.empty(); }

  // Where a name stands; size(): nowhere.
  std::size_t find(std::string_view name) const;
  std::size_t count(Evidence evidence) const;
  double covariance(std::size_t i, std::size_t j) const { return covariance_[i * size() + j]; }
  double spread(std::size_t i) const;

  // A number that is independent of the others.
  void add(KnownNumber number, double spread);
  // One whose logarithm is that of number `parent`, plus an independent part of that spread, plus a
  // constant.
  void add_share(KnownNumber number, double spread, std::size_t parent);
  void remove(std::size_t i);
  void set_evidence(std::size_t i, Evidence evidence, std::string source);
  void set_covariance(std::size_t i, std::size_t j, double value);

  // The numbers whose spread is above 0.
  std::vector<std::size_t> uncertain() const;

 private:
  void grow();

  std::vector<KnownNumber> numbers_;
  std::vector<double> covariance_;  // size() rows of size() numbers
};

// What people call the number of that name, or the group that it belongs to: "bore", "air volumes";
// the name itself where there is no such word.
std::string_view plain_name(std::string_view name);

// "numbers of the fork that are not measured: 11 guessed, 2 fitted ..."; empty: none is either.
std::string guesses_note(const Knowledge& knowledge);

// L of C = L L^T, lower triangular, rows of n numbers; C is given as such rows. Empty where C is
// not positive definite.
std::vector<double> lower_factor(const std::vector<double>& matrix, std::size_t n);

}  // namespace plunge
