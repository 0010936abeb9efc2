#include "board/channels.hpp"

namespace mien::board {
namespace {

using wire::ChannelKind;
using wire::CodeOrder;
using wire::Reason;

constexpr std::uint32_t kHeatSample_us = 100'000;
constexpr std::uint8_t kOn = 255, kHalf = 128;

bool settled(const wire::ChannelSetup& s, std::uint32_t since_us, std::uint32_t now_us) noexcept {
  return now_us - since_us >= s.settle_ms * 1000u;
}

int count_bits(unsigned mask) noexcept {
  int count = 0;
  for (; mask != 0; mask &= mask - 1) ++count;
  return count;
}

}  // namespace

Channels::Channels(int lines) noexcept : lines_(lines < 0 ? 0 : lines > wire::kMaxLines ? wire::kMaxLines : lines) {}

Verdict Channels::add(const wire::ChannelSetup& setup) noexcept {
  const auto detail = static_cast<std::uint8_t>(0x80 | setup.channel);
  if (!sane(setup)) return {Reason::bad_value, detail};
  const std::uint32_t needs = lines_of(setup);
  if (needs >> lines_ != 0) return {Reason::unknown_channel, setup.channel};
  if (channel_[setup.channel].configured || (needs & taken_) != 0) return {Reason::bad_value, detail};
  taken_ |= needs;
  Channel& c = channel_[setup.channel];
  c = Channel{};
  c.setup = setup;
  c.configured = true;
  set(setup.channel, setup.rest);
  return {};
}

void Channels::forget() noexcept {
  for (Channel& c : channel_) c = Channel{};
  for (std::uint8_t& level : level_) level = 0;
  taken_ = 0;
}

std::uint8_t Channels::configured_mask() const noexcept {
  unsigned mask = 0;
  for (int n = 0; n < wire::kMaxChannels; ++n) mask |= channel_[n].configured ? 1u << n : 0u;
  return static_cast<std::uint8_t>(mask);
}

void Channels::set(int channel, std::uint8_t value) noexcept {
  Channel& c = channel_[channel];
  if (!c.configured) return;
  c.value = value;
  const wire::ChannelSetup& s = c.setup;
  switch (s.kind) {
    case ChannelKind::onoff: level_[s.line] = value >= kHalf ? kOn : 0; return;
    case ChannelKind::dimmer: level_[s.line] = value; return;
    case ChannelKind::fan: level_[s.line] = value >= kHalf || c.hot ? kOn : 0; return;
    case ChannelKind::code:
      if (value >> s.lines != 0) c.value = s.rest;  // a number that the lines can't say is no state of this module
      return;
  }
}

void Channels::rest() noexcept {
  for (int n = 0; n < wire::kMaxChannels; ++n)
    if (channel_[n].configured) set(n, channel_[n].setup.rest);
}

bool Channels::hot() const noexcept {
  for (const Channel& c : channel_)
    if (c.hot) return true;
  return false;
}

void Channels::tick(std::uint32_t now_us, const Senses& senses, std::uint16_t moved) noexcept {
  moved_ = static_cast<std::uint16_t>(moved_ | moved);
  if (now_us - sampled_us_ >= kHeatSample_us) {
    sampled_us_ = now_us;
    sample_heat(senses);
    moved_ = 0;
  }
  for (Channel& c : channel_) {
    if (!c.configured || c.setup.kind != ChannelKind::code) continue;
    c.setup.order == CodeOrder::strobe ? strobe(c, now_us) : walk(c, now_us);
  }
}

void Channels::show(Channel& c, std::uint8_t number, std::uint32_t now_us) noexcept {
  c.shown = number;
  c.since_us = now_us;
  const unsigned bits = c.setup.order == CodeOrder::gray ? number ^ (number >> 1) : number;
  for (int n = 0; n < c.setup.lines; ++n) level_[c.setup.line + n] = (bits >> n & 1) != 0 ? kOn : 0;
}

// Neighbours in Gray code differ in one line, so whenever a module looks it sees the number before or the one after.
void Channels::walk(Channel& c, std::uint32_t now_us) noexcept {
  if (c.shown == c.value || !settled(c.setup, c.since_us, now_us)) return;
  show(c, static_cast<std::uint8_t>(c.value > c.shown ? c.shown + 1 : c.shown - 1), now_us);
}

void Channels::strobe(Channel& c, std::uint32_t now_us) noexcept {
  const bool over = settled(c.setup, c.since_us, now_us);
  if (c.step == Step::steady && c.value != c.shown) {
    level_[c.setup.strobe] = 0;
    c.step = Step::closing;
    c.since_us = now_us;
  } else if (c.step == Step::closing && over) {
    show(c, c.value, now_us);
    c.step = Step::opening;
  } else if (c.step == Step::opening && c.value != c.shown) {
    show(c, c.value, now_us);  // nobody looks yet
  } else if (c.step == Step::opening && over) {
    level_[c.setup.strobe] = kOn;
    c.step = Step::steady;
  }
}

// A servo's heat follows its current, and slowly; so the fan goes by a current smoothed over the time that heat takes.
void Channels::sample_heat(const Senses& senses) noexcept {
  for (Channel& c : channel_) {
    const wire::ChannelSetup& s = c.setup;
    if (!c.configured || s.kind != ChannelKind::fan) continue;
    const std::int64_t now_ma = s.rail == wire::kEstimated ? s.draw_ma * count_bits(moved_) : senses.rail[s.rail].current_ma;
    c.smooth += ((now_ma << 16) - c.smooth) / (s.smooth_s * 10);
    const std::int64_t smooth_ma = c.smooth >> 16;
    if (smooth_ma >= s.on_ma) c.hot = true;
    if (smooth_ma <= s.off_ma) c.hot = false;
    level_[s.line] = c.value >= kHalf || c.hot ? kOn : 0;
  }
}

}  // namespace mien::board
