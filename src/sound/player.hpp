// Plays a show's sounds and tells, to any thread, which show time is being heard: while sound plays, audio is the clock.
#pragma once
#include <memory>
#include <optional>
#include <vector>

#include "show/finding.hpp"
#include "show/time.hpp"
#include "sound/wave.hpp"

namespace mien::sound {

/// A straight line from steady time to show time, unwrapped (see show::wrapped for loops), less the device's latency.
struct ClockLine {
  bool running = false;      ///< false: nothing is being heard (paused, warming up, silent, device lost)
  std::int64_t steady_ns = 0;
  std::int64_t show_ns = 0;
  double rate = 1.0;
  std::int64_t at(std::int64_t steady) const noexcept {
    return show_ns + static_cast<std::int64_t>(static_cast<double>(steady - steady_ns) * rate);
  }
};

/// A decoded sound placed on the show.
struct Placed {
  WavePtr wave;
  show::Time start{0};
  show::Time trim{0};
  float gain = 1;
};

class Player {
 public:
  /// Opens the default output device; without one the player is silent and silent_because() says why.
  /// `mute` asks for silence without touching any device.
  explicit Player(bool mute = false);
  ~Player();
  Player(const Player&) = delete;
  Player& operator=(const Player&) = delete;

  bool silent() const noexcept;
  std::optional<show::Finding> silent_because() const;

  // The window's thread:
  void set_sounds(std::vector<Placed> sounds);
  void play(show::Time from, show::Range loop);
  void pause();
  /// Plays a short grain of the sound at `at`, as often as it is called while the pointer moves; silent between calls.
  void scrub(show::Time at);
  void set_volume(float volume);  ///< 0..1

  // Any thread, no lock:
  ClockLine clock() const noexcept;

 private:
  struct Core;
  std::unique_ptr<Core> core_;
};

std::vector<std::string> output_devices();

}  // namespace mien::sound
