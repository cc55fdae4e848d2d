// Text tables and workshop units for people.
#pragma once

#include <string>
#include <vector>

#include "sim/measure/label.hpp"
#include "sim/measure/result.hpp"

namespace plunge {

// Rows of cells under a heading (name, unit), columns aligned to the right but the first. A name
// that is wider than its column is broken between words.
class Table {
 public:
  void column(std::string name, std::string unit);
  void row(std::vector<std::string> cells);
  std::string text() const;

 private:
  std::vector<std::string> names_;
  std::vector<std::string> units_;
  std::vector<std::vector<std::string>> rows_;
};

// A number in workshop units with a fixed number of decimals; "-" where it is not a number.
std::string in_unit(double value, const std::string& said, int decimals);

// The value of a metric by name, NaN where the ride does not have it.
double metric(const Result& result, const std::string& name);
double energy(const Result& result, const std::string& name);

// How a quantity is said: a pressure in bar where asked.
Label in_bar(Label label, bool bar);

// A number as its row says it.
std::string in_said(double value, const Label& label);

// The unit in which people say a quantity, empty where it has none.
std::string unit_of(const std::string& said);

// "sag [mm]".
std::string with_unit(const std::string& label, const std::string& said);

}  // namespace plunge
