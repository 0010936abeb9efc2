// Many samples of a curve as few keys: piecewise cubics, each as long as it can be within the error that is allowed.
//
// Method: Schneider, "An Algorithm for Automatically Fitting Digitized Curves" (Graphics Gems, 1990), for curves that are functions of time.
// There the parameter is the time itself, so that what Schneider approaches by reparameterising is exact at once: a segment is the cubic through
// its two end samples whose slopes there make the sum of squares least (two unknowns). In place of splitting at the worst sample, segments are
// grown from the left to the longest that keeps the bound, found by doubling and bisection, which leaves fewer keys.
#pragma once
#include <span>
#include <vector>

#include "show/channel.hpp"

namespace mien::motion {

struct Sample {
  show::Time time{0};
  double value = 0;
  friend bool operator==(const Sample&, const Sample&) = default;
};

/// Keys whose curve (motion::evaluate) passes every sample within `error`, in the samples' unit; keys stand on samples and have their values.
/// Their easings are hold, linear, or the bezier that is a cubic in time (x1 = 1/3, x2 = 2/3). Preconditions: times rise strictly, values are
/// finite. No sample gives no key, a constant gives one; error <= 0 counts as rounding alone. About n log n.
std::vector<show::Keyframe> simplified(std::span<const Sample> samples, double error);

}  // namespace mien::motion
