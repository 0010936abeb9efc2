#include "wire/codec.hpp"

#include "wire/crc16.hpp"
#include "wire/fields.hpp"

namespace mien::wire {
namespace {

constexpr std::size_t kLimitsSize = 11;

/// A packet under construction: head first, then the fields, then seal().
struct Packet {
  std::uint8_t room[kMaxPacket] = {};
  Writer to{room, kMaxPacket};

  explicit Packet(Type type) noexcept { to.u8(kVersion), to.u8(static_cast<unsigned>(type)); }
  Packet(Type type, std::uint8_t address, std::uint8_t token) noexcept : Packet(type) { to.u8(address), to.u8(token); }

  std::size_t seal(std::uint8_t* out, std::size_t capacity) const noexcept {
    return to.ok() ? wire::seal(to.bytes(), out, capacity) : 0;
  }
};

/// Reads past the head of a message with an address; false, and the reader bad, for another type or version.
template <class Message>
bool open(Reader& from, Type type, Message& out) noexcept {
  if (from.u8() != kVersion || from.u8() != static_cast<std::uint8_t>(type)) from.fail();
  out.address = from.u8();
  out.token = from.u8();
  return from.ok();
}

bool is_order(Type type) noexcept {
  return type == Type::arm || type == Type::disarm || type == Type::stop || type == Type::query;
}

State state_from(Reader& from) noexcept {
  const std::uint8_t value = from.u8();
  if (value > static_cast<std::uint8_t>(State::disarming)) from.fail();
  return static_cast<State>(value);
}

void put(Writer& to, const Watchdog& w) noexcept { to.u16(w.hold_ms), to.u16(w.ramp_ms), to.u16(w.release_ms); }

void put(Writer& to, const OutputLimits& l) noexcept {
  to.u8(l.output), to.u16(l.min), to.u16(l.max), to.u16(l.rest), to.u32(l.slew);
}

void put(Writer& to, const Block& block) noexcept {
  to.u8(block.address), to.u16(block.mask);
  if (block.mask == 0) to.fail();
  for (int n = 0; n < kMaxOutputs; ++n) {
    if ((block.mask >> n & 1) == 0) continue;
    to.u16(block.pulse[n]);
    if (block.pulse[n] == 0) to.fail();
  }
}

void get(Reader& from, Block& block) noexcept {
  block = Block{};
  block.address = from.u8();
  block.mask = from.u16();
  if (block.mask == 0) from.fail();
  for (int n = 0; n < kMaxOutputs; ++n) {
    if ((block.mask >> n & 1) == 0) continue;
    block.pulse[n] = from.u16();
    if (block.pulse[n] == 0) from.fail();
  }
}

/// A board stands in a frame once at most; which of two blocks would count?
bool addresses_differ(const Frame& frame) noexcept {
  for (int i = 0; i < frame.count; ++i)
    for (int k = 0; k < i; ++k)
      if (frame.blocks[i].address == frame.blocks[k].address) return false;
  return true;
}

bool printable(char c) noexcept { return c >= 0x20 && c <= 0x7E; }

int firmware_length(const Description& d) noexcept {
  int length = 0;
  while (length < kMaxFirmwareText && d.firmware[length] != 0) ++length;
  return length;
}

void put(Writer& to, const Counters& c) noexcept {
  to.u32(c.latched), to.u32(c.late), to.u32(c.stale), to.u32(c.bad), to.u32(c.clamped), to.u32(c.slewed), to.u32(c.refused);
}

void get(Reader& from, Counters& c) noexcept {
  c.latched = from.u32(), c.late = from.u32(), c.stale = from.u32(), c.bad = from.u32();
  c.clamped = from.u32(), c.slewed = from.u32(), c.refused = from.u32();
}

}  // namespace

Reading read_head(Bytes packet, Head& out) noexcept {
  out = Head{};
  if (packet.size < 2) return Reading::malformed;
  out.version = packet.data[0];
  out.type = packet.data[1];
  if (out.type != static_cast<std::uint8_t>(Type::frame)) {
    if (packet.size < 4) return Reading::malformed;
    out.address = packet.data[2];
    out.token = packet.data[3];
  }
  return out.version == kVersion ? Reading::ok : Reading::other_version;
}

std::size_t encode(const Hello& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::hello, m.address, m.token);
  packet.to.u8(m.assign ? 1 : 0);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Hello& out) noexcept {
  Reader from(packet);
  open(from, Type::hello, out);
  out.assign = from.flag();
  return from.done();
}

