// Angles, as the geometry of servos, linkages and plates takes them.
#pragma once
#include <cmath>
#include <numbers>

namespace mien::motion {

inline constexpr double kDeg = std::numbers::pi / 180;  ///< one degree, in radians

inline double square(double x) noexcept { return x * x; }
/// The same direction within (-180, 180] degrees.
inline double wrapped(double deg) noexcept { return deg - 360 * std::ceil(deg / 360 - 0.5); }

}  // namespace mien::motion
