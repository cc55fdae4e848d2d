#include <udunits2.h>

#include <cmath>
#include <memory>
#include <mutex>
#include <string>

#include "models/setup/fault.hpp"
#include "sim/text/unit_database.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

struct FreeUnit {
  void operator()(ut_unit* unit) const { ut_free(unit); }
};
struct FreeSystem {
  void operator()(ut_system* system) const { ut_free_system(system); }
};
struct FreeConverter {
  void operator()(cv_converter* converter) const { cv_free(converter); }
};
using UnitPointer = std::unique_ptr<ut_unit, FreeUnit>;

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || static_cast<unsigned char>(c) >= 0x80;
}
// Whether a text is made only of unit names, exponents and signs between them. UDUNITS also reads
// numbers, shifts of origin and logarithms, none of which is a unit that anyone would write here.
bool is_plain_unit(std::string_view text) {
  constexpr std::size_t kLongestUnit = 60;
  if (text.empty() || text.size() > kLongestUnit) return false;
  char before = ' ';
  for (const char c : text) {
    const bool exponent_may_start = is_letter(before) || before == '^';
    const bool fits = is_letter(c) || c == '%' || c == ' ' || c == '.' || c == '*' || c == '/' ||
                      (c == '^' && is_letter(before)) || (c == '-' && exponent_may_start) ||
                      (is_digit(c) && (exponent_may_start || is_digit(before) || before == '-'));
    if (!fits) return false;
    before = c;
  }
  for (const std::string_view word : {" since ", " after ", " from ", " ref "}) {
    if (text.find(word) != std::string_view::npos) return false;
  }
  return true;
}

// UDUNITS-2 behind a lock: the library keeps its state in globals.
class UnitReader {
 public:
  static UnitReader& instance() {
    static UnitReader reader;
    return reader;
  }

  // False where the text is no unit that UDUNITS knows.
  bool knows(std::string_view text) {
    const std::lock_guard lock(mutex_);
    return parsed(text) != nullptr;
  }

  // False where the text is no unit, or not one of that dimension.
  bool line_to(std::string_view text, std::string_view si_unit, UnitLine& line) {
    const std::lock_guard lock(mutex_);
    const UnitPointer from = parsed(text);
    const UnitPointer to(ut_parse(system_.get(), std::string(si_unit).c_str(), UT_ASCII));
    if (!from || !to || counts_angle(from.get()) != counts_angle(to.get())) return false;
    if (ut_are_convertible(from.get(), to.get()) == 0) return false;
    const std::unique_ptr<cv_converter, FreeConverter> converter(
        ut_get_converter(from.get(), to.get()));
    if (!converter) return false;
    line.offset = cv_convert_double(converter.get(), 0.0);
    line.slope = cv_convert_double(converter.get(), 1.0) - line.offset;
    // UDUNITS also converts a unit to its reciprocal, and logarithms: those are not lines.
    const double two = cv_convert_double(converter.get(), 2.0);
    constexpr double kRounding = 1e-9;
    if (!(std::abs(two - line.offset - 2.0 * line.slope) <= kRounding * std::abs(two)))
      return false;
    if (line.offset == 0.0) return std::isfinite(line.slope);
    // An affine unit: the difference above has lost digits that two far points keep.
    constexpr double kFar = 1e6;
    line.slope = (cv_convert_double(converter.get(), kFar) - line.offset) / kFar;
    return std::isfinite(line.slope) && std::isfinite(line.offset);
  }

 private:
  UnitReader() {
    ut_set_error_message_handler(ut_ignore);
    system_.reset(ut_read_xml(nullptr));
    if (!system_) throw RunError("the unit database of UDUNITS-2 cannot be read");
  }

  UnitPointer parsed(std::string_view text) {
    if (!is_plain_unit(text)) return nullptr;
    return UnitPointer(ut_parse(system_.get(), std::string(text).c_str(), UT_UTF8));
  }

  // Radians count as plain numbers in UDUNITS; an angle is told by its definition.
  static bool counts_angle(const ut_unit* unit) {
    char text[256];
    const int length = ut_format(unit, text, sizeof text, UT_ASCII | UT_DEFINITION);
    if (length < 0 || length >= static_cast<int>(sizeof text)) return false;
    const std::string_view definition(text, static_cast<std::size_t>(length));
    return definition.find("rad") != std::string_view::npos;
  }

  std::mutex mutex_;
  std::unique_ptr<ut_system, FreeSystem> system_;
};

}  // namespace

bool knows_unit(std::string_view text) { return UnitReader::instance().knows(text); }

std::string_view unit_shortfall() { return ""; }

bool unit_line(std::string_view text, std::string_view si_unit, UnitLine& line) {
  return UnitReader::instance().line_to(text, si_unit, line);
}

}  // namespace plunge
