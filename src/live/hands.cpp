#include "live/hands.hpp"

#include <algorithm>
#include <cmath>

namespace mien::live {
namespace {

constexpr double kMostStep_s = 0.1;
constexpr double kNear = 0.01;          // share of a knob's range within which it counts as where its control is
constexpr double kSlackTime_s = 0.06;   // time constant in which the step left at a crossing is made up
constexpr double kDirectTime_s = 0.03;  // time constant in which a control follows what is set directly, which comes in steps
constexpr double kGlideShare = 4.6;     // ln 100
constexpr double kStill = 1e-4;         // of the way of a knob

std::size_t at(int i) noexcept { return static_cast<std::size_t>(i); }
// A hair more than the step is the step too, so that the sum of many steps arrives.
double toward(double from, double to, double step) noexcept { return std::abs(to - from) <= step * (1 + 1e-9) ? to : from + std::copysign(step, to - from); }
// The step of a fade that takes `fade_s` from 0 to 1; at once for 0.
double step_of(double dt_s, double fade_s) noexcept { return fade_s > 0 ? dt_s / fade_s : 1; }
double mixed(double below, double above, double weight, bool stepped) noexcept {
  return stepped ? (weight >= 0.5 ? std::round(above) : below) : below + weight * (above - below);
}

// What a touch says, as a source and an amount.
struct Said {
  Source::Kind kind;
  int channel, number;  // -1: it has none
  double amount;        // 0..1
  bool off = false;     // a note let go
};

// The bend wheel's centre, 8192, is exactly the middle, though its range is not even about it.
double bend_amount(int value) noexcept {
  const double from_centre = value - kBendCentre;
  return 0.5 + 0.5 * (from_centre >= 0 ? from_centre / (kMost14Bit - kBendCentre) : from_centre / kBendCentre);
}

bool matches(const HandProgram::Ear& ear, const Touch& touch, const Said& said) noexcept {
  return ear.kind == said.kind && (ear.device == -1 || ear.device == touch.device) && (ear.channel == -1 || ear.channel == said.channel) &&
         (said.number < 0 || ear.number == said.number);
}
bool listens(const HandProgram::Ear& ear, int bank) noexcept { return ear.bank == 0 || ear.bank == bank; }

void change_bank(const HandProgram& program, HandState& state, int bank) noexcept {
  state.bank = bank;
  // What they hold stays; they themselves may since have been moved for another bank.
  for (std::size_t k = 0; k < state.knobs.size(); ++k)
    if (program.knobs[k].ear.bank != 0) state.knobs[k].grip = listens(program.knobs[k].ear, bank) && state.knobs[k].heard ? Grip::waiting : Grip::none, state.knobs[k].side = 0;
}

using Ask = HandState::CueAsk::What;
void ask(HandState& state, int cue, Ask what) noexcept {
  if (cue >= 0 && state.cue_asks < state.cue_ask.size()) state.cue_ask[state.cue_asks++] = {cue, what};
}

void press(const HandProgram& program, HandState& state, std::size_t n, double velocity) noexcept {
  const HandProgram::Trigger& t = program.triggers[n];
  HandState::Trigger& s = state.triggers[n];
  const bool was_down = s.down;
  s.down = true;
  if (was_down) return;  // a switch that repeats itself
  if (t.what == Trigger::What::panic) return panic(program, state);
  if (t.what == Trigger::What::bank) return change_bank(program, state, t.to_bank);
  if (t.what == Trigger::What::cue) return ask(state, t.cue, t.hold == Trigger::Hold::latch ? Ask::change_over : Ask::start);
  s.on = t.hold == Trigger::Hold::latch ? !s.on : true;
  if (!s.on) return;
  s.velocity = std::pow(velocity, t.curve);
  s.into_ns = 0;
}

void let_go(const HandProgram& program, HandState& state, std::size_t n) noexcept {
  const HandProgram::Trigger& t = program.triggers[n];
  HandState::Trigger& s = state.triggers[n];
  s.down = false;
  if (t.what == Trigger::What::cue && t.hold == Trigger::Hold::momentary) ask(state, t.cue, Ask::release);
  const bool goes_on = t.hold == Trigger::Hold::latch || (t.hold == Trigger::Hold::once && t.what == Trigger::What::clip);
  if (!goes_on) s.on = false;
}

void tell(const HandProgram& program, HandState& state, const Touch& touch, const Said& said) noexcept {
  for (std::size_t k = 0; k < state.knobs.size(); ++k) {
    if (!matches(program.knobs[k].ear, touch, said) || !listens(program.knobs[k].ear, state.bank)) continue;
    state.knobs[k].raw = said.amount;
    state.knobs[k].moved = true;
  }
  // A controller is pressed from the middle of its range on, as the standard has it for switches: 0..63 off, 64..127 on.
  const bool down = said.kind == Source::Kind::note ? !said.off : said.amount > 0.5;
  for (std::size_t n = 0; n < state.triggers.size(); ++n) {
    if (!matches(program.triggers[n].ear, touch, said)) continue;
    if (!down) let_go(program, state, n);
    else if (listens(program.triggers[n].ear, state.bank)) press(program, state, n, said.amount);
  }
}

void tell_midi(const HandProgram& program, HandState& state, const Touch& touch) noexcept {
  using K = MidiMessage::Kind;
  const MidiMessage& m = touch.midi;
  const double share = m.value / 127.0;
  switch (m.kind) {
    case K::note_on: return tell(program, state, touch, {Source::Kind::note, m.channel, m.number, share});
    case K::note_off: return tell(program, state, touch, {Source::Kind::note, m.channel, m.number, 0, true});
    case K::key_pressure: return tell(program, state, touch, {Source::Kind::key_pressure, m.channel, m.number, share});
    case K::channel_pressure: return tell(program, state, touch, {Source::Kind::pressure, m.channel, -1, share});
    case K::bend: return tell(program, state, touch, {Source::Kind::bend, m.channel, -1, bend_amount(m.value)});
    case K::controller: {
      tell(program, state, touch, {Source::Kind::controller, m.channel, m.number, share});
      int pair = 0;
      const int value = state.pairs[touch.device].join(m, pair);
      if (value >= 0) tell(program, state, touch, {Source::Kind::controller_14, m.channel, pair, value / double(kMost14Bit)});
      return;
    }
    default: return;
  }
}

bool from_network(Source::Kind kind) noexcept { return kind == Source::Kind::osc || kind == Source::Kind::slot; }

void let_go_direct(HandState::Direct& d) noexcept { d.on = d.ignored = false; }

void set_directly(const HandProgram& program, HandState& state, const Touch& touch) noexcept {
  const int c = touch.number < program.direct.size() ? program.direct[touch.number] : -1;
  if (c < 0 || !std::isfinite(touch.value)) return;
  HandState::Direct& d = state.direct[at(c)];
  d.left_s = kDirectHold_s;
  if (d.ignored) return;
  d.aim = std::clamp(double(touch.value), program.min[at(c)], program.max[at(c)]);
  if (!d.on && d.weight == 0) d.value = d.aim;
  d.on = true;
}

void let_go_of(const HandProgram& program, HandState& state, std::uint16_t number) noexcept {
  if (number == kEveryAddress)
    for (auto& d : state.direct) let_go_direct(d);
  else if (number < program.direct.size() && program.direct[number] >= 0) let_go_direct(state.direct[at(program.direct[number])]);
}

// A machine that is gone gives all back, knobs, too: nobody is there whose hand is still on them.
void give_back(const HandProgram& program, HandState& state, Source::Kind kind) noexcept {
  for (std::size_t n = 0; n < state.triggers.size(); ++n)
    if (program.triggers[n].ear.kind == kind) state.triggers[n].down = state.triggers[n].on = false;
  for (std::size_t k = 0; k < state.knobs.size(); ++k) {
    if (program.knobs[k].ear.kind != kind) continue;
    HandState::Knob& s = state.knobs[k];
    if (program.knobs[k].spring_back_s > 0) {
      s.raw = 0;
      continue;
    }
    int& owner = state.owner[at(program.knobs[k].control)];
    if (owner >= 0 && at(owner) == k) owner = -1;
    s.heard = s.moved = false, s.grip = Grip::none, s.side = 0;
  }
  if (kind == Source::Kind::osc) let_go_of(program, state, kEveryAddress);
}

// What an unplugged device held is let go: triggers that it pressed, sticks that it bent. Knobs stay, as they would if nobody touched them.
void forget(const HandProgram& program, HandState& state, int device) noexcept {
  const auto of_it = [&](const HandProgram::Ear& ear) { return !from_network(ear.kind) && (ear.device == -1 || ear.device == device); };
  for (std::size_t n = 0; n < state.triggers.size(); ++n)
    if (of_it(program.triggers[n].ear) && state.triggers[n].down) let_go(program, state, n);
  for (std::size_t k = 0; k < state.knobs.size(); ++k)
    if (of_it(program.knobs[k].ear) && program.knobs[k].spring_back_s > 0) state.knobs[k].raw = program.knobs[k].middle ? 0.5 : 0;
}

// Dead zone and curve, about where the source rests: -1..1 for one that rests in the middle, 0..1 for others.
double deflection(const HandProgram::Knob& k, double raw) noexcept {
  const double u = k.middle ? 2 * raw - 1 : raw, size = std::abs(u);
  if (size <= k.dead_zone) return 0;
  const double share = std::min(1.0, (size - k.dead_zone) / (1 - k.dead_zone));
  return std::copysign(k.curve == 1 ? share : std::pow(share, k.curve), u);
}

class Player {
 public:
  Player(const HandProgram& program, HandState& state, double dt_s, std::span<double> control) noexcept
      : p_(program), s_(state), dt_s_(std::clamp(dt_s, 0.0, kMostStep_s)), control_(control), count_(program.rest.size()) {}

