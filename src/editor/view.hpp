// What of the show is in view. Part of no show and of no undo.
#pragma once
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "show/show.hpp"
#include "show/timecode.hpp"

namespace mien::editor {

/// What stands beside the lanes.
enum class Side { none, findings, layers, clips, poses, history, cues, sounds };

/// What a drag in time lands on. Ctrl, held, suspends all of it.
struct Snapping {
  bool on = true;
  bool frames = false;   ///< whole frames of the view's rate; else ticks
  bool markers = true;   ///< markers and the playhead, where they are near
  bool keys = true;      ///< keys of other channels, where they are near
  bool onsets = true;    ///< where something in the show's sounds begins, where it is near
  friend bool operator==(const Snapping&, const Snapping&) = default;
};

struct View {
  show::Range visible{show::Time{0}, show::Time{10'000'000'000}};
  std::set<std::string, std::less<>> folded;  ///< groups of which only the summary shows
  std::string control;                        ///< the channel in the curve view; empty: none
  std::string cue;                            ///< likewise
  std::string layer, clip, pose;              ///< chosen in their lists; empty, or of what is not there any more: none
  int placement = -1;                         ///< of the chosen layer; -1: none
  std::string pose_group;                     ///< the only group that a pose is captured of and keyed on; empty: all
  double pose_weight = 1;
  std::set<std::string, std::less<>> muted, soloed, locked;  ///< controls: not performed, performed alone, not to be edited
  bool timecode = false;                      ///< times are shown as timecode of this rate; else as seconds
  show::FrameRate rate = show::FrameRate::f25;
  Snapping snapping;
  std::vector<std::string> kept;              ///< channels that stay in the curve view beside the chosen one, in the order of keeping
  bool strips = false;                        ///< velocity and acceleration below the curve
  bool handles = false;                       ///< the numbers of handles below those of keys
  bool spectrogram = false;                   ///< sounds are drawn by frequency, not by level
  bool as_built = false;                      ///< the head also shows what servos as built make of the setpoints
};

/// The range moved and clamped so that it is at least 50 ms long and overlaps the show; at most four times the show's length.
show::Range sane_view(show::Range wanted, show::Time length) noexcept;
/// `factor` > 1 shows more. The time under `about` stays where it is on screen.
show::Range zoomed(show::Range range, show::Time about, double factor, show::Time length) noexcept;
show::Range panned(show::Range range, show::Time by, show::Time length) noexcept;
/// The whole show with a little air at both ends.
show::Range fitted(show::Time length) noexcept;

/// Show time to pixels and back.
struct TimeAxis {
  show::Range range;
  float x0 = 0, width = 1;
  double px_per_ns() const noexcept { return range.empty() ? 0 : width / static_cast<double>(range.length().count()); }
  float x(show::Time t) const noexcept {
    // Far times are clamped, so that drawing never sees a coordinate that single precision can't hold.
    const double at = x0 + static_cast<double>((t - range.begin).count()) * px_per_ns();
    return static_cast<float>(at < -1e5 ? -1e5 : at > 1e5 ? 1e5 : at);
  }
  show::Time time(float at) const noexcept {
    return range.begin + show::Time{static_cast<std::int64_t>(std::llround((at - x0) / px_per_ns()))};
  }
  show::Time span(float pixels) const noexcept { return show::Time{static_cast<std::int64_t>(std::llround(pixels / px_per_ns()))}; }
};

/// The nearest whole multiple of `step`; the time itself where step is not positive.
show::Time snapped(show::Time time, show::Time step) noexcept;

/// A time as the view shows it: "2.345 s", or "00:00:02:08".
std::string time_text(const View& view, show::Time time);
/// "1:02.345", or "2.345 s" where `unit`.
std::string clock_text(show::Time time);
std::string seconds_text(show::Time time);
std::string percent_text(double share);  ///< "40 %"
/// A value with the decimals that its range asks for, and its unit.
std::string value_text(double value, const std::string& unit, double range);

}  // namespace mien::editor
