// Baked shows in the flash of emulated chips: stored over the wire, played after a power-on with no host, measured on the pins.
#include <algorithm>
#include <map>

#include "board/baked_images.hpp"
#include "firmware/desk.hpp"
#include "perform/bake.hpp"
#include "perform/render.hpp"
#include "store/store.hpp"

namespace mien::firmware {
namespace {

using board::Image;
using board::image_of;
using board::ImageOf;
using wire::BakeFault;

constexpr std::uint32_t kShelf = 256 * 1024, kShelfSize = (2048 - 256 - 4) * 1024;  // src/board/README.md
constexpr int kErase_ms = 60;  // a sector, and some more
constexpr int kInputs[] = {28, 18, 19, 22};  // GPIOs of the inputs, src/board/README.md

class StandsAlone : public Firmware {};

/// Boards, and what stores shows on them over their line.
class Desk : public Host {
 public:
  using Host::Host;

  void begin(int board, std::size_t size) {
    const int sectors = static_cast<int>(size / 4096 + 1);
    bench.ask<wire::Acknowledgement>(wire::StoreBegin{static_cast<std::uint8_t>(board), token(), static_cast<std::uint32_t>(size)}, sectors * kErase_ms);
  }
  void chunk(int board, const Image& image, std::size_t at) {
    wire::StoreChunk chunk{static_cast<std::uint8_t>(board), token(), static_cast<std::uint32_t>(at)};
    chunk.count = static_cast<std::uint8_t>(std::min<std::size_t>(wire::kMaxChunk, image.size() - at));
    std::copy_n(image.begin() + static_cast<std::ptrdiff_t>(at), chunk.count, chunk.bytes);
    bench.ask<wire::Acknowledgement>(chunk);
  }
  wire::Playback commit(int board, const Image& image) {
    return bench.ask<wire::Playback>(wire::StoreCommit{static_cast<std::uint8_t>(board), token(), wire::crc16(image.data(), image.size())}, 2'000);
  }
  wire::Playback store(int board, const Image& image) {
    greet(board);
    begin(board, image.size());
    for (std::size_t at = 0; at < image.size(); at += wire::kMaxChunk) chunk(board, image, at);
    return commit(board, image);
  }
  wire::Playback playback(int board = 0) {
    greet(board);
    return bench.ask<wire::Playback>(wire::AskPlayback{static_cast<std::uint8_t>(board), token()}, 2'000);
  }
  void power(int board = 0) { bench.tell("power " + std::to_string(board)); }
  void input(int n, bool high) { bench.tell("input 0 " + std::to_string(kInputs[n]) + (high ? " 1" : " 0")); }
  void code(int value) {
    for (int n = 0; n < 4; ++n) input(n, (value >> n & 1) != 0);
  }
  void adc(int channel, int value) { bench.tell("adc 0 " + std::to_string(channel) + " " + std::to_string(value)); }
  Events run_s(double s) { return bench.run(s * 1e6); }

 private:
  std::uint8_t token() { return token_ = static_cast<std::uint8_t>(token_ % 255 + 1); }
  std::uint8_t token_ = 100;
};

/// The pulses of an output, by tick, and on which board and output they should be seen.
using Wanted = std::map<std::pair<int, int>, std::vector<double>>;

struct Fit {
  double began_us = 0;  ///< when tick 0 took effect, the same for all boards
  double worst_us = 1e9;
  std::size_t pulses = 0;
};

/// Boards tell nobody when their show begins: the moment at which what is wanted fits the pulses best. A pulse shows what was in effect
/// 300 us before it (src/board/README.md), and boards look at their clocks every millisecond.
Fit fit(const Wanted& wanted, const Events& events) {
  constexpr double kStep_us = 500, kEdge_us = 1'100;
  const auto error_at = [&](double began_us, double most_us) {
    Fit f{began_us, 0, 0};
    for (const Pulse& p : events.pulses) {
      const auto found = wanted.find({p.board, p.output});
      if (found == wanted.end()) continue;
      const std::vector<double>& ticks = found->second;
      const double since_us = p.rise_us - kLead_us - began_us;
      if (since_us < kTick_us || since_us >= kTick_us * static_cast<double>(ticks.size() - 1)) continue;
      double least = 1e9;
      for (const double edge_us : {-kEdge_us, 0.0, kEdge_us})
        least = std::min(least, std::abs(p.width_us - ticks[static_cast<std::size_t>((since_us + edge_us) / kTick_us)]));
      f.worst_us = std::max(f.worst_us, least);
      ++f.pulses;
      if (f.worst_us > most_us) break;
    }
    return f;
  };
  Fit best;
  if (events.pulses.empty()) return best;
  const double length_us = kTick_us * static_cast<double>(wanted.begin()->second.size());
  for (double at = events.pulses.front().rise_us; at + length_us <= events.pulses.back().rise_us + 2 * kTick_us; at += kStep_us)
    if (const Fit f = error_at(at, best.worst_us); f.pulses > 0 && f.worst_us < best.worst_us) best = f;
  return best;
}

std::vector<double> hill_us() {
  const std::vector<int> us = board::hill();
  return {us.begin(), us.end()};
}

/// A show at power-on, up and down by 100 us.
ImageOf hill_at_power_on() {
  ImageOf what;
  what.tracks = {board::hill()};
  return what;
}

double most_us(const Events& events, int output = 0) {
  double most = 0;
  for (const Pulse& p : events.of(0, output)) most = std::max(most, p.width_us);
  return most;
}
bool performed(const Events& events) { return most_us(events) >= 1'590; }

// The demo's own bytes, as mien bake writes them, on all three boards; what is measured is held to mien render, not to the bytes.
TEST_F(StandsAlone, AChainPerformsTheDemoFromItsFlashAsRenderHasIt) {
  constexpr double kSeconds = 2.5;
  const auto loaded = store::load_show(MIEN_SOURCE_DIR "/shows/keeper.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  const auto plan = perform::compile(loaded->rig, loaded->show);
  const auto bake = perform::bake(*plan, {}, {});
  ASSERT_TRUE(bake);
  Wanted wanted;
  std::vector<std::pair<int, int>> places;
  for (const auto& actuator : plan->rig->actuators)
    for (const auto& board : plan->rig->boards)
      if (board.name == actuator.board) places.emplace_back(board.address, actuator.output);
  perform::render(*plan, [&](const perform::Tick& tick) {
    for (int a = 0; a < plan->actuators(); ++a)
      wanted[places[static_cast<std::size_t>(a)]].push_back(perform::pulse_of(*plan, a, tick.setpoint_deg[static_cast<std::size_t>(a)]) / double(wire::kUnitsPerUs));
    return show::to_seconds(tick.time) < kSeconds;
  });

  Desk desk({"--boards", "3", "--ppm", "0,40,-40"});
  ASSERT_EQ(bake->boards.size(), 3u);
  for (const auto& board : bake->boards) {
    const auto told = desk.store(board.address, board.image);
    EXPECT_EQ(told.fault, BakeFault::none) << board.name;
    EXPECT_EQ(told.capacity, kShelfSize);
  }
  EXPECT_TRUE(desk.run_s(0.5).pulses.empty()) << "what is stored plays from the next power-on";
  for (int board = 2; board >= 0; --board) desk.power(board);
  const double on_us = desk.bench.now_us();
  Events events = desk.run_s(4);
  ASSERT_FALSE(events.pulses.empty());
  EXPECT_GE(events.pulses.front().rise_us - on_us, 1'000'000) << "a board listens for a second first";
  Host::append(events, desk.run_s(kSeconds));
  const Fit f = fit(wanted, events);
  EXPECT_LE(f.worst_us, 1.0);
  EXPECT_GE(f.pulses, 21u * 100u);
  RecordProperty("worst_us", std::to_string(f.worst_us));
  RecordProperty("pulses", std::to_string(f.pulses));
  for (int board = 0; board < 3; ++board) {
    double least = 9e9, most = 0;
    for (const auto& [place, ticks] : wanted)
      if (place.first == board) least = std::min(least, ticks.front() - *std::min_element(ticks.begin(), ticks.end())), most = std::max(most, *std::max_element(ticks.begin(), ticks.end()) - ticks.front());
    EXPECT_GT(std::max(-least, most), 10) << "board " << board << " has nothing to move in this stretch";
  }
  EXPECT_TRUE(events.resets.empty());
}

TEST_F(StandsAlone, PlaysAtPowerOnOnceAndFallsSilent) {
  Desk desk;
  EXPECT_EQ(desk.playback().fault, BakeFault::empty);
  EXPECT_EQ(desk.store(0, image_of(hill_at_power_on())).fault, BakeFault::none);
  for (int round = 0; round < 2; ++round) {
    desk.power();
    const Events events = desk.run_s(3);
    const Fit f = fit({{{0, 0}, hill_us()}}, events);
    EXPECT_LE(f.worst_us, 1.0);
    EXPECT_GE(f.pulses, 18u);
    EXPECT_TRUE(desk.run_s(1).pulses.empty());
  }
}

TEST_F(StandsAlone, StartsAtItsInputOnceThatHasChanged) {
  Desk desk;
  ImageOf what = hill_at_power_on();
  what.start_mask = what.start_value = 1;
  desk.store(0, image_of(what));
  desk.input(0, true);  // so from power-on on: no start
  desk.power();
  EXPECT_TRUE(desk.run_s(2).pulses.empty());
  desk.input(0, false);
  EXPECT_TRUE(desk.run_s(0.5).pulses.empty());
  desk.input(0, true);
  desk.run_s(0.01);  // a bounce
  desk.input(0, false);
  EXPECT_TRUE(desk.run_s(0.5).pulses.empty());
  desk.input(0, true);
  const Events events = desk.run_s(2);
  const Fit f = fit({{{0, 0}, hill_us()}}, events);
  EXPECT_LE(f.worst_us, 1.0);
  EXPECT_GE(f.pulses, 18u);
}

TEST_F(StandsAlone, StartsAtItsStateCodeAndAtNoOther) {
  Desk desk;
  ImageOf what = hill_at_power_on();
  what.start_mask = 0xF, what.start_value = 5;
  desk.store(0, image_of(what));
  desk.code(0);
  desk.power();
  desk.run_s(1.1);
  for (int code = 1; code < 16; ++code) {
    desk.code(code);
    const Events events = desk.run_s(code == 5 ? 2 : 0.1);
    EXPECT_EQ(performed(events), code == 5) << code;
    if (code != 5) { EXPECT_TRUE(events.pulses.empty()) << code; }
  }
}

TEST_F(StandsAlone, ALoopComesAgainAfterItsPauseWithIdleLifeBetween) {
  Desk desk;
  ImageOf what = hill_at_power_on();
  what.loop = true;
  what.pause_min_ms = what.pause_max_ms = 1'000, what.gap_min_ms = what.gap_max_ms = 200;
  what.tracks.push_back({1500, 1490, 1480, 1480, 1480, 1490, 1500});
  desk.store(0, image_of(what));
  desk.power();
  const Events events = desk.run_s(7);
  int shows = 0, clips = 0, clips_before = 0;
  bool up = false, down = false;
  for (const Pulse& p : events.of(0, 0)) {
    if (p.width_us > 1'590 && !up) {
      EXPECT_TRUE(++shows == 1 || clips > clips_before) << "no idle life between";
      clips_before = clips;
    }
    up = p.width_us > 1'590 || (up && p.width_us > 1'510);
    if (p.width_us < 1'485 && !down) ++clips;
    down = p.width_us < 1'485;
  }
  EXPECT_GE(shows, 3);
  EXPECT_LE(shows, 5);
  EXPECT_GE(clips, 6);
}

TEST_F(StandsAlone, AHostThatComesHasTheBoardAndItDoesNotStartAgain) {
  Desk desk;
  ImageOf what = hill_at_power_on();
  what.loop = true;
  desk.store(0, image_of(what));
  desk.power();
  EXPECT_TRUE(performed(desk.run_s(2)));
  const auto said = desk.greet(0);
  EXPECT_EQ(said.configuration, wire::checksum(board::two_outputs()));
  EXPECT_EQ(desk.playback().phase, wire::Phase::off);
  const Events after = desk.run_s(4);  // the watchdog of its limits: 100, 200, 3000 ms
  ASSERT_FALSE(after.pulses.empty());
  EXPECT_LE(after.pulses.back().rise_us - after.pulses.front().rise_us, 3.4e6);
  EXPECT_TRUE(desk.run_s(3).pulses.empty());
}

TEST_F(StandsAlone, ADamagedShowIsNotPlayedWhereverTheDamageIs) {
  Desk desk;
  const Image image = image_of(hill_at_power_on());
  const std::size_t head = image[8] | image[9] << 8;
  struct Case {
    std::size_t at;
    BakeFault fault;
  };
  for (const Case& c : {Case{0, BakeFault::unknown}, Case{20, BakeFault::damaged}, Case{head + 9, BakeFault::damaged}, Case{image.size() - 1, BakeFault::damaged}}) {
    Image broken = image;
    broken[c.at] ^= 0x10;
    desk.bench.put_into_flash(0, kShelf, broken);
    desk.power();
    EXPECT_TRUE(desk.run_s(2.5).pulses.empty()) << "byte " << c.at;
    const auto told = desk.playback();
    EXPECT_EQ(told.fault, c.fault) << "byte " << c.at;
    EXPECT_EQ(told.bake, 0u);
    EXPECT_EQ(desk.query(0).state, wire::State::unconfigured);
  }
  Image stored = image;
  stored[head + 9] ^= 0x10;
  EXPECT_EQ(desk.store(0, stored).fault, BakeFault::damaged) << "it came as it was sent, and that is no show";
}

// What is under the power when it fails is neither old nor new (tests/firmware/chip.mjs).
TEST_F(StandsAlone, APowerCutWhileStoringLeavesTheOldShowOrNone) {
  ImageOf old = hill_at_power_on(), other = old;
  other.number = 78;
  other.tracks = {std::vector<int>(9'000, 1'700)};  // more than a sector
  const Image image = image_of(other);
  ASSERT_GT(image.size(), 4096u);
  Desk desk;
  const auto old_plays = [&] {
    desk.power();
    const Events events = desk.run_s(2.5);
    if (!events.pulses.empty()) { EXPECT_LE(fit({{{0, 0}, hill_us()}}, events).worst_us, 1.0); }
    return !events.pulses.empty();
  };
  const auto store_old = [&] { EXPECT_EQ(desk.store(0, image_of(old)).fault, BakeFault::none); };

  store_old();
  EXPECT_TRUE(old_plays());
  for (const double into_erasing_us : {1'000.0, 30'000.0, 70'000.0, 88'000.0}) {
    store_old();
    desk.bench.send(wire::StoreBegin{0, 1, static_cast<std::uint32_t>(image.size())});
    desk.bench.run(into_erasing_us);
    EXPECT_FALSE(old_plays()) << into_erasing_us << " us into erasing";
    EXPECT_NE(desk.playback().fault, BakeFault::none);
  }
  const std::size_t chunks = (image.size() + wire::kMaxChunk - 1) / wire::kMaxChunk;
  for (const std::size_t whole : {std::size_t{1}, std::size_t{2}, std::size_t{7}, chunks - 1}) {
    store_old();
    desk.begin(0, image.size());
    for (std::size_t n = 0; n < whole; ++n) desk.chunk(0, image, n * wire::kMaxChunk);
    if (whole < chunks - 1) {  // and in the middle of writing the page that this completes
      wire::StoreChunk next{0, 1, static_cast<std::uint32_t>(whole * wire::kMaxChunk), wire::kMaxChunk};
      std::copy_n(image.begin() + static_cast<std::ptrdiff_t>(whole * wire::kMaxChunk), wire::kMaxChunk, next.bytes);
      desk.bench.send(next);
      desk.bench.run(1'700);
    }
    EXPECT_FALSE(old_plays()) << "after " << whole << " chunks";
    EXPECT_NE(desk.playback().fault, BakeFault::none) << "after " << whole << " chunks";
  }
  store_old();
  EXPECT_TRUE(old_plays()) << "stored anew";
}

// The largest show that fits, 1.7 MB: reading all of it takes longer than the watchdog gives the loop.
TEST_F(StandsAlone, LooksOverAShowThatFillsTheFlashWithoutStarvingItsWatchdog) {
  ImageOf what = hill_at_power_on();
  std::vector<int>& us = what.tracks[0];
  const std::vector<int> hill = board::hill();
  while (us.size() < 2'150'000) us.insert(us.end(), hill.begin(), hill.end());
  const Image image = image_of(what);
  ASSERT_LE(image.size(), kShelfSize);
  ASSERT_GE(image.size(), kShelfSize * 9 / 10);
  Desk desk;
  desk.bench.put_into_flash(0, kShelf, image);
  desk.power();
  Events events = desk.run_s(2.5);
  EXPECT_TRUE(events.pulses.empty()) << "it moved before all of it was looked at";
  Host::append(events, desk.run_s(4));
  EXPECT_TRUE(performed(events));
  desk.power();
  Host::append(events, desk.run_s(0.1));
  EXPECT_EQ(desk.playback().fault, BakeFault::none) << "asked before it had looked at all of it";
  Host::append(events, desk.run_s(0.5));
  EXPECT_TRUE(events.resets.empty());
  EXPECT_EQ(desk.bench.stats(0).resets, 2) << "of its own, beside the two of this test";
}

// 13.2 V at full scale; low below 4.5 V, well above 4.8.
TEST_F(StandsAlone, ALowRailIsToldAndHoldsTheShowBackUntilItIsWell) {
  const auto counts = [](double v) { return static_cast<int>(v / 13.2 * 4095 + 0.5); };
  Desk desk;
  ImageOf what = hill_at_power_on();
  what.loop = true;
  desk.store(0, image_of(what));
  desk.adc(0, counts(6.0));
  desk.power();
  EXPECT_TRUE(performed(desk.run_s(2.5)));
  desk.adc(0, counts(4.0));
  desk.run_s(0.05);
  desk.adc(0, counts(6.0));
  EXPECT_TRUE(performed(desk.run_s(1))) << "a servo's start is no low rail";
  desk.adc(0, counts(4.0));
  const Events ladder = desk.run_s(4.5);  // seen after a quarter of a second, then 100, 200 and 3000 ms
  ASSERT_FALSE(ladder.pulses.empty());
  EXPECT_NEAR(ladder.pulses.back().rise_us - ladder.pulses.front().rise_us, 3.6e6, 0.1e6);
  bool told = false;
  for (const Heard& heard : ladder.heard) {
    wire::StateReport report;
    if (decode(wire::Bytes{heard.packet.data(), heard.packet.size()}, report)) told = told || (report.faults & wire::kLowVoltage) != 0;
  }
  EXPECT_TRUE(told);
  desk.adc(0, counts(4.7));
  EXPECT_TRUE(desk.run_s(2).pulses.empty()) << "what falls below 4.5 V must come above 4.8";
  desk.adc(0, counts(6.0));
  EXPECT_TRUE(performed(desk.run_s(3)));
  EXPECT_EQ(desk.query(0).faults & wire::kLowVoltage, 0);
}

TEST_F(StandsAlone, ALineIsAnInputUntilAChannelTakesIt) {
  Desk desk;
  desk.input(1, true);  // GPIO 18, line 0
  desk.run_s(0.05);
  EXPECT_EQ(desk.greet(0).inputs, 4);
  EXPECT_EQ(desk.query(0).inputs, 2);
  wire::Configure limits = board::two_outputs();
  limits.channels = 1;
  limits.channel[0].line = 0;
  limits.channel[0].rest = 255;  // on: so that it shows
  desk.input(1, false);
  desk.bench.send(limits);
  bool on = false;
  for (const Level& level : desk.run_s(0.1).levels) on = on || (level.gpio == kInputs[1] && level.high);
  EXPECT_EQ(desk.query(0).inputs, 0) << "what it drives itself is no input";
  EXPECT_TRUE(on);
}

}  // namespace
}  // namespace mien::firmware
