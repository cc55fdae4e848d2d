// Units for a page, which has no UDUNITS-2: products, quotients and whole powers of the units below
// and of their decimal multiples, spelt as UDUNITS reads them.
//
//   "N.m"  "N m"  "kg*m2"  "N s m-1"  "m/s^2"  "mm2/bar"      a "/" divides by the next factor
//   alone
//
// A radian is a dimension of its own, so that an angle is no number.
// Not here: offsets ("degC", models/setup/parameters.hpp), logarithms, names of other trades.
#include <array>
#include <cstddef>
#include <numbers>
#include <optional>
#include <string_view>

#include "sim/text/unit_database.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

enum Base : std::size_t { kMetre, kKilogram, kSecond, kKelvin, kRadian, kBases };
using Powers = std::array<int, kBases>;

struct KnownUnit {
  std::string_view name;
  std::string_view symbol;
  bool multiples;  // takes decimal prefixes
  double factor;   // of the SI unit
  Powers powers;   // of metre, kilogram, second, kelvin, radian
};

constexpr double kPi = std::numbers::pi;
constexpr double kPound = 0.45359237;             // exact [kg]
constexpr double kPoundForce = kPound * 9.80665;  // exact [N]
constexpr double kInch = 0.0254;                  // exact [m]

constexpr KnownUnit kUnits[] = {
    {"meter", "m", true, 1.0, {1, 0, 0, 0, 0}},
    {"metre", "m", true, 1.0, {1, 0, 0, 0, 0}},
    {"gram", "g", true, 1e-3, {0, 1, 0, 0, 0}},
    {"tonne", "t", false, 1e3, {0, 1, 0, 0, 0}},
    {"second", "s", true, 1.0, {0, 0, 1, 0, 0}},
    {"minute", "min", false, 60.0, {0, 0, 1, 0, 0}},
    {"hour", "h", false, 3600.0, {0, 0, 1, 0, 0}},
    {"day", "d", false, 86400.0, {0, 0, 1, 0, 0}},
    {"kelvin", "K", true, 1.0, {0, 0, 0, 1, 0}},
    {"radian", "rad", true, 1.0, {0, 0, 0, 0, 1}},
    {"degree", "deg", false, kPi / 180.0, {0, 0, 0, 0, 1}},
    {"newton", "N", true, 1.0, {1, 1, -2, 0, 0}},
    {"pascal", "Pa", true, 1.0, {-1, 1, -2, 0, 0}},
    {"bar", "bar", true, 1e5, {-1, 1, -2, 0, 0}},
    {"joule", "J", true, 1.0, {2, 1, -2, 0, 0}},
    {"watt", "W", true, 1.0, {2, 1, -3, 0, 0}},
    {"hertz", "Hz", true, 1.0, {0, 0, -1, 0, 0}},
    {"liter", "L", true, 1e-3, {3, 0, 0, 0, 0}},
    {"litre", "l", true, 1e-3, {3, 0, 0, 0, 0}},
    {"stokes", "St", true, 1e-4, {2, 0, -1, 0, 0}},
    {"inch", "in", false, kInch, {1, 0, 0, 0, 0}},
    {"inches", "inches", false, kInch, {1, 0, 0, 0, 0}},
    {"feet", "feet", false, 12.0 * kInch, {1, 0, 0, 0, 0}},
    {"foot", "ft", false, 12.0 * kInch, {1, 0, 0, 0, 0}},
    {"yard", "yd", false, 36.0 * kInch, {1, 0, 0, 0, 0}},
    {"mile", "mi", false, 63360.0 * kInch, {1, 0, 0, 0, 0}},
    {"pound", "lb", false, kPound, {0, 1, 0, 0, 0}},
    {"pound_force", "lbf", false, kPoundForce, {1, 1, -2, 0, 0}},
    {"psi", "psi", false, kPoundForce / (kInch * kInch), {-1, 1, -2, 0, 0}},
    {"percent", "%", false, 1e-2, {0, 0, 0, 0, 0}},
};

struct Prefix {
  std::string_view name;
  std::string_view symbol;
  double factor;
};

