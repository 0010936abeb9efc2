#include "wire/baked.hpp"

#include "wire/packet.hpp"

namespace mien::wire {
namespace {

Phase phase_from(Reader& from) noexcept {
  const std::uint8_t value = from.u8();
  if (value > static_cast<std::uint8_t>(Phase::show)) from.fail();
  return static_cast<Phase>(value);
}

}  // namespace

const char* name(BakeFault fault) noexcept {
  switch (fault) {
    case BakeFault::none: return "good";
    case BakeFault::empty: return "nothing is stored";
    case BakeFault::unknown: return "no baked show, or of another version";
    case BakeFault::cut_short: return "cut short";
    case BakeFault::damaged: return "damaged";
    case BakeFault::absurd: return "holds values that can't be";
    case BakeFault::other_board: return "made for another board";
  }
  return "unknown";
}

const char* name(Phase phase) noexcept {
  switch (phase) {
    case Phase::off: return "off";
    case Phase::waiting: return "waiting";
    case Phase::coming: return "coming";
    case Phase::living: return "living";
    case Phase::clip: return "clip";
    case Phase::show: return "show";
  }
  return "unknown";
}

std::size_t encode(const StoreBegin& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::store_begin, m.address, m.token);
  packet.to.u32(m.size);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, StoreBegin& out) noexcept {
  Reader from(packet);
  open(from, Type::store_begin, out);
  out.size = from.u32();
  return from.done();
}

std::size_t encode(const StoreChunk& m, std::uint8_t* out, std::size_t capacity) noexcept {
  if (m.count < 1 || m.count > kMaxChunk) return 0;
  Packet packet(Type::store_chunk, m.address, m.token);
  packet.to.u32(m.offset), packet.to.u8(m.count);
  for (int i = 0; i < m.count; ++i) packet.to.u8(m.bytes[i]);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, StoreChunk& out) noexcept {
  Reader from(packet);
  open(from, Type::store_chunk, out);
  out.offset = from.u32(), out.count = from.u8();
  if (out.count < 1 || out.count > kMaxChunk) return false;
  for (int i = 0; i < kMaxChunk; ++i) out.bytes[i] = i < out.count ? from.u8() : std::uint8_t{0};
  return from.done();
}

std::size_t encode(const StoreCommit& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::store_commit, m.address, m.token);
  packet.to.u16(m.crc);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, StoreCommit& out) noexcept {
  Reader from(packet);
  open(from, Type::store_commit, out);
  out.crc = from.u16();
  return from.done();
}

std::size_t encode(const AskPlayback& m, std::uint8_t* out, std::size_t capacity) noexcept {
  return Packet(Type::ask_playback, m.address, m.token).seal(out, capacity);
}

bool decode(Bytes packet, AskPlayback& out) noexcept {
  Reader from(packet);
  open(from, Type::ask_playback, out);
  return from.done();
}

std::size_t encode(const Lead& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::lead, kEveryone, kUnasked);
  packet.to.u32(m.bake), packet.to.u8(static_cast<unsigned>(m.phase)), packet.to.u8(m.track), packet.to.u32(m.tick);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Lead& out) noexcept {
  struct { std::uint8_t address, token; } head;
  Reader from(packet);
  if (!open(from, Type::lead, head) || head.address != kEveryone || head.token != kUnasked) return false;
  out.bake = from.u32(), out.phase = phase_from(from), out.track = from.u8(), out.tick = from.u32();
  return from.done();
}

std::size_t encode(const Playback& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::playback, m.address, m.token);
  packet.to.u8(static_cast<unsigned>(m.fault)), packet.to.u8(static_cast<unsigned>(m.phase)), packet.to.u8(m.track);
  packet.to.u32(m.tick), packet.to.u32(m.bake), packet.to.u32(m.capacity);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Playback& out) noexcept {
  Reader from(packet);
  open(from, Type::playback, out);
  const std::uint8_t fault = from.u8();
  if (fault > static_cast<std::uint8_t>(BakeFault::other_board)) return false;
  out.fault = static_cast<BakeFault>(fault), out.phase = phase_from(from), out.track = from.u8();
  out.tick = from.u32(), out.bake = from.u32(), out.capacity = from.u32();
  return from.done();
}

}  // namespace mien::wire
