// Where everything of a bench sheet stands, so that it fills one page and nothing meets anything.
//
//   head        what it is, fork, rider and bike, what to do
//   cautions    in a frame, before anything else is read
//   settings    before and after, with notes
//   picture     force over travel, before dashed and after drawn through, beside what is predicted
//   steps       as the fork's file gives them, or lines to fill in
//   readings    rows for the ring, with what is expected
// Every block is as high as its texts were measured to be, and the next one begins below it. Where
// the page would be too short, letters and gaps are made smaller step by step, down to
// kLeastScale; room that is left becomes rows for readings and wider gaps.
// Throws RunError where even that does not fit, and what the typesetter throws.
#pragma once

#include "sim/sheet/sheet_content.hpp"
#include "sim/sheet/sheet_page.hpp"
#include "sim/sheet/typesetter.hpp"

namespace plunge {

inline constexpr double kLeastScale = 0.74;  // of letters that are still read at arm's length

SheetPage lay_out(const SheetContent& content, const Paper& paper, const Typesetter& typesetter);

}  // namespace plunge
