#include "board/drive.hpp"

#include "wire/codec.hpp"

namespace mien::board {
namespace {

using wire::Reason;
using wire::State;

constexpr std::int32_t kLate_us = 2'000;
constexpr std::int32_t kFarthestAhead_us = 1'000'000;

/// later - earlier on a clock that wraps; right while they are less than 35 minutes apart.
std::int32_t difference_us(std::uint32_t later, std::uint32_t earlier) noexcept {
  return static_cast<std::int32_t>(later - earlier);
}

bool newer(std::uint16_t a, std::uint16_t b) noexcept { return static_cast<std::int16_t>(a - b) > 0; }

std::uint8_t lowest_bit(unsigned mask) noexcept {
  std::uint8_t n = 0;
  while ((mask & 1) == 0) mask >>= 1, ++n;
  return n;
}

Setpoints setpoints(std::uint16_t sequence, std::uint32_t latch_us, const wire::Block* mine) noexcept {
  Setpoints s;
  s.sequence = sequence;
  s.latch_us = latch_us;
  if (mine == nullptr) return s;
  s.mask = mine->mask;
  for (int n = 0; n < wire::kMaxOutputs; ++n) s.pulse[n] = mine->pulse[n];
  s.channels = mine->channels;
  for (int n = 0; n < wire::kMaxChannels; ++n) s.value[n] = mine->value[n];
  return s;
}

constexpr std::uint32_t us(std::uint16_t ms) noexcept { return ms * 1000u; }

}  // namespace

Drive::Drive(const Fittings& has) noexcept
    : channels_(has.lines),
      outputs_(has.outputs < 0 ? 0 : has.outputs > wire::kMaxOutputs ? wire::kMaxOutputs : has.outputs),
      outputs_per_timer_(has.outputs_per_timer) {}

Verdict Drive::configure(const wire::Configure& part) noexcept {
  if (armed(state_) || state_ == State::disarming) return {Reason::armed};
  if (part.first) forget();
  if (!begun_ && !part.first) return {Reason::not_configured};
  Verdict verdict = take(part);
  if (verdict.ok() && part.last) verdict = timers_agree();
  if (!verdict.ok()) {
    forget();  // half a configuration is none
    return verdict;
  }
  begun_ = true;
  state_ = part.last ? State::ready : State::unconfigured;
  configuration_ = part.last ? compute_checksum() : std::uint16_t{0};
  return {};
}

Verdict Drive::take(const wire::Configure& part) noexcept {
  if (!sane(part.watchdog)) return {Reason::bad_value, 0xFF};
  watchdog_ = part.watchdog;
  for (int i = 0; i < part.count; ++i) {
    const wire::OutputLimits& limits = part.outputs[i];
    if (limits.output >= outputs_) return {Reason::unknown_output, limits.output};
    if (!sane(limits)) return {Reason::bad_value, limits.output};
    output_[limits.output].configure(limits);
  }
  for (int i = 0; i < part.timings; ++i) {
    const wire::Timing& timing = part.timing[i];
    if (timing.output >= outputs_) return {Reason::unknown_output, timing.output};
    if (!sane(timing)) return {Reason::bad_value, timing.output};
    output_[timing.output].configure(timing);
  }
  for (int i = 0; i < part.channels; ++i) {
    const Verdict verdict = channels_.add(part.channel[i]);
    if (!verdict.ok()) return verdict;
  }
  return {};
}

Verdict Drive::timers_agree() const noexcept {
  if (outputs_per_timer_ != 2) return {};
  for (int n = 1; n < outputs_; n += 2) {
    const wire::Timing &a = output_[n - 1].timing(), &b = output_[n].timing();
    const bool agree = a.period_us == b.period_us && a.phase_us == b.phase_us;
    if (!agree && output_[n - 1].configured() && output_[n].configured()) return {Reason::bad_value, static_cast<std::uint8_t>(n)};
  }
  return {};
}

void Drive::forget() noexcept {
  for (Output& o : output_) o.forget();
  channels_.forget();
  begun_ = false;
  configuration_ = 0;
  state_ = State::unconfigured;
}

std::uint16_t Drive::configured_mask() const noexcept {
  unsigned mask = 0;
  for (int n = 0; n < outputs_; ++n) mask |= output_[n].configured() ? 1u << n : 0u;
  return static_cast<std::uint16_t>(mask);
}

std::uint16_t Drive::compute_checksum() const noexcept {
  wire::Checksum sum;
  sum.add(watchdog_);
  for (int n = 0; n < outputs_; ++n) {
    wire::Timing timing = output_[n].timing();
    timing.output = static_cast<std::uint8_t>(n);  // as it is where no Timing named it
    if (output_[n].configured()) sum.add(output_[n].limits(), timing);
  }
  for (int n = 0; n < wire::kMaxChannels; ++n)
    if ((channels_.configured_mask() >> n & 1) != 0) sum.add(channels_.setup(n));
  return sum.value();
}

void Drive::enter(State state, std::uint32_t now_us) noexcept {
  state_ = state;
  since_us_ = now_us;
}

void Drive::hold(std::uint32_t now_us) noexcept {
  for (Output& o : output_) o.stay();
  enter(State::holding, now_us);
}

void Drive::creep_to_rest(State as, std::uint32_t now_us) noexcept {
  queue_.clear();
  for (Output& o : output_) o.aim_at_rest();
  channels_.rest();
  enter(as, now_us);
}

void Drive::go_silent() noexcept {
  queue_.clear();
  for (Output& o : output_) o.silence();
  channels_.rest();
  if (state_ != State::unconfigured) state_ = State::ready;
}

Verdict Drive::arm(std::uint32_t now_us) noexcept {
  if (state_ == State::unconfigured) return {Reason::not_configured};
  accrue_until(now_us);
  queue_.clear();
  sequence_known_ = false;
  if (state_ == State::ready || state_ == State::waiting) enter(State::waiting, now_us);
  else hold(now_us);  // outputs are driven: stay there until frames come
  return {};
}

void Drive::disarm(std::uint32_t now_us) noexcept {
  accrue_until(now_us);
  if (state_ == State::waiting) go_silent();
  else if (armed(state_)) creep_to_rest(State::disarming, now_us);
}

void Drive::stop() noexcept { go_silent(); }

Verdict Drive::offer(std::uint16_t sequence, std::uint32_t latch_us, const wire::Block* mine,
                     std::uint32_t now_us) noexcept {
  if (!armed(state_)) {
    if (mine == nullptr) return {};
    return {state_ == State::unconfigured ? Reason::not_configured : Reason::not_armed};
  }
  const unsigned unknown = mine != nullptr ? mine->mask & ~static_cast<unsigned>(configured_mask()) : 0u;
  if (unknown != 0) return {Reason::unknown_output, lowest_bit(unknown)};
  const unsigned strange = mine != nullptr ? mine->channels & ~static_cast<unsigned>(channels_.configured_mask()) : 0u;
  if (strange != 0) return {Reason::unknown_channel, lowest_bit(strange)};
  if (sequence_known_ && !newer(sequence, heard_sequence_)) {
    ++counters_.stale;
    return {};
  }
  accrue_until(now_us);
  const Setpoints frame = setpoints(sequence, clock_.known() ? clock_.board_us(latch_us) : now_us, mine);
  if (difference_us(frame.latch_us, now_us) > kFarthestAhead_us) return {Reason::bad_time};
  if (queue_.full()) return {Reason::queue_full};
  queue_.push(frame);
  heard_sequence_ = sequence;
  sequence_known_ = true;
  if (state_ == State::ramping) hold(now_us);
  since_us_ = now_us;
  latch_due(now_us);  // at once, so that a burst of late frames never fills the queue
  return {};
}

void Drive::latch_due(std::uint32_t now_us) noexcept {
  while (!queue_.empty() && difference_us(now_us, queue_.front().latch_us) >= 0) {
    latch(queue_.front(), now_us);
    queue_.pop();
  }
}

void Drive::latch(const Setpoints& frame, std::uint32_t now_us) noexcept {
  if (state_ != State::running) {
    for (Output& o : output_) o.stay();  // back in service: no travel saved up, so nothing jumps
    state_ = State::running;
  }
  for (int n = 0; n < outputs_; ++n)
    if ((frame.mask >> n & 1) != 0 && output_[n].aim(frame.pulse[n])) ++counters_.clamped;
  for (int n = 0; n < wire::kMaxChannels; ++n)
    if ((frame.channels >> n & 1) != 0) channels_.set(n, frame.value[n]);
  latched_sequence_ = frame.sequence;
  ++counters_.latched;
  if (latched_ != nullptr) latched_(latched_context_, frame.sequence);
  if (difference_us(now_us, frame.latch_us) > kLate_us) ++counters_.late;
}

void Drive::accrue_until(std::uint32_t now_us) noexcept {
  if (accrued_)
    for (Output& o : output_) o.accrue(now_us - accrued_us_);
  accrued_us_ = now_us;
  accrued_ = true;
}

void Drive::tick(std::uint32_t now_us, const Senses& senses) noexcept {
  accrue_until(now_us);
  latch_due(now_us);
  watch(now_us);
  unsigned moved = 0;
  for (int n = 0; n < outputs_; ++n) {
    const std::uint16_t before = output_[n].pulse();
    if (output_[n].move()) ++counters_.slewed;
    if (output_[n].pulse() != before) moved |= 1u << n;
  }
  channels_.tick(now_us, senses, static_cast<std::uint16_t>(moved));
}

void Drive::watch(std::uint32_t now_us) noexcept {
  const std::uint32_t quiet_us = now_us - since_us_;
  const wire::Watchdog& w = watchdog_;
  switch (state_) {
    case State::unconfigured:
    case State::ready:
      return;
    case State::waiting:
      if (quiet_us >= us(w.hold_ms) + us(w.ramp_ms) + us(w.release_ms)) go_silent();
      return;
    case State::running:
      if (quiet_us >= us(w.hold_ms)) hold(now_us);
      return;
    case State::holding:
      if (quiet_us >= us(w.ramp_ms)) creep_to_rest(State::ramping, now_us);
      return;
    case State::ramping:
      if (quiet_us >= us(w.release_ms)) go_silent();
      return;
    case State::disarming:
      if (all_arrived() || quiet_us >= us(w.release_ms)) go_silent();
      return;
  }
}

bool Drive::all_arrived() const noexcept {
  for (const Output& o : output_)
    if (!o.arrived()) return false;
  return true;
}

}  // namespace mien::board