  void run() noexcept {
    std::copy_n(control_.begin(), count_, below_.begin());
    std::fill(s_.touched.begin(), s_.touched.end(), char{0});
    hold();
    set();
    lay(Trigger::What::clip);
    lay(Trigger::What::pose);
    bend();
    share();
  }

 private:
  double smoothed(const HandProgram::Knob& k, double from, double to) const noexcept { return k.smoothing_s > 0 ? to + (from - to) * std::exp(-dt_s_ / k.smoothing_s) : to; }

  // What knobs hold.
  void hold() noexcept {
    for (std::size_t n = 0; n < s_.knobs.size(); ++n)
      if (p_.knobs[n].spring_back_s <= 0 && (s_.knobs[n].heard || s_.knobs[n].moved)) turn(n);
    for (std::size_t c = 0; c < count_; ++c) {
      if (s_.owner[c] < 0) s_.weight[c] = toward(s_.weight[c], 0, step_of(dt_s_, p_.fade_s));
      if (s_.weight[c] > 0) control_[c] = now(c), s_.touched[c] = 1;
    }
  }
  // What another machine sets, until it lets go or falls silent.
  void set() noexcept {
    for (std::size_t c = 0; c < s_.direct.size(); ++c) {
      HandState::Direct& d = s_.direct[c];
      if (!d.on && !d.ignored && d.weight <= 0) continue;
      d.left_s -= dt_s_;
      if (d.left_s <= 0) let_go_direct(d);
      d.value = d.aim + (d.value - d.aim) * std::exp(-dt_s_ / kDirectTime_s);
      d.weight = toward(d.weight, d.on ? 1 : 0, step_of(dt_s_, p_.fade_s));
      if (d.weight <= 0) continue;
      control_[c] = mixed(control_[c], d.value, d.weight, p_.stepped[c]), s_.touched[c] = 1;
    }
  }

