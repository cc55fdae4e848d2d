#include "models/setup/knob.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <span>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/keys.hpp"

namespace plunge {
namespace {

// "terrain[2].height" in its parts.
struct ListName {
  std::string_view list;
  std::size_t index = 0;
  std::string_view field;
};

std::optional<ListName> split_list_name(std::string_view name) {
  const std::size_t open = name.find('[');
  const std::size_t shut = name.find("].");
  if (open == std::string_view::npos || shut == std::string_view::npos || shut < open) {
    return std::nullopt;
  }
  ListName parts{name.substr(0, open), 0, name.substr(shut + 2)};
  const char* end = name.data() + shut;
  const auto [last, error] = std::from_chars(name.data() + open + 1, end, parts.index);
  if (error != std::errc{} || last != end) return std::nullopt;
  return parts;
}

// The field that a name asks for; null: there is none. Throws where the list is too short.
template <class Owner>
const Field<Owner>* field_in(const std::vector<Owner>& owners, std::span<const Field<Owner>> fields,
                             const ListName& parts, std::string_view name) {
  if (parts.index >= owners.size()) {
    throw InputError(Fault{std::string(name),
                           "",
                           owners.empty() ? fmt::format("is not there: no {} is given", parts.list)
                                          : fmt::format("is not there: {}[0] to {}[{}] are",
                                                        parts.list, parts.list, owners.size() - 1),
                           {}});
  }
  const auto field = std::ranges::find(fields, parts.field, &Field<Owner>::name);
  return field == fields.end() ? nullptr : &*field;
}

template <class Owner>
void take_field(const Field<Owner>& field, Knob& knob) {
  knob.unit = field.unit;
  knob.said = field.said;
  knob.meaning = field.meaning;
  knob.whole = field.whole;
  knob.low = field.low;
  knob.high = field.high;
}

constexpr std::string_view kSag = "hold.sag";

}  // namespace

double Knob::get(const Setup& setup) const {
  if (parameter_ != nullptr) return parameter_->get(setup);
  if (feature_ != nullptr) return feature_->get(setup.terrain[index_]);
  if (event_ != nullptr) return event_->get(setup.events[index_]);
  return setup.hold.*hold_;
}

void Knob::put(Setup& setup, double value) const {
  if (parameter_ != nullptr) parameter_->set(setup, value);
  if (feature_ != nullptr) feature_->set(setup.terrain[index_], value);
  if (event_ != nullptr) event_->set(setup.events[index_], value);
  if (hold_ != nullptr) {
    setup.hold = {};
    setup.hold.*hold_ = value;
  }
}

bool Knob::is_read(const Setup& setup) const {
  if (parameter_ != nullptr) return plunge::is_read(*parameter_, setup);
  if (feature_ != nullptr) return plunge::is_read(*feature_, setup.terrain[index_]);
  if (event_ != nullptr) return plunge::is_read(*event_, setup.events[index_]);
  return true;
}

std::string Knob::unread_rule(const Setup& setup) const {
  const auto strange = [](std::string_view kind) {
    return fmt::format("nothing reads it: it does not belong to the kind \"{}\"", kind);
  };
  if (feature_ != nullptr) return strange(to_string(setup.terrain[index_].kind));
  if (event_ != nullptr) return strange(to_string(setup.events[index_].kind));
  return fmt::format("nothing reads it: it belongs to {}", reader_of(*parameter_));
}

bool Knob::shapes_ground() const {
  return feature_ != nullptr || (parameter_ != nullptr && plunge::shapes_ground(*parameter_));
}

bool Knob::holds_sag() const { return hold_ != nullptr; }

Knob sag_knob() {
  Knob knob;
  knob.name = kSag;
  knob.unit = "1";
  knob.said = "%";
  knob.meaning = "sag that is held, as a share of the travel";
  knob.low = kLeastSag;
  knob.high = kMostSag;
  knob.hold_ = &HoldSetup::sag;
  return knob;
}

Knob sag_length_knob() {
  Knob knob;
  knob.name = kSag;
  knob.unit = "m";
  knob.said = "mm";
  knob.meaning = "sag that is held, as a length of travel";
  const Parameter& travel = *find_parameter("fork.travel");
  knob.low = kLeastSag * travel.low;
  knob.high = kMostSag * travel.high;
  knob.hold_ = &HoldSetup::sag_length;
  return knob;
}

std::optional<Knob> knob_or_none(const Setup& setup, std::string_view name) {
  Knob knob;
  if (name == kSag) return sag_knob();
  if (const Parameter* parameter = find_parameter(name)) {
    knob.parameter_ = parameter;
    take_field(*parameter, knob);
  } else if (const auto parts = split_list_name(name)) {
    knob.index_ = parts->index;
    if (parts->list == "terrain") {
      knob.feature_ = field_in(setup.terrain, feature_fields(), *parts, name);
      if (knob.feature_ == nullptr) return std::nullopt;
      take_field(*knob.feature_, knob);
    } else if (parts->list == "event") {
      knob.event_ = field_in(setup.events, event_fields(), *parts, name);
      if (knob.event_ == nullptr) return std::nullopt;
      take_field(*knob.event_, knob);
    } else {
      return std::nullopt;
    }
  } else {
    return std::nullopt;
  }
  knob.name = name;
  return knob;
}

Knob find_knob(const Setup& setup, std::string_view name) {
  if (auto knob = knob_or_none(setup, name)) return *knob;
  std::vector<std::string_view> names = dotted_names();
  names.push_back(kSag);
  throw InputError(Fault{std::string(name), "", "is no known name" + suggestion(name, names), {}});
}

bool holds(const HoldSetup& hold) { return !std::isnan(hold.sag) || !std::isnan(hold.sag_length); }

}  // namespace plunge
