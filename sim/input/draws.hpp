// Joint draws of the numbers of a fork and its rider that are not known exactly.
//
//   p_k = m_k exp((L e)_k),  e normal with mean 0 and spread 1,  C = L L^T
//
// m: the numbers as they stand in the Setup, C: their joint spread (models/setup/knowledge.hpp). A
// draw that is no fork or rider (judge()) is drawn again; where that happens often the spreads are
// cut. Draw i follows from the seed and i alone, whatever the count. Source: Box & Muller 1958
// (normal numbers from even ones).
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "models/setup/knob.hpp"
#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

struct DrawnNumber {
  Knob knob;
  double value = 0.0;  // SI
  double even = 0.0;   // e_k [1]: what number k has of its own beside those before it
};

// The uncertain numbers of one fork and its rider, in the order of the knowledge.
using ForkDraw = std::vector<DrawnNumber>;

inline constexpr int kMostTries = 200;  // of one draw, chosen

// `setup`: judged, defaults filled in. Every draw is empty where nothing is uncertain. Throws
// RunError where the spreads cannot be joint ones, or kMostTries draws one after the other are no
// fork.
std::vector<ForkDraw> draw_forks(const Setup& setup, const Knowledge& knowledge, std::size_t count,
                                 std::uint64_t seed);

// Puts the numbers of a draw into a Setup.
void put(Setup& setup, const ForkDraw& draw);

}  // namespace plunge
