// A show, as a value. An edit makes a new Show that shares every untouched channel with the old one; once inside a
// shared_ptr<const Show> nothing in it changes again, so any thread may read it without a lock.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/cue.hpp"
#include "show/layer.hpp"
#include "show/time.hpp"

namespace mien::show {

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
  Time trim_end{0};  ///< how much of the file's ending is left out
  friend bool operator==(const Sound&, const Sound&) = default;
};

/// What of a file of that length is heard, in the file's own time; empty where the trims leave nothing. A trim below zero leaves nothing out.
Range heard_of(const Sound& sound, Time length) noexcept;

struct Show {
  std::string name;
  std::string rig_file;  ///< relative to the show's folder
  Time length{0};
  std::optional<Range> loop;
  std::vector<Sound> sounds;
  std::vector<Marker> markers;  ///< in rising time
  std::vector<ChannelPtr> channels;  ///< none of them null; what layers lie on
  std::vector<PosePtr> poses;        ///< these three: none null, no two of a name
  std::vector<ClipPtr> clips;
  std::vector<LayerPtr> layers;      ///< from the lowest up
  std::vector<Cue> cues;             ///< no two of a name
};
using ShowPtr = std::shared_ptr<const Show>;

/// Equal in all that is authored, whether or not they share channels, poses, clips and layers.
bool same(const Show& a, const Show& b) noexcept;

/// nullptr where the control has no channel.
const Channel* find_channel(const Show& show, std::string_view control) noexcept;
/// Null where there is none of that name.
PosePtr find_pose(const Show& show, std::string_view name) noexcept;
ClipPtr find_clip(const Show& show, std::string_view name) noexcept;
LayerPtr find_layer(const Show& show, std::string_view name) noexcept;

}  // namespace mien::show
