#include "perform/render.hpp"

#include "perform/cue_side.hpp"

namespace mien::perform {

std::int64_t tick_count(const Plan& plan) noexcept { return plan.show->length.count() * plan.rig->tick_hz / 1'000'000'000 + 1; }

show::Time tick_time(const Plan& plan, std::int64_t tick) noexcept { return show::Time{tick * 1'000'000'000 / plan.rig->tick_hz}; }

bool render(const Plan& plan, show::Time length, const std::function<bool(const Tick&)>& each) { return render(plan, length, {}, each); }

bool render(const Plan& plan, show::Time length, std::span<const live::Touch> touches, const std::function<bool(const Tick&)>& each) {
  return render(plan, Rehearsal{.length = length, .touches = touches}, each);
}

namespace {

// Where the show is, on a clock that counts: what perform/transport.hpp is to one that runs.
class Counted {
 public:
  Counted(show::Range loop, show::Time length, bool plays) : loop_(loop), within_(loop), length_(length), plays_(plays) {}
  void obey(const StageGo& go, show::Time now) { from_ = go.to, since_ = now, plays_ = go.play, within_ = go.free ? show::Range{} : loop_, free_ = go.free; }
  show::Time at(show::Time now) {
    const show::Time there = plays_ ? show::wrapped(from_ + (now - since_), within_) : from_;
    if (!plays_ || !free_ || there < length_) return there;
    obey({true, length_, false, true}, now);
    return length_;
  }
  bool plays() const noexcept { return plays_; }

 private:
  show::Range loop_, within_;
  show::Time length_, from_{0}, since_{0};
  bool plays_, free_ = false;
};

}  // namespace

bool render(const Plan& plan, const Rehearsal& r, const std::function<bool(const Tick&)>& each) {
  const bool once = r.length <= show::Time{0};
  const show::Range loop = once ? show::Range{} : plan.show->loop.value_or(show::Range{show::Time{0}, plan.show->length});
  const std::int64_t count = once ? tick_count(plan) : r.length.count() / plan.tick.count() + 1;
  auto touches = r.touches;
  auto calls = r.calls;
  Head head;
  Tick out;
  Counted show(loop, plan.show->length, !r.stands);
  stand_at(head, plan, show::Time{0});
  if (r.stands) set_live(head.cues, true, show::Time{0});
  for (std::int64_t n = 0; n < count; ++n) {
    const show::Time performed = tick_time(plan, n);
    for (; plan.hands && !touches.empty() && touches.front().at_ns <= performed.count(); touches = touches.subspan(1)) live::hear(*plan.hands, head.hands, touches.front());
    for (; plan.cues && !calls.empty() && calls.front().at_ns <= performed.count(); calls = calls.subspan(1))
      calls.front().start ? start(*plan.cues, head.cues, calls.front().cue) : release(*plan.cues, head.cues, calls.front().cue);
    hear_hands(plan, head);
    const show::Time now = show.at(performed);
    const std::int64_t day_ns = r.day_ns < 0 ? -1 : (r.day_ns + performed.count()) % show::kDay.count();
    const StageGo go = step(plan.cues.get(), head.cues, {now, show.plays(), plan.tick.count(), day_ns});
    if (go.go) show.obey(go, performed);
    tick(plan, head, held_within(plan.cues.get(), head.cues, show.at(performed)), 1, out);
    out.time = performed;
    if (!each(out)) return false;
  }
  return true;
}

}  // namespace mien::perform
