// Messages as tests/reference/decode.py prints them.
#pragma once
#include <cstdio>
#include <string>
#include <vector>

#include "wire/examples.hpp"

namespace mien::wire {

/// Builds {"a": 1, "b": [..]} the way Python's json.dumps does.
class Json {
 public:
  Json& text(const char* key, const std::string& value) { return raw(key, '"' + value + '"'); }
  Json& number(const char* key, std::uint64_t value) { return raw(key, std::to_string(value)); }
  Json& flag(const char* key, bool value) { return raw(key, value ? "true" : "false"); }
  Json& raw(const std::string& key, const std::string& value) {
    body_ += (body_.empty() ? "" : ", ") + ('"' + key + "\": ") + value;
    return *this;
  }
  std::string str() const { return '{' + body_ + '}'; }

 private:
  std::string body_;
};

inline std::string list(const std::vector<std::string>& items) {
  std::string text;
  for (const auto& item : items) text += (text.empty() ? "" : ", ") + item;
  return '[' + text + ']';
}

template <class Message>
Json json_head(const char* type, const Message& m) {
  return Json().text("type", type).number("address", m.address).number("token", m.token);
}

inline std::string json(const Hello& m) { return json_head("hello", m).flag("assign", m.assign).flag("release", m.release).str(); }
inline std::string json(const Order& m) { return json_head(name(m.type), m).str(); }
inline std::string json(const Heartbeat& m) { return json_head("heartbeat", m).number("host_us", m.host_us).str(); }
inline std::string json(const Clock& m) {
  return json_head("clock", m).number("board_us", m.board_us).number("offset_us", m.offset_us).raw("rate_ppb", std::to_string(m.rate_ppb)).str();
}

inline std::string json(const Configure& m) {
  std::vector<std::string> outputs;
  for (int i = 0; i < m.count; ++i) {
    const OutputLimits& l = m.outputs[i];
    outputs.push_back(Json().number("output", l.output).number("min", l.min).number("max", l.max).number("rest", l.rest)
                          .number("slew", l.slew).str());
  }
  std::vector<std::string> timings, channels;
  for (int i = 0; i < m.timings; ++i)
    timings.push_back(Json().number("output", m.timing[i].output).number("period_us", m.timing[i].period_us)
                          .number("phase_us", m.timing[i].phase_us).str());
  for (int i = 0; i < m.channels; ++i) {
    const ChannelSetup& c = m.channel[i];
    channels.push_back(Json().number("channel", c.channel).number("kind", static_cast<unsigned>(c.kind)).number("line", c.line)
                           .number("rest", c.rest).number("lines", c.lines).number("order", static_cast<unsigned>(c.order))
                           .number("strobe", c.strobe).number("settle_ms", c.settle_ms).number("rail", c.rail)
                           .number("draw_ma", c.draw_ma).number("on_ma", c.on_ma).number("off_ma", c.off_ma)
                           .number("smooth_s", c.smooth_s).str());
  }
  return json_head("configure", m).flag("first", m.first).flag("last", m.last).number("hold_ms", m.watchdog.hold_ms)
      .number("ramp_ms", m.watchdog.ramp_ms).number("release_ms", m.watchdog.release_ms).raw("outputs", list(outputs))
      .raw("timings", list(timings)).raw("channels", list(channels)).str();
}

inline std::string json(const Frame& m) {
  std::vector<std::string> blocks;
  for (int i = 0; i < m.count; ++i) {
    Json pulses;
    for (int n = 0; n < kMaxOutputs; ++n)
      if ((m.blocks[i].mask >> n & 1) != 0) pulses.number(std::to_string(n).c_str(), m.blocks[i].pulse[n]);
    Json values;
    for (int n = 0; n < kMaxChannels; ++n)
      if ((m.blocks[i].channels >> n & 1) != 0) values.number(std::to_string(n).c_str(), m.blocks[i].value[n]);
    blocks.push_back(Json().number("address", m.blocks[i].address).raw("pulses", pulses.str()).raw("values", values.str()).str());
  }
  return Json().text("type", "frame").number("sequence", m.sequence).number("latch_us", m.latch_us)
      .raw("blocks", list(blocks)).str();
}

inline std::string json(const Description& m) {
  char identity[17];
  std::snprintf(identity, sizeof identity, "%016llX", static_cast<unsigned long long>(m.identity));
  return json_head("description", m).number("newest_version", m.newest_version).text("identity", identity)
      .number("outputs", m.outputs).number("rails", m.rails).number("lines", m.lines).number("inputs", m.inputs)
      .number("outputs_per_timer", m.outputs_per_timer).number("start", static_cast<unsigned>(m.start)).text("state", name(m.state))
      .number("configuration", m.configuration).text("firmware", m.firmware).str();
}

inline std::string json(const Acknowledgement& m) {
  const Counters& c = m.counters;
  return json_head("acknowledgement", m).number("of", static_cast<unsigned>(m.of)).text("state", name(m.state))
      .number("sequence", m.sequence).number("host_us", m.host_us).number("received_us", m.received_us)
      .number("sent_us", m.sent_us).number("latched", c.latched).number("late", c.late).number("stale", c.stale)
      .number("bad", c.bad).number("clamped", c.clamped).number("slewed", c.slewed).number("refused", c.refused)
      .number("unrelayed", c.unrelayed).str();
}

inline std::string json(const StateReport& m) {
  std::vector<std::string> pulses, rails;
  for (int i = 0; i < m.outputs; ++i) pulses.push_back(std::to_string(m.pulse[i]));
  for (int i = 0; i < m.rails; ++i)
    rails.push_back(Json().number("voltage_mv", m.rail[i].voltage_mv).number("current_ma", m.rail[i].current_ma).str());
  return json_head("state report", m).text("state", name(m.state)).number("sequence", m.sequence).number("known", m.known)
      .number("driven", m.driven).raw("pulse", list(pulses)).raw("rails", list(rails))
      .number("inputs", m.inputs).number("faults", m.faults).str();
}

inline std::string json(const Refusal& m) {
  return json_head("refusal", m).number("of", m.of).number("reason", static_cast<unsigned>(m.reason))
      .number("detail", m.detail).str();
}

inline std::string json(const StoreBegin& m) { return json_head("store begin", m).number("size", m.size).str(); }

inline std::string json(const StoreChunk& m) {
  const examples::Packet bytes(m.bytes, m.bytes + m.count);
  return json_head("store chunk", m).number("offset", m.offset).text("bytes", examples::hex(bytes).c_str()).str();
}

inline std::string json(const StoreCommit& m) { return json_head("store commit", m).number("crc", m.crc).str(); }
inline std::string json(const AskPlayback& m) { return json_head("ask playback", m).str(); }

inline std::string json(const Lead& m) {
  return Json().text("type", "lead").number("address", kEveryone).number("token", kUnasked).number("bake", m.bake)
      .text("phase", name(m.phase)).number("track", m.track).number("tick", m.tick).str();
}

inline std::string json(const Playback& m) {
  return json_head("playback", m).number("fault", static_cast<unsigned>(m.fault)).text("phase", name(m.phase))
      .number("track", m.track).number("tick", m.tick).number("bake", m.bake).number("capacity", m.capacity).str();
}

}  // namespace mien::wire
