// What the line on a servo's box or data sheet says, and the limits that follow from it.
#pragma once
#include <string>
#include <string_view>

#include "show/finding.hpp"
#include "show/rig.hpp"

namespace mien::show {

/// Where a line leaves a figure out, what is usual for a hobby servo serves: 1000 to 2000 us over 90 deg and 0.12 s/60 deg are common practice.
struct ServoSheet {
  std::string name = "servo";
  double s_per_60deg = 0.12;
  double travel_deg = 90;                          ///< between the two pulses
  double pulse_min_us = 1000, pulse_max_us = 2000;
  double voltage_v = 0, torque_n_m = 0;            ///< 0: not told
  friend bool operator==(const ServoSheet&, const ServoSheet&) = default;
};

/// A line such as "Micro 9 g, 0.12 s/60 deg, 180 deg, 500..2500 us, 4.8 V, 1.6 kg cm": parts between commas or semicolons in any order, a
/// part without a unit is the name. Also read: sec, °, µs, -, to, N m, kg/cm. Refused, with the part: a figure without a known unit, a
/// range that is none, what no servo does (slower than 2 s/60 deg, faster than 0.01; travel beyond 10..360 deg; pulses beyond 400..2600 us).
Result<ServoSheet> parse_servo_sheet(std::string_view line, const std::string& file = {}, const std::string& place = "servo");

/// Share of the sheet's no-load speed that is taken as the velocity limit, since a servo with a face on it is slower than a free one, and the
/// time in which it is to come to that speed. Both are design rules of ours, to be measured on the head.
inline constexpr double kLoadedShare = 0.8;
inline constexpr double kSpeedUp_s = 0.05;

double velocity_of(const ServoSheet& sheet) noexcept;      ///< deg/s
double acceleration_of(const ServoSheet& sheet) noexcept;  ///< deg/s^2

/// Gives the actuator the sheet's limits, and to its travel (min_deg, max_deg) the pulses: the middle of the sheet's range is 0 deg. A travel
/// beyond what the servo can do is cut to it; true where it was.
bool put_limits(const ServoSheet& sheet, Actuator& actuator) noexcept;

/// The kind as a rig lists it; torque and voltage as usual where the sheet doesn't say.
ServoKind kind_of(const ServoSheet& sheet);

}  // namespace mien::show
