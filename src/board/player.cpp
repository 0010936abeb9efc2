#include "board/player.hpp"

#include "wire/codec.hpp"

namespace mien::board {
namespace {

constexpr std::uint32_t kSteady_us = 20'000;        // an input must hold so long: switches bounce
constexpr std::uint32_t kListen_us = 1'000'000;     // after power-on: one that restarts in mid-show hears its host by then
constexpr std::uint32_t kLeaderGone_us = 500'000;
constexpr std::int32_t kTooLate_us = 100'000;       // ticks older than this are not made up for
constexpr std::size_t kLookedAt = 512;              // bytes of the image a tick
constexpr std::uint32_t kNever = 0xFFFFFFFF;
constexpr std::uint32_t kGentleShare = 8;           // as when a board creeps to rest
constexpr std::uint32_t kGentleMost_s = 8;
constexpr std::uint32_t kTogether_s = 2;            // that a board which leads gives the others to come as well
constexpr std::int32_t kSmallSlip = 5;              // ticks that a board which follows may be off and leap

std::uint32_t ticks_of(std::uint32_t ms, std::uint32_t hz) noexcept { return ms / 1000 * hz + ms % 1000 * hz / 1000; }

std::uint16_t toward(std::uint16_t from, std::uint16_t to, std::uint32_t most) noexcept {
  const std::uint32_t way = from < to ? to - from : from - to;
  if (way <= most) return to;
  return static_cast<std::uint16_t>(from < to ? from + most : from - most);
}

}  // namespace

void Player::load(wire::Bytes image, std::uint8_t address, Drive& drive, std::uint32_t now_us) noexcept {
  *this = Player{};
  fault_ = read(image, baked_);
  if (fault_ == BakeFault::none && address != wire::kNoAddress && address != baked_.address) fault_ = BakeFault::other_board;
  looked_over_ = fault_ != BakeFault::none;
  if (looked_over_) return;
  random_ = baked_.number;
  wanted_ = baked_.start_mask == 0 && !follows();
  matched_ = counted_ = true;  // inputs that say start already have to change before they count
  changed_us_ = loaded_us_ = now_us;
  listening_ = true;
  phase_ = Phase::waiting;
  check_.start(baked_);
  look_over(drive);
}

/// A millisecond's share: the board has a host to listen to, should there be one.
void Player::look_over(Drive& drive) noexcept {
  check_.go_on(kLookedAt);
  if (!check_.over()) return;
  looked_over_ = true;
  fault_ = check_.fault() != BakeFault::none ? check_.fault() : take(drive);
  if (fault_ == BakeFault::none) return;
  phase_ = Phase::off;
  drive.forget();
}

BakeFault Player::take(Drive& drive) const noexcept {
  if (!configure(drive)) return BakeFault::other_board;
  for (int i = 0; i < baked_.outputs; ++i)
    if (baked_.output[i].output >= drive.outputs() || !drive.output(baked_.output[i].output).configured()) return BakeFault::absurd;
  for (int i = 0; i < baked_.values; ++i)
    if ((drive.channels().configured_mask() >> baked_.value[i].channel & 1) == 0) return BakeFault::absurd;
  return BakeFault::none;
}

bool Player::configure(Drive& drive) const noexcept {
  wire::Deframer packets;
  bool last = false;
  for (std::size_t i = 0; i < baked_.configure.size; ++i) {
    if (!packets.push(baked_.configure.data[i])) continue;
    wire::Configure part;
    if (!decode(packets.packet(), part) || !drive.configure(part).ok()) return false;
    last = part.last;
  }
  return last;
}

void Player::tick(std::uint32_t now_us, const Senses& senses, Drive& drive) noexcept {
  if (phase_ == Phase::off) return;
  if (now_us - loaded_us_ >= kListen_us) listening_ = false;
  starved_ = (senses.faults & wire::kLowVoltage) != 0;
  if (!follows()) look(senses.inputs, now_us);
  else if (phase_ != Phase::waiting && now_us - heard_us_ >= kLeaderGone_us) phase_ = Phase::waiting;  // the watchdog does the rest
  if (!looked_over_) return look_over(drive);
  if (starved_ && !silent()) starve();
  if (phase_ == Phase::waiting && !listening_ && !starved_ && !follows() && (wanted_ || lively())) come(Phase::coming, now_us, drive);
  const auto late_us = static_cast<std::int32_t>(now_us - next_us_);
  if (silent() || late_us < 0) return;
  if (late_us > kTooLate_us) next_is(now_us);
  step(now_us, drive);
  next_us_ += 1'000'000u / baked_.tick_hz;
  remainder_ += 1'000'000u % baked_.tick_hz;
  if (remainder_ >= baked_.tick_hz) ++next_us_, remainder_ -= baked_.tick_hz;
}

void Player::look(std::uint16_t inputs, std::uint32_t now_us) noexcept {
  if (baked_.start_mask == 0) return;
  const bool match = (inputs & baked_.start_mask) == baked_.start_value;
  if (match != matched_) {
    matched_ = match;
    counted_ = false;
    changed_us_ = now_us;
  }
  if (counted_ || now_us - changed_us_ < kSteady_us) return;
  counted_ = true;
  if (matched_ && phase_ != Phase::show && !starved_) wanted_ = true;
}

void Player::starve() noexcept {
  const bool again = phase_ == Phase::show ? baked_.loop || baked_.start_mask == 0 : phase_ != Phase::coming && show_in_ != kNever;
  if (!follows() && again) wanted_ = true;
  phase_ = Phase::waiting;
  tell_ = true;
}

void Player::yield(Drive& drive) noexcept {
  if (listening_ && phase_ == Phase::waiting && drive.state() == wire::State::ready) drive.forget();
  phase_ = Phase::off;
}

/// Into service: from where the outputs are, or from rest where nothing is known of them.
void Player::come(Phase phase, std::uint32_t now_us, Drive& drive) noexcept {
  if (!drive.arm(now_us).ok()) return;
  for (int i = 0; i < baked_.outputs; ++i) {
    const Output& output = drive.output(baked_.output[i].output);
    sent_[i] = output.known() ? output.position() : output.limits().rest;
  }
  stand();
  gentle_ = kGentleMost_s * baked_.tick_hz;
  together_ = baked_.role == Role::leads ? kTogether_s * baked_.tick_hz : 0;
  phase_ = phase;
  tell_ = true;
  next_is(now_us);
}

void Player::play(Phase phase, int track, std::uint32_t tick) noexcept {
  reader_.start(baked_, track, tick);
  phase_ = phase;
  track_ = track;
  tell_ = true;
}

void Player::live(std::uint32_t show_in) noexcept {
  phase_ = Phase::living;
  show_in_ = show_in;
  clip_in_ = lively() ? draw_ticks(baked_.gap_min_ms, baked_.gap_max_ms) : kNever;
  tell_ = true;
}

/// What comes next, where it is this board that decides.
void Player::decide(std::uint32_t now_us, Drive& drive) noexcept {
  if (phase_ == Phase::show && reader_.at_end()) end_show(now_us, drive);
  if (phase_ == Phase::coming && together_ > 0) --together_;
  else if (phase_ == Phase::coming && gentle_ == 0) live(kNever);
  if (phase_ == Phase::clip && reader_.at_end()) live(show_in_);
  if (phase_ == Phase::living || phase_ == Phase::clip) show_in_ -= show_in_ != kNever && show_in_ > 0 ? 1 : 0;
  if (phase_ != Phase::living) return;
  if (wanted_ || show_in_ == 0) {
    wanted_ = false;
    play(Phase::show, 0, 0);
  } else if (clip_in_ == 0) {
    play(Phase::clip, 1 + static_cast<int>(random() % static_cast<unsigned>(baked_.tracks - 1)), 0);
  } else if (clip_in_ != kNever) {
    --clip_in_;
  }
}

void Player::end_show(std::uint32_t now_us, Drive& drive) noexcept {
  if (baked_.loop && !pauses()) return play(Phase::show, 0, baked_.loop_from);
  if (baked_.loop) return live(draw_ticks(baked_.pause_min_ms, baked_.pause_max_ms));
  if (lively()) return live(kNever);
  phase_ = Phase::waiting;
  tell_ = true;
  drive.disarm(now_us);
}

void Player::step(std::uint32_t now_us, Drive& drive) noexcept {
  if (!follows()) decide(now_us, drive);
  if (silent()) return;
  if (!playing()) stand();
  else if (!reader_.next(want_, value_) && !reader_.at_end())  // one that follows waits at the end until it is told how it goes on
    return fault_ = BakeFault::damaged, yield(drive);
  ++untold_;
  offer(now_us, drive);
}

/// Where everything begins.
void Player::stand() noexcept {
  for (int i = 0; i < baked_.outputs; ++i) want_[i] = baked_.output[i].base;
  for (int i = 0; i < baked_.values; ++i) value_[i] = baked_.value[i].base;
}

/// Creeps until it is where it should be; a pose that runs away from it too long is then chased at full slew, by the drive.
void Player::approach(const Drive& drive) noexcept {
  bool there = true;
  for (int i = 0; i < baked_.outputs; ++i) {
    const std::uint32_t most = drive.output(baked_.output[i].output).limits().slew / kGentleShare / baked_.tick_hz;
    sent_[i] = gentle_ > 1 ? toward(sent_[i], want_[i], most > 0 ? most : 1) : want_[i];
    there = there && sent_[i] == want_[i];
  }
  gentle_ = there ? 0 : gentle_ - 1;
}

void Player::offer(std::uint32_t now_us, Drive& drive) noexcept {
  if (gentle_ > 0) approach(drive);
  else
    for (int i = 0; i < baked_.outputs; ++i) sent_[i] = want_[i];
  wire::Block block;
  for (int i = 0; i < baked_.outputs; ++i) {
    const int n = baked_.output[i].output;
    block.mask = static_cast<std::uint16_t>(block.mask | 1u << n);
    block.pulse[n] = sent_[i];
  }
  for (int i = 0; i < baked_.values; ++i) {
    const int n = baked_.value[i].channel;
    block.channels = static_cast<std::uint8_t>(block.channels | 1u << n);
    block.value[n] = value_[i];
  }
  if (!drive.offer(++sequence_, now_us, &block, now_us).ok()) phase_ = Phase::waiting;  // it fell silent: come again
}

bool Player::tell(wire::Lead& out) noexcept {
  if (baked_.role != Role::leads || phase_ == Phase::off) return false;
  if (!tell_ && (silent() || untold_ < baked_.tick_hz / 10u)) return false;
  tell_ = false;
  untold_ = 0;
  out = {baked_.number, phase_, static_cast<std::uint8_t>(track_), playing() && reader_.tick() > 0 ? reader_.tick() - 1 : 0};
  return true;
}

void Player::follow(const wire::Lead& lead, std::uint32_t now_us, Drive& drive) noexcept {
  if (phase_ == Phase::off || !looked_over_ || !follows() || lead.bake != baked_.number) return;
  heard_us_ = now_us;
  if (lead.phase == Phase::off || lead.phase == Phase::waiting) {
    if (!silent()) drive.disarm(now_us);
    phase_ = Phase::waiting;
    return;
  }
  if (silent() && !starved_) come(lead.phase, now_us, drive);
  if (silent()) return;
  const bool played = join(lead);
  phase_ = lead.phase;
  track_ = lead.track;
  next_is(played ? now_us + 1'000'000u / baked_.tick_hz : now_us);
}

/// Brings the reader to what was told; whether that tick was played already.
bool Player::join(const wire::Lead& lead) noexcept {
  if (lead.phase != Phase::clip && lead.phase != Phase::show) return false;
  const bool same = playing() && track_ == lead.track;
  const auto ahead = static_cast<std::int32_t>(reader_.tick() - lead.tick);
  if (same && (ahead == 0 || ahead == 1)) return ahead == 1;
  if (lead.tick > 0 && !(same && ahead > -kSmallSlip && ahead < kSmallSlip)) gentle_ = kGentleMost_s * baked_.tick_hz;
  reader_.start(baked_, lead.track, lead.tick);
  return false;
}

std::uint32_t Player::draw_ticks(std::uint32_t least_ms, std::uint32_t most_ms) noexcept {
  return ticks_of(least_ms + random() % (most_ms - least_ms + 1), baked_.tick_hz);
}

/// xorshift32 (Marsaglia 2003, "Xorshift RNGs").
std::uint32_t Player::random() noexcept {
  random_ ^= random_ << 13;
  random_ ^= random_ >> 17;
  random_ ^= random_ << 5;
  return random_;
}

}  // namespace mien::board
