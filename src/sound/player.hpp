// Plays a show's sounds and tells, to any thread, which show time is being heard: while sound plays, audio is the clock.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "show/finding.hpp"
#include "show/time.hpp"
#include "sound/clock.hpp"
#include "sound/mix.hpp"
#include "sound/wave.hpp"

namespace mien::sound {

/// The stream stays open from the constructor on and is silent between plays, because opening and stopping one takes up to
/// 0.2 s. When the device goes away, the player is silent and looks for a device again by itself; what was playing is not
/// taken up again, the next play is heard. Nothing here waits for a sound server longer than a second, however it behaves.
class Player {
 public:
  /// Opens the default output device; without one the player is silent and silent_because() says why; each play() then looks
  /// again, in the background. `mute` asks for silence without touching any device.
  explicit Player(bool mute = false);
  ~Player();
  Player(const Player&) = delete;
  Player& operator=(const Player&) = delete;

  // Any thread; takes a lock, so not for the performing thread:
  bool silent() const noexcept;
  std::optional<show::Finding> silent_because() const;

  // The window's thread:
  /// Heard at once, without a break in what plays. Sounds at other rates than 48 kHz are first converted in the background
  /// (about 10 ms for each second of sound and channel) and join when they are ready; short ones are ready on return.
  void set_sounds(std::vector<Placed> sounds);
  /// Plays from `from` on; inside a loop that is not empty the sound wraps as show::wrapped does. Also seeks while playing.
  void play(show::Time from, show::Range loop);
  void pause();
  /// Plays a short grain of the sound at `at`, as often as it is called while the pointer moves; silent between calls. Ends a
  /// play.
  void scrub(show::Time at);
  void set_volume(float volume);  ///< 0..1, held within; no number counts as 0

  // Any thread, no lock:
  /// Never runs backward within one play. Right after play() it says `starting` until the first sound is heard (some 50 ms;
  /// up to 1 s when the device was opened a moment ago): whoever follows it should wait at `from` for that long, unless it
  /// has something better. A silent player says neither `running` nor `starting`.
  ClockLine clock() const noexcept;

 private:
  struct Core;
  std::shared_ptr<Core> core_;  // shared with the thread that looks after the device, which a hung server may keep
};

/// Names of this machine's output devices, the default one marked. Empty when there is none or the server does not answer
/// within 2 s.
std::vector<std::string> output_devices();

}  // namespace mien::sound
