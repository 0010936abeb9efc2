#include "perform/hands_side.hpp"

#include <algorithm>

namespace mien::perform {

void HandsSide::hear(const Plan& plan, Head& head, live::Follower* follower) noexcept {
  if (!inlet_) return;
  inlet_->drain([&](const live::Touch& touch) {
    ++now_.heard;
    const bool time = touch.kind == live::Touch::Kind::midi && live::tells_time(touch.midi.kind);
    if (time && follower) follower->hear(touch.midi, touch.at_ns, touch.device);
    if (time) return;  // no hand's
    now_.before = now_.last;
    now_.last = touch;
    if (plan.hands) live::hear(*plan.hands, head.hands, touch);
  });
}

void HandsSide::panic(const Plan& plan, Head& head) noexcept {
  if (plan.hands) live::panic(*plan.hands, head.hands);
}

// A hand means what is to be heard and seen when it moves. The tick that obeys it is performed a latch lead ahead of its own time, and on average
// half a tick passes before it hears of it.
void HandsSide::put_on_tape(const Plan& plan, const Head& head, const Tick& tick, show::Time time) noexcept {
  if (!now_.recording || !plan.hands) return;
  const show::Time late{static_cast<std::int64_t>(plan.rig->latch_lead_ms * 1e6) + plan.tick.count() / 2};
  live::TakeTick taken;
  taken.time = time - late;
  live::note(taken, *plan.hands, head.hands, tick.control);
  tape_.push(taken);  // full: whoever empties it is gone
}

const HandsNow& HandsSide::report(const Plan& plan, const Head& head) noexcept {
  now_.there = plan.hands != nullptr;
  if (!now_.there) return now_;
  now_.bank = head.hands.bank;
  for (std::size_t k = 0; k < std::min(head.hands.knobs.size(), now_.grip.size()); ++k) now_.grip[k] = head.hands.knobs[k].grip;
  std::copy(head.hands.touched.begin(), head.hands.touched.end(), now_.touched.begin());
  now_.triggers = static_cast<int>(std::min(head.hands.triggers.size(), now_.lit.size()));
  for (int t = 0; t < now_.triggers; ++t) now_.lit[static_cast<std::size_t>(t)] = head.hands.triggers[static_cast<std::size_t>(t)].on;
  return now_;
}

}  // namespace mien::perform