  double now(std::size_t c) const noexcept { return mixed(below_[c], s_.held[c], s_.weight[c], p_.stepped[c]); }

  void turn(std::size_t n) noexcept {
    const HandProgram::Knob& k = p_.knobs[n];
    HandState::Knob& s = s_.knobs[n];
    const double d = deflection(k, s.raw), aim = k.middle ? 0.5 + 0.5 * d : d, before = s.heard ? s.y : aim;
    s.y = s.heard ? smoothed(k, s.y, aim) : aim;
    const bool moving = s.moved || std::abs(aim - s.y) > kStill;
    s.heard = true, s.moved = false;
    const std::size_t c = at(k.control);
    if (s.grip != Grip::held) take_over(n, before, moving, now(c));
    if (s.grip == Grip::held) s_.held[c] = std::clamp(value(k, s), p_.min[c], p_.max[c]), s_.weight[c] = 1;
  }

  void take_over(std::size_t n, double before, bool moving, double where) noexcept {
    const HandProgram::Knob& k = p_.knobs[n];
    HandState::Knob& s = s_.knobs[n];
    if (!listens(k.ear, s_.bank)) return;
    const double off = k.low + s.y * (k.high - k.low) - where;
    const int side = off > 0 ? 1 : off < 0 ? -1 : 0, was = s.side;
    s.side = side;
    s.grip = Grip::waiting;
    if (!moving) return;
    if (k.takeover == Takeover::pick_up && std::abs(off) > kNear * std::abs(k.high - k.low) && (was == 0 || side == was)) return;
    s.from_y = before, s.from = where, s.slack = -off;
    s.grip = Grip::held;
    int& owner = s_.owner[at(k.control)];
    if (owner >= 0 && at(owner) != n) s_.knobs[at(owner)].grip = Grip::waiting, s_.knobs[at(owner)].side = 0;
    owner = static_cast<int>(n);
  }

