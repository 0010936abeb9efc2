#include "perform/render.hpp"

namespace mien::perform {

std::int64_t tick_count(const Plan& plan) noexcept { return plan.show->length.count() * plan.rig->tick_hz / 1'000'000'000 + 1; }

show::Time tick_time(const Plan& plan, std::int64_t tick) noexcept { return show::Time{tick * 1'000'000'000 / plan.rig->tick_hz}; }

bool render(const Plan& plan, const std::function<bool(const Tick&)>& each) {
  Head head;
  Tick out;
  stand_at(head, plan, show::Time{0});
  for (std::int64_t n = 0, count = tick_count(plan); n < count; ++n) {
    tick(plan, head, tick_time(plan, n), 1, out);
    if (!each(out)) return false;
  }
  return true;
}

}  // namespace mien::perform
