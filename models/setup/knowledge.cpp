#include "models/setup/knowledge.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

namespace plunge {
namespace {

constexpr ChoiceValue kEvidences[] = {{"measured", "read off with an instrument, or given"},
                                      {"fitted", "follows from readings"},
                                      {"guessed", "an engineering estimate"}};

// What is spoken of as one: names that begin so, and the word.
constexpr std::pair<std::string_view, std::string_view> kPlainNames[] = {
    {"fork.air.main_area", "bore"},
    {"fork.air.negative_area", "negative piston"},
    {"fork.air.main_volume", "air volumes"},
    {"fork.air.negative_volume", "air volumes"},
    {"fork.air.port_position", "transfer port"},
    {"fork.air.spacer_volume", "spacer volume"},
    {"fork.air.hose_volume", "pump hose"},
    {"fork.friction.", "friction"},
    {"fork.compression.", "compression damping"},
    {"fork.rebound.", "rebound damping"},
    {"fork.unsprung_mass", "wheel's mass"},
    {"fork.wheel_share", "wheel's mass"},
    {"rider.front_share", "share of weight"},
    {"rider.mass", "rider's mass"},
};

}  // namespace

std::string_view plain_name(std::string_view name) {
  const auto begins = [&](const auto& row) { return name.starts_with(row.first); };
  const auto found = std::ranges::find_if(kPlainNames, begins);
  return found == std::end(kPlainNames) ? name : found->second;
}

std::span<const ChoiceValue> evidences() { return kEvidences; }

std::string_view to_string(Evidence evidence) {
  return kEvidences[static_cast<int>(evidence)].name;
}

std::size_t Knowledge::find(std::string_view name) const {
  const auto found = std::ranges::find(numbers_, name, &KnownNumber::name);
  return static_cast<std::size_t>(found - numbers_.begin());
}

std::size_t Knowledge::count(Evidence evidence) const {
  return static_cast<std::size_t>(std::ranges::count(numbers_, evidence, &KnownNumber::evidence));
}

double Knowledge::spread(std::size_t i) const { return std::sqrt(covariance(i, i)); }

void Knowledge::grow() {
  const std::size_t old = size() - 1;
  std::vector<double> larger(size() * size(), 0.0);
  for (std::size_t i = 0; i < old; ++i) {
    for (std::size_t j = 0; j < old; ++j) larger[i * size() + j] = covariance_[i * old + j];
  }
  covariance_ = std::move(larger);
}

void Knowledge::add(KnownNumber number, double spread) {
  numbers_.push_back(std::move(number));
  grow();
  covariance_.back() = spread * spread;
}

void Knowledge::add_share(KnownNumber number, double spread, std::size_t parent) {
  add(std::move(number), spread);
  const std::size_t own = size() - 1;
  covariance_.back() += covariance(parent, parent);
  for (std::size_t j = 0; j < own; ++j) set_covariance(own, j, covariance(parent, j));
}

void Knowledge::remove(std::size_t i) {
  const std::size_t old = size();
  std::vector<double> smaller;
  for (std::size_t row = 0; row < old; ++row) {
    for (std::size_t column = 0; column < old; ++column) {
      if (row != i && column != i) smaller.push_back(covariance_[row * old + column]);
    }
  }
  numbers_.erase(numbers_.begin() + static_cast<std::ptrdiff_t>(i));
  covariance_ = std::move(smaller);
}

void Knowledge::set_evidence(std::size_t i, Evidence evidence, std::string source) {
  numbers_[i].evidence = evidence;
  numbers_[i].source = std::move(source);
}

void Knowledge::set_covariance(std::size_t i, std::size_t j, double value) {
  covariance_[i * size() + j] = value;
  covariance_[j * size() + i] = value;
}

std::vector<std::size_t> Knowledge::uncertain() const {
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < size(); ++i) {
    if (covariance(i, i) > 0.0) places.push_back(i);
  }
  return places;
}

std::string guesses_note(const Knowledge& knowledge) {
  std::size_t guessed = 0;
  std::size_t fitted = 0;
  std::string riders;
  for (const KnownNumber& number : knowledge.numbers()) {
    if (number.evidence == Evidence::measured) continue;
    if (number.name.starts_with("rider.")) {
      riders += fmt::format("{}{}", riders.empty() ? "" : ", ", plain_name(number.name));
    } else {
      ++(number.evidence == Evidence::guessed ? guessed : fitted);
    }
  }
  std::string words;
  if (guessed > 0) words = fmt::format("{} guessed", guessed);
  if (fitted > 0) words += fmt::format("{}{} fitted", words.empty() ? "" : ", ", fitted);
  std::string note;
  if (!words.empty()) {
    note = fmt::format("numbers of the fork that are not measured: {}{}", words,
                       guessed > 0 ? "; plunge fit narrows them by readings" : "");
  }
  if (!riders.empty()) {
    note += fmt::format("{}of the rider is not measured: {}", note.empty() ? "" : "; ", riders);
  }
  return note;
}

std::vector<double> lower_factor(const std::vector<double>& matrix, std::size_t n) {
  std::vector<double> lower(n * n, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double rest = matrix[i * n + j];
      for (std::size_t k = 0; k < j; ++k) rest -= lower[i * n + k] * lower[j * n + k];
      if (i == j) {
        if (!(rest > 0.0)) return {};
        lower[i * n + i] = std::sqrt(rest);
      } else {
        lower[i * n + j] = rest / lower[j * n + j];
      }
    }
  }
  return lower;
}

}  // namespace plunge
