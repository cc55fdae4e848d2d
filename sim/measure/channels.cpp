#include "sim/measure/channels.hpp"

#include <array>

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

using F = Forces<double>;
using C = Motion<double>;

constexpr std::array kFields = {
    ChannelField{"distance", "m", "distance of the frame along the ground", motion<&C::distance>},
    ChannelField{"speed", "m s-1", "forward speed of the frame", motion<&C::speed>},
    ChannelField{"forward_acceleration", "m s-2", "forward acceleration of the frame",
                 motion<&C::acceleration>},
    ChannelField{"plane_gravity", "m s-2", "load along the plane of the bike, g/cos(lean)",
                 motion<&C::gravity>},
    ChannelField{"path_height", "m", "height of the wheel centre's path, less the wheel radius",
                 [](const Instant& i, const Rider&) { return i.point.height; }},
    ChannelField{"path_slope", "1", "slope of the wheel centre's path",
                 [](const Instant& i, const Rider&) { return i.point.slope; }},
    ChannelField{"wheel_height", "m", "height of the wheel centre, less the wheel radius",
                 [](const Instant& i, const Rider& r) {
                   return i.state[kSprungHeight] + i.state[kTravel] * r.sine;
                 }},
    ChannelField{"travel", "m", "fork travel, 0 at full extension", state<kTravel>},
    ChannelField{"travel_speed", "m s-1", "speed of the fork, positive in compression",
                 state<kTravelSpeed>},
    ChannelField{"travel_acceleration", "m s-2", "acceleration of the fork",
                 force<&F::travel_acceleration>},
    ChannelField{"sprung_height", "m", "height of the sprung mass", state<kSprungHeight>},
    ChannelField{"sprung_speed", "m s-1", "vertical speed of the sprung mass", state<kSprungSpeed>},
    ChannelField{"sprung_acceleration", "m s-2", "vertical acceleration of the sprung mass",
                 force<&F::sprung_acceleration>},
    ChannelField{"body_height", "m", "height of the upper body, equal to sprung_height at no force",
                 state<kBodyHeight>},
    ChannelField{"body_speed", "m s-1", "vertical speed of the upper body", state<kBodySpeed>},
    ChannelField{"body_acceleration", "m s-2", "vertical acceleration of the upper body",
                 force<&F::body_acceleration>},
    ChannelField{"fork_force", "N", "force of the fork along its legs, positive extends",
                 force<&F::fork>},
    ChannelField{"air_force", "N", "force of the air spring", force<&F::air>},
    ChannelField{"coil_force", "N", "force of coil springs", force<&F::coil>},
    ChannelField{"damper_force", "N", "force of the damper and the hydraulic stop",
                 force<&F::damper>},
    ChannelField{"friction_force", "N", "friction of seals and bushings", force<&F::friction>},
    ChannelField{"bumper_force", "N", "force of the bottom-out bumper", force<&F::bumper>},
    ChannelField{"metal_force", "N", "force of metal on metal past the travel", force<&F::metal>},
    ChannelField{"top_out_force", "N", "force of the top-out spring", force<&F::top_out>},
    ChannelField{"axle_force", "N", "vertical force of the ground on the wheel", force<&F::tyre>},
    ChannelField{"brake_force", "N", "braking force of the front wheel", force<&F::brake>},
    ChannelField{"transfer_force", "N", "load moved forward by braking", force<&F::transfer>},
    ChannelField{"side_force", "N", "load across the legs at the axle", force<&F::side>},
    ChannelField{"hand_force", "N", "downward force of the hands on the bar",
                 [](const Instant& i, const Rider&) { return -i.forces.arms; }},
    ChannelField{"tyre_deflection", "m", "deflection of the tyre, negative off the ground",
                 force<&F::deflection>},
    ChannelField{"main_pressure", "Pa", "absolute pressure of the main chamber",
                 force<&F::main_pressure>},
    ChannelField{"negative_pressure", "Pa", "absolute pressure of the negative chamber",
                 force<&F::negative_pressure>},
    ChannelField{"leg_pressure", "Pa", "absolute pressure in the lower legs",
                 force<&F::leg_pressure>},
    ChannelField{"main_temperature", "K", "temperature of the gas in the main chamber",
                 state<kMainTemperature>},
    ChannelField{"negative_temperature", "K", "temperature of the gas in the negative chamber",
                 state<kNegativeTemperature>},
};

}  // namespace

std::span<const ChannelField> channel_fields() { return kFields; }

}  // namespace plunge
