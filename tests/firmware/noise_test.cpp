// A bad line while a performance goes on: a minute of it, on the pins.
#include "firmware/desk.hpp"

#include <algorithm>
#include <deque>
#include <random>

namespace mien::firmware {
namespace {

constexpr int kSlot_us = 10'000, kSlotBytes = kSlot_us / 10;  // frames come every 10 ms; a byte takes 10 us
constexpr int kOutputs = 16;
constexpr double kLineEdge_us = 60, kPulsePeriod_us = 20'000, kAhead_us = 30'000;

using Bytes = std::vector<std::uint8_t>;

template <class Message>
Bytes bytes_of(const Message& message) {
  std::uint8_t out[wire::kMaxOnWire];
  const std::size_t size = encode(message, out, sizeof out);
  return {out, out + size};
}

struct Piece {
  Bytes bytes;
  unsigned bad = 0, stale = 0;  ///< by how much the board's counters are to grow, at least and exactly
};

/// A host whose line is as bad as a line can be, and never idle.
class BadLine {
 public:
  BadLine(Host& host, unsigned seed) : host_(host), random_(seed) {}

  void perform(int seconds) {
    for (int slot = 0; slot < seconds * 1'000'000 / kSlot_us; ++slot) {
      const wire::Frame frame = host_.next_frame(0, pose(slot), kAhead_us);
      Bytes good = bytes_of(frame);
      if (slot % 25 == 12) {  // it will be overtaken by the next one: the board drops it and holds what it has for a tick more
        send(disturbances(0));
        overtaken_ = good;
        continue;
      }
      taken_.push_back(frame);
      if (!overtaken_.empty()) add(good, overtaken_), overtaken_.clear(), ++stale_;
      Bytes line = disturbances(good.size());
      add(line, good);
      send(line);
      past_.push_back(bytes_of(frame));
      if (past_.size() > 20) past_.pop_front();
    }
  }

  const std::vector<wire::Frame>& taken() const { return taken_; }
  const std::vector<Pulse>& pulses() const { return pulses_; }
  std::uint32_t bad() const { return bad_; }
  std::uint32_t stale() const { return stale_; }

