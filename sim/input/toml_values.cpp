#include "sim/input/toml_values.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "sim/text/units.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

constexpr std::string_view kFileTypes[] = {"fork",  "bike", "rider",    "terrain",
                                           "scene", "plan", "readings", "brief"};

constexpr char kNeedsSag[] =
    "needs a share of the travel such as \"22 %\", or a length such as \"35 mm\"";

// The sag that a bare number says, a share of the travel.
HoldSetup sag_from_number(double number) {
  // What is above 1 was meant as a percentage or as millimetres, nobody knows which.
  if (!(number <= 1.0)) {
    throw InputError(
        Fault{"",
              "",
              fmt::format("{}; a bare number has no unit: did you mean \"{:g}%\" or \"{:g}mm\"?",
                          kNeedsSag, number, number),
              {}});
  }
  return {number, kUnset};
}

void check_format(const TomlFile& file, Faults& faults) {
  const TomlNode* format = file.root.find("format");
  if (format == nullptr) {
    faults.push_back(
        {"format",
         "",
         fmt::format("must be given: format = [{}, {}]", kSceneFormatMajor, kSceneFormatMinor),
         {file.file, 0, 0}});
    return;
  }
  const bool two = format->kind == Kind::array && format->items.size() == 2 &&
                   std::ranges::all_of(format->items, [](const TomlNode& item) {
                     return item.kind == Kind::whole && item.number >= 0.0;
                   });
  if (!two) {
    blame(file, *format, "format",
          fmt::format("must be two whole numbers, [{}, {}]; found {}", kSceneFormatMajor,
                      kSceneFormatMinor, describe(*format)),
          faults);
  } else if (format->items[0].number != kSceneFormatMajor) {
    faults.push_back(
        {"format", fmt::format("[{}, {}]", format->items[0].text, format->items[1].text),
         fmt::format("must have major version {}; this program reads no other", kSceneFormatMajor),
         file.place(*format)});
  }
}

}  // namespace

std::string read_type(const TomlFile& file, Faults& faults) {
  const TomlNode* type = file.root.find("type");
  const std::size_t before = faults.size();
  if (type == nullptr) {
    faults.push_back({"type",
                      "",
                      fmt::format("must be given: one of {}", quoted_list(kFileTypes)),
                      {file.file, 0, 0}});
  } else if (type->kind != Kind::text ||
             std::ranges::find(kFileTypes, type->text) == std::end(kFileTypes)) {
    blame(file, *type, "type",
          fmt::format("must be one of {}{}", quoted_list(kFileTypes),
                      type->kind == Kind::text ? suggestion(type->text, kFileTypes)
                                               : "; found " + describe(*type)),
          faults);
  }
  check_format(file, faults);
  return faults.size() == before ? type->text : std::string{};
}

double number_from_text(std::string_view text, const NumberRule& rule) {
  if (!rule.whole) return to_si(text, rule.unit);
  Quantity quantity;
  try {
    quantity = split_quantity(text);
  } catch (const InputError&) {
    quantity.unit = "?";
  }
  if (!quantity.unit.empty() || !(quantity.number == std::floor(quantity.number))) {
    throw InputError(Fault{"", fmt::format("\"{}\"", text), "needs a whole number", {}});
  }
  return quantity.number;
}

bool read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                 const NumberRule& rule, double& number, Faults& faults) {
  const std::string needs = rule.whole ? std::string("a whole number") : needed_quantity(rule.unit);
  const auto refuse = [&](std::string broken) {
    blame(file, value, key, std::move(broken), faults);
    return false;
  };
  if (value.kind == Kind::text) {
    try {
      number = number_from_text(value.text, rule);
      return true;
    } catch (const InputError& error) {
      return refuse(error.faults().front().rule);
    }
  }
  if (value.kind != Kind::whole && value.kind != Kind::real) {
    return refuse(fmt::format("needs {}; found {}", needs, describe(value)));
  }
  if (rule.unit != "1") return refuse(fmt::format("needs {}; a bare number has no unit", needs));
  if (!std::isfinite(value.number)) return refuse("must be finite");
  if (rule.whole && !(value.number == std::floor(value.number))) return refuse("needs " + needs);
  number = value.number;
  return true;
}

HoldSetup sag_from_text(std::string_view text) {
  Quantity quantity;
  try {
    quantity = split_quantity(text);
  } catch (const InputError&) {
    throw InputError(Fault{"", "", kNeedsSag, {}});
  }
  if (quantity.unit.empty()) return sag_from_number(quantity.number);
  for (const bool share : {true, false}) {
    try {
      const double number = to_si(quantity, share ? "1" : "m");
      return share ? HoldSetup{number, kUnset} : HoldSetup{kUnset, number};
    } catch (const InputError&) {
    }
  }
  throw InputError(
      Fault{"", "", fmt::format("{}; \"{}\" is neither", kNeedsSag, trimmed(text)), {}});
}

bool read_sag(const TomlFile& file, const TomlNode& value, const std::string& key, HoldSetup& hold,
              Faults& faults) {
  try {
    if (value.kind == Kind::text) {
      hold = sag_from_text(value.text);
    } else if (value.kind == Kind::whole || value.kind == Kind::real) {
      if (!std::isfinite(value.number)) throw InputError(Fault{"", "", "must be finite", {}});
      hold = sag_from_number(value.number);
    } else {
      throw InputError(Fault{"", "", fmt::format("{}; found {}", kNeedsSag, describe(value)), {}});
    }
    return true;
  } catch (const InputError& error) {
    blame(file, value, key, error.faults().front().rule, faults);
    return false;
  }
}

std::optional<double> roughness_class(std::string_view text) {
  if (text.size() != 7 || !text.starts_with("class ")) return std::nullopt;
  const int step = text.back() - 'A';
  if (step < 0 || step > 7) return std::nullopt;
  return 16e-6 * std::pow(4.0, step);
}

std::string written(const TomlNode& node) {
  constexpr std::size_t kLongest = 80;
  if (node.kind == Kind::table || node.kind == Kind::array) return {};
  if (node.kind != Kind::text) return node.text;
  return shortened(toml_quoted(node.text), kLongest);
}

void blame(const TomlFile& file, const TomlNode& node, std::string key, std::string rule,
           Faults& faults) {
  faults.push_back({std::move(key), written(node), std::move(rule), file.place(node)});
}

std::vector<std::string_view> names_of(std::span<const ChoiceValue> values) {
  std::vector<std::string_view> names;
  for (const ChoiceValue& value : values) names.push_back(value.name);
  return names;
}

std::string word_rule(std::span<const ChoiceValue> values, std::string_view word) {
  const auto names = names_of(values);
  return fmt::format("must be one of {}{}", quoted_list(names), suggestion(word, names));
}

}  // namespace plunge
