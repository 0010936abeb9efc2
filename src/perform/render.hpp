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
inline bool render(const Plan& plan, const std::function<bool(const Tick&)>& each) { return render(plan, show::Time{0}, each); }

}  // namespace mien::perform
