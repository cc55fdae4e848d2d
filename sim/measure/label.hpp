// What a quantity is called, in files and to people: the same words wherever it appears.
#pragma once

#include <string>

namespace plunge {

struct Label {
  std::string name;       // of HDF5 variables, --json and plans: "travel_max"
  std::string unit;       // SI in UDUNITS spelling: "m"
  std::string long_name;  // its definition in one line
  std::string said;       // unit in which people say it: "mm"; "1": none
  int decimals = 0;       // with which people say it
  std::string label;      // what people call it: "travel used"
};

// A pressure in bar in place of psi, where that is wanted; other labels as they are.
inline Label in_bar(Label label, bool bar) {
  if (bar && label.said == "psi") {
    label.said = "bar";
    label.decimals = 2;
  }
  return label;
}

}  // namespace plunge