  double value(const HandProgram::Knob& k, HandState::Knob& s) const noexcept {
    if (k.takeover != Takeover::scaled) {
      // A glide is over, to a hundredth, as the fade would be.
      s.slack = k.takeover == Takeover::pick_up ? s.slack * std::exp(-dt_s_ / kSlackTime_s) : p_.fade_s > 0 ? s.slack * std::exp(-dt_s_ * kGlideShare / p_.fade_s) : 0;
      return k.low + s.y * (k.high - k.low) + s.slack;
    }
    // From an end on it is as if it had never been elsewhere; but not at the end where it took over.
    if (s.y <= 0 && s.from_y > 0) s.from_y = 0, s.from = k.low;
    if (s.y >= 1 && s.from_y < 1) s.from_y = 1, s.from = k.high;
    if (s.y == s.from_y) return s.from;
    return s.y > s.from_y ? s.from + (s.y - s.from_y) / (1 - s.from_y) * (k.high - s.from) : s.from + (s.from_y - s.y) / s.from_y * (k.low - s.from);
  }

  // Clips or poses: each has a weight; what they sum to is laid over what is below, and where it is more than 1 they average.
  void lay(Trigger::What what) noexcept {
    bool any = false;
    for (std::size_t n = 0; n < s_.triggers.size(); ++n) {
      if (p_.triggers[n].what != what || !(s_.triggers[n].on || s_.triggers[n].weight > 0)) continue;
      if (!any) std::fill_n(sum_.begin(), count_, 0.0), std::fill_n(part_.begin(), count_, 0.0);
      any = true;
      what == Trigger::What::clip ? run_clip(n) : run_pose(n);
    }
    if (!any) return;
    for (std::size_t c = 0; c < count_; ++c) {
      if (!(part_[c] > 0)) continue;
      control_[c] = mixed(control_[c], sum_[c] / part_[c], std::min(1.0, part_[c]), p_.stepped[c]);
      s_.touched[c] = 1;
    }
  }
  void join(int control, double weight, double value) noexcept { sum_[at(control)] += weight * value, part_[at(control)] += weight; }
  void fade(const HandProgram::Trigger& t, HandState::Trigger& s, double to) noexcept {
    s.weight = toward(s.weight, to, step_of(dt_s_, to > s.weight ? t.fade_in_s : t.fade_out_s));
  }

  void run_pose(std::size_t n) noexcept {
    const HandProgram::Trigger& t = p_.triggers[n];
    HandState::Trigger& s = s_.triggers[n];
    fade(t, s, s.on ? s.velocity : 0);
    for (int v = t.first; v < t.end; ++v) join(p_.values[at(v)].control, s.weight, p_.values[at(v)].value);
  }

  void run_clip(std::size_t n) noexcept {
    const HandProgram::Trigger& t = p_.triggers[n];
    HandState::Trigger& s = s_.triggers[n];
    const bool once = t.hold == Trigger::Hold::once;
    if (once && s.into_ns >= t.length_ns - std::llround(t.fade_out_s * 1e9)) s.on = false;  // so that it is gone as it ends
    fade(t, s, s.on ? 1 : 0);
    const std::int64_t local = once ? std::min(s.into_ns, t.length_ns) : s.into_ns % t.length_ns;
    for (int c = t.first; c < t.end; ++c) join(p_.strands[at(c)].control, s.weight, s_.cursors[at(c)].at(show::Time{local}));
    s.into_ns += std::llround(dt_s_ * 1e9);
  }

