// What a show is made of besides its own channels: poses, clips, and the layers that lie on the channels. Values, shared as channels are.
#pragma once
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "show/channel.hpp"

namespace mien::show {

/// Bounds, so that a broken file asks for nothing absurd.
inline constexpr std::size_t kMaxLayers = 32;
inline constexpr double kMostWeight = 4;    ///< of a layer or placement that adds; one that overrides has at most 1
inline constexpr double kMostRate = 100;
inline constexpr int kMostRepeats = 1'000'000;

/// A named look of the face: values of some controls, and the action units of FACS that it stands for (show/facs.hpp), where it has any.
struct Pose {
  struct Value {
    std::string control;
    double value = 0;
    friend bool operator==(const Value&, const Value&) = default;
  };
  std::string name;
  std::vector<int> action_units;
  std::string group;  ///< of the rig; empty: it is not one group's
  std::vector<Value> values;
  friend bool operator==(const Pose&, const Pose&) = default;
};
using PosePtr = std::shared_ptr<const Pose>;

/// A bundle of channels under a name, placed as often as one likes. Times count from its beginning.
struct Clip {
  std::string name;
  Time length{0};
  std::vector<ChannelPtr> channels;  ///< none null
};
using ClipPtr = std::shared_ptr<const Clip>;
bool operator==(const Clip& a, const Clip& b) noexcept;

/// A clip on a layer. At show time t it is read at offset + (t - start) * rate, round and round, `repeats` times in all; before `start` and
/// after the last repetition it has no effect. It lasts (repeats * clip length - offset) / rate.
struct Placement {
  std::string clip;
  Time start{0};
  Time offset{0};  ///< in the clip's own time
  double rate = 1;
  double weight = 1;
  int repeats = 1;
  Time fade_in{0}, fade_out{0};  ///< in show time; where both don't fit, each gets its share of the room
  Easing fade_in_easing = kEaseInOut, fade_out_easing = kEaseInOut;
  friend bool operator==(const Placement&, const Placement&) = default;
};

/// Life without keys: blinks, glances, small moves of brows and head. A pure function of seed and time (perform/idle.hpp).
struct IdleLife {
  enum class Manner : std::uint8_t { resting, listening, speaking, reading };
  std::uint32_t seed = 1;
  Manner manner = Manner::resting;
  double blinks = 1;                    ///< share of the manner's usual rate; 0: none
  double gaze = 1, brows = 1, head = 1; ///< shares of the usual size; 0: none
  friend bool operator==(const IdleLife&, const IdleLife&) = default;
};
inline constexpr double kMostLively = 4;  ///< of an amount of idle life

/// One level of the stack. What it has for a control, y, changes what lies below, x, by its weight w:
///   over: x += w (y - x)        add: x += w (y - rest of the control)
/// Its own channels are its ground; placements lie on that, those that overlap sharing the control by their weights (over: they average where
/// the weights sum to more than 1, so that a fade out under a fade in crosses over; add: they add up). A control with states can't mix: a layer
/// that overrides takes it at a weight of one half and more, one that adds leaves it alone.
struct Layer {
  enum class Blend : std::uint8_t { over, add };
  std::string name;
  Blend blend = Blend::over;
  bool muted = false;
  double weight = 1;                   ///< where weight_curve is empty
  std::vector<Keyframe> weight_curve;  ///< weight over show time
  std::vector<std::string> mask;       ///< groups and controls that it may change; empty: all
  std::vector<ChannelPtr> channels;    ///< none null
  std::vector<Placement> placements;   ///< in any order
  std::optional<IdleLife> idle;
};
using LayerPtr = std::shared_ptr<const Layer>;
bool operator==(const Layer& a, const Layer& b) noexcept;

/// How long the placement of a clip of that length lasts; 0 where it can't be.
Time duration(const Placement& placement, Time clip_length) noexcept;

const char* name(Layer::Blend blend) noexcept;  ///< "over", "add"
std::optional<Layer::Blend> parse_blend(std::string_view text) noexcept;
const char* name(IdleLife::Manner manner) noexcept;  ///< "resting", "listening", "speaking", "reading"
std::optional<IdleLife::Manner> parse_manner(std::string_view text) noexcept;

/// Poses and clips that shows share; a file of its own, `NAME.clips.json`.
struct Library {
  std::string name;
  std::vector<PosePtr> poses;
  std::vector<ClipPtr> clips;
};

}  // namespace mien::show
