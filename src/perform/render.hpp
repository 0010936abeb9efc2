// A show faster than time: the same tick, on a clock that counts.
#pragma once
#include <functional>
#include <span>

#include "perform/plan.hpp"
#include "perform/tick.hpp"

namespace mien::perform {

/// Ticks that a show of this length has: one at 0 and one at every whole tick up to and including its end.
std::int64_t tick_count(const Plan& plan) noexcept;
show::Time tick_time(const Plan& plan, std::int64_t tick) noexcept;

/// Performs the show from its beginning, standing at its first pose, and hands every tick to `each`; stops early where that returns
/// false. `length` 0: the show once, with Tick::time the show time. Another length: that long, in the show's loop (all of it, where
/// it sets none), with Tick::time the time performed. Returns whether it came to the end.
bool render(const Plan& plan, show::Time length, const std::function<bool(const Tick&)>& each);
/// The same with hands on the head: each touch is heard on the first tick at or after its at_ns, counted from the beginning of the performance. They rise.
bool render(const Plan& plan, show::Time length, std::span<const live::Touch> touches, const std::function<bool(const Tick&)>& each);

/// A cue started or released on the first tick at or after at_ns, counted as touches are.
struct CueCall {
  std::int64_t at_ns = 0;
  int cue = 0;
  bool start = true;
};
/// The same with cues. Both rise. `stands`: the show stands at its beginning and only cues move it, while idle life goes on, as in `mien play --cues`; then a length is
/// needed, and `day_ns` is the local time of day at the beginning (-1: nobody knows).
struct Rehearsal {
  show::Time length{0};
  std::span<const live::Touch> touches{};
  std::span<const CueCall> calls{};
  bool stands = false;
  std::int64_t day_ns = -1;
};
bool render(const Plan& plan, const Rehearsal& rehearsal, const std::function<bool(const Tick&)>& each);
inline bool render(const Plan& plan, const std::function<bool(const Tick&)>& each) { return render(plan, show::Time{0}, each); }

}  // namespace mien::perform
