#include "perform/transport.hpp"

#include <algorithm>

namespace mien::perform {

void Transport::play(show::Time from, std::int64_t steady_ns, bool with_sound) noexcept {
  playing_ = true;
  outside_ = false;
  sound_ = with_sound;
  followed_ = false;
  unwrapped_ = from;
  steady_ns_ = started_ns_ = steady_ns;
}

void Transport::pause() noexcept {
  unwrapped_ = now();
  playing_ = sound_ = followed_ = outside_ = false;
}

void Transport::seek(show::Time to, std::int64_t steady_ns) noexcept {
  unwrapped_ = to;
  steady_ns_ = started_ns_ = steady_ns;
  sound_ = followed_ = outside_ = false;
}

void Transport::set_loop(show::Range loop, std::int64_t steady_ns) noexcept {
  const show::Time here = now();
  loop_ = loop;
  if (playing_) seek(here, steady_ns);
  else unwrapped_ = here;
}

void Transport::follow(show::Time at, bool running, std::int64_t steady_ns, show::Time length) noexcept {
  outside_ = true;
  playing_ = running && at >= show::Time{0} && at < length;
  sound_ = followed_ = false;
  unwrapped_ = std::clamp(at, show::Time{0}, length);
  steady_ns_ = started_ns_ = steady_ns;
}

show::Time Transport::advance(std::int64_t steady_ns, const sound::ClockLine& sound, show::Time length) noexcept {
  if (!playing_) return now();
  // The steady clock goes on from wherever the show last was, so a sound that stops hands over without a jump.
  show::Time next = unwrapped_ + show::Time{std::max<std::int64_t>(0, steady_ns - steady_ns_)};
  if (sound_) {
    if (sound.running) {
      followed_ = true;
      next = show::Time{sound.at(steady_ns)};
    } else if (sound.starting && !followed_ && steady_ns - started_ns_ <= kSoundWait) {
      next = unwrapped_;  // nothing is heard yet: the face waits for the voice
    } else {
      sound_ = followed_ = false;
    }
  }
  unwrapped_ = std::max(unwrapped_, next);
  steady_ns_ = steady_ns;
  if (loop_.empty() && unwrapped_ >= length) {
    unwrapped_ = length;
    pause();
  }
  return now();
}

}  // namespace mien::perform
