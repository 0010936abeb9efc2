// Keyframes, and the channel of one control that they stand in; shared by a show's own channels, its clips and its layers.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/time.hpp"

namespace mien::show {

/// The shape of the segment that leaves a keyframe. Hold stays until the next key; linear, smooth (monotone cubic through
/// the keys) and bezier lead to it. bezier carries the two inner control points of a unit cubic, as in CSS
/// cubic-bezier(x1, y1, x2, y2); x1 and x2 lie in [0, 1].
struct Easing {
  enum class Kind : std::uint8_t { hold, linear, smooth, bezier };
  Kind kind = Kind::smooth;
  float x1 = 0, y1 = 0, x2 = 1, y2 = 1;  ///< bezier only; others keep these defaults so that equality means sameness
  friend bool operator==(const Easing&, const Easing&) = default;
};

inline constexpr Easing kHold{Easing::Kind::hold};
inline constexpr Easing kLinear{Easing::Kind::linear};
inline constexpr Easing kSmooth{Easing::Kind::smooth};
/// The named curves of W3C CSS Easing Functions Level 1, section 2.2.
inline constexpr Easing kEase{Easing::Kind::bezier, 0.25f, 0.1f, 0.25f, 1.0f};
inline constexpr Easing kEaseIn{Easing::Kind::bezier, 0.42f, 0.0f, 1.0f, 1.0f};
inline constexpr Easing kEaseOut{Easing::Kind::bezier, 0.0f, 0.0f, 0.58f, 1.0f};
inline constexpr Easing kEaseInOut{Easing::Kind::bezier, 0.42f, 0.0f, 0.58f, 1.0f};

struct Keyframe {
  Time time{0};
  double value = 0;
  Easing easing = kSmooth;
  friend bool operator==(const Keyframe&, const Keyframe&) = default;
};

/// The keyframes of one control, in strictly rising time. Before the first key and after the last the value stands still.
/// A channel without keys leaves its control at rest.
struct Channel {
  std::string control;
  std::vector<Keyframe> keys;
  friend bool operator==(const Channel&, const Channel&) = default;
};
using ChannelPtr = std::shared_ptr<const Channel>;

/// "hold", "linear", "smooth", "ease", "ease-in", "ease-out", "ease-in-out" or "bezier(x1 y1 x2 y2)", numbers in their
/// shortest form that reads back the same.
std::string to_text(const Easing& easing);
/// The inverse; nothing where the text is none of these, a number is not finite, or x1 or x2 lies outside [0, 1].
std::optional<Easing> parse_easing(std::string_view text);

}  // namespace mien::show
