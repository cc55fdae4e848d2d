#include "tools/page/model/door.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <nlohmann/json.hpp>
#include <utility>

#include "models/setup/damper_readings.hpp"
#include "models/setup/knob.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/overrides.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/input/settle.hpp"
#include "sim/lanes/planned_rides.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/open_text.hpp"
#include "sim/report/ride_bands.hpp"
#include "sim/text/build.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/ride_figure.hpp"
#include "tools/page/model/figure_question.hpp"
#include "tools/page/model/refuse.hpp"
#include "tools/page/model/shipped.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

// At which a preview's traces stand at most [Hz]: chosen, several points a pixel of a drop.
constexpr double kPreviewRate = 200.0;

constexpr double kPathStep = 0.01;       // of the wheel's path as it is drawn [m]
constexpr double kMostPathSteps = 20e3;  // of all of it
constexpr int kMostPoints = 10'000;      // of a curve
constexpr std::size_t kMostPreviewed = 1'000;

std::string text_in(const Json& question, const char* key) {
  return question.at(key).get<std::string>();
}

Json label_object(const Label& label) {
  return {{"name", label.name}, {"unit", label.unit},         {"longName", label.long_name},
          {"said", label.said}, {"decimals", label.decimals}, {"label", label.label}};
}

Json whole_step(bool whole) { return whole ? Json(1.0) : Json(nullptr); }

Json units() {
  Json list = Json::array();
  for (const CommonUnit& unit : common_units()) {
    list.push_back({{"name", unit.name},
                    {"unit", unit.unit},
                    {"numerator", unit.numerator},
                    {"denominator", unit.denominator},
                    {"offset", unit.offset}});
  }
  return list;
}

Json parameter_list() {
  Json list = Json::array();
  for (const Parameter& parameter : parameters()) {
    list.push_back({{"name", parameter.name},
                    {"unit", parameter.unit},
                    {"said", parameter.said},
                    {"longName", parameter.meaning},
                    {"low", json_number(parameter.low)},
                    {"high", json_number(parameter.high)},
                    {"step", whole_step(parameter.whole)},
                    {"fallback", json_number(parameter.fallback)},
                    {"readBy", reader_of(parameter)}});
  }
  return list;
}

Json choice_list() {
  Json list = Json::array();
  for (const Choice<Setup>& choice : choices()) {
    Json values = Json::array();
    for (const ChoiceValue& value : choice.values) {
      values.push_back({{"name", value.name}, {"meaning", value.meaning}});
    }
    list.push_back({{"name", choice.name},
                    {"longName", choice.meaning},
                    {"values", values},
                    {"readBy", reader_of(choice)}});
  }
  return list;
}

Json channel_list() {
  Json list = Json::array();
  for (const ChannelRow& row : channel_rows()) {
    Json object = label_object(row);
    object["inPreview"] =
        std::ranges::find(keepable_traces(), row.name, &Label::name) != keepable_traces().end();
    list.push_back(object);
  }
  return list;
}

std::string_view to_string(Sense sense) {
  switch (sense) {
    case Sense::less:
      return "less";
    case Sense::more:
      return "more";
    case Sense::neither:
      return "neither";
  }
  return "";
}

Json metric_list() {
  Json list = Json::array();
  for (const MetricRow& row : metric_rows()) {
    Json object = label_object(row);
    object["heading"] = heading(row.group);
    object["sense"] = to_string(row.sense);
    object["shown"] = (row.shown & kWithOneRide) != 0;
    list.push_back(object);
  }
  return list;
}