 private:
  static std::vector<double> pose(int slot) {
    std::vector<double> pulse_us;
    for (int n = 0; n < kOutputs; ++n) pulse_us.push_back(1'500 + 400 * std::sin(0.02 * slot * (1 + 0.1 * n) + n));
    return pulse_us;
  }

  int below(int most) { return std::uniform_int_distribution<int>(0, most - 1)(random_); }
  static void add(Bytes& line, const Bytes& more) { line.insert(line.end(), more.begin(), more.end()); }

  /// What the slot has room for beside `kept` bytes; ends with a delimiter, so that what follows is heard.
  Bytes disturbances(std::size_t kept) {
    const std::size_t room = kSlotBytes - 1 - kept;
    Bytes line;
    for (Piece piece = disturbance(); line.size() + piece.bytes.size() <= room && !piece.bytes.empty(); piece = disturbance()) {
      add(line, piece.bytes);
      bad_ += piece.bad, stale_ += piece.stale;
    }
    while (line.size() < room) line.push_back(static_cast<std::uint8_t>(1 + below(255)));
    line.push_back(0);
    return line;
  }

  /// A delimiter on either side; before the first may stand noise, which counts or doesn't.
  static Piece packet(Bytes bytes, unsigned bad, unsigned stale) {
    if (bytes.back() != 0) bytes.push_back(0);
    bytes.insert(bytes.begin(), 0);
    return {bytes, bad, stale};
  }

  Piece disturbance() {
    if (past_.empty()) return {};
    switch (below(7)) {
      case 0: {  // noise, with delimiters in it
        Bytes noise(static_cast<std::size_t>(20 + below(200)));
        for (auto& byte : noise) byte = static_cast<std::uint8_t>(below(256));
        return {noise};
      }
      case 1: {  // cut short
        Bytes cut = past_.back();
        cut.resize(static_cast<std::size_t>(3 + below(static_cast<int>(cut.size()) - 6)));
        if (cut.back() == 0xFF) cut.back() = 0xFE;  // else it is a packet taken back (PROTOCOL.md, "Addresses"), which does not count
        return packet(cut, 1, 0);
      }
      case 2: {  // a bit of the CRC is wrong
        Bytes wrong = past_.back();
        std::uint8_t& last = wrong[wrong.size() - 2];
        last = static_cast<std::uint8_t>(last ^ (last == 2 ? 4 : 2));
        return packet(wrong, 1, 0);
      }
      case 3: return packet(Bytes(static_cast<std::size_t>(260 + below(100)), 0x55), 1, 0);  // longer than any packet
      case 4: return packet(past_.back(), 0, 1);                                             // twice
      case 5: return packet(past_.front(), 0, 1);                                            // long past
      default: {  // for another board, or from one
        wire::Refusal said;
        said.address = 3, said.of = 2;
        return packet(below(2) ? bytes_of(said) : bytes_of(wire::Order{wire::Type::stop, 7, 9}), 0, 0);
      }
    }
  }

  void send(const Bytes& line) {
    host_.bench.send_bytes(line);
    for (const Pulse& p : host_.bench.run(kSlot_us).pulses) pulses_.push_back(p);
  }

  Host& host_;
  std::mt19937 random_;
  std::vector<wire::Frame> taken_;
  std::deque<Bytes> past_;
  Bytes overtaken_;
  std::vector<Pulse> pulses_;
  std::uint32_t bad_ = 0, stale_ = 0;
};

void expect_setpoints(const std::vector<Pulse>& pulses, const std::vector<wire::Frame>& taken) {
  double worst_us = 0, off_us = 0;
  std::size_t count = 0;
  for (const Pulse& p : pulses) {
    const double line_us = p.rise_us - kLead_us;
    if (line_us < taken.front().latch_us + kPulsePeriod_us || line_us > taken.back().latch_us) continue;
    auto after = std::upper_bound(taken.begin(), taken.end(), line_us - kLineEdge_us, [](double t, const wire::Frame& f) { return t < f.latch_us; });
    const auto error = [&](const wire::Frame& f) { return std::abs(p.width_us - f.blocks[0].pulse[p.output] / double(wire::kUnitsPerUs)); };
    double least_us = error(after[-1]);
    for (; after != taken.end() && after->latch_us <= line_us + kLineEdge_us; ++after) least_us = std::min(least_us, error(*after));
    worst_us = std::max(worst_us, least_us);
    off_us = std::max(off_us, std::abs(std::remainder(p.rise_us, kPulsePeriod_us)));
    ++count;
  }
  EXPECT_LE(worst_us, 1.0);
  EXPECT_LE(off_us, 50.0) << "time was not kept";
  const double span_us = taken.back().latch_us - taken.front().latch_us - kPulsePeriod_us;
  EXPECT_NEAR(static_cast<double>(count), kOutputs * span_us / kPulsePeriod_us, 2 * kOutputs) << "pulses are missing";
}

/// A minute in six parts, so that they can run beside each other.
class BadLineTest : public Firmware, public testing::WithParamInterface<unsigned> {};
INSTANTIATE_TEST_SUITE_P(Part, BadLineTest, testing::Range(1u, 7u));

TEST_P(BadLineTest, PerformsOnWithEveryPulseAtItsSetpointAndCountsWhatItDropped) {
  Host host;
  host.bring_up(0);
  const auto before = host.bench.ask<wire::Acknowledgement>(wire::Heartbeat{0, 251, 0});
  BadLine line(host, GetParam());
  line.perform(10);
  host.bench.run(3'000);
  const auto after = host.bench.ask<wire::Acknowledgement>(wire::Heartbeat{0, 252, 0});
  expect_setpoints(line.pulses(), line.taken());
  EXPECT_EQ(after.state, wire::State::running);
  EXPECT_GE(after.counters.bad - before.counters.bad, line.bad());
  EXPECT_EQ(after.counters.stale - before.counters.stale, line.stale());
  EXPECT_EQ(after.counters.latched + 2, line.taken().size()) << "all but two that wait for their time";
  EXPECT_EQ(after.counters.late, 0u);
  EXPECT_EQ(after.counters.clamped, 0u);
  const auto stats = host.bench.stats(0);
  EXPECT_EQ(stats.overruns_up, 0) << "bytes were lost in the chip";
  EXPECT_EQ(stats.resets, 0);
}

}  // namespace
}  // namespace mien::firmware
