#include "wire/codec.hpp"

#include "wire/crc16.hpp"
#include "wire/packet.hpp"

namespace mien::wire {
namespace {

constexpr std::size_t kLongestRecord = 20;

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

void get(Reader& from, OutputLimits& l) noexcept {
  l.output = from.u8(), l.min = from.u16(), l.max = from.u16(), l.rest = from.u16(), l.slew = from.u32();
}

void put(Writer& to, const Timing& t) noexcept { to.u8(t.output), to.u16(t.period_us), to.u16(t.phase_us); }

void get(Reader& from, Timing& t) noexcept { t.output = from.u8(), t.period_us = from.u16(), t.phase_us = from.u16(); }

void put(Writer& to, const ChannelSetup& c) noexcept {
  to.u8(c.channel), to.u8(static_cast<unsigned>(c.kind)), to.u8(c.line), to.u8(c.rest);
  to.u8(c.lines), to.u8(static_cast<unsigned>(c.order)), to.u8(c.strobe), to.u16(c.settle_ms);
  to.u8(c.rail), to.u16(c.draw_ma), to.u16(c.on_ma), to.u16(c.off_ma), to.u8(c.smooth_s);
}

void get(Reader& from, ChannelSetup& c) noexcept {
  c.channel = from.u8(), c.kind = static_cast<ChannelKind>(from.u8()), c.line = from.u8(), c.rest = from.u8();
  c.lines = from.u8(), c.order = static_cast<CodeOrder>(from.u8()), c.strobe = from.u8(), c.settle_ms = from.u16();
  c.rail = from.u8(), c.draw_ma = from.u16(), c.on_ma = from.u16(), c.off_ma = from.u16(), c.smooth_s = from.u8();
}

/// A count and that many records, at most `most`.
template <class Record>
void get_list(Reader& from, std::uint8_t& count, Record* records, int most) noexcept {
  count = from.u8();
  if (count > most) count = 0, from.fail();
  for (int i = 0; i < count; ++i) get(from, records[i]);
}

template <class Record>
void put_list(Writer& to, std::uint8_t count, const Record* records, int most) noexcept {
  to.u8(count);
  if (count > most) to.fail();
  for (int i = 0; i < count && to.ok(); ++i) put(to, records[i]);
}

// On the line a block says either pulses or, after a mask of 0, values of channels; so a head without channels pays nothing for them.
void put(Writer& to, const Block& block) noexcept {
  if (block.mask == 0 && block.channels == 0) to.fail();
  if (block.mask != 0) {
    to.u8(block.address), to.u16(block.mask);
    for (int n = 0; n < kMaxOutputs; ++n) {
      if ((block.mask >> n & 1) == 0) continue;
      to.u16(block.pulse[n]);
      if (block.pulse[n] == 0) to.fail();
    }
  }
  if (block.channels == 0) return;
  to.u8(block.address), to.u16(0), to.u8(block.channels);
  for (int n = 0; n < kMaxChannels; ++n)
    if ((block.channels >> n & 1) != 0) to.u8(block.value[n]);
}

/// The block that stands behind those the frame has; bad where the board had its share already.
Block& next_block(Frame& frame, std::uint8_t address, Reader& from) noexcept {
  for (int i = 0; i < frame.count; ++i)
    if (frame.blocks[i].address == address) from.fail();
  if (frame.count == kMaxBlocks) from.fail();
  else ++frame.count;
  Block& fresh = frame.blocks[frame.count - 1];
  fresh = Block{};
  fresh.address = address;
  return fresh;
}

/// Reads one block of the line. Values stand right behind the same board's pulses, so that there is one way to say a frame.
void get_block(Reader& from, Frame& frame) noexcept {
  const std::uint8_t address = from.u8();
  const std::uint16_t mask = from.u16();
  if (!from.ok()) return;
  Block* before = frame.count > 0 ? &frame.blocks[frame.count - 1] : nullptr;
  const bool goes_on = mask == 0 && before != nullptr && before->address == address && before->channels == 0;
  Block& block = goes_on ? *before : next_block(frame, address, from);
  if (mask == 0) {
    block.channels = from.u8();
    if (block.channels == 0) from.fail();
    for (int n = 0; n < kMaxChannels; ++n)
      if ((block.channels >> n & 1) != 0) block.value[n] = from.u8();
    return;
  }
  block.mask = mask;
  for (int n = 0; n < kMaxOutputs; ++n) {
    if ((mask >> n & 1) == 0) continue;
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

bool sizes_fit(const Description& d) noexcept {
  return d.outputs <= kMaxOutputs && d.rails <= kMaxRails && d.lines <= kMaxLines && d.inputs <= kMaxInputs &&
         (d.outputs_per_timer == 1 || d.outputs_per_timer == 2) && d.start <= Start::other;
}

void put(Writer& to, const Counters& c) noexcept {
  to.u32(c.latched), to.u32(c.late), to.u32(c.stale), to.u32(c.bad), to.u32(c.clamped), to.u32(c.slewed), to.u32(c.refused);
  to.u32(c.unrelayed);
}

void get(Reader& from, Counters& c) noexcept {
  c.latched = from.u32(), c.late = from.u32(), c.stale = from.u32(), c.bad = from.u32();
  c.clamped = from.u32(), c.slewed = from.u32(), c.refused = from.u32();
  c.unrelayed = from.u32();
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
  packet.to.u8(m.release ? 2 : m.assign ? 1 : 0);
  if (m.assign && m.release) packet.to.fail();
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Hello& out) noexcept {
  Reader from(packet);
  open(from, Type::hello, out);
  const std::uint8_t what = from.u8();
  out.assign = what == 1;
  out.release = what == 2;
  return from.done() && what <= 2;
}

std::size_t encode(const Configure& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::configure, m.address, m.token);
  packet.to.u8((m.first ? 1u : 0u) | (m.last ? 2u : 0u));
  put(packet.to, m.watchdog);
  put_list(packet.to, m.count, m.outputs, kMaxOutputs);
  put_list(packet.to, m.timings, m.timing, kMaxOutputs);
  put_list(packet.to, m.channels, m.channel, kMaxChannels);
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
  get_list(from, out.count, out.outputs, kMaxOutputs);
  get_list(from, out.timings, out.timing, kMaxOutputs);
  get_list(from, out.channels, out.channel, kMaxChannels);
  return flags <= 3 && from.done();
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
  packet.to.u32(m.board_us), packet.to.u32(m.offset_us), packet.to.u32(static_cast<std::uint32_t>(m.rate_ppb));
  return packet.seal(out, capacity);
}

bool decode(Bytes packet, Clock& out) noexcept {
  Reader from(packet);
  open(from, Type::clock, out);
  out.board_us = from.u32(), out.offset_us = from.u32();
  out.rate_ppb = static_cast<std::int32_t>(from.u32());
  return from.done() && out.rate_ppb >= -kMostRate_ppb && out.rate_ppb <= kMostRate_ppb;
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
  while (from.more()) get_block(from, out);
  return from.done();
}

std::size_t encode(const Description& m, std::uint8_t* out, std::size_t capacity) noexcept {
  Packet packet(Type::description, m.address, m.token);
  packet.to.u8(m.newest_version);
  packet.to.u64(m.identity);
  packet.to.u8(m.outputs), packet.to.u8(m.rails), packet.to.u8(m.lines), packet.to.u8(m.inputs);
  packet.to.u8(m.outputs_per_timer), packet.to.u8(static_cast<unsigned>(m.start)), packet.to.u8(static_cast<unsigned>(m.state));
  packet.to.u16(m.configuration);
  const int length = firmware_length(m);
  packet.to.u8(static_cast<unsigned>(length));
  for (int i = 0; i < length; ++i) {
    if (!printable(m.firmware[i])) return 0;
    packet.to.u8(static_cast<unsigned char>(m.firmware[i]));
  }
  return sizes_fit(m) ? packet.seal(out, capacity) : 0;
}

bool decode(Bytes packet, Description& out) noexcept {
  Reader from(packet);
  open(from, Type::description, out);
  out.newest_version = from.u8();
  out.identity = from.u64();
  out.outputs = from.u8(), out.rails = from.u8(), out.lines = from.u8(), out.inputs = from.u8();
  out.outputs_per_timer = from.u8(), out.start = static_cast<Start>(from.u8()), out.state = state_from(from);
  out.configuration = from.u16();
  const std::uint8_t length = from.u8();
  if (length > kMaxFirmwareText || !sizes_fit(out)) return false;
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
  packet.to.u16(m.inputs), packet.to.u8(m.faults);
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
  out.inputs = from.u16(), out.faults = from.u8();
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

namespace {

template <class Record>
std::uint16_t crc_of(const Record& record, std::uint16_t crc) noexcept {
  std::uint8_t room[kLongestRecord];
  Writer to(room, sizeof room);
  put(to, record);
  return crc16(room, to.bytes().size, crc);
}

}  // namespace

void Checksum::add(const Watchdog& watchdog) noexcept { crc_ = crc_of(watchdog, crc_); }

void Checksum::add(const OutputLimits& limits, const Timing& timing) noexcept {
  crc_ = crc_of(limits, crc_);
  crc_ = crc_of(timing, crc_);
}

void Checksum::add(const ChannelSetup& channel) noexcept { crc_ = crc_of(channel, crc_); }

std::uint16_t checksum(const Configure& whole) noexcept {
  Checksum sum;
  sum.add(whole.watchdog);
  for (int i = 0; i < whole.count; ++i) {
    Timing timing;
    timing.output = whole.outputs[i].output;
    for (int k = 0; k < whole.timings; ++k)
      if (whole.timing[k].output == timing.output) timing = whole.timing[k];
    sum.add(whole.outputs[i], timing);
  }
  for (int i = 0; i < whole.channels; ++i) sum.add(whole.channel[i]);
  return sum.value();
}

}  // namespace mien::wire