// Limits of a number that a set-up's own parts make narrower than the table's.
void narrow(const Setup& setup, Knob& knob) {
  const ForkSetup& fork = setup.fork;
  for (const auto& [side, damper] :
       {std::pair("compression", &fork.compression), std::pair("rebound", &fork.rebound)}) {
    for (const Adjuster& adjuster : adjusters_of(*damper)) {
      if (knob.name != fmt::format("fork.{}.{}", side, adjuster.key)) continue;
      knob.low = adjuster.first;
      knob.high = adjuster.last;
    }
  }
  if (knob.name == "fork.spacers" && fork.spacer_limit >= 0.0) {
    knob.high = std::min(knob.high, fork.spacer_limit);
  }
  if (knob.name == "fork.pressure" && fork.pressure_limit > 0.0) {
    knob.high = std::min(knob.high, fork.pressure_limit);
  }
}

// Every number of a set-up by its dotted name, features and events included.
std::vector<std::string> number_names(const Setup& setup) {
  std::vector<std::string> names;
  for (const Parameter& parameter : parameters()) names.emplace_back(parameter.name);
  for (std::size_t i = 0; i < setup.terrain.size(); ++i) {
    for (const FeatureField& field : feature_fields()) {
      names.push_back(fmt::format("terrain[{}].{}", i, field.name));
    }
  }
  for (std::size_t i = 0; i < setup.events.size(); ++i) {
    for (const EventField& field : event_fields()) {
      names.push_back(fmt::format("event[{}].{}", i, field.name));
    }
  }
  return names;
}

Json settings_list(const Setup& setup) {
  Json list = Json::array();
  for (const std::string& name : number_names(setup)) {
    Knob knob = find_knob(setup, name);
    if (!knob.is_read(setup)) continue;
    narrow(setup, knob);
    list.push_back({{"name", knob.name},
                    {"unit", knob.unit},
                    {"said", knob.said},
                    {"longName", knob.meaning},
                    {"value", json_number(knob.get(setup))},
                    {"low", json_number(knob.low)},
                    {"high", json_number(knob.high)},
                    {"step", whole_step(knob.whole)}});
  }
  return list;
}

Json words_of(const Setup& setup) {
  Json object = Json::object();
  for (const Choice<Setup>& choice : choices()) {
    if (choice.needed != nullptr && !choice.needed(setup)) continue;
    object[std::string(choice.name)] =
        choice.values[static_cast<std::size_t>(choice.get(setup))].name;
  }
  return object;
}

// "fork.spacers=0,1,2": values in the knob's own unit.
std::string variation_text(const Knob& knob, std::span<const double> values) {
  std::string text = knob.name + "=";
  for (const double value : values) {
    if (text.back() != '=') text += ",";
    text += fmt::format("{}", value);
    if (knob.unit != "1") text += " " + knob.unit;
  }
  return text;
}

// The wishes of a slot but for what says the same number, or stands against it.
Wishes wishes_beside(Wishes wishes, const std::string& key) {
  const bool of_sag = key == sag_knob().name;
  const bool of_spring = sets_spring(key);
  std::erase_if(wishes.set, [&](const std::string& text) {
    const std::string name = split_setting(text).name;
    return name == key || (of_sag && sets_spring(name)) || (of_spring && name == sag_knob().name);
  });
  if (of_sag) wishes.hold.clear();
  if (of_spring) wishes.hold = "pressure";
  wishes.vary_option = "preview";
  return wishes;
}

std::string_view to_string(Origin origin) {
  switch (origin) {
    case Origin::lanes:
      return "lanes";
    case Origin::adaptive:
      return "adaptive";
    case Origin::failed:
      return "failed";
  }
  return "";
}

Keep keep_of(const Json& question, double sample_rate) {
  Keep keep;
  keep.metrics = question.at("metrics").get<std::vector<std::string>>();
  keep.traces = question.at("channels").get<std::vector<std::string>>();
  keep.trace_rate = std::min(kPreviewRate, sample_rate);
  for (const std::string& name : keep.metrics) {
    if (find_metric(name) == nullptr) refuse("metrics", name, "is no metric");
  }
  const auto& traces = keepable_traces();
  for (const std::string& name : keep.traces) {
    if (std::ranges::find(traces, name, &Label::name) == traces.end()) {
      refuse("channels", name, "is no channel that a preview has");
    }
  }
  return keep;
}