constexpr Prefix kPrefixes[] = {
    {"giga", "G", 1e9},        {"mega", "M", 1e6},        {"kilo", "k", 1e3},
    {"hecto", "h", 1e2},       {"deca", "da", 1e1},       {"deci", "d", 1e-1},
    {"centi", "c", 1e-2},      {"milli", "m", 1e-3},      {"micro", "u", 1e-6},
    {"micro", "\u00b5", 1e-6}, {"micro", "\u03bc", 1e-6}, {"nano", "n", 1e-9},
};

struct Unit {
  double factor = 1.0;
  Powers powers{};
};

bool is_named(const KnownUnit& unit, std::string_view name) {
  return name == unit.name || (name.ends_with('s') && name.substr(0, name.size() - 1) == unit.name);
}

std::optional<Unit> find_unit(std::string_view name) {
  for (const KnownUnit& unit : kUnits) {
    if (name == unit.symbol || is_named(unit, name)) return Unit{unit.factor, unit.powers};
  }
  for (const KnownUnit& unit : kUnits) {
    if (!unit.multiples) continue;
    for (const Prefix& prefix : kPrefixes) {
      const bool by_symbol =
          name.starts_with(prefix.symbol) && name.substr(prefix.symbol.size()) == unit.symbol;
      const bool by_name =
          name.starts_with(prefix.name) && is_named(unit, name.substr(prefix.name.size()));
      if (by_symbol || by_name) return Unit{prefix.factor * unit.factor, unit.powers};
    }
  }
  return std::nullopt;
}

// Reads one text from its begin to its end.
class UnitText {
 public:
  explicit UnitText(std::string_view text) : rest_(text) {}

  std::optional<Unit> read() {
    Unit product;
    if (!times(product, 1)) return std::nullopt;
    while (!rest_.empty()) {
      const bool over = rest_.front() == '/';
      if (!over && rest_.front() != '.' && rest_.front() != '*' && rest_.front() != ' ') {
        return std::nullopt;
      }
      rest_.remove_prefix(1);
      if (!times(product, over ? -1 : 1)) return std::nullopt;
    }
    return product;
  }

 private:
  // The next factor with its power.
  bool times(Unit& product, int sign) {
    std::size_t length = 0;
    while (length < rest_.size() &&
           std::string_view(" ./*^-").find(rest_[length]) == std::string_view::npos &&
           !is_digit(rest_[length])) {
      ++length;
    }
    const std::string_view name = rest_.substr(0, length);
    rest_.remove_prefix(length);
    const std::optional<int> power = name == "%" ? 1 : read_power();
    const std::optional<Unit> unit = find_unit(name);
    if (!unit || !power) return false;
    const int times = sign * *power;
    for (int i = 0; i < (times < 0 ? -times : times); ++i) {
      product.factor = times < 0 ? product.factor / unit->factor : product.factor * unit->factor;
    }
    for (std::size_t base = 0; base < kBases; ++base) {
      product.powers[base] += times * unit->powers[base];
    }
    return true;
  }

  std::optional<int> read_power() {
    constexpr std::size_t kMostDigits = 2;
    const bool raised = rest_.starts_with('^');
    if (raised) rest_.remove_prefix(1);
    const bool negative = rest_.starts_with('-');
    if (negative) rest_.remove_prefix(1);
    int power = 0;
    std::size_t digits = 0;
    for (; !rest_.empty() && is_digit(rest_.front()); ++digits) {
      if (digits == kMostDigits) return std::nullopt;
      power = 10 * power + (rest_.front() - '0');
      rest_.remove_prefix(1);
    }
    if (digits == 0) return raised || negative ? std::nullopt : std::optional(1);
    return negative ? -power : power;
  }

  std::string_view rest_;
};

// "1", as the unit of plain numbers is written, has no factor.
std::optional<Unit> unit_of(std::string_view text) {
  if (text == "1") return Unit{};
  return UnitText(text).read();
}

}  // namespace

bool knows_unit(std::string_view text) { return unit_of(text).has_value(); }

bool unit_line(std::string_view text, std::string_view si_unit, UnitLine& line) {
  const std::optional<Unit> from = UnitText(text).read();
  const std::optional<Unit> to = unit_of(si_unit);
  if (!from || !to || from->powers != to->powers) return false;
  line = {from->factor / to->factor, 0.0};
  return true;
}

std::string_view unit_shortfall() {
  return " here: a page knows those of SI and the common ones, the program all of UDUNITS-2";
}

}  // namespace plunge
