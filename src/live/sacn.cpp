#include "live/sacn.hpp"

#include <algorithm>

namespace mien::live {
namespace {

using Bytes = std::span<const std::uint8_t>;
using std::string_view_literals::operator""sv;

constexpr std::size_t kRootLength = 16, kRootVector = 18, kCid = 22, kFrameLength = 38, kFrameVector = 40, kName = 44, kPriority = 108, kSequence = 111, kOptions = 112, kUniverse = 113,
                      kDmpLength = 115, kDmpVector = 117, kCount = 123, kStartCode = 125;
constexpr std::size_t kNameRoom = 64;
constexpr auto kPreamble = "\x00\x10\x00\x00" "ASC-E1.17\x00\x00\x00"sv;
constexpr auto kDmp = "\x02\xA1\x00\x00\x00\x01"sv;  // set property; two-byte addresses; the first is 0; one apart
constexpr std::uint8_t kPreview = 0x80, kTerminated = 0x40;
constexpr int kOldest = -20;

std::uint32_t u16(Bytes b, std::size_t at) noexcept { return static_cast<std::uint32_t>(b[at] << 8 | b[at + 1]); }
std::uint32_t u32(Bytes b, std::size_t at) noexcept { return u16(b, at) << 16 | u16(b, at + 2); }
bool stands(Bytes b, std::size_t at, std::string_view what) noexcept { return std::equal(what.begin(), what.end(), b.begin() + std::ptrdiff_t(at), [](char c, std::uint8_t u) { return static_cast<std::uint8_t>(c) == u; }); }
// A layer's flags, which are 7, and its length, which counts from here to the end of the packet.
bool ends(Bytes b, std::size_t at, std::size_t end) noexcept { return u16(b, at) == (0x7000u | (end - at)); }

bool out_of_order(std::uint8_t newest, std::uint8_t now) noexcept {
  const int step = static_cast<std::int8_t>(static_cast<std::uint8_t>(now - newest));  // NOLINT(bugprone-signed-char-misuse): the standard's signed 8-bit difference
  return step <= 0 && step > kOldest;
}

}  // namespace

std::optional<SacnPacket> read_sacn(Bytes b) noexcept {
  if (b.size() <= kStartCode || !stands(b, 0, kPreamble)) return std::nullopt;
  const std::size_t end = kRootLength + (u16(b, kRootLength) & 0x0FFF);
  if (end > b.size() || end <= kStartCode) return std::nullopt;
  if (!ends(b, kRootLength, end) || !ends(b, kFrameLength, end) || !ends(b, kDmpLength, end)) return std::nullopt;
  if (u32(b, kRootVector) != 4 || u32(b, kFrameVector) != 2 || !stands(b, kDmpVector, kDmp)) return std::nullopt;
  const std::size_t count = u16(b, kCount);
  if (count != end - kStartCode || count > kMostSlots + 1) return std::nullopt;
  SacnPacket p;
  std::copy_n(b.begin() + kCid, p.cid.size(), p.cid.begin());
  p.name = {reinterpret_cast<const char*>(b.data()) + kName, kNameRoom};
  p.name = p.name.substr(0, p.name.find('\0'));
  p.priority = b[kPriority];
  p.sequence = b[kSequence];
  p.preview = b[kOptions] & kPreview, p.terminated = b[kOptions] & kTerminated;
  p.universe = static_cast<int>(u16(b, kUniverse));
  p.start_code = b[kStartCode];
  p.slots = b.subspan(kStartCode + 1, count - 1);
  if (p.priority > kMostPriority || p.universe < 1 || p.universe > kMostUniverse) return std::nullopt;
  return p;
}

SacnUniverse::Heard SacnUniverse::hear(const SacnPacket& p, std::int64_t at_ns) {
  if (p.universe != universe_) return Heard::other_universe;
  if (p.preview) return Heard::preview;
  auto source = std::find_if(sources_.begin(), sources_.end(), [&](const Source& s) { return s.cid == p.cid; });
  if (source != sources_.end() && out_of_order(source->sequence, p.sequence)) return Heard::out_of_order;
  if (p.terminated) {
    if (source != sources_.end()) sources_.erase(source);
    return Heard::terminated;
  }
  if (p.start_code != 0) {
    if (source != sources_.end()) source->sequence = p.sequence;  // all packets of a source share its count; only levels keep it alive
    return Heard::not_levels;
  }
  if (source == sources_.end()) {
    if (sources_.size() == kMostSources) return Heard::too_many;
    source = sources_.insert(sources_.end(), Source{});
    source->cid = p.cid;
  }
  source->name = p.name, source->priority = p.priority, source->sequence = p.sequence, source->heard_ns = at_ns;
  source->count = static_cast<int>(p.slots.size());
  std::copy(p.slots.begin(), p.slots.end(), source->level.begin());
  return Heard::levels;
}

bool SacnUniverse::expire(std::int64_t at_ns) {
  return std::erase_if(sources_, [&](const Source& s) { return at_ns - s.heard_ns >= kSacnLoss_ns; }) > 0;
}

int SacnUniverse::level(int slot) const noexcept {
  int priority = -1, level = -1;
  for (const Source& s : sources_) priority = std::max(priority, s.priority);
  for (const Source& s : sources_)
    if (s.priority == priority && slot >= 1 && slot <= s.count) level = std::max(level, int{s.level[static_cast<std::size_t>(slot - 1)]});
  return level;
}

void SacnEar::hear(Bytes datagram, std::int64_t at_ns) {
  ++counts_.packets;
  const auto packet = read_sacn(datagram);
  if (!packet) return void(++counts_.broken);
  using H = SacnUniverse::Heard;
  const H heard = universe_.hear(*packet, at_ns);
  counts_.out_of_order += heard == H::out_of_order;
  counts_.preview += heard == H::preview;
  counts_.other += heard == H::other_universe || heard == H::not_levels || heard == H::too_many;
  if (heard == H::levels || heard == H::terminated) tell(at_ns);
}

void SacnEar::catch_up(std::int64_t at_ns) {
  if (universe_.expire(at_ns) || waits_) tell(at_ns);
}

void SacnEar::tell(std::int64_t at_ns) {
  Touch touch{.at_ns = at_ns, .device = device_};
  waits_ = false;
  if (universe_.sources().empty()) {
    touch.kind = Touch::Kind::slots_gone;
    if (there_ && !inlet_.push(touch)) waits_ = true;
    else there_ = false, told_.fill(-1);
    return;
  }
  there_ = true;
  touch.kind = Touch::Kind::slot;
  for (int slot = 1; slot <= kMostSlots; ++slot) {
    int& told = told_[static_cast<std::size_t>(slot - 1)];
    const int level = universe_.level(slot);
    if (level < 0 || level == told) continue;  // what nobody sends any more stays where it is
    touch.number = static_cast<std::uint16_t>(slot), touch.value = static_cast<float>(level) / 255;
    if (!inlet_.push(touch)) return void(waits_ = true);
    ++counts_.touches;
    told = level;
  }
}

}  // namespace mien::live
