#include "live/feedback.hpp"

#include <algorithm>
#include <cmath>

namespace mien::live {
namespace {

using Kind = Source::Kind;

// The share of the knob's way at which its control stands: what hands.cpp makes of an amount, backwards.
double amount_of(const HandProgram::Knob& k, double value) noexcept {
  const double way = std::clamp((value - k.low) / (k.high - k.low), 0.0, 1.0);
  const double d = k.middle ? 2 * way - 1 : way, shaped = k.curve == 1 ? std::abs(d) : std::pow(std::abs(d), 1 / k.curve);
  const double size = d == 0 ? 0 : k.dead_zone + shaped * (1 - k.dead_zone), u = std::copysign(size, d);
  return k.middle ? 0.5 + 0.5 * u : u;
}

// In the steps that the message has; -1 for what can't be told.
int steps_of(const HandProgram::Ear& ear, double amount) noexcept {
  switch (ear.kind) {
    case Kind::controller: case Kind::pressure: case Kind::key_pressure: return static_cast<int>(std::lround(amount * 127));
    case Kind::controller_14: return static_cast<int>(std::lround(amount * kMost14Bit));
    case Kind::bend: return amount >= 0.5 ? kBendCentre + static_cast<int>(std::lround((2 * amount - 1) * (kMost14Bit - kBendCentre))) : static_cast<int>(std::lround(2 * amount * kBendCentre));
    case Kind::note: return amount > 0 ? 127 : 0;
    case Kind::axis: case Kind::button: case Kind::osc: case Kind::slot: break;
  }
  return -1;
}

FeedbackMessage message_of(const HandProgram::Ear& ear, int steps) noexcept {
  const auto channel = static_cast<std::uint8_t>(std::max(0, ear.channel)), number = static_cast<std::uint8_t>(ear.number);
  const auto low = static_cast<std::uint8_t>(steps & 127), high = static_cast<std::uint8_t>(steps >> 7 & 127);
  const auto status = [&](int of) { return static_cast<std::uint8_t>(of | channel); };
  FeedbackMessage m{ear.device, {}, 3};
  switch (ear.kind) {
    case Kind::controller: m.bytes = {status(0xB0), number, low}; break;
    case Kind::controller_14: m.bytes = {status(0xB0), number, high, status(0xB0), static_cast<std::uint8_t>(number + 32), low}, m.count = 6; break;
    case Kind::bend: m.bytes = {status(0xE0), low, high}; break;
    case Kind::pressure: m.bytes = {status(0xD0), low}, m.count = 2; break;
    case Kind::key_pressure: m.bytes = {status(0xA0), number, low}; break;
    case Kind::note: m.bytes = {status(0x90), number, low}; break;
    case Kind::axis: case Kind::button: case Kind::osc: case Kind::slot: m.count = 0; break;
  }
  return m;
}

bool hears(const HandProgram::Ear& ear, int bank) noexcept { return ear.bank == 0 || ear.bank == bank; }

// Whether the touch came from what the line listens to, and where that stands by it; -1: nobody knows.
bool is_from(const HandProgram::Ear& ear, const Touch& touch, int& steps) noexcept {
  using K = MidiMessage::Kind;
  if (touch.kind != Touch::Kind::midi || (ear.device >= 0 && ear.device != touch.device) || (ear.channel >= 0 && ear.channel != touch.midi.channel)) return false;
  const MidiMessage& m = touch.midi;
  steps = m.value;
  switch (ear.kind) {
    case Kind::controller: return m.kind == K::controller && m.number == ear.number;
    case Kind::controller_14: steps = -1; return m.kind == K::controller && (m.number == ear.number || m.number == ear.number + 32);
    case Kind::bend: return m.kind == K::bend;
    case Kind::pressure: return m.kind == K::channel_pressure;
    case Kind::key_pressure: return m.kind == K::key_pressure && m.number == ear.number;
    case Kind::note: steps = -1; return (m.kind == K::note_on || m.kind == K::note_off) && m.number == ear.number;
    case Kind::axis: case Kind::button: case Kind::osc: case Kind::slot: break;
  }
  return false;
}

}  // namespace

Feedback::Feedback(HandProgramPtr program) : program_(std::move(program)) {
  if (!program_) return;
  knobs_.resize(program_->knobs.size());
  triggers_.resize(program_->triggers.size());
}

void Feedback::touched(const Touch& touch, std::int64_t now_ns) {
  if (!program_) return;
  int steps = -1;
  for (std::size_t n = 0; n < knobs_.size(); ++n)
    if (is_from(program_->knobs[n].ear, touch, steps)) knobs_[n].touched_ns = now_ns, knobs_[n].told = steps;
  for (std::size_t n = 0; n < triggers_.size(); ++n)
    if (is_from(program_->triggers[n].ear, touch, steps)) triggers_[n].told = -1;  // many a key changes its own light: it is told again
}

std::vector<FeedbackMessage> Feedback::tell(std::span<const double> control, std::span<const char> running, int bank, std::int64_t now_ns, std::span<const char> lit) {
  std::vector<FeedbackMessage> messages;
  if (!program_) return messages;
  const std::size_t count = knobs_.size() + triggers_.size();
  const auto say = [&](Line& line, const HandProgram::Ear& ear, int steps) {
    if (steps < 0 || steps == line.told || now_ns - line.told_ns < kFeedbackEvery_ns) return;
    line.told = steps, line.told_ns = now_ns;
    messages.push_back(message_of(ear, steps));
  };
  for (std::size_t seen = 0; seen < count && messages.size() < kMostTold; ++seen, next_ = (next_ + 1) % count) {
    if (next_ < knobs_.size()) {
      const HandProgram::Knob& k = program_->knobs[next_];
      const auto c = static_cast<std::size_t>(k.control);
      if (k.spring_back_s > 0 || c >= control.size() || !hears(k.ear, bank) || now_ns - knobs_[next_].touched_ns < kHandOff_ns) continue;  // what springs back by itself has nowhere to be led
      say(knobs_[next_], k.ear, steps_of(k.ear, amount_of(k, control[c])));
    } else {
      const std::size_t n = next_ - knobs_.size();
      const HandProgram::Trigger& t = program_->triggers[n];
      bool on = t.what == Trigger::What::bank && t.to_bank == bank;
      if (t.what == Trigger::What::cue) on = t.cue >= 0 && static_cast<std::size_t>(t.cue) < running.size() && running[static_cast<std::size_t>(t.cue)];
      else if (t.what == Trigger::What::pose || t.what == Trigger::What::clip) on = n < lit.size() && lit[n];
      else if (t.what != Trigger::What::bank) continue;
      if (hears(t.ear, bank)) say(triggers_[n], t.ear, t.ear.kind == Kind::controller ? (on ? 127 : 0) : steps_of(t.ear, on ? 1 : 0));
    }
  }
  return messages;
}

void Feedback::forget() {
  for (Line& line : knobs_) line.told = -1;
  for (Line& line : triggers_) line.told = -1;
}

}  // namespace mien::live
