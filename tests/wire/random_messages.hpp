// Random messages within the rules, for round trips and for the reference decoder.
#pragma once
#include <random>

#include "wire/examples.hpp"

namespace mien::wire {

class RandomMessages {
 public:
  explicit RandomMessages(unsigned seed) : random_(seed) {}

  Hello hello() {
    const int what = below(3);
    return {u8(), u8(), what == 1, what == 2};
  }
  Heartbeat heartbeat() { return {u8(), u8(), u32()}; }
  Clock clock() { return {u8(), u8(), u32(), u32(), below(2 * kMostRate_ppb + 1) - kMostRate_ppb}; }
  Refusal refusal() { return {u8(), u8(), u8(), static_cast<Reason>(u8()), u8()}; }

  Order order() {
    static constexpr Type kTypes[] = {Type::arm, Type::disarm, Type::stop, Type::query};
    return {kTypes[below(4)], u8(), u8()};
  }

  Configure configure() {
    Configure m;
    m.address = u8(), m.token = u8(), m.first = coin(), m.last = coin();
    m.watchdog = {u16(), u16(), u16()};
    m.count = static_cast<std::uint8_t>(below(15));
    for (int i = 0; i < m.count; ++i) m.outputs[i] = {u8(), u16(), u16(), u16(), u32()};
    m.timings = static_cast<std::uint8_t>(below(m.count + 1));  // everything at once would not fit
    for (int i = 0; i < m.timings; ++i) m.timing[i] = {u8(), u16(), u16()};
    m.channels = static_cast<std::uint8_t>(m.count > 8 ? 0 : below(kMaxChannels - m.count + 1));
    for (int i = 0; i < m.channels; ++i)
      m.channel[i] = {u8(),  static_cast<ChannelKind>(u8()), u8(),  u8(),  u8(),  static_cast<CodeOrder>(u8()), u8(), u16(), u8(),
                      u16(), u16(), u16(), u8()};
    return m;
  }

  Frame frame() {
    Frame m;
    m.sequence = u16(), m.latch_us = u32();
    m.count = static_cast<std::uint8_t>(below(6));  // five full blocks are the most that fit
    for (int i = 0; i < m.count; ++i) {
      Block& b = m.blocks[i];
      b.address = static_cast<std::uint8_t>(i * 40 + below(40));
      b.mask = static_cast<std::uint16_t>(1 + below(0xFFFF));
      for (auto& pulse : b.pulse) pulse = static_cast<std::uint16_t>(1 + below(0xFFFF));
      b.channels = u8();
      for (auto& value : b.value) value = u8();
    }
    return m;
  }

  Description description() {
    Description m;
    m.address = u8(), m.token = u8(), m.newest_version = u8();
    m.identity = static_cast<std::uint64_t>(u32()) << 32 | u32();
    m.outputs = static_cast<std::uint8_t>(below(17)), m.rails = static_cast<std::uint8_t>(below(9));
    m.lines = static_cast<std::uint8_t>(below(17)), m.inputs = static_cast<std::uint8_t>(below(17));
    m.outputs_per_timer = static_cast<std::uint8_t>(1 + below(2)), m.start = static_cast<Start>(below(4));
    m.state = state(), m.configuration = u16();
    const int length = below(kMaxFirmwareText + 1);
    for (int i = 0; i < length; ++i) m.firmware[i] = static_cast<char>('-' + below(46));  // no quote, no backslash below 'Z'
    return m;
  }

  Acknowledgement acknowledgement() {
    Acknowledgement m;
    m.address = u8(), m.token = u8(), m.of = static_cast<Type>(u8()), m.state = state(), m.sequence = u16();
    m.host_us = u32(), m.received_us = u32(), m.sent_us = u32();
    m.counters = {u32(), u32(), u32(), u32(), u32(), u32(), u32(), u32()};
    return m;
  }

  StateReport state_report() {
    StateReport m;
    m.address = u8(), m.token = u8(), m.state = state(), m.sequence = u16(), m.known = u16(), m.driven = u16();
    m.outputs = static_cast<std::uint8_t>(below(17));
    for (int i = 0; i < m.outputs; ++i) m.pulse[i] = u16();
    m.rails = static_cast<std::uint8_t>(below(9));
    for (int i = 0; i < m.rails; ++i) m.rail[i] = {u16(), u16()};
    m.inputs = u16(), m.faults = u8();
    return m;
  }

  StoreBegin store_begin() { return {u8(), u8(), u32()}; }
  StoreChunk store_chunk() {
    StoreChunk m;
    m.address = u8(), m.token = u8(), m.offset = u32(), m.count = static_cast<std::uint8_t>(1 + below(kMaxChunk));
    for (int i = 0; i < m.count; ++i) m.bytes[i] = u8();
    return m;
  }
  StoreCommit store_commit() { return {u8(), u8(), u16()}; }
  AskPlayback ask_playback() { return {u8(), u8()}; }
  Phase phase() { return static_cast<Phase>(below(6)); }
  Lead lead() { return {u32(), phase(), u8(), u32()}; }
  Playback playback() { return {u8(), u8(), static_cast<BakeFault>(below(7)), phase(), u8(), u32(), u32(), u32()}; }

  int below(int end) { return static_cast<int>(random_() % static_cast<unsigned>(end)); }
  std::uint8_t u8() { return static_cast<std::uint8_t>(random_()); }
  std::uint16_t u16() { return static_cast<std::uint16_t>(random_()); }
  std::uint32_t u32() { return static_cast<std::uint32_t>(random_()); }
  bool coin() { return below(2) == 1; }
  State state() { return static_cast<State>(below(7)); }

 private:
  std::mt19937 random_;
};

}  // namespace mien::wire
