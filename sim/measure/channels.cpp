#include "sim/measure/channels.hpp"

#include <algorithm>
#include <cmath>

namespace plunge {
namespace {

template <std::size_t kIndex>
double state(const Instant& i, const Rider&) {
  return i.state[kIndex];
}

template <double Forces<double>::*kMember>
double force(const Instant& i, const Rider&) {
  return i.forces.*kMember;
}

template <double Motion<double>::*kMember>
double motion(const Instant& i, const Rider&) {
  return i.motion.*kMember;
}

template <double Course<double>::*kMember>
double course(const Instant& i, const Rider&) {
  return i.course.*kMember;
}

using F = Forces<double>;
using C = Motion<double>;

}  // namespace

// NOLINTNEXTLINE(readability-function-size): a table, one row a channel.
const std::vector<ChannelRow>& channel_rows() {
  static const std::vector<ChannelRow> list = {
      {{"distance", "m", "distance of the frame along the horizontal", "m", 1, "distance"},
       motion<&C::distance>},
      {{"speed", "m s-1", "forward speed of the frame", "km/h", 1, "speed"}, motion<&C::speed>},
      {{"forward_acceleration", "m s-2", "forward acceleration of the frame", "m/s2", 2,
        "forward acceleration"},
       motion<&C::acceleration>},
      {{"pitch", "rad", "angle of the bike to the horizontal, positive uphill", "deg", 1, "pitch"},
       [](const Instant& i, const Rider&) { return std::atan(i.motion.grade.slope); }},
      {{"plane_gravity", "m s-2", "load along the plane of the bike, g/cos(lean)", "m/s2", 2,
        "load along the bike's plane"},
       motion<&C::gravity>},
      {{"path_height", "m", "height of the wheel centre's path, less the wheel radius", "m", 3,
        "wheel path"},
       [](const Instant& i, const Rider&) { return i.point.height; }},
      {{"path_slope", "1", "slope of the wheel centre's path", "%", 1, "slope of the wheel path"},
       [](const Instant& i, const Rider&) { return i.point.slope; }},
      {{"wheel_height", "m", "height of the wheel centre, less the wheel radius", "m", 3,
        "height of the wheel"},
       [](const Instant& i, const Rider&) {
         return i.state[kSprungHeight] + i.state[kTravel] * i.course.sine;
       }},
      {{"travel", "m", "fork travel, 0 at full extension", "mm", 1, "travel"}, state<kTravel>},
      {{"travel_speed", "m s-1", "speed of the fork, positive in compression", "m/s", 2,
        "fork speed"},
       state<kTravelSpeed>},
      {{"travel_acceleration", "m s-2", "acceleration of the fork", "m/s2", 1, "fork acceleration"},
       force<&F::travel_acceleration>},
      {{"sprung_height", "m", "height of the sprung mass", "m", 3, "height of the frame"},
       state<kSprungHeight>},
      {{"sprung_speed", "m s-1", "vertical speed of the sprung mass", "m/s", 2,
        "vertical speed of the frame"},
       state<kSprungSpeed>},
      {{"sprung_acceleration", "m s-2", "vertical acceleration of the sprung mass", "m/s2", 1,
        "frame acceleration"},
       force<&F::sprung_acceleration>},
      {{"body_height", "m", "height of the upper body, equal to sprung_height at no force", "m", 3,
        "height of the upper body"},
       state<kBodyHeight>},
      {{"body_speed", "m s-1", "vertical speed of the upper body", "m/s", 2,
        "vertical speed of the upper body"},
       state<kBodySpeed>},
      {{"body_acceleration", "m s-2", "vertical acceleration of the upper body", "m/s2", 1,
        "upper body acceleration"},
       force<&F::body_acceleration>},
      {{"fork_force", "N", "force of the fork along its legs, positive extends", "kN", 3,
        "fork force"},
       force<&F::fork>},
      {{"air_force", "N", "force of the air spring", "kN", 3, "air force"}, force<&F::air>},
      {{"coil_force", "N", "force of coil springs", "kN", 3, "coil force"}, force<&F::coil>},
      {{"damper_force", "N", "force of the damper and the hydraulic stop", "kN", 3, "damper force"},
       force<&F::damper>},
      {{"friction_force", "N", "friction of seals and bushings", "kN", 3, "friction force"},
       force<&F::friction>},
      {{"bumper_force", "N", "force of the bottom-out bumper", "kN", 3, "bumper force"},
       force<&F::bumper>},
      {{"metal_force", "N", "force of metal on metal past the travel", "kN", 3, "metal force"},
       force<&F::metal>},
      {{"top_out_force", "N", "force of the top-out spring", "kN", 3, "top-out force"},
       force<&F::top_out>},
      {{"ground_force", "N",
        "force of the ground on the tyre, along the normal of the wheel's path", "kN", 3,
        "ground force"},
       force<&F::tyre>},
      {{"axle_force", "N",
        "force at the axle along the legs, of the wheel on the lower legs, positive "
        "compresses",
        "kN", 3, "axle force"},
       force<&F::axle>},
      {{"front_brake_force", "N", "braking force of the front wheel", "kN", 3, "front brake force"},
       force<&F::brake>},
      {{"rear_brake_force", "N", "braking force of the rear wheel", "kN", 3, "rear brake force"},
       course<&Course<double>::rear_brake>},
      {{"drive_force", "N", "force that drives the rear wheel", "kN", 3, "driving force"},
       course<&Course<double>::drive>},
      {{"rear_load", "N", "load on the rear wheel along the normal of the grade", "kN", 3,
        "rear load"},
       [](const Instant& i, const Rider& r) {
         return i.course.rear_load - r.bike.dive_load(i.course, i.state[kTravel]);
       }},
      {{"transfer_force", "N", "load that pitch, grade, brakes and drive add to the front", "kN", 3,
        "transfer force"},
       force<&F::transfer>},
      {{"side_force", "N", "load across the legs at the axle", "kN", 3, "side force"},
       force<&F::side>},
      {{"hand_force", "N", "downward force of the hands on the bar", "kN", 3, "hand force"},
       force<&F::hands>},
      {{"tyre_deflection", "m", "deflection of the tyre along the normal, negative off the ground",
        "mm", 1, "tyre deflection"},
       force<&F::deflection>},
      {{"main_pressure", "Pa", "absolute pressure of the main chamber", "psi", 1,
        "main chamber, absolute pressure"},
       force<&F::main_pressure>},
      {{"negative_pressure", "Pa", "absolute pressure of the negative chamber", "psi", 1,
        "negative chamber, absolute pressure"},
       force<&F::negative_pressure>},
      {{"leg_pressure", "Pa", "absolute pressure in the lower legs", "psi", 1,
        "lower legs, absolute pressure"},
       force<&F::leg_pressure>},
      {{"main_temperature", "K", "temperature of the gas in the main chamber", "degC", 1,
        "main chamber, temperature"},
       state<kMainTemperature>},
      {{"negative_temperature", "K", "temperature of the gas in the negative chamber", "degC", 1,
        "negative chamber, temperature"},
       state<kNegativeTemperature>},
  };
  return list;
}

const ChannelRow* find_channel(std::string_view name) {
  const auto found = std::ranges::find(channel_rows(), name, &ChannelRow::name);
  return found == channel_rows().end() ? nullptr : &*found;
}

}  // namespace plunge
