#include "perform/render.hpp"

namespace mien::perform {

std::int64_t tick_count(const Plan& plan) noexcept { return plan.show->length.count() * plan.rig->tick_hz / 1'000'000'000 + 1; }

show::Time tick_time(const Plan& plan, std::int64_t tick) noexcept { return show::Time{tick * 1'000'000'000 / plan.rig->tick_hz}; }

bool render(const Plan& plan, show::Time length, const std::function<bool(const Tick&)>& each) { return render(plan, length, {}, each); }

bool render(const Plan& plan, show::Time length, std::span<const live::Touch> touches, const std::function<bool(const Tick&)>& each) {
  const bool once = length <= show::Time{0};
  const show::Range loop = once ? show::Range{} : plan.show->loop.value_or(show::Range{show::Time{0}, plan.show->length});
  const std::int64_t count = once ? tick_count(plan) : length.count() / plan.tick.count() + 1;
  Head head;
  Tick out;
  stand_at(head, plan, show::Time{0});
  for (std::int64_t n = 0; n < count; ++n) {
    const show::Time performed = tick_time(plan, n);
    for (; plan.hands && !touches.empty() && touches.front().at_ns <= performed.count(); touches = touches.subspan(1)) live::hear(*plan.hands, head.hands, touches.front());
    tick(plan, head, show::wrapped(performed, loop), 1, out);
    out.time = performed;
    if (!each(out)) return false;
  }
  return true;
}

}  // namespace mien::perform
