// What feeds the servos: wire, connectors, fuses, supply and buffer. Plain arithmetic of the handbooks, in volts, amperes, metres.
// It helps to size a supply and doesn't replace a measurement, nor the caution of someone who knows mains and batteries.
#pragma once
#include <array>
#include <cstdint>
#include <string>

#include "show/finding.hpp"

namespace mien::motion {

/// Run supplies, connectors and fuses at no more than this share of their rating in continuous duty (common practice).
inline constexpr double kContinuousShare = 0.8;

/// American wire gauge, ASTM B258: d = 0.127 mm * 92^((36 - n) / 39). Sizes 0000 to 00 are -3 to -1.
double awg_diameter_mm(int awg) noexcept;
double awg_area_mm2(int awg) noexcept;

/// One of the two leads of a run. Copper: 1/58 ohm mm2/m at 20 C, 0.00393 per kelvin (IEC 60028:1925).
struct Wire {
  double area_mm2 = 0;
  double length_m = 0;  ///< one way
  double temperature_c = 20;
};
double ohm_per_m(double area_mm2, double temperature_c) noexcept;
/// Lost on the way there and back.
double drop_v(const Wire& wire, double current_a) noexcept;

/// The capacitor that carries a load over a gap of time: at constant current while the voltage falls by drop_v; at constant power
/// (a switching regulator) while it falls from from_v to to_v. And the gap that a capacitor bridges.
double hold_up_farad(double current_a, double time_s, double drop_v) noexcept;
double hold_up_farad(double power_w, double time_s, double from_v, double to_v) noexcept;
double hold_up_s(double farad, double current_a, double drop_v) noexcept;

/// Root mean square over the last window, fed once a tick; before a window has passed, over what there was. Never negative. A value.
class SlidingRms {
 public:
  static constexpr int kMostSamples = 1000;
  /// Samples in a window, e.g. one second's ticks; drawn in to [1, kMostSamples].
  explicit SlidingRms(int samples) noexcept;
  /// Takes the current of this tick (NaN counts as zero) and returns the mean with it.
  double add(double current_a) noexcept;

 private:
  std::array<float, kMostSamples> squares_;
  std::int32_t window_, count_ = 0, next_ = 0;
  double sum_ = 0, fresh_ = 0;  // fresh_: the sum since the ring last began anew, which then replaces sum_ and its rounding
};

/// What a rail must carry.
struct Load {
  int actuators = 0;
  double stall_a = 0;  ///< all stalled at once
  double peak_a = 0;   ///< most expected on any tick of the show
  double rms_a = 0;    ///< most over one second
  double stuck_a = 0;  ///< what one stalled actuator can draw, the largest of them
};

/// What a rail is made of. Zero: not given.
struct Feed {
  double voltage_v = 0;
  double supply_a = 0;     ///< rating of the supply or of the rail
  double connector_a = 0;  ///< rating of the weakest connector
  double fuse_a = 0;
  Wire wire;
};

/// Where the load is more than the feed should carry. A rail with no rating is a finding, the first; connector, fuse and wire are judged all the same. Places are left empty.
show::Findings check(const Feed& feed, const Load& load);

/// What would do. Zero: nothing in the usual lists would (split the rail).
struct Advice {
  double supply_a = 0;  ///< carries the worst case at 80 %
  double fuse_a = 0;    ///< carries the RMS at 80 %, and the peak with one servo stuck besides
  int awg = 0;          ///< thinnest even gauge that keeps the drop at the peak to 5 % and stands the fuse
  double area_mm2 = 0;  ///< of that gauge
  double drop_v = 0;    ///< over it, at the peak
};
/// Lists and rules are common practice: supplies and blade fuses as sold, 5 A per mm2 for short open wires, 5 % of drop.
Advice advise(double voltage_v, double length_m, const Load& load) noexcept;
std::string to_text(const Advice& advice);

}  // namespace mien::motion
