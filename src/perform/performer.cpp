// The performing thread's side of the performer; the callers' side is performer_calls.cpp.
#include <sched.h>
#include <sys/prctl.h>
#include <time.h>

#include <algorithm>
#include <cmath>

#include "perform/performer_core.hpp"
#include "perform/tick.hpp"
#include "threads/realtime.hpp"
#include "threads/steady.hpp"

namespace mien::perform {
namespace {

constexpr double kCaughtUpDeg = 1.0;                    // a creep ends when every actuator is this near its target,
constexpr std::int64_t kCreepMost_ns = 4'000'000'000;   // or, where a playing show runs ahead of it, after this time,
constexpr std::int64_t kCreepFade_ns = 1'000'000'000;   // over which the full velocity then comes back

constexpr float kShownRise_per_s = 0.5;

void sleep_until(std::int64_t steady_ns) noexcept {
  const timespec at{static_cast<time_t>(steady_ns / 1'000'000'000), static_cast<long>(steady_ns % 1'000'000'000)};
  while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr) == EINTR) {}
}

bool ask_for_realtime() noexcept {
  prctl(PR_SET_TIMERSLACK, 1);
  const sched_param priority{.sched_priority = 10};
  return pthread_setschedparam(pthread_self(), SCHED_FIFO, &priority) == 0;
}

// Setpoints go on from where they are: by position where the rig is the same value, by name where it is another.
void carry_over(Handover& to, const Handover* from) noexcept {
  if (from && from->plan->hands && to.plan->hands) live::carry_over(to.head.hands, *to.plan->hands, from->head.hands, *from->plan->hands);
  if (from) carry_over(to.head.cues, to.plan->cues.get(), from->head.cues, from->plan->cues.get());
  if (from && from->plan->rig == to.plan->rig) {
    to.head.limiter = from->head.limiter;
    to.head.governor = from->head.governor;
    return;
  }
  for (int a = 0; a < to.plan->actuators(); ++a) {
    const auto i = static_cast<std::size_t>(a);
    const int old = from ? actuator_index(*from->plan->rig, to.plan->rig->actuators[i].name) : -1;
    const double at = old < 0 ? to.plan->rest_deg[i] : from->head.limiter.position_deg[static_cast<std::size_t>(old)];
    motion::seed(to.head.limiter, to.plan->limits, a, at, 0, to.plan->rest_deg[i]);
  }
}

}  // namespace

void Performer::Core::run() noexcept {
  realtime = ask_for_realtime();
  told.fill(-1);
  const threads::Realtime performs;  // from here on no allocation, no lock, no system call but sleep_until()'s
  std::int64_t second_began = threads::steady_ns(), due = second_began;
  while (!quit.load(std::memory_order_relaxed)) {
    take_plan();
    const std::int64_t tick_ns = current ? current->plan->tick.count() : 10'000'000;
    const std::int64_t lead_ns = current ? static_cast<std::int64_t>(current->plan->rig->latch_lead_ms * 1e6) : 0;
    due += tick_ns;
    sleep_until(due);
    const std::int64_t woke = threads::steady_ns();
    const bool missed = woke - due >= tick_ns;
    meter.add(static_cast<double>(woke - due) * 1e-3, missed);
    // A tick whose successor is due has no one to serve: the grid is kept, the ticks between are left out, and what was left out is
    // one longer step in time for the curves but never a larger step for the servos.
    if (missed) due += (woke - due) / tick_ns * tick_ns;
    if (current) {
      obey(due + lead_ns);
      perform(due + lead_ns);
    }
    if (woke - second_began >= 1'000'000'000) {
      meter.next_second();
      second_began = woke;
    }
  }
}

