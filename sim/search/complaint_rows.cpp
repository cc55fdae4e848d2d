#include "sim/search/complaint_rows.hpp"

#include <algorithm>
#include <array>

namespace plunge {
namespace {

constexpr std::array kComplaintRows = {
    ComplaintRow{"uses all the travel", "travel_use", true, 0.97, false, "the hardest scene"},
    ComplaintRow{"never uses it", "travel_use", false, 0.80, false, "the hardest scene"},
    ComplaintRow{"harsh", "hand_acceleration", true, kUnset, false, "the roughest scene"},
    ComplaintRow{"dives braking", "brake_dive_steady", true, 0.20, true, "scenes that brake"},
    ComplaintRow{"dives in corners", "corner_dive_steady", true, 0.15, true,
                 "scenes with a corner"},
    ComplaintRow{"kicks back", "return_overshoot", true, 0.05, true, "after the deepest stroke"},
    ComplaintRow{"packs down", "ride_height_loss", true, 0.05, true,
                 "scenes with rough ground or bumps in a row"},
    ComplaintRow{"little grip", "tyre_load_variation", true, kUnset, false,
                 "where the tyre's load varies most"},
    ComplaintRow{"hands hurt", "hand_force_rms", true, kUnset, false,
                 "where the force at the hands varies most"},
    ComplaintRow{"wallows", "brake_recovery", true, kUnset, false, "scenes that brake"},
};

}  // namespace

std::span<const ComplaintRow> complaint_rows() { return kComplaintRows; }

const ComplaintRow* find_complaint(std::string_view words) {
  const auto found = std::ranges::find(kComplaintRows, words, &ComplaintRow::words);
  return found == kComplaintRows.end() ? nullptr : &*found;
}

}  // namespace plunge
