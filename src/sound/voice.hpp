// One pass through a mix with a rising and a falling edge: what is playing, what is fading away, or a grain of a scrub.
#pragma once
#include <cstdint>

#include "sound/mix.hpp"

namespace mien::sound {

/// A plain value for the audio callback: no allocation, copied freely. Its edges are raised cosines, so that two voices of
/// which one rises while the other falls add up to one.
class Voice {
 public:
  static constexpr int kFade_frames = 240;    ///< 5 ms: too short to hear as a fade, too long to hear as a click
  static constexpr int kGrain_frames = 1440;  ///< 30 ms up, 30 ms down

  Voice() = default;
  /// Plays from `from` on, inside `loop` once it gets there (see show::wrapped); rises over `rise_frames`.
  Voice(const Mix* mix, show::Time from, show::Range loop, int rise_frames) noexcept;

  /// The same moment of another mix, rising.
  Voice moved_to(const Mix* mix) const noexcept;

  bool sounding() const noexcept { return mix_ != nullptr; }
  /// Frames until the voice has risen or is silent; 0 when it is steady or silent already.
  int until_edge_ends() const noexcept;
  bool risen() const noexcept { return slope_ == 0; }

  /// Falls to silence over `frames` from where it is, and then stops by itself.
  void fall(int frames) noexcept;

  /// Adds its next `count` frames onto interleaved stereo. Precondition: count <= kBlock_frames, and does not go past the end
  /// of an edge.
  void add_to(float* out, int count) noexcept;
  static constexpr int kBlock_frames = 256;

 private:
  void enter_stretch() noexcept;

  const Mix* mix_ = nullptr;
  show::Time from_{0};
  show::Range loop_;
  std::int64_t frame_ = 0;  // frames since `from`, never wrapped
  // Within a stretch show frames follow one another without a gap; at its end the loop begins again.
  std::int64_t stretch_begin_ = 0, stretch_end_ = 0, stretch_show_frame_ = 0;
  double level_ = 0, slope_ = 0;  // level 0..1 is the phase of the raised cosine
  int edge_ = 0;                  // frames left of it
};

}  // namespace mien::sound
