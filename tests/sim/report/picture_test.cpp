#include "sim/report/picture.hpp"

#include <gtest/gtest.h>

#include "sim/figure/figure_drawing.hpp"
#include "sim/figure/figure_layout.hpp"

namespace plunge::picture_test {
namespace {

Drawing drawing_with(const std::string& label) {
  Panel panel;
  panel.x_label = "distance [m]";
  panel.y_label = "travel [mm]";
  panel.series = {{label, {0, 1, 2}, {0, 2, 1}}, {"dashed", {0, 2}, {1, 1}, Mark::dashed}};
  panel.references = {{"sag", 1.2, true}};
  return drawing_of(lay_out({"the drop", {panel}}));
}

int four_bytes(const std::string& bytes, std::size_t at) {
  int value = 0;
  for (std::size_t i = at; i < at + 4; ++i)
    value = 256 * value + static_cast<unsigned char>(bytes[i]);
  return value;
}

// Width and height stand at bytes 16 and 20: PNG specification (ISO/IEC 15948), 11.2.2.
TEST(Picture, APngHasTwoPixelsForEachOfTheDrawing) {
  const Drawing drawing = drawing_with("0 spacers");
  const std::string png = drawing_png(drawing);
  EXPECT_EQ(png.rfind("\x89PNG\r\n\x1a\n", 0), 0u);
  EXPECT_EQ(four_bytes(png, 16), static_cast<int>(2.0 * drawing.width));
  EXPECT_EQ(four_bytes(png, 20), static_cast<int>(2.0 * drawing.height));
}

// 32767 pixels are the most that cairo draws.
TEST(Picture, WhatIsTooLargeForAnImageIsDrawnSmaller) {
  Drawing drawing = drawing_with("0 spacers");
  drawing.width = 20.0;
  drawing.height = 40000.0;
  const std::string png = drawing_png(drawing);
  EXPECT_EQ(four_bytes(png, 20), 32767);
  EXPECT_EQ(four_bytes(png, 16), 16);
}

TEST(Picture, TheSameDrawingIsTheSameFile) {
  const Drawing drawing = drawing_with("0 spacers");
  EXPECT_EQ(drawing_png(drawing), drawing_png(drawing));
  EXPECT_EQ(drawing_pdf(drawing), drawing_pdf(drawing));
  EXPECT_NE(drawing_pdf(drawing), drawing_pdf(drawing_with("1 spacer")));
  EXPECT_NE(drawing_pdf(drawing).find("/CreationDate (20000101000000Z)"), std::string::npos);
}

// What keeps texts apart are widths from a table: letters must not be wider in the font.
TEST(Picture, NoTextIsDrawnWiderThanItWasTakenFor) {
  for (const char* words :
       {"Kestrel Hollow, the quarry drop", "0123456789", "travel used [mm]", "−12.5·10⁻⁶ N/mm",
        "AVATAR To Ty WAVE", "ffi fl fi", "~!@#$%^&*()_+{}|:\"<>?`-=[]\\;',./", "Röhre ÄÖÜ ßéèç",
        "Пружина воздушная", "Δ Ω Σ φ ≥ ≤ × ± °", "…"}) {
    for (const bool bold : {false, true}) {
      DrawnText text;
      text.text = words;
      text.size = 12.0;
      text.bold = bold;
      const TextBox box = box_of(text);
      EXPECT_LE(drawn_width(text), 1.01 * (box.right - box.left)) << words;
      EXPECT_GE(drawn_width(text), 0.45 * (box.right - box.left)) << words;
    }
  }
}

}  // namespace
}  // namespace plunge::picture_test
