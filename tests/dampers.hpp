// A damper of needle, shims and blow-off valve, and its oil.
#pragma once

#include "models/laws/constants.hpp"
#include "models/setup/damper.hpp"
#include "models/setup/oil.hpp"

namespace plunge {

inline OilSetup thin_oil() {
  return {850.0, 14e-6, 3.6e-6, kZeroCelsius + 25.0, kSharpEdgeDischarge};
}

inline DamperSetup with_hydraulics() {
  DamperSetup damper;
  damper.kind = DamperKind::hydraulic;
  damper.clicks = 8.0;
  damper.piston_area = 3.1e-4;
  damper.bleed_area = 3e-6;
  damper.bleed_length = 8e-3;
  damper.bleed_clicks = 20.0;
  damper.shim_preload = 2e5;
  damper.shim_slope = 2e-11;
  damper.shim_area = 3e-5;
  damper.blow_off_pressure = 3e6;
  damper.blow_off_slope = 5e-12;
  return damper;
}

// Its shims crack at 5e5 Pa closed, 1e5 Pa wide open.
inline DamperSetup with_shim_adjuster() {
  DamperSetup damper = with_hydraulics();
  damper.shim_clicks = 8.0;
  damper.shim_preload_closed = 5e5;
  damper.shim_preload = 1e5;
  damper.high_speed_clicks = 6.0;
  return damper;
}

}  // namespace plunge