std::size_t encode(const Configure& m, std::uint8_t* out, std::size_t capacity) noexcept {
  if (m.count > kMaxOutputs) return 0;
  Packet packet(Type::configure, m.address, m.token);
  packet.to.u8((m.first ? 1u : 0u) | (m.last ? 2u : 0u));
  put(packet.to, m.watchdog);
  packet.to.u8(m.count);
  for (int i = 0; i < m.count; ++i) put(packet.to, m.outputs[i]);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Configure& out) noexcept {
  Reader from(packet);
  open(from, Type::configure, out);
  const std::uint8_t flags = from.u8();
  out.first = (flags & 1) != 0;
  out.last = (flags & 2) != 0;
  out.watchdog.hold_ms = from.u16();
  out.watchdog.ramp_ms = from.u16();
  out.watchdog.release_ms = from.u16();
  out.count = from.u8();
  if (flags > 3 || out.count > kMaxOutputs) return false;
  for (int i = 0; i < out.count; ++i) {
    OutputLimits& l = out.outputs[i];
    l.output = from.u8();
    l.min = from.u16();
    l.max = from.u16();
    l.rest = from.u16();
    l.slew = from.u32();
  }
  return from.done();
}

std::size_t encode(const Order& m, std::uint8_t* out, std::size_t capacity) noexcept {
  if (!is_order(m.type)) return 0;
  return Packet(m.type, m.address, m.token).seal(out, capacity);
}

bool decode(Bytes packet, Order& out) noexcept {
  if (packet.size < 2) return false;
  out.type = static_cast<Type>(packet.data[1]);
  Reader from(packet);
  open(from, out.type, out);
  return is_order(out.type) && from.done();
}

std::size_t encode(const Heartbeat& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::heartbeat, m.address, m.token);
  packet.to.u32(m.host_us);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Heartbeat& out) noexcept {
  Reader from(packet);
  open(from, Type::heartbeat, out);
  out.host_us = from.u32();
  return from.done();
}

std::size_t encode(const Clock& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::clock, m.address, m.token);
  packet.to.u32(m.offset_us);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Clock& out) noexcept {
  Reader from(packet);
  open(from, Type::clock, out);
  out.offset_us = from.u32();
  return from.done();
}

std::size_t encode(const Frame& m, std::uint8_t* out, std::size_t capacity) noexcept {
  if (m.count > kMaxBlocks || !addresses_differ(m)) return 0;
  Packet packet(Type::frame);
  packet.to.u16(m.sequence);
  packet.to.u32(m.latch_us);
  for (int i = 0; i < m.count; ++i) put(packet.to, m.blocks[i]);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Frame& out) noexcept {
  Reader from(packet);
  if (from.u8() != kVersion || from.u8() != static_cast<std::uint8_t>(Type::frame)) return false;
  out.sequence = from.u16();
  out.latch_us = from.u32();
  out.count = 0;
  while (from.more()) {
    if (out.count == kMaxBlocks) return false;
    get(from, out.blocks[out.count++]);
  }
  return from.done() && addresses_differ(out);
}

std::size_t encode(const Description& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::description, m.address, m.token);
  packet.to.u8(m.newest_version);
  packet.to.u64(m.identity);
  packet.to.u8(m.outputs), packet.to.u8(m.rails), packet.to.u8(static_cast<unsigned>(m.state));
  packet.to.u16(m.configuration);
  const int length = firmware_length(m);
  packet.to.u8(static_cast<unsigned>(length));
  for (int i = 0; i < length; ++i) {
    if (!printable(m.firmware[i])) return 0;
    packet.to.u8(static_cast<unsigned char>(m.firmware[i]));
  }
  return m.outputs <= kMaxOutputs && m.rails <= kMaxRails ? packet.seal(out, capacity) : 0;
}

