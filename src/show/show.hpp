// A show, as a value. An edit makes a new Show that shares every untouched channel with the old one; once inside a
// shared_ptr<const Show> nothing in it changes again, so any thread may read it without a lock.
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

struct Marker {
  Time time{0};
  std::string name;
  friend bool operator==(const Marker&, const Marker&) = default;
};

/// A stretch of a sound file placed on the show.
struct Sound {
  std::string file;  ///< relative to the show's folder
  Time start{0};     ///< where in the show its first sample sounds
  Time trim{0};      ///< how much of the file's beginning is left out
  double gain_db = 0;
  friend bool operator==(const Sound&, const Sound&) = default;
};

struct Show {
  std::string name;
  std::string rig_file;  ///< relative to the show's folder
  Time length{0};
  std::optional<Range> loop;
  std::vector<Sound> sounds;
  std::vector<Marker> markers;  ///< in rising time
  std::vector<ChannelPtr> channels;  ///< none of them null
};
using ShowPtr = std::shared_ptr<const Show>;

/// Equal in all that is authored, whether or not they share channels.
bool same(const Show& a, const Show& b) noexcept;

/// nullptr where the control has no channel.
const Channel* find_channel(const Show& show, std::string_view control) noexcept;

/// "hold", "linear", "smooth", "ease", "ease-in", "ease-out", "ease-in-out" or "bezier(x1 y1 x2 y2)", numbers in their
/// shortest form that reads back the same.
std::string to_text(const Easing& easing);
/// The inverse; nothing where the text is none of these, a number is not finite, or x1 or x2 lies outside [0, 1].
std::optional<Easing> parse_easing(std::string_view text);

}  // namespace mien::show