  // Springs lead from what is below to either end.
  void bend() noexcept {
    for (std::size_t n = 0; n < s_.knobs.size(); ++n) {
      const HandProgram::Knob& k = p_.knobs[n];
      HandState::Knob& s = s_.knobs[n];
      if (k.spring_back_s <= 0 || !(s.heard || s.moved)) continue;
      s.heard = true, s.moved = false;
      const double d = deflection(k, s.raw);
      if (d == 0) s.ignored = false;
      const double aim = s.ignored || !listens(k.ear, s_.bank) ? 0 : d;
      s.y = aim == 0 ? toward(s.y, 0, step_of(dt_s_, k.spring_back_s)) : smoothed(k, s.y, aim);
      s.grip = s.y != 0 ? Grip::held : Grip::none;
      if (s.y == 0) continue;
      const std::size_t c = at(k.control);
      control_[c] = mixed(control_[c], s.y > 0 ? k.high : k.low, std::abs(s.y), p_.stepped[c]);
      s_.touched[c] = 1;
    }
  }

  // What groups are given to the hands.
  void share() noexcept {
    for (std::size_t g = 0; g < s_.group_weight.size(); ++g) s_.group_weight[g] = toward(s_.group_weight[g], s_.group_on[g] ? 1 : 0, step_of(dt_s_, p_.fade_s));
    for (std::size_t c = 0; c < count_; ++c) {
      if (!s_.touched[c] || p_.group[c] < 0) continue;
      const double weight = s_.group_weight[at(p_.group[c])];
      if (weight >= 1) continue;
      control_[c] = mixed(below_[c], control_[c], weight, p_.stepped[c]);
      s_.touched[c] = weight > 0;
    }
  }

  const HandProgram& p_;
  HandState& s_;
  const double dt_s_;
  const std::span<double> control_;
  const std::size_t count_;
  std::array<double, show::kMaxControls> below_, sum_, part_;
};

}  // namespace

void hear(const HandProgram& program, HandState& state, const Touch& touch) noexcept {
  if (touch.device >= kMostDevices) return;
  ++state.heard;
  state.last = touch;
  switch (touch.kind) {
    case Touch::Kind::midi: return tell_midi(program, state, touch);
    case Touch::Kind::axis: {
      const double value = std::isfinite(touch.value) ? std::clamp(double(touch.value), -1.0, 1.0) : 0;
      return tell(program, state, touch, {Source::Kind::axis, -1, touch.number, 0.5 + 0.5 * value});
    }
    case Touch::Kind::button: return tell(program, state, touch, {Source::Kind::button, -1, touch.number, touch.value > 0.5f ? 1.0 : 0.0});
    case Touch::Kind::gone: return forget(program, state, touch.device);
    case Touch::Kind::osc: {
      set_directly(program, state, touch);
      const double value = std::isfinite(touch.value) ? std::clamp(double(touch.value), 0.0, 1.0) : 0;
      return tell(program, state, touch, {Source::Kind::osc, -1, touch.number, value});
    }
    case Touch::Kind::slot: return tell(program, state, touch, {Source::Kind::slot, -1, touch.number, std::isfinite(touch.value) ? std::clamp(double(touch.value), 0.0, 1.0) : 0});
    case Touch::Kind::let_go: return let_go_of(program, state, touch.number);
    case Touch::Kind::osc_gone: return give_back(program, state, Source::Kind::osc);
    case Touch::Kind::slots_gone: return give_back(program, state, Source::Kind::slot);
  }
}

void panic(const HandProgram& program, HandState& state) noexcept {
  std::fill(state.owner.begin(), state.owner.end(), -1);
  for (std::size_t k = 0; k < state.knobs.size(); ++k) {
    HandState::Knob& s = state.knobs[k];
    s.side = 0;
    s.grip = s.heard && program.knobs[k].spring_back_s <= 0 && listens(program.knobs[k].ear, state.bank) ? Grip::waiting : Grip::none;
    s.ignored = program.knobs[k].spring_back_s > 0;
  }
  for (auto& t : state.triggers) t.on = false;
  for (auto& d : state.direct) d.ignored |= d.on, d.on = false;
}

void enable(HandState& state, int group, bool on) noexcept {
  if (group >= 0 && at(group) < state.group_on.size()) state.group_on[at(group)] = on;
}

void play(const HandProgram& program, HandState& state, double dt_s, std::span<double> control) noexcept { Player(program, state, dt_s, control).run(); }

}  // namespace mien::live
