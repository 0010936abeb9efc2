// One packet of every message with invented values: the worked examples of PROTOCOL.md, and the capture that the reference
// decoder reads.
#pragma once
#include <cstdint>
#include <cstring>
#include <string>
#include <vector>

#include "wire/baked.hpp"
#include "wire/codec.hpp"

namespace mien::wire::examples {

using Packet = std::vector<std::uint8_t>;

template <class Message>
Packet encoded(const Message& message) {
  Packet out(kMaxOnWire);
  out.resize(encode(message, out.data(), out.size()));
  return out;
}

inline Hello hello() { return {0x01, 0x11, true, false}; }

inline Configure configure() {
  Configure m;
  m.address = 1, m.token = 0x12, m.first = true, m.last = true;
  m.watchdog = {200, 1000, 4000};
  m.count = 2;
  m.outputs[0] = {0, 16000, 32000, 24000, 60000};
  m.outputs[1] = {5, 14400, 33600, 20000, 48000};
  m.timings = 1;
  m.timing[0] = {5, 5000, 1250};
  m.channels = 1;
  m.channel[0].channel = 0, m.channel[0].kind = ChannelKind::code, m.channel[0].line = 2, m.channel[0].lines = 3;
  m.channel[0].order = CodeOrder::strobe, m.channel[0].strobe = 5, m.channel[0].settle_ms = 2;
  return m;
}

inline Order order(Type type, std::uint8_t token, std::uint8_t address = 1) { return {type, address, token}; }
inline Heartbeat heartbeat() { return {1, 0x17, 0x12345678}; }
inline Clock clock() { return {1, 0x18, 0x00030D40, 0xFFFF0000, -50'000}; }

inline Frame frame() {
  Frame m;
  m.sequence = 0x0203, m.latch_us = 1'000'000, m.count = 2;
  m.blocks[0].address = 0, m.blocks[0].mask = 0x0005;
  m.blocks[0].pulse[0] = 24000, m.blocks[0].pulse[2] = 24016;
  m.blocks[1].address = 1, m.blocks[1].mask = 0x8000;
  m.blocks[1].pulse[15] = 16000;
  m.blocks[1].channels = 0x01, m.blocks[1].value[0] = 4;
  return m;
}

inline Description description() {
  Description m;
  m.address = 1, m.token = 0x11, m.identity = 0x0123456789ABCDEF;
  m.outputs = 16, m.rails = 2, m.lines = 6, m.inputs = 3, m.outputs_per_timer = 2, m.start = Start::watchdog, m.state = State::ready;
  m.configuration = checksum(configure());
  std::strcpy(m.firmware, "0.1.0");
  return m;
}

inline Acknowledgement acknowledgement() {
  Acknowledgement m;
  m.address = 1, m.token = 0x17, m.of = Type::heartbeat, m.state = State::running;
  m.sequence = 0x0203, m.host_us = 0x12345678, m.received_us = 50'000, m.sent_us = 50'020;
  m.counters = {515, 3, 1, 2, 4, 7, 6, 5};
  return m;
}

inline StateReport state_report() {
  StateReport m;
  m.address = 1, m.token = 0x19, m.state = State::holding, m.sequence = 0x0203;
  m.known = 0x0007, m.driven = 0x0005, m.outputs = 4;
  m.pulse[0] = 24000, m.pulse[1] = 20000, m.pulse[2] = 24016;
  m.rails = 1, m.rail[0] = {5980, 1250};
  m.inputs = 0x0004, m.faults = kHot;
  return m;
}

inline Refusal refusal() { return {1, 0x13, 0x03, Reason::not_configured, 0}; }

inline StoreBegin store_begin() { return {1, 0x1A, 0x2345}; }

inline StoreChunk store_chunk() {
  StoreChunk m;
  m.address = 1, m.token = 0x1B, m.offset = 0x80, m.count = 5;
  for (int i = 0; i < m.count; ++i) m.bytes[i] = static_cast<std::uint8_t>(0xA0 + i);
  return m;
}

inline StoreCommit store_commit() { return {1, 0x1C, 0x29B1}; }
inline AskPlayback ask_playback() { return {1, 0x1D}; }
inline Lead lead() { return {0x89ABCDEF, Phase::clip, 2, 300}; }
inline Playback playback() { return {1, 0x1D, BakeFault::none, Phase::show, 0, 1720, 0x89ABCDEF, 1'830'912}; }

struct Example {
  std::string name;
  Packet bytes;
};

/// In the order of PROTOCOL.md.
inline std::vector<Example> all() {
  return {{"hello", encoded(hello())},
          {"configure", encoded(configure())},
          {"arm", encoded(order(Type::arm, 0x13))},
          {"disarm", encoded(order(Type::disarm, 0x14))},
          {"stop", encoded(order(Type::stop, 0x15, kEveryone))},
          {"query", encoded(order(Type::query, 0x16))},
          {"heartbeat", encoded(heartbeat())},
          {"clock", encoded(clock())},
          {"frame", encoded(frame())},
          {"description", encoded(description())},
          {"acknowledgement", encoded(acknowledgement())},
          {"state report", encoded(state_report())},
          {"refusal", encoded(refusal())},
          {"store begin", encoded(store_begin())},
          {"store chunk", encoded(store_chunk())},
          {"store commit", encoded(store_commit())},
          {"ask playback", encoded(ask_playback())},
          {"lead", encoded(lead())},
          {"playback", encoded(playback())}};
}

/// As PROTOCOL.md prints bytes: "05 01 FF".
inline std::string hex(const Packet& bytes) {
  std::string text;
  for (const std::uint8_t byte : bytes) {
    static constexpr char kDigits[] = "0123456789ABCDEF";
    if (!text.empty()) text += ' ';
    text += kDigits[byte >> 4];
    text += kDigits[byte & 15];
  }
  return text;
}

}  // namespace mien::wire::examples