// A value of a preview, with its ride or what keeps it from one.
struct Previewed {
  double value = 0.0;
  ReadyRide ride;
  Faults faults;
};

}  // namespace

Door::Door() {
  for (const ShippedFile& file : shipped_files()) {
    files_.put(std::string(file.path), std::string(file.text));
  }
}

void Door::ask(std::string_view question, std::span<const double> given) {
  numbers_.clear();
  given_ = given;
  Json said;
  try {
    said["answer"] = answer(Json::parse(question));
  } catch (const InputError& error) {
    said["faults"] = faults_json(error.faults());
  } catch (const std::bad_alloc&) {
    numbers_ = {};
    said["error"] = "there is not enough memory for it";
  } catch (const std::exception& error) {
    said["error"] = error.what();
  }
  words_ = said.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Json Door::answer(const Json& question) {
  const std::string what = text_in(question, "ask");
  if (what == "version") return build_text();
  if (what == "scenes") return scenes();
  if (what == "files") return files();
  if (what == "units") return units();
  if (what == "parameters") return parameter_list();
  if (what == "choices") return choice_list();
  if (what == "channels") return channel_list();
  if (what == "metric_rows") return metric_list();
  if (what == "put") {
    files_.put(text_in(question, "path"), text_in(question, "text"));
    return nullptr;
  }
  if (what == "load") return load(question);
  if (what == "set") return set(question);
  if (what == "settled") return settled(question);
  if (what == "scene_text") return scene_text(question);
  if (what == "curve") return curve(question);
  if (what == "damper") return damper(question);
  if (what == "ground") return ground(question);
  if (what == "ride") return ride(question);
  if (what == "preview") return preview(question);
  if (what == "figure") return figure(question);
  if (what == "ride_figure") return ride_figure(question);
  if (what == "bands") return bands(question);
  refuse("ask", what, "is nothing that can be asked");
}

Json Door::scenes() {
  Json list = Json::array();
  for (const ShippedFile& file : shipped_files()) {
    if (!file.path.starts_with("scenes/")) continue;
    const std::string path(file.path);
    const Scene scene = load_scene(files_, path, Overrides{}, false);
    list.push_back({{"path", path}, {"name", scene.setup.name}, {"text", file.text}});
  }
  return list;
}

Json Door::files() {
  Json list = Json::array();
  for (const ShippedFile& file : shipped_files()) {
    if (file.path.starts_with("scenes/")) continue;
    list.push_back({{"path", file.path}, {"text", file.text}});
  }
  return list;
}

ReadyRides Door::ready_of(const Slot& slot, const Wishes& wishes) const {
  return ready_text(files_, slot.text, slot.path, wishes, files_.folder_of(slot.path));
}

const Door::Slot& Door::slot_of(const Json& question) const {
  const int number = question.at("slot").get<int>();
  const auto found = slots_.find(number);
  if (found == slots_.end()) refuse("slot", std::to_string(number), "holds no scene");
  return found->second;
}

const ReadyRide& Door::ride_of(const Json& question) const {
  return slot_of(question).ready.rides.front();
}

Json Door::load(const Json& question) {
  Slot slot{text_in(question, "text"), text_in(question, "path"), {}, {}};
  slot.ready = ready_of(slot, slot.wishes);
  slots_[question.at("slot").get<int>()] = std::move(slot);
  return nullptr;
}

Json Door::set(const Json& question) {
  const Slot& before = slot_of(question);
  Slot slot{before.text, before.path, {}, {}};
  for (const auto& [name, value] : question.at("set").items()) {
    slot.wishes.set.push_back(name + "=" + value.get<std::string>());
  }
  const Json& hold = question.at("hold");
  if (hold.is_number()) slot.wishes.hold = fmt::format("sag={}", hold.get<double>());
  if (hold.is_string()) slot.wishes.hold = hold.get<std::string>();
  slot.ready = ready_of(slot, slot.wishes);
  slots_[question.at("slot").get<int>()] = std::move(slot);
  return nullptr;
}

Json Door::settled(const Json& question) {
  const Slot& slot = slot_of(question);
  const ReadyRide& ride = slot.ready.rides.front();
  Json solved;
  if (!ride.held.empty()) {
    const NamedValue& held = ride.held.front();
    solved = {{"name", held.name}, {"unit", held.unit}, {"value", json_number(held.value)}};
  }
  return {{"name", slot.ready.name},
          {"hold",
           {{"sag", json_number(ride.hold.sag)}, {"length", json_number(ride.hold.sag_length)}}},
          {"solved", solved},
          {"settings", settings_list(ride.setup)},
          {"words", words_of(ride.setup)},
          {"uncertain", has_bands(slot.ready)},
          {"notes", slot.ready.notes}};
}

Json Door::scene_text(const Json& question) { return to_scene_text(ride_of(question).setup); }

Json Door::place(std::span<const double> values) {
  const std::size_t at = numbers_.size();
  numbers_.insert(numbers_.end(), values.begin(), values.end());
  return {{"at", at}, {"count", values.size()}};
}

Json Door::curve(const Json& question) {
  const Setup& setup = ride_of(question).setup;
  const int points = question.at("points").get<int>();
  if (!(points >= 2 && points <= kMostPoints)) {
    refuse("points", std::to_string(points), fmt::format("must be 2 to {}", kMostPoints));
  }
  const Rider rider = assemble(setup);
  const double from = sag(rider);
  const TravelBand band = sag_band(rider);
  const AirSpring<double>& air = rider.air;
  const bool negative = rider.has_air && air.negative.area > 0.0;
  std::vector<double> x;
  std::vector<double> slow;
  std::vector<double> fast;
  std::vector<double> stiff;
  std::vector<double> main_volume;
  std::vector<double> main_pressure;
  std::vector<double> negative_volume;
  std::vector<double> negative_pressure;
  for (int i = 0; i < points; ++i) {
    const double at = rider.travel * i / (points - 1);
    x.push_back(at);
    slow.push_back(slow_spring_force(rider, at));
    fast.push_back(fast_spring_force(rider, from, at));
    stiff.push_back(slow_stiffness(rider, at));
    if (!rider.has_air) continue;
    const double mass = settled_main_mass(rider, at);
    main_volume.push_back(air.main.volume_at(at));
    main_pressure.push_back(air.main.pressure(mass, air.main.wall, at));
    if (!negative) continue;
    negative_volume.push_back(air.negative.volume_at(at));
    negative_pressure.push_back(
        air.negative.pressure(rider.gas_mass - mass, air.negative.wall, at));
  }
  Json main;
  Json beside;
  if (rider.has_air) {
    main = {{"volume", place(main_volume)}, {"pressure", place(main_pressure)}};
  }
  if (negative) {
    beside = {{"volume", place(negative_volume)}, {"pressure", place(negative_pressure)}};
  }
  return {{"pressure", json_number(rider.has_air ? setup.fork.pressure : kUnset)},
          {"travel", rider.travel},
          {"sag", from},
          {"sagLeast", band.least},
          {"sagMost", band.most},
          {"breakaway", json_number(breakaway_force(rider))},
          {"progression", json_number(progression(rider))},
          {"metrics", by_name(static_metrics(rider, setup))},
          {"x", place(x)},
          {"slow", place(slow)},
          {"fast", place(fast)},
          {"stiffness", place(stiff)},
          {"main", main},
          {"negative", beside}};
}

Json Door::direction(std::string_view name, const DamperSetup& damper, const OilSetup& oil) {
  const DamperReading reading = read_damper(damper, oil);
  const DamperCurve curve = damper_curve(damper, oil);
  const Choice<Setup>& kinds = *find_choice("fork.compression.kind");
  Json adjusters = Json::array();
  for (const Adjuster& adjuster : adjusters_of(damper)) {
    Json forces = Json::array();
    DamperSetup turned = damper;
    for (double clicks = adjuster.first; clicks <= adjuster.last; ++clicks) {
      turned.*adjuster.position = clicks;
      forces.push_back(is_locked(turned, oil) ? Json(nullptr)
                                              : place(damper_curve(turned, oil).force));
    }
    adjusters.push_back({{"name", fmt::format("fork.{}.{}", name, adjuster.key)},
                         {"called", to_string(adjuster.adjusts)},
                         {"first", adjuster.first},
                         {"last", adjuster.last},
                         {"asSet", damper.*adjuster.position},
                         {"forces", forces}});
  }
  return {{"kind", kinds.values[static_cast<std::size_t>(damper.kind)].name},
          {"reading",
           {{"slopeAtRest", json_number(reading.slope_at_rest)},
            {"knee", json_number(reading.knee)},
            {"kneeForce", json_number(reading.knee_force)}}},
          {"speed", place(curve.speed)},
          {"force", place(curve.force)},
          {"adjusters", adjusters}};
}

Json Door::damper(const Json& question) {
  const ForkSetup& fork = ride_of(question).setup.fork;
  return {{"compression", direction("compression", fork.compression, fork.oil)},
          {"rebound", direction("rebound", fork.rebound, fork.oil)}};
}

Json Door::ground(const Json& question) {
  const Setup& setup = ride_of(question).setup;
  const Ground ground = build_ground(setup.terrain, setup.bike);
  const double from = ground.distance.front();
  const double way = ground.distance.back() - from;
  const double steps = std::clamp(std::ceil(way / kPathStep), 1.0, kMostPathSteps);
  std::vector<double> distance;
  std::vector<double> height;
  for (double i = 0.0; i <= steps; ++i) {
    distance.push_back(from + way * i / steps);
    height.push_back(ground.path.at(distance.back()).height);
  }
  return {{"distance", place(ground.distance)},
          {"elevation", place(ground.elevation)},
          {"wheelDistance", place(distance)},
          {"wheelHeight", place(height)},
          {"length", ground.length}};
}

Json Door::ride(const Json& question) {
  const Slot& slot = slot_of(question);
  const Result result = ride_one(slot.ready.rides.front());
  keep_for_figure(question.at("slot").get<int>(), slot.ready, result);
  Json channels = Json::object();
  for (const Channel& channel : result.channels) channels[channel.name] = place(channel.values);
  return {{"time", place(result.time)},         {"channels", channels},
          {"metrics", by_name(result.metrics)}, {"energy", by_name(result.energy)},
          {"solver", by_name(result.solver)},   {"located", located_json(result.located)},
          {"failure", result.failure}};
}

void Door::keep_for_figure(int slot, const ReadyRides& ready, const Result& result) {
  PlotTraces traces(ready);
  traces.take(0, result.channels);
  traces.add_numbers({result});
  ridden_.insert_or_assign(slot, std::move(traces));
}

Json Door::figure(const Json& question) {
  return drawn_figure(figure_in(question.at("figure"), given_), look_in(question.at("look")),
                      question.at("file").get<bool>());
}

Json Door::ride_figure(const Json& question) {
  const auto slots = question.at("slots").get<std::vector<int>>();
  const auto labels = question.at("labels").get<std::vector<std::string>>();
  if (labels.size() != slots.size()) {
    refuse("labels", std::to_string(labels.size()), "must be as many as there are slots");
  }
  std::vector<DrawnRide> rides;
  std::deque<Result> named;  // so that what points to one stays good
  for (std::size_t i = 0; i < slots.size(); ++i) {
    const auto found = ridden_.find(slots[i]);
    if (found == ridden_.end()) {
      refuse("slots", std::to_string(slots[i]), "holds nothing that has been ridden");
    }
    for (const DrawnRide& taken : found->second.rides()) {
      const Result& ride = named.emplace_back(*taken.ride);
      named.back().label = labels[i];
      rides.push_back({&ride, taken.moment == taken.ride ? &ride : taken.moment});
    }
  }
  const bool bar = question.at("bar").get<bool>();
  const Figure figure =
      plunge::ride_figure(rides, {text_in(question, "title"), settings_of(rides, bar)});
  return drawn_figure(figure, look_in(question.at("look")), question.at("file").get<bool>());
}

Json Door::preview(const Json& question) {
  const Slot& slot = slot_of(question);
  const Setup& setup = slot.ready.rides.front().setup;
  const std::string key = text_in(question, "key");
  const auto values = question.at("values").get<std::vector<double>>();
  if (values.size() > kMostPreviewed) {
    refuse("values", std::to_string(values.size()),
           fmt::format("must not be more than {}", kMostPreviewed));
  }
  const Keep keep = keep_of(question, setup.ride.sample_rate);
  const Knob knob = find_knob(setup, key);
  Wishes wishes = wishes_beside(slot.wishes, key);

  std::vector<Previewed> previewed;
  for (const double value : values) {
    Previewed& one = previewed.emplace_back();
    one.value = value;
    wishes.vary = {variation_text(knob, std::span(&value, 1))};
    try {
      one.ride = ready_of(slot, wishes).rides.front();
    } catch (const InputError& error) {
      one.faults = error.faults();
    }
  }
  std::vector<ReadyRide> sound;
  for (const Previewed& one : previewed) {
    if (one.faults.empty()) sound.push_back(one.ride);
  }
  const std::vector<PlannedRide> planned = planned_rides(sound);
  ManyRides rides(keep, best_instruction_set());
  const bool glance = question.at("glance").get<bool>();
  const std::vector<RideRow> ridden = glance ? rides.glance(planned) : rides.ride(planned);

  Json rows = Json::array();
  std::size_t next = 0;
  for (const Previewed& one : previewed) {
    const RideRow row = one.faults.empty() ? ridden[next++] : RideRow{};
    Json metrics = Json::object();
    for (std::size_t i = 0; i < row.metrics.size(); ++i) {
      metrics[keep.metrics[i]] = json_number(row.metrics[i]);
    }
    Json channels = Json::object();
    for (std::size_t i = 0; i < row.traces.size(); ++i) {
      channels[keep.traces[i]] =
          place(std::vector<double>(row.traces[i].begin(), row.traces[i].end()));
    }
    rows.push_back({{"value", one.value},
                    {"label", one.ride.label},
                    {"origin", to_string(row.origin)},
                    {"faults", faults_json(one.faults)},
                    {"failure", row.failure},
                    {"metrics", metrics},
                    {"channels", channels}});
  }
  return {{"key", key}, {"rate", keep.trace_rate}, {"rows", rows}};
}

Json Door::bands(const Json& question) {
  const ReadyRides& all = slot_of(question).ready;
  std::vector<std::string> names;
  for (const auto& [name, value] : question.at("metrics").items()) {
    if (find_metric(name) == nullptr) refuse("metrics", name, "is no metric");
    names.push_back(name);
  }
  // Without a stop they are all ridden.
  const RideBands bands = ride_bands(all, names).value();
  if (bands.empty()) return nullptr;
  const OpenRide& open = bands.rides.front();
  Json answer = bands_json(bands, open);
  for (auto& [name, number] : answer["numbers"].items()) {
    const OpenNumber& of = *open.find(name);
    const Json& value = question.at("metrics").at(name);
    Json texts = Json::object();
    for (const bool bar : {false, true}) {
      const Label label = in_bar(*find_metric(name), bar);
      texts[label.said] = open_text(value.is_number() ? value.get<double>() : kUnset, label, of);
    }
    number["texts"] = texts;
    number["mostly"] = cause_words(of);
  }
  return answer;
}

}  // namespace plunge
