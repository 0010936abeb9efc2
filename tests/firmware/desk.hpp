// What the tests of the firmware have in common: a host whose clock is the desk's time.
#pragma once
#include <gtest/gtest.h>

#include <cmath>

#include "firmware/bench.hpp"

namespace mien::firmware {

constexpr std::uint16_t units(double us) { return static_cast<std::uint16_t>(us * wire::kUnitsPerUs + 0.5); }

class Firmware : public testing::Test {
 protected:
  void SetUp() override {
    if (const std::string why = missing(); !why.empty()) GTEST_SKIP() << why;
  }
};

constexpr double kHop_us = 12;  ///< a byte's time on the wire, and the interrupt
constexpr int kVoltage = 0, kCurrent = 1;  ///< the ADC's channels behind GPIO 26 and 27; 33 A at full scale (board/README.md)

/// The host's side of one desk, by hand.
class Host {
 public:
  explicit Host(std::vector<std::string> words = {}) : bench(std::move(words)) { bench.run(60'000); }  // at its first start a board writes flash

  wire::Description greet(int board) {
    return bench.ask<wire::Description>(wire::Hello{static_cast<std::uint8_t>(board), next(), true});
  }

  /// All 16 outputs alike; slew in us per second.
  void configure(int board, double min_us, double max_us, double rest_us, double slew_us_s, wire::Watchdog watchdog = {}) {
    configure(board, limits(min_us, max_us, rest_us, slew_us_s, watchdog));
  }
  void configure(int board, wire::Configure m) {
    m.address = static_cast<std::uint8_t>(board), m.token = next();
    bench.ask<wire::Acknowledgement>(m);
  }
  static wire::Configure limits(double min_us, double max_us, double rest_us, double slew_us_s, wire::Watchdog watchdog = {}) {
    wire::Configure m;
    m.watchdog = watchdog, m.count = wire::kMaxOutputs;
    for (int n = 0; n < wire::kMaxOutputs; ++n)
      m.outputs[n] = {static_cast<std::uint8_t>(n), units(min_us), units(max_us), units(rest_us),
                      static_cast<std::uint32_t>(slew_us_s * wire::kUnitsPerUs)};
    return m;
  }

  /// A heartbeat to measure the board's clock (PROTOCOL.md, "Clocks"), then the clock: host time is the desk's.
  void set_clock(int board) {
    const auto address = static_cast<std::uint8_t>(board);
    const wire::Heartbeat beat{address, next(), 0};
    std::uint8_t bytes[wire::kMaxOnWire];
    const double sent_us = bench.now_us() + 10.0 * static_cast<double>(encode(beat, bytes, sizeof bytes));
    bench.send(beat);
    for (const auto& heard : bench.run(3'000).heard) {
      wire::Acknowledgement said;
      if (!decode(wire::Bytes{heard.packet.data(), heard.packet.size()}, said) || said.token != beat.token) continue;
      const double there_us = sent_us + kHop_us * board;  // the host by hand knows the way down; a real one has to find out
      const auto offset = static_cast<std::uint32_t>(std::llround(there_us)) - said.received_us;
      bench.ask<wire::Acknowledgement>(wire::Clock{address, next(), said.received_us, offset, 0});
      return;
    }
    FAIL() << "the heartbeat was not answered";
  }

  void arm(int board) { bench.ask<wire::Acknowledgement>(order(wire::Type::arm, board)); }
  wire::Order order(wire::Type type, int board) { return {type, static_cast<std::uint8_t>(board), next()}; }
  wire::StateReport query(int board) { return bench.ask<wire::StateReport>(order(wire::Type::query, board)); }

  /// A frame for one board that latches `ahead_us` from now.
  void frame(int board, const std::vector<double>& pulse_us, double ahead_us = 5'000) { bench.send(next_frame(board, pulse_us, ahead_us)); }
  wire::Frame next_frame(int board, const std::vector<double>& pulse_us, double ahead_us) {
    wire::Frame m;
    m.sequence = ++sequence_, m.latch_us = static_cast<std::uint32_t>(bench.now_us() + ahead_us), m.count = 1;
    m.blocks[0].address = static_cast<std::uint8_t>(board);
    for (std::size_t n = 0; n < pulse_us.size(); ++n) {
      m.blocks[0].mask = static_cast<std::uint16_t>(m.blocks[0].mask | 1u << n);
      m.blocks[0].pulse[n] = units(pulse_us[n]);
    }
    return m;
  }
  /// A frame that sets channel 0 of a board.
  void set_channel(int board, std::uint8_t value, double ahead_us = 5'000) {
    wire::Frame m = next_frame(board, {}, ahead_us);
    m.blocks[0].channels = 1, m.blocks[0].value[0] = value;
    bench.send(m);
  }
  /// Frames every 10 ms; all that happened.
  Events perform(int board, const std::vector<double>& pulse_us, int ms) {
    Events all;
    for (int at = 0; at < ms; at += 10) {
      frame(board, pulse_us);
      append(all, bench.run(10'000));
    }
    return all;
  }

  /// Greeted, configured and armed with its clock set, driven at rest.
  void bring_up(int board, double slew_us_s = 100'000, wire::Watchdog watchdog = {}) { bring_up(board, limits(900, 2'100, 1'500, slew_us_s, watchdog)); }
  void bring_up(int board, const wire::Configure& configuration) {
    greet(board);
    configure(board, configuration);
    set_clock(board);
    bench.run(60'000);  // while it is silent, its pulses' phase goes where the clock says in one period
    arm(board);
  }

  static void append(Events& all, Events more) {
    all.pulses.insert(all.pulses.end(), more.pulses.begin(), more.pulses.end());
    all.levels.insert(all.levels.end(), more.levels.begin(), more.levels.end());
    all.heard.insert(all.heard.end(), more.heard.begin(), more.heard.end());
    all.resets.insert(all.resets.end(), more.resets.begin(), more.resets.end());
  }

  Bench bench;

 private:
  std::uint8_t next() { return token_ = static_cast<std::uint8_t>(token_ % 250 + 1); }
  std::uint8_t token_ = 0;
  std::uint16_t sequence_ = 0;
};

}  // namespace mien::firmware