bool decode(Bytes packet, Description& out) noexcept {
  Reader from(packet);
  open(from, Type::description, out);
  out.newest_version = from.u8();
  out.identity = from.u64();
  out.outputs = from.u8(), out.rails = from.u8(), out.state = state_from(from);
  out.configuration = from.u16();
  const std::uint8_t length = from.u8();
  if (length > kMaxFirmwareText || out.outputs > kMaxOutputs || out.rails > kMaxRails) return false;
  for (int i = 0; i <= kMaxFirmwareText; ++i) out.firmware[i] = 0;
  for (int i = 0; i < length; ++i) {
    out.firmware[i] = static_cast<char>(from.u8());
    if (!printable(out.firmware[i])) return false;
  }
  return from.done();
}

std::size_t encode(const Acknowledgement& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::acknowledgement, m.address, m.token);
  packet.to.u8(static_cast<unsigned>(m.of)), packet.to.u8(static_cast<unsigned>(m.state));
  packet.to.u16(m.sequence);
  packet.to.u32(m.host_us), packet.to.u32(m.received_us), packet.to.u32(m.sent_us);
  put(packet.to, m.counters);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Acknowledgement& out) noexcept {
  Reader from(packet);
  open(from, Type::acknowledgement, out);
  out.of = static_cast<Type>(from.u8());
  out.state = state_from(from);
  out.sequence = from.u16();
  out.host_us = from.u32(), out.received_us = from.u32(), out.sent_us = from.u32();
  get(from, out.counters);
  return from.done();
}

std::size_t encode(const StateReport& m, std::uint8_t* out, std::size_t capacity) noexcept {
  if (m.outputs > kMaxOutputs || m.rails > kMaxRails) return 0;
  Packet packet(Type::state_report, m.address, m.token);
  packet.to.u8(static_cast<unsigned>(m.state));
  packet.to.u16(m.sequence), packet.to.u16(m.known), packet.to.u16(m.driven);
  packet.to.u8(m.outputs);
  for (int i = 0; i < m.outputs; ++i) packet.to.u16(m.pulse[i]);
  packet.to.u8(m.rails);
  for (int i = 0; i < m.rails; ++i) packet.to.u16(m.rail[i].voltage_mv), packet.to.u16(m.rail[i].current_ma);
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, StateReport& out) noexcept {
  Reader from(packet);
  open(from, Type::state_report, out);
  out.state = state_from(from);
  out.sequence = from.u16(), out.known = from.u16(), out.driven = from.u16();
  out.outputs = from.u8();
  if (out.outputs > kMaxOutputs) return false;
  for (int i = 0; i < kMaxOutputs; ++i) out.pulse[i] = i < out.outputs ? from.u16() : std::uint16_t{0};
  out.rails = from.u8();
  if (out.rails > kMaxRails) return false;
  for (int i = 0; i < out.rails; ++i) out.rail[i].voltage_mv = from.u16(), out.rail[i].current_ma = from.u16();
  return from.done();
}

std::size_t encode(const Refusal& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::refusal, m.address, m.token);
  packet.to.u8(m.of), packet.to.u8(static_cast<unsigned>(m.reason)), packet.to.u8(m.detail);
  return packet.seal(out, capacity);
}

// A refusal reads the same in every protocol version: it is how two ends learn that they don't share one.
bool decode(Bytes packet, Refusal& out) noexcept {
  Reader from(packet);
  from.u8();
  if (from.u8() != static_cast<std::uint8_t>(Type::refusal)) return false;
  out.address = from.u8();
  out.token = from.u8();
  out.of = from.u8();
  out.reason = static_cast<Reason>(from.u8());
  out.detail = from.u8();
  return from.done();
}

std::uint16_t checksum(const Watchdog& watchdog, const OutputLimits* outputs, int count) noexcept {
  std::uint8_t room[kLimitsSize];
  Writer times(room, sizeof room);
  put(times, watchdog);
  std::uint16_t crc = crc16(room, times.bytes().size);
  for (int i = 0; i < count; ++i) {
    Writer limits(room, sizeof room);
    put(limits, outputs[i]);
    crc = crc16(room, limits.bytes().size, crc);
  }
  return crc;
}

}  // namespace mien::wire
