// The audio clock as values and arithmetic alone: what a device says of its position, made into a line that never jitters,
// never runs backward, and knows when it is not to be believed.
#pragma once
#include <cstdint>

#include "show/time.hpp"
#include "sound/frames.hpp"

namespace mien::sound {

/// A straight line from steady time to show time, unwrapped (see show::wrapped for loops), less the device's latency.
struct ClockLine {
  bool running = false;   ///< false: nothing is being heard (paused, warming up, silent, device lost)
  bool starting = false;  ///< a play was asked for and will be heard within a moment: wait for it where it begins
  std::int64_t steady_ns = 0;
  std::int64_t show_ns = 0;
  double rate = 1.0;
  std::int64_t at(std::int64_t steady) const noexcept {
    return show_ns + static_cast<std::int64_t>(static_cast<double>(steady - steady_ns) * rate);
  }
};

/// How long a stream has been heard, against steady time. Fed with the device's position some 100 times a second (any rhythm
/// from 1 ms to 100 ms will do).
///
/// A delay-locked loop of second order (F. Adriaensen, "Using a DLL to filter time", Linux Audio Conference 2005) with a
/// bandwidth of 0.03 Hz; its proportional gain starts as the plain mean of the first observations and so locks at once.
/// What is published is a second line that chases the loop's estimate without a step: it closes a difference within some
/// 0.2 s, at no more than 5 % of speed.
///
/// Not believed (line().running is false): the first 0.5 s; a position that stands still for 0.25 s; observations more than
/// 0.5 s apart; a leap of more than 0.2 s from one to the next; a rate beyond +-10 % of steady time, taken over 0.5 s. Each
/// time it starts over and comes back by itself. A smaller lasting step of the position (after an underrun) is taken over
/// after 20 observations, without a break.
class StreamClock {
 public:
  struct Line {
    bool running = false;
    std::int64_t steady_ns = 0;
    std::int64_t heard_ns = 0;
    double rate = 1.0;
    std::int64_t at(std::int64_t steady) const noexcept {
      return heard_ns + static_cast<std::int64_t>(static_cast<double>(steady - steady_ns) * rate);
    }
  };

  /// At steady time `steady_ns` the listener heard what lies `heard_ns` after the stream's beginning. Observations that do
  /// not follow the last one in steady time are ignored.
  void observe(std::int64_t steady_ns, std::int64_t heard_ns) noexcept;
  /// Nothing can be observed at `steady_ns`: not running until it has locked again. What was published is remembered, so
  /// that the line does not come back behind it.
  void lose(std::int64_t steady_ns) noexcept;
  /// A new stream, whose position begins at zero again.
  void reset() noexcept { *this = StreamClock{}; }

  const Line& line() const noexcept { return line_; }

 private:
  void begin(std::int64_t steady_ns, std::int64_t heard_ns) noexcept;
  bool plausible(std::int64_t dt_ns, std::int64_t heard_ns) noexcept;
  void track(double dt_ns, std::int64_t heard_ns) noexcept;
  void publish(std::int64_t steady_ns) noexcept;

  bool begun_ = false;
  std::int64_t begun_ns_ = 0, steady_ns_ = 0;  // first and newest observation
  std::int64_t heard_ns_ = 0, moved_ns_ = 0;   // newest position, and when it last changed
  std::int64_t window_steady_ns_ = 0, window_heard_ns_ = 0;
  // The loop: its estimate is base_heard_ns_ + offset_ns_; the offset keeps fractions of a nanosecond and stays small.
  std::int64_t base_heard_ns_ = 0;
  double offset_ns_ = 0, rate_ = 1.0, noise_ns_ = 0;
  int observations_ = 0, off_ = 0;
  Line line_;
  bool published_ = false;
};

/// Where on the stream a play began: what it plays from `from` on is frame `frame` of the stream.
struct Anchor {
  std::uint64_t serial = 0;  ///< of the play, counted by who asks
  bool playing = false;
  std::int64_t frame = 0;
  show::Time from{0};
};

/// The show time that is heard; not running before the play's first frame is heard at `now_ns`.
ClockLine show_line(const StreamClock::Line& heard, const Anchor& anchor, std::int64_t now_ns) noexcept;

}  // namespace mien::sound
