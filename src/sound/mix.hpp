// The sounds of a show on one axis of 48 kHz frames: built away from the audio callback, then only read.
#pragma once
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "show/show.hpp"
#include "sound/frames.hpp"
#include "sound/wave.hpp"

namespace mien::sound {

/// A decoded sound placed on the show: its part from `trim` on is heard from `start` on, and what `trim_end` leaves of its end.
struct Placed {
  WavePtr wave;
  show::Time start{0};
  show::Time trim{0};
  float gain = 1;
  show::Time trim_end{0};
};
/// A show's sound with what its file holds.
Placed placed(const show::Sound& sound, WavePtr wave);

/// Why nothing is heard of a sound whose file is that long: its trims leave nothing. `file` is the show's.
std::optional<show::Finding> nothing_heard(const show::Sound& sound, show::Time length, const std::string& file);

/// The wave at 48 kHz: itself where it already is, else converted by libsamplerate (band-limited sinc, 121 dB signal to noise).
/// nullptr when `go_on` said false, or when there is no memory.
WavePtr at_playing_rate(const WavePtr& wave, const std::function<bool()>& go_on = {});

class Mix {
 public:
  Mix() = default;
  /// Every wave is at 48 kHz; parts without one, or without sound after their trim, are left out. Gains that are no number
  /// are 0, and all are held within 0..16. Where a trim cuts into a sound it rises or falls over kCut_frames, so that no cut clicks.
  explicit Mix(const std::vector<Placed>& sounds);

  /// Writes frames [first, first + count) of the show, interleaved stereo, silence where nothing is placed.
  void render(std::int64_t first, int count, float* out) const noexcept;

  static constexpr std::int64_t kCut_frames = 240;  ///< 5 ms, as Voice::kFade_frames; a quarter of a part that is shorter than four of them

 private:
  struct Part {
    WavePtr wave;
    std::int64_t start = 0, trim = 0, length = 0;  // frames
    std::int64_t rise = 0, fall = 0;               // frames
    float gain = 1;
    float gain_at(std::int64_t frame) const noexcept;  // counted from its beginning
  };
  std::vector<Part> parts_;
};

}  // namespace mien::sound
