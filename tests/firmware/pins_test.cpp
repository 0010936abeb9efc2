// What stands beside the servos, on the emulated pins: code lines, an input, the rail's voltage and current. And when pulses start.
#include "firmware/desk.hpp"

#include "firmware/performance.hpp"
#include "store/store.hpp"

#include <algorithm>
#include <map>

namespace mien::firmware {
namespace {

constexpr int kLine[] = {18, 19, 22};           // board/rp2040/pins.hpp: digital lines 0, 1, 2
constexpr int kInput = 28;                      // digital input 0
constexpr double kLoop_us = 1'000, kJitter_us = 100;  // of the firmware's loop; from its decision to the pin

wire::Configure with_code(std::uint8_t lines, wire::CodeOrder order, std::uint16_t settle_ms) {
  wire::Configure m = Host::limits(900, 2'100, 1'500, 100'000);
  m.channels = 1;
  wire::ChannelSetup& c = m.channel[0];
  c.kind = wire::ChannelKind::code, c.lines = lines, c.order = order, c.settle_ms = settle_ms;
  if (order == wire::CodeOrder::strobe) c.strobe = 2;
  return m;
}

/// Levels of the three lines, from change to change.
struct Step {
  double at_us = 0;
  bool line[3] = {};
};

std::vector<Step> steps_of(const Events& events, const Step& before) {
  std::vector<Step> steps{before};
  for (const Level& l : events.levels)
    for (int n = 0; n < 3; ++n) {
      if (l.gpio != kLine[n] || steps.back().line[n] == l.high) continue;
      Step next = steps.back();
      next.at_us = l.at_us, next.line[n] = l.high;
      steps.push_back(next);
    }
  return steps;
}

Events walk_codes(Host& host, const std::vector<std::uint8_t>& values, int ms_each) {
  Events all;
  for (const auto value : values)
    for (int at = 0; at < ms_each; at += 10) {
      host.set_channel(0, value);
      Host::append(all, host.bench.run(10'000));
    }
  return all;
}

// Strobe off, settle, lines, settle, strobe on: whoever looks while the strobe is on never sees a number that was not asked for.
TEST_F(Firmware, CodeLinesChangeOnlyWhileTheStrobeIsOff) {
  Host host;
  host.bring_up(0, with_code(2, wire::CodeOrder::strobe, 3));
  const auto steps = steps_of(walk_codes(host, {1, 2, 3, 0, 3}, 50), {0, {false, false, true}});  // it has come to its rest, 0
  std::vector<int> seen{0};
  double strobe_fell_us = 0, changed_us = 0;
  for (std::size_t i = 1; i < steps.size(); ++i) {
    const Step &before = steps[i - 1], &now = steps[i];
    double since_us = 0;
    if (now.line[2] == before.line[2] && !now.line[2] && changed_us > strobe_fell_us) {
      EXPECT_LE(now.at_us - changed_us, kJitter_us);
      continue;
    }
    if (now.line[2] == before.line[2]) {
      EXPECT_FALSE(now.line[2]) << "a line changed at " << now.at_us << " us while the strobe was on";
      since_us = strobe_fell_us, changed_us = now.at_us;
    } else if (now.line[2]) {
      seen.push_back(now.line[0] + 2 * now.line[1]);
      since_us = changed_us;
    } else {
      strobe_fell_us = now.at_us;
      continue;
    }
    EXPECT_GE(now.at_us - since_us, 3'000 - kJitter_us) << "step " << i;
    EXPECT_LE(now.at_us - since_us, 3'000 + 2 * kLoop_us) << "step " << i;
  }
  EXPECT_EQ(seen, (std::vector<int>{0, 1, 2, 3, 0, 3}));
}

// Frank Gray's code (US patent 2,632,058): neighbours differ in one line.
TEST_F(Firmware, GrayCodeWalksThroughItsNeighboursOneLineAtATime) {
  Host host;
  host.bring_up(0, with_code(3, wire::CodeOrder::gray, 5));
  const auto steps = steps_of(walk_codes(host, {5, 2}, 60), {});
  constexpr int kNumber[] = {0, 1, 3, 2, 7, 6, 4, 5};  // by the levels of the lines, line 0 the least significant
  std::vector<int> seen;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    seen.push_back(kNumber[steps[i].line[0] + 2 * steps[i].line[1] + 4 * steps[i].line[2]]);
    if (i < 2) continue;
    EXPECT_GE(steps[i].at_us - steps[i - 1].at_us, 5'000 - kJitter_us);
    if (i != 6) { EXPECT_LE(steps[i].at_us - steps[i - 1].at_us, 5'000 + 2 * kLoop_us); }  // 6: it stood at 5 before it turned
  }
  EXPECT_EQ(seen, (std::vector<int>{0, 1, 2, 3, 4, 5, 4, 3, 2}));
}

TEST_F(Firmware, ALevelAtTheInputIsReportedWithoutBeingAskedFor) {
  Host host;
  host.bring_up(0);
  host.bench.run(50'000);
  for (const bool high : {true, false, true}) {
    host.bench.tell("input 0 " + std::to_string(kInput) + (high ? " 1" : " 0"));
    const double since_us = host.bench.now_us();
    double told_us = 0;
    for (const Heard& heard : host.bench.run(40'000).heard) {
      wire::StateReport report;
      if (!decode(wire::Bytes{heard.packet.data(), heard.packet.size()}, report)) continue;
      EXPECT_EQ(report.token, wire::kUnasked);
      EXPECT_EQ(report.inputs, high ? 1 : 0);
      if (told_us == 0) told_us = heard.at_us;
    }
    ASSERT_NE(told_us, 0) << "nothing was reported";
    EXPECT_LE(told_us - since_us, 12'000);  // at the next tick, and a packet's time on the line
  }
}

// The divider and the sensor of board/README.md: 13.2 V and 33 A at full scale, 12 bits.
TEST_F(Firmware, RailVoltageAndCurrentAreMeasuredAndReportedTenTimesASecond) {
  Host host;
  const auto adc = [&](int channel, double share) { host.bench.tell("adc 0 " + std::to_string(channel) + " " + std::to_string(std::lround(share * 4095))); };
  adc(kVoltage, 6.0 / 13.2), adc(kCurrent, 0.5 / 33);
  host.bring_up(0);
  host.bench.run(300'000);
  const auto before = host.query(0);
  ASSERT_EQ(before.rails, 1);
  EXPECT_NEAR(before.rail[0].voltage_mv, 6'000, 7);  // a step of the ADC is 3.2 mV and 8.1 mA
  EXPECT_NEAR(before.rail[0].current_ma, 500, 17);
  adc(kVoltage, 5.4 / 13.2), adc(kCurrent, 9.0 / 33);
  int last_ma = before.rail[0].current_ma;
  for (int n = 1; n <= 10; ++n) {
    host.bench.run(80'000);
    const auto report = host.query(0);
    EXPECT_GE(report.rail[0].current_ma, last_ma) << "report " << n;
    if (n <= 2) { EXPECT_GT(report.rail[0].current_ma, last_ma) << "report " << n << " brings news"; }
    last_ma = report.rail[0].current_ma;
  }
  const auto after = host.query(0);
  EXPECT_NEAR(after.rail[0].voltage_mv, 5'400, 7);
  EXPECT_NEAR(after.rail[0].current_ma, 9'000, 17);
}

// Each pair at a rate and phase of its own, from 50 Hz to 333 Hz: pulses start where the shared clock, divided by the period, leaves the
// phase, and are as wide as they were told.
TEST_F(Firmware, EachPairPulsesAtItsOwnRateAndPhase) {
  constexpr std::uint16_t kPeriod_us[8] = {20'000, 20'000, 20'000, 10'000, 5'000, 4'000, 3'000, 3'000};
  constexpr std::uint16_t kPhase_us[8] = {0, 2'500, 17'500, 1'250, 2'000, 3'999, 0, 1'500};
  wire::Configure m = Host::limits(900, 2'100, 1'500, 100'000);
  wire::Configure timing;  // a part of its own: all in one would be longer than a packet may be
  m.last = timing.first = false;
  timing.timings = wire::kMaxOutputs;
  for (std::uint8_t n = 0; n < wire::kMaxOutputs; ++n) timing.timing[n] = {n, kPeriod_us[n / 2], kPhase_us[n / 2]};
  Host host;
  host.greet(0);
  host.configure(0, m);
  host.configure(0, timing);
  host.set_clock(0);
  host.bench.run(60'000);
  host.arm(0);
  std::vector<double> widths;
  for (int n = 0; n < wire::kMaxOutputs; ++n) widths.push_back(1'000 + 60 * n);
  host.perform(0, widths, 100);
  const Events events = host.perform(0, widths, 500);
  for (int n = 0; n < wire::kMaxOutputs; ++n) {
    const auto i = static_cast<std::size_t>(n);
    const double period_us = kPeriod_us[n / 2];
    const auto pulses = events.of(0, n);
    EXPECT_NEAR(static_cast<double>(pulses.size()), 500'000 / period_us, 1.5) << "output " << n;
    for (const Pulse& p : pulses) {
      EXPECT_DOUBLE_EQ(p.width_us, widths[i]) << "output " << n;
      EXPECT_NEAR(std::remainder(p.rise_us - kPhase_us[n / 2], period_us), 0, 50) << "output " << n;
    }
    for (std::size_t k = 1; k < pulses.size(); ++k) EXPECT_NEAR(pulses[k].rise_us - pulses[k - 1].rise_us, period_us, 2) << "output " << n;
  }
}

// The same as a rig says it, through the program's own side of the link.
TEST_F(Firmware, PulsesKeepTheRatesAndOffsetsOfTheRig) {
  const auto loaded = store::load_show(MIEN_SOURCE_DIR "/shows/keeper.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  auto rig = std::make_shared<show::Rig>(*loaded->rig);
  for (show::Actuator& a : rig->actuators) {
    const int pair = a.output / 2;  // outputs 0 and 1, 2 and 3 ... share a timer
    a.pulse_rate_hz = pair % 2 == 0 ? 50 : 333;
    a.pulse_offset_us = pair % 2 == 0 ? 1'000 * pair : 500;
  }
  const auto plan = perform::compile(rig, loaded->show);
  const Performance p = perform(*plan, 0.6, 5'000);
  EXPECT_LE(p.worst_error_us, 1.0);
  std::map<int, int> count;
  std::vector<double> off_us;
  for (const Measured& m : p.pulses) {
    const show::Actuator& a = rig->actuators[static_cast<std::size_t>(m.actuator)];
    off_us.push_back(std::remainder(m.rise_us - a.pulse_offset_us, std::floor(1e6 / a.pulse_rate_hz)));
    ++count[m.actuator];
  }
  // What all boards have in common is the way out, which no host can tell from the way back (PROTOCOL.md, "Clocks").
  const auto [least, most] = std::minmax_element(off_us.begin(), off_us.end());
  EXPECT_LE(*most - *least, 50) << "apart from their own offsets all start together";
  EXPECT_LE(std::max(std::abs(*least), std::abs(*most)), 500);
  for (std::size_t a = 0; a < rig->actuators.size(); ++a)
    EXPECT_NEAR(count[static_cast<int>(a)], 0.58 * rig->actuators[a].pulse_rate_hz, 3) << rig->actuators[a].name;
}

}  // namespace
}  // namespace mien::firmware
