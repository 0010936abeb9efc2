// A show faster than time: the same tick, on a clock that counts.
#pragma once
#include <functional>

#include "perform/plan.hpp"
#include "perform/tick.hpp"

namespace mien::perform {

/// Ticks that a show of this length has: one at 0 and one at every whole tick up to and including its end.
std::int64_t tick_count(const Plan& plan) noexcept;
show::Time tick_time(const Plan& plan, std::int64_t tick) noexcept;

/// Performs the show once from its beginning, standing at its first pose, and hands every tick to `each`; stops early where that
/// returns false. Returns whether it came to the end.
bool render(const Plan& plan, const std::function<bool(const Tick&)>& each);

}  // namespace mien::perform
