// Numbers that tests name: a degree in radians, and what is not finite.
#pragma once
#include <limits>
#include <numbers>

namespace mien::support {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInf = std::numeric_limits<double>::infinity();

}  // namespace mien::support
