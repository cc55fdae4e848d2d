#include "sim/report/used_parameters.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <string>
#include <string_view>
#include <tuple>
#include <type_traits>
#include <utility>

#include "models/setup/damper.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/parameters.hpp"

namespace plunge {
namespace {

// A number that a Setup may leave to be computed, and what it is then.
struct Derived {
  std::string_view name;
  std::string_view long_name;
};

constexpr Derived kDerived[] = {
    {"rider.sprung_mass", "mass carried rigidly on the fork"},
    {"rider.body_mass", "upper body on the arms"},
    {"pumped.altitude", "altitude at which the fork was pumped"},
    {"pumped.temperature", "air temperature at which the fork was pumped"},
    {"fork.compression.low_speed", "compression damping below the knee, at its clicks"},
    {"fork.compression.high_speed", "compression damping above the knee, at its clicks"},
    {"fork.compression.bleed_closed",
     "share of its area that a closed compression needle leaves open"},
    {"fork.rebound.bleed_closed", "share of its area that a closed rebound needle leaves open"},
    {"fork.rebound.low_speed", "rebound damping below the knee, at its clicks"},
    {"fork.rebound.high_speed", "rebound damping above the knee, at its clicks"},
};

// The Setup with all that is left to be computed filled in.
Setup with_derived(const Setup& setup) {
  Setup filled = setup;
  filled.rider.sprung_mass = sprung_mass(setup);
  filled.rider.body_mass = body_mass(setup);
  filled.pumped = pumped_air(setup);
  for (DamperSetup* damper : {&filled.fork.compression, &filled.fork.rebound}) {
    if (damper->kind == DamperKind::slopes) {
      std::tie(damper->low_speed, damper->high_speed) = slopes_at(*damper);
    }
    damper->bleed_closed = damper->kind == DamperKind::hydraulic ? bleed_closed(*damper) : kUnset;
  }
  return filled;
}

std::string_view long_name_of(const Parameter& parameter, const Setup& given) {
  const auto derived = std::ranges::find(kDerived, parameter.name, &Derived::name);
  const bool computed = derived != std::end(kDerived) && std::isnan(parameter.get(given));
  return computed ? derived->long_name : parameter.meaning;
}

// Adds the fields of a list, and its choices before them, as columns: each that any row reads.
template <class Owner>
void add_columns(UsedTable& table, const std::vector<Owner>& rows,
                 std::span<const Choice<Owner>> choices, std::span<const Field<Owner>> fields) {
  for (const Choice<Owner>& choice : choices) {
    UsedColumn column{std::string(choice.name), "", std::string(choice.meaning), {}, {}};
    for (const Owner& row : rows) {
      const auto value = static_cast<std::size_t>(choice.get(row));
      column.texts.emplace_back(choice.needed(row) ? choice.values[value].name : "");
    }
    const auto read = [](const std::string& text) { return !text.empty(); };
    if (std::ranges::any_of(column.texts, read)) table.columns.push_back(std::move(column));
  }
  for (const Field<Owner>& field : fields) {
    UsedColumn column{
        std::string(field.name), std::string(field.unit), std::string(field.meaning), {}, {}};
    for (const Owner& row : rows) {
      column.values.push_back(field.needed(row) ? field.get(row) : kUnset);
    }
    const auto read = [](double value) { return !std::isnan(value); };
    if (std::ranges::any_of(column.values, read)) table.columns.push_back(std::move(column));
  }
}

template <class Owner>
UsedTable table_of(std::string name, std::string row, const std::vector<Owner>& rows,
                   std::span<const Choice<Owner>> choices, std::span<const Field<Owner>> fields) {
  UsedTable table{std::move(name), std::move(row), {}};
  add_columns(table, rows, choices, fields);
  return table;
}

void add_damper(std::vector<UsedTable>& tables, const DamperSetup& damper,
                const std::string& name) {
  for_each_table(damper,
                 [&](const char* key, const char* row, bool read, const auto& rows, auto fields) {
                   if (!read) return;
                   using Row = typename std::remove_cvref_t<decltype(rows)>::value_type;
                   tables.push_back(table_of<Row>(name + "." + key, row, rows, {}, fields));
                 });
}

// The points of all profiles, one after the other.
UsedTable profiles_of(const std::vector<Feature>& terrain) {
  UsedColumn feature{"feature", "1", "number of the feature, as in terrain", {}, {}};
  UsedColumn distance{"distance", "m", "distance as measured", {}, {}};
  UsedColumn elevation{"elevation", "m", "height as measured", {}, {}};
  for (std::size_t i = 0; i < terrain.size(); ++i) {
    const Feature& f = terrain[i];
    if (f.kind != FeatureKind::profile) continue;
    feature.values.insert(feature.values.end(), f.distance.size(), static_cast<double>(i));
    distance.values.insert(distance.values.end(), f.distance.begin(), f.distance.end());
    elevation.values.insert(elevation.values.end(), f.elevation.begin(), f.elevation.end());
  }
  return {"terrain.profile", "number of the profile's point", {feature, distance, elevation}};
}

}  // namespace

std::vector<UsedParameter> used_parameters(const Setup& setup) {
  const Setup filled = with_derived(setup);
  std::vector<UsedParameter> used;
  const auto add_name = [&](const char* name, const char* long_name, const std::string& text) {
    if (!text.empty()) used.push_back({name, "", long_name, kUnset, text});
  };
  add_name("fork.name", "name of the fork", setup.fork.name);
  add_name("bike.name", "name of the bike", setup.bike.name);
  add_name("rider.name", "name of the rider", setup.rider.name);
  for (const Choice<Setup>& choice : choices()) {
    if (choice.needed != nullptr && !choice.needed(setup)) continue;
    const auto place = static_cast<std::size_t>(choice.get(setup));
    used.push_back({std::string(choice.name), "", std::string(choice.meaning), kUnset,
                    std::string(choice.values[place].name)});
  }
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.get(filled);
    const bool read = parameter.needed != nullptr && parameter.needed(setup);
    // A number that overrides, or that followed from others; not one that belongs to a part which
    // this fork has not.
    const bool derived =
        !std::isnan(value) && (parameter.needed == nullptr || std::isnan(parameter.get(setup)));
    if (!read && !derived) continue;
    used.push_back({std::string(parameter.name), std::string(parameter.unit),
                    std::string(long_name_of(parameter, setup)), value, ""});
  }
  used.push_back({"total_mass", "kg", "bike and rider, for the load transfer in braking",
                  total_mass(setup), ""});
  return used;
}

std::vector<UsedTable> used_tables(const Setup& setup) {
  std::vector<UsedTable> tables;
  tables.push_back(table_of("event", "number of the event, as in event[0]", setup.events,
                            event_choices(), event_fields()));
  tables.push_back(table_of("terrain", "number of the feature, as in terrain[0]", setup.terrain,
                            feature_choices(), feature_fields()));
  tables.push_back(profiles_of(setup.terrain));
  add_damper(tables, setup.fork.compression, "fork.compression");
  add_damper(tables, setup.fork.rebound, "fork.rebound");
  std::erase_if(tables, [](const UsedTable& table) { return table.rows() == 0; });
  return tables;
}

}  // namespace plunge
