// Which show time it is: from another machine where one is followed, from the sound while it is heard, from the steady clock otherwise; never backward but by a loop or a person.
#pragma once
#include <cstdint>

#include "show/time.hpp"
#include "sound/player.hpp"

namespace mien::perform {

/// A value that the performing thread holds. Steady times are in nanoseconds, show times unwrapped (show::wrapped) until they leave.
class Transport {
 public:
  /// with_sound: the player was started too, so its clock is waited for (up to kSoundWait) and then followed.
  void play(show::Time from, std::int64_t steady_ns, bool with_sound) noexcept;
  void pause() noexcept;
  /// While playing, playing goes on from there.
  void seek(show::Time to, std::int64_t steady_ns) noexcept;
  void set_loop(show::Range loop, std::int64_t steady_ns) noexcept;  ///< empty: none

  /// Another machine says where the show is, and leads it from call to call: no loop, no sound's clock; before 0 and from `length` on the show stands at its ends.
  void follow(show::Time at, bool running, std::int64_t steady_ns, show::Time length) noexcept;

  /// The show time at a steady time, which must not be earlier than the one of the last call. Without a loop, playing ends at `length`.
  show::Time advance(std::int64_t steady_ns, const sound::ClockLine& sound, show::Time length) noexcept;

  /// Where the show will be by `by` later, if it plays; standing, it stays.
  show::Time ahead(show::Time by) const noexcept { return !playing_ ? now() : outside_ ? unwrapped_ + by : show::wrapped(unwrapped_ + by, loop_); }

  bool playing() const noexcept { return playing_; }
  bool follows_sound() const noexcept { return playing_ && followed_; }

  static constexpr std::int64_t kSoundWait = 1'500'000'000;  ///< a device that takes longer to start is done without

 private:
  show::Time now() const noexcept { return outside_ ? unwrapped_ : show::wrapped(unwrapped_, loop_); }

  bool playing_ = false, sound_ = false, followed_ = false, outside_ = false;
  show::Time unwrapped_{0};
  std::int64_t steady_ns_ = 0, started_ns_ = 0;
  show::Range loop_;
};

}  // namespace mien::perform
