// Text tables and workshop units for people.
#pragma once

#include <string>
#include <vector>

#include "sim/measure/result.hpp"

namespace plunge {

// Rows of cells under a two-line heading (name, unit), columns aligned to the right but the first.
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

// How a metric is told to people: one label, unit and number of decimals wherever it is printed.
struct Told {
  const char* name;
  const char* label;
  const char* said;  // unit; "1": none
  int decimals;
};

// Throws std::out_of_range for a metric that is not told.
const Told& how_told(const std::string& name);

}  // namespace plunge