void Performer::Core::take_plan() noexcept {
  Handover* fresh = incoming.exchange(nullptr, std::memory_order_acq_rel);
  if (!fresh) return;
  cues.take_plan(*fresh->plan, current ? current->plan.get() : nullptr);
  carry_over(*fresh, current);
  if (current && current->plan->rig != fresh->plan->rig) told.fill(-1);
  std::swap(current, fresh);
  // The ring is emptied on every call from the window; with 15 plans in it already the old one waits for the next exchange.
  while (fresh && !retired.push(fresh)) sleep_until(threads::steady_ns() + 100'000);
}

void Performer::Core::obey(std::int64_t latch_ns) noexcept {
  for (Command c; commands.pop(c); ++obeyed) {
    switch (c.kind) {
      case Command::Kind::play: transport.play(c.time, latch_ns, c.with_sound); break;
      case Command::Kind::pause: transport.pause(); break;
      case Command::Kind::seek: transport.seek(c.time, latch_ns); break;
      case Command::Kind::loop:
        loop_now = c.loop;
        if (current->head.cues.stretch < 0) transport.set_loop(c.loop, latch_ns);
        break;
      case Command::Kind::state:
        if (c.auxiliary >= 0 && c.auxiliary < show::kMaxAuxiliaries) told[static_cast<std::size_t>(c.auxiliary)] = c.value;
        break;
      case Command::Kind::clear_states: told.fill(-1); break;
      case Command::Kind::panic: hands.panic(*current->plan, current->head); break;
      case Command::Kind::give: live::enable(current->head.hands, c.group, c.on); break;
      case Command::Kind::record: hands.record(c.on); break;
      case Command::Kind::follow:
        follower.set(c.follow);
        followed = {};
        if (c.follow.source == live::FollowSettings::Source::none) transport.pause();
        break;
      case Command::Kind::release_cues:
        if (current->plan->cues) release_all(*current->plan->cues, current->head.cues);
        break;
      case Command::Kind::cues_live: set_live(current->head.cues, c.on, transport.ahead(show::Time{0})); break;
      case Command::Kind::day: day_off_ns = c.ns; break;
    }
  }
}

void Performer::Core::perform(std::int64_t latch_ns) noexcept {
  const Plan& plan = *current->plan;
  hands.hear(plan, current->head, &follower);
  if (follower.settings().source != live::FollowSettings::Source::none) {
    followed = follower.advance(latch_ns);
    transport.follow(followed.time, followed.running, latch_ns, plan.show->length);
  }
  show::Time time = transport.advance(latch_ns, player ? player->clock() : sound::ClockLine{}, plan.show->length);
  const link::Armed armed = session ? session->armed() : link::Armed{};
  const double share = velocity_share(armed, latch_ns);
  take_joined(armed, latch_ns);
  time = perform_cues(latch_ns, time);
  tick(plan, current->head, held_within(plan.cues.get(), current->head.cues, transport.ahead(plan.lead)), share, now);  // motion takes its time to be seen; sound does not
  if (mode != Mode::rehearse) send_frame(latch_ns);
  if (transport.playing()) hands.put_on_tape(plan, current->head, now, time);
  report(time, latch_ns);
}

// What cues want of the show. Where it is heard the sound must begin with it, which is for the window's thread to do (latest()): till then it stands.
show::Time Performer::Core::perform_cues(std::int64_t latch_ns, show::Time time) noexcept {
  constexpr std::int64_t kMost_ns = 1'000'000'000, kDay_ns = show::kDay.count();
  const Plan& plan = *current->plan;
  cues.hear(plan, current->head);
  const std::int64_t dt_ns = last_latch_ns ? std::clamp<std::int64_t>(latch_ns - last_latch_ns, 0, kMost_ns) : plan.tick.count();
  last_latch_ns = latch_ns;
  const std::int64_t day_ns = day_off_ns == INT64_MIN ? -1 : ((latch_ns + day_off_ns) % kDay_ns + kDay_ns) % kDay_ns;
  const StageGo go = step(plan.cues.get(), current->head.cues, {time, transport.playing(), dt_ns, day_ns});
  if (!go.go || follower.settings().source != live::FollowSettings::Source::none) return time;  // another machine says where the show is
  const bool has_sound = sounds.load(std::memory_order_relaxed), heard = go.play && has_sound;
  transport.pause();
  transport.set_loop(go.free ? show::Range{} : loop_now, latch_ns);  // first: the loop before would wrap where it goes
  transport.seek(go.to, latch_ns);
  if (go.play && !heard) transport.play(go.to, latch_ns, false);
  if (has_sound) cues.ask_for_sound(go);  // one that stands, too: it takes back what was asked for a moment before
  return transport.ahead(show::Time{0});
}

// Not armed: the full velocity, on the screen only. Newly armed: from where the boards say that the head is, at a creep.
double Performer::Core::velocity_share(const link::Armed& armed, std::int64_t latch_ns) noexcept {
  const Plan& plan = *current->plan;
  if (armed.epoch == 0) {
    mode = Mode::rehearse;
    epoch = 0;
    return 1;
  }
  if (armed.epoch != epoch) {
    epoch = armed.epoch;
    mode = Mode::creep;
    creep_since_ns = latch_ns;
    for (int a = 0; a < plan.actuators(); ++a) stand_at_pulse(armed, a);
    joins = armed.joins;
    joining.fill(false);
    current->head.governor.standing = false;
  }
  if (mode == Mode::live) return 1;
  bool near = latch_ns != creep_since_ns;
  for (int a = 0; a < plan.actuators() && near; ++a) {
    const auto i = static_cast<std::size_t>(a);
    near = std::abs(current->head.limiter.position_deg[i] - current->head.limiter.target_deg[i]) <= kCaughtUpDeg;
  }
  const std::int64_t over = latch_ns - creep_since_ns - kCreepMost_ns;
  if (near || over >= kCreepFade_ns) mode = Mode::live;
  const double fade = std::max(0.0, static_cast<double>(over) / kCreepFade_ns);
  return mode == Mode::live ? 1 : std::min(1.0, plan.rig->creep_share + (1 - plan.rig->creep_share) * fade);
}

void Performer::Core::stand_at_pulse(const link::Armed& armed, int actuator) noexcept {
  const Plan& plan = *current->plan;
  const auto i = static_cast<std::size_t>(actuator);
  const double at = armed.pulse[i] ? angle_of(plan, actuator, armed.pulse[i]) : plan.rest_deg[i];
  motion::seed(current->head.limiter, plan.limits, actuator, at, 0, plan.rest_deg[i]);
}

// The first move of a board that came back is a creep too, its own: the rest of the face goes on as it was.
void Performer::Core::take_joined(const link::Armed& armed, std::int64_t latch_ns) noexcept {
  const Plan& plan = *current->plan;
  current->head.slowed = nullptr;
  if (mode == Mode::rehearse) return;
  for (int a = 0; a < plan.actuators(); ++a) {
    const auto i = static_cast<std::size_t>(a);
    if (armed.joined[i] > joins) {
      stand_at_pulse(armed, a);
      current->head.governor.standing = false;
      joining[i] = true;
      joined_ns[i] = latch_ns;
    }
    if (!joining[i]) continue;
    const auto& limiter = current->head.limiter;
    const std::int64_t over = latch_ns - joined_ns[i] - kCreepMost_ns;
    const bool near = latch_ns != joined_ns[i] && std::abs(limiter.position_deg[i] - limiter.target_deg[i]) <= kCaughtUpDeg;
    joining[i] = !near && over < kCreepFade_ns;
    if (!joining[i]) continue;
    if (!current->head.slowed) slowed = plan.limits;
    current->head.slowed = &slowed;
    const double fade = std::max(0.0, static_cast<double>(over) / kCreepFade_ns);
    slowed.step_deg[i] *= std::min(1.0, plan.rig->creep_share + (1 - plan.rig->creep_share) * fade);
  }
  joins = armed.joins;
}

void Performer::Core::send_frame(std::int64_t latch_ns) noexcept {
  link::Frame frame;
  frame.sequence = ++sequence;
  frame.epoch = epoch;
  frame.latch_ns = latch_ns;
  frame.joins = joins;
  frame.values = static_cast<int>(current->plan->auxiliary_control.size());
  for (int n = 0; n < frame.values; ++n) frame.value[static_cast<std::size_t>(n)] = value_of(n);
  frame.count = current->plan->actuators();
  for (int a = 0; a < frame.count; ++a) {
    const auto i = static_cast<std::size_t>(a);
    frame.pulse[i] = pulse_of(*current->plan, a, now.setpoint_deg[i]);
  }
  session->push(frame);
}

void Performer::Core::report(show::Time time, std::int64_t latch_ns) noexcept {
  Report r;
  const Plan& plan = *current->plan;
  r.time = time;
  r.at_ns = latch_ns;
  r.playing = transport.playing();
  r.sound_is_clock = transport.follows_sound();
  r.mode = mode;
  r.actuators = plan.actuators();
  r.controls = plan.controls();
  r.target_deg = now.target_deg;
  r.setpoint_deg = now.setpoint_deg;
  std::copy_n(now.control.begin(), r.control.size(), r.control.begin());
  for (int a = 0; a < r.actuators; ++a)
    r.velocity_deg_s[static_cast<std::size_t>(a)] = current->head.limiter.velocity_deg_s(plan.limits, a);
  r.governed = static_cast<int>(plan.governed.size());
  for (std::size_t g = 0; g < plan.governed.size(); ++g) {
    r.rail[g] = now.rail[g];
    taken[g] = std::max(1 - now.rail[g].share, taken[g] - kShownRise_per_s * static_cast<float>(plan.limits.tick_s));
    r.rail[g].share = 1 - taken[g];
  }
  r.auxiliaries = static_cast<int>(plan.auxiliary_control.size());
  for (int n = 0; n < r.auxiliaries; ++n) r.auxiliary[static_cast<std::size_t>(n)] = value_of(n);
  r.sequence = sequence;
  r.obeyed = obeyed;
  r.lateness = meter.result(realtime);
  r.face = face_of(plan, now.setpoint_deg.data());
  r.hands = hands.report(plan, current->head);
  r.followed = followed;
  r.cues = cues.report(plan, current->head, time);
  reports.write(r);
}

}  // namespace mien::perform
