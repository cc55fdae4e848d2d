#include "models/setup/keys.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string_view>

namespace plunge {
namespace {

constexpr std::string_view kSide = "fork.compression.";
constexpr std::string_view kOil = "fork.oil.";

// Numbers of the bike that build_ground() reads (sim/ground/terrain.hpp); bike.contact beside them.
constexpr std::string_view kWheel[] = {"bike.wheel_radius", "bike.contact_length",
                                       "bike.line_length", "bike.wheelbase"};

// NaN has no order: what is unset stands below every number.
void add(Key& key, double number) {
  key.push_back(std::isnan(number) ? -std::numeric_limits<double>::infinity() : number);
}

template <class Row>
void add_rows(Key& key, const std::vector<Row>& rows, std::span<const Field<Row>> fields) {
  add(key, static_cast<double>(rows.size()));
  for (const Row& row : rows) {
    for (const Field<Row>& field : fields) add(key, field.get(row));
  }
}

void add_numbers(Key& key, const std::vector<double>& numbers) {
  add(key, static_cast<double>(numbers.size()));
  for (const double number : numbers) add(key, number);
}

// The parameters that a damper follows from, as those of a Setup whose compression side it is.
const std::vector<const Parameter*>& damper_parameters() {
  static const std::vector<const Parameter*> list = [] {
    std::vector<const Parameter*> found;
    for (const Parameter& parameter : parameters()) {
      if (parameter.name.starts_with(kSide) || parameter.name.starts_with(kOil)) {
        found.push_back(&parameter);
      }
    }
    return found;
  }();
  return list;
}

}  // namespace

Key damper_key(const DamperSetup& damper, const OilSetup& oil) {
  Setup setup;
  setup.fork.compression = damper;
  setup.fork.oil = oil;
  Key key;
  for (const Choice<Setup>& choice : choices()) {
    if (choice.name.starts_with(kSide)) add(key, choice.get(setup));
  }
  for (const Parameter* parameter : damper_parameters()) add(key, parameter->get(setup));
  for_each_table(damper, [&](const char*, const char*, bool, const auto& rows, auto fields) {
    add_rows(key, rows, fields);
  });
  return key;
}

Key ground_key(const std::vector<Feature>& terrain, const BikeSetup& bike) {
  Setup wheel;
  wheel.bike = bike;
  Key key;
  add(key, static_cast<double>(bike.contact));
  for (const std::string_view name : kWheel) add(key, find_parameter(name)->get(wheel));
  for (const Feature& feature : terrain) {
    for (const Choice<Feature>& choice : feature_choices()) add(key, choice.get(feature));
    for (const FeatureField& field : feature_fields()) add(key, field.get(feature));
    add_numbers(key, feature.distance);
    add_numbers(key, feature.elevation);
  }
  return key;
}

bool shapes_ground(const Parameter& parameter) {
  return std::ranges::find(kWheel, parameter.name) != std::end(kWheel);
}

}  // namespace plunge
