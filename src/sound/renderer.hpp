// What the audio callback does: follows the newest wish, from voice to voice without a click, and says where a play began.
#pragma once
#include <atomic>
#include <cstdint>

#include "sound/clock.hpp"
#include "sound/shelf.hpp"
#include "sound/voice.hpp"
#include "threads/latest.hpp"

namespace mien::sound {

/// The newest wish of the window. A new serial starts anew; volume alone may change without one.
struct Wish {
  enum class Kind : std::uint8_t { rest, play, grain };
  std::uint64_t serial = 0;
  Kind kind = Kind::rest;
  show::Time from{0};
  show::Range loop;
  float volume = 1;
};

/// Knows no device: render() is called by whoever has one, or by a test.
///
/// A wish is taken up once the voice before the last has faded away, at most 5 ms later, so two voices sound at most.
/// Grains rise for 30 ms and fall for 30 ms, and the next one begins at the peak of the last: a moving pointer gives an even
/// level, a resting one silence.
class Renderer {
 public:
  explicit Renderer(Shelf& shelf) : shelf_(shelf) {}

  /// The window's thread.
  void wish(const Wish& wish) noexcept { wishes_.write(wish); }

  // The audio callback; or, while there is no stream, whoever looks after it:
  /// Fills `count` frames of interleaved stereo. No allocation, no lock.
  void render(float* out, std::int64_t count) noexcept;
  /// Silent at once; every wish so far counts as done with; the next stream begins at frame 0.
  void rest() noexcept;

  // Whoever looks after the stream:
  const Anchor& anchor() noexcept { return anchors_.read(); }
  /// Wishes wait until the stream's clock is good, so that the first sound and the clock begin together.
  void set_ready(bool ready) noexcept { ready_.store(ready, std::memory_order_relaxed); }
  /// Wishes up to this serial fall silent and will not be taken up again.
  void drop(std::uint64_t serial) noexcept { dropped_.store(serial, std::memory_order_relaxed); }
  std::int64_t frames() const noexcept { return frames_.load(std::memory_order_relaxed); }

 private:
  void take_wish(std::int64_t at_frame) noexcept;
  void begin(const Wish& wish, std::int64_t at_frame) noexcept;
  int until_change(std::int64_t left) const noexcept;
  void settle_grain() noexcept;
  void finish(float* out, int count) noexcept;

  Shelf& shelf_;
  threads::Latest<Wish> wishes_;
  threads::Latest<Anchor> anchors_;
  std::atomic<bool> ready_{false};
  std::atomic<std::uint64_t> dropped_{0};
  std::atomic<std::int64_t> frames_{0};

  // The callback's own:
  struct Part {
    Voice voice;
    const ShelvedMix* mix = nullptr;
    bool grain = false;
    bool sounding() const noexcept { return voice.sounding(); }
  };
  Part current_, leaving_;
  const ShelvedMix* seen_ = nullptr;
  std::uint64_t taken_ = 0;
  float volume_ = 1, volume_wanted_ = 1;
};

}  // namespace mien::sound
