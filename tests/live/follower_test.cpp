// Following another machine's time, and sending one's own. Bytes of MIDI Time Code: MMA 1987 (published example 01:37:52:16 at 30, as in timecode_test); 24 clocks a quarter note,
// 6 a sixteenth: MIDI 1.0 Detailed Specification 4.2.
#include "live/follower.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "live/mtc_out.hpp"
#include "support/time.hpp"

namespace mien::live {
namespace {

using S = Followed::State;
using Src = FollowSettings::Source;
using support::kMs;
using support::kSecond;
constexpr std::int64_t kTick = 10 * kMs;

MidiMessage quarter_message(std::uint8_t data) {
  MidiMessage m;
  m.kind = MidiMessage::Kind::quarter_frame, m.value = data;
  return m;
}
MidiMessage plain(MidiMessage::Kind kind, int value = 0) {
  MidiMessage m;
  m.kind = kind, m.value = static_cast<std::uint16_t>(value);
  return m;
}

// A machine that sends time code: from code time `at` on, from steady time `from_ns`, at `speed`; and the ticks of a performance that follows it.
struct Room {
  explicit Room(TimeCodeRate r = TimeCodeRate::fps_25, FollowSettings s = {.source = Src::mtc}) : rate(r) { follower.set(s); }

  void start(std::int64_t code_ns) {
    quarter = frame_at(rate, show::Time{code_ns}) / 2 * 8;
    next_ns = now;
  }
  // Plays on for so long; what the source sends is late by what `jitter_ns` allows, or lost while `deaf`.
  void run(std::int64_t for_ns, bool sends = true, bool deaf = false) {
    for (const std::int64_t end = now + for_ns; now < end; now += kTick) {
      while (sends && next_ns <= now) {
        const std::int64_t late = jitter_ns > 0 ? static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(jitter_ns)) : 0;
        if (!deaf) follower.hear(quarter_message(quarter_frame(label_of(rate, quarter / 8 * 2), static_cast<int>(quarter % 8))), next_ns + late);
        ++quarter;
        next_ns += static_cast<std::int64_t>(static_cast<double>(quarter_ns()) / speed);
      }
      before = followed;
      followed = follower.advance(now);
      if (followed.running && before.running && !followed.located) {
        const double step = static_cast<double>((followed.time - before.time).count()) / kTick;
        slowest = std::min(slowest, step), fastest = std::max(fastest, step);
      }
    }
  }
  std::int64_t quarter_ns() const { return (time_of(rate, 1) - time_of(rate, 0)).count() / 4; }
  // Where the source is now, in ns of code.
  double source() const { return static_cast<double>(quarter) * static_cast<double>(quarter_ns()) - static_cast<double>(next_ns - now + kTick) * speed; }
  double off_ms() const { return (static_cast<double>(followed.time.count()) - source()) * 1e-6; }

  TimeCodeRate rate;
  Follower follower;
  Followed followed, before;
  std::int64_t now = 5 * kSecond, next_ns = 0, quarter = 0, jitter_ns = 0;
  double speed = 1, slowest = 1, fastest = 1;
  std::mt19937 random{2};
};

class EachRate : public testing::TestWithParam<TimeCodeRate> {};
INSTANTIATE_TEST_SUITE_P(Follower, EachRate, testing::Values(TimeCodeRate::fps_24, TimeCodeRate::fps_25, TimeCodeRate::fps_30_drop, TimeCodeRate::fps_30));

TEST_P(EachRate, LocksWithTheEighthQuarterFrame_AndStaysOnTheSourceThroughJitter) {
  Room room(GetParam());
  room.jitter_ns = 4 * kMs;
  room.start(3600 * kSecond);
  room.run(kTick);
  EXPECT_EQ(room.followed.state, S::locking);
  EXPECT_FALSE(room.followed.running);
  room.run(2 * room.quarter_ns() * 8 / 2 + kTick);
  EXPECT_EQ(room.followed.state, S::locked);
  EXPECT_TRUE(room.followed.running);
  EXPECT_EQ(room.followed.locates, 1u);
  EXPECT_EQ(room.followed.code_rate, GetParam());
  room.run(2 * kSecond);
  double worst = 0;
  for (int n = 0; n < 1000; ++n) room.run(kTick), worst = std::max(worst, std::abs(room.off_ms() + 2));  // 2 ms: the mean of what it is late by
  EXPECT_LT(worst, 2.0);
  EXPECT_EQ(room.followed.locates, 1u);
  EXPECT_GT(room.slowest, 0.9);
  EXPECT_LT(room.fastest, 1.1);
}

TEST(Follower, ReadsThePublishedExample) {
  Follower follower;
  follower.set({.source = Src::mtc});
  std::int64_t now = kSecond;
  for (const int data : {0x00, 0x11, 0x24, 0x33, 0x45, 0x52, 0x61, 0x76}) follower.hear(quarter_message(static_cast<std::uint8_t>(data)), now), now += 8'333'333;
  const auto f = follower.advance(now - 8'333'333);
  ASSERT_EQ(f.state, S::locked);
  // Piece 7 comes seven quarters of a frame after the frame that it names.
  const auto named = time_of(TimeCodeRate::fps_30, frame_of({TimeCodeRate::fps_30, 1, 37, 52, 16}));
  EXPECT_NEAR(static_cast<double>((f.time - named).count()), 7 * 8'333'333.0, 10);
}

TEST(Follower, FollowsASourceThatRunsATrifleFastOrSlow) {
  for (const double speed : {0.97, 1.03}) {
    Room room;
    room.speed = speed;
    room.start(0);
    room.run(5 * kSecond);
    EXPECT_NEAR(room.off_ms(), 0, 1) << speed;
    EXPECT_NEAR(room.followed.rate, speed, 0.002);
    EXPECT_EQ(room.followed.locates, 1u);
  }
}

TEST(Follower, FreewheelsThroughAGap_AndIsOnTheSourceAgain) {
  Room room;
  room.start(0);
  room.run(3 * kSecond);
  room.run(800 * kMs, true, true);
  EXPECT_EQ(room.followed.state, S::freewheeling);
  EXPECT_TRUE(room.followed.running);
  EXPECT_NEAR(room.off_ms(), 0, 2);
  room.run(500 * kMs);
  EXPECT_EQ(room.followed.state, S::locked);
  EXPECT_NEAR(room.off_ms(), 0, 2);
  EXPECT_EQ(room.followed.dropouts, 1u);
  EXPECT_EQ(room.followed.locates, 1u);
}

TEST(Follower, StandsWhereItIsWhenTheGapIsLonger_AndTakesUpAgain) {
  Room room;
  room.start(0);
  room.run(3 * kSecond);
  room.run(2 * kSecond, false);
  EXPECT_FALSE(room.followed.running);
  EXPECT_EQ(room.followed.state, S::waiting);
  EXPECT_NEAR(show::to_seconds(room.followed.time), 4, 0.05) << "the show's 3 s and the freewheel's 1";
  const auto stood = room.followed.time;
  room.run(kSecond, false);
  EXPECT_EQ(room.followed.time, stood);
  room.start(20 * kSecond);
  room.run(kSecond);
  EXPECT_TRUE(room.followed.running);
  EXPECT_NEAR(room.off_ms(), 0, 2);
}

TEST(Follower, MakesUpASmallStepByRunningFasterOrSlower_NeverBackward_NeverAtOnce) {
  for (const std::int64_t step : {400 * kMs, -400 * kMs, 80 * kMs, -80 * kMs}) {
    Room room;
    room.start(10 * kSecond);
    room.run(2 * kSecond);
    room.quarter += step / room.quarter_ns() / 8 * 8;
    room.slowest = room.fastest = 1;
    room.run(500 * kMs);
    EXPECT_EQ(room.followed.locates, 1u) << step;
    room.run(8 * kSecond);
    EXPECT_NEAR(room.off_ms(), 0, 2) << step;
    EXPECT_EQ(room.followed.locates, 1u);
    EXPECT_GE(room.slowest, 0.88) << "a tenth, and a little of the line's own";
    EXPECT_LE(room.fastest, 1.12);
  }
}

TEST(Follower, ALeapIsALocate_ForwardAndBack) {
  Room room;
  room.start(10 * kSecond);
  room.run(2 * kSecond);
  for (const std::int64_t to : {100 * kSecond, 4 * kSecond}) {
    const auto locates = room.followed.locates;
    room.start(to);
    room.run(kSecond);
    EXPECT_EQ(room.followed.locates, locates + 1) << to;
    EXPECT_NEAR(room.off_ms(), 0, 3) << to;
    EXPECT_TRUE(room.followed.running);
  }
}

TEST(Follower, AFullFrameIsALocateWhileItStands_AndStopsAShowThatPlays) {
  Room room;
  const TimeCode code{TimeCodeRate::fps_25, 0, 0, 42, 5};
  MidiMessage full;
  full.kind = MidiMessage::Kind::full_time, full.time = full_frame(code);
  room.follower.hear(full, room.now);
  room.run(kTick, false);
  EXPECT_FALSE(room.followed.running);
  EXPECT_TRUE(room.followed.located);
  EXPECT_EQ(room.followed.time, time_of(code.rate, frame_of(code)));
  room.start(0);
  room.run(kSecond);
  ASSERT_TRUE(room.followed.running);
  room.follower.hear(full, room.now);
  room.run(3 * kTick, false);
  EXPECT_FALSE(room.followed.running);
  EXPECT_EQ(room.followed.time, time_of(code.rate, frame_of(code)));
}

TEST(Follower, ACodeThatRunsBackwardStopsTheShowWhereItIs) {
  Room room;
  room.start(60 * kSecond);
  room.run(2 * kSecond);
  const double at = show::to_seconds(room.followed.time);
  for (std::int64_t q = room.quarter - 1; q > room.quarter - 200; --q, room.now += kTick) {
    room.follower.hear(quarter_message(quarter_frame(label_of(room.rate, q / 8 * 2), static_cast<int>(q % 8))), room.now);
    const auto f = room.follower.advance(room.now);
    EXPECT_GE(show::to_seconds(f.time), at - 0.001);
    EXPECT_LE(show::to_seconds(f.time), at + 0.1);
    room.followed = f;
  }
  EXPECT_FALSE(room.followed.running);
  room.start(58 * kSecond);
  room.run(kSecond);
  EXPECT_TRUE(room.followed.running);
  EXPECT_NEAR(room.off_ms(), 0, 3);
}

TEST(Follower, TheShowBeginsAtItsCode) {
  Room room(TimeCodeRate::fps_25, {.source = Src::mtc, .zero = show::Time{3600 * kSecond}});
  room.start(3599 * kSecond);
  room.run(500 * kMs);
  EXPECT_LT(room.followed.time.count(), 0);
  room.run(kSecond);
  EXPECT_NEAR(show::to_seconds(room.followed.time), room.source() * 1e-9 - 3600, 0.003);
  EXPECT_GT(room.followed.time.count(), 0);
}

TEST(Follower, OneDeviceIsFollowed_NotTwoInTurns) {
  Room room;
  room.start(0);
  for (int n = 0; n < 200; ++n) {
    room.run(kTick);
    room.follower.hear(quarter_message(0x05), room.now, 3);
  }
  EXPECT_EQ(room.followed.state, S::locked);
  EXPECT_EQ(room.followed.locates, 1u);
  EXPECT_NEAR(room.off_ms(), 0, 2);
}

TEST(Follower, WhatIsNotFollowedSaysNothing) {
  Room room(TimeCodeRate::fps_25, {.source = Src::none});
  room.start(0);
  room.run(kSecond);
  EXPECT_EQ(room.followed.state, S::off);
  Room clock(TimeCodeRate::fps_25, {.source = Src::clock});
  clock.start(0);
  clock.run(kSecond);
  EXPECT_EQ(clock.followed.state, S::waiting);
}

TEST(Follower, NoiseNeverRunsBackward) {
  std::mt19937 random(6);
  Room room;
  std::int64_t last = INT64_MIN;
  for (int n = 0; n < 50'000; ++n, room.now += kTick / 4) {
    room.follower.hear(quarter_message(static_cast<std::uint8_t>(random() % 128)), room.now);
    const auto f = room.follower.advance(room.now);
    if (!f.located) {
      EXPECT_GE(f.time.count(), last);
    }
    last = f.time.count();
  }
}

// ---- clock

struct Song {
  explicit Song(double bpm, double show_bpm = 120) : period_ns(60e9 / (24 * bpm)) { follower.set({.source = Src::clock, .tempo_bpm = show_bpm}); }
  void say(MidiMessage::Kind kind, int value = 0) { follower.hear(plain(kind, value), now); }
  void run(int clocks) {
    for (int n = 0; n < clocks; ++n) {
      follower.hear(plain(MidiMessage::Kind::clock), now);
      for (int k = 0; k < 4; ++k) now += std::llround(period_ns / 4), followed = follower.advance(now - kMs), least = std::min(least, followed.running && !followed.located ? followed.time - last : least), last = followed.time;
    }
  }
  Follower follower;
  double period_ns;
  std::int64_t now = kSecond;
  Followed followed;
  show::Time last{0}, least{0};
};
using MidiKind = MidiMessage::Kind;

TEST(ClockFollower, RunsAtTheTemposShare_FromStart) {
  for (const double bpm : {60.0, 120.0, 180.0}) {
    Song song(bpm);
    song.run(24);
    EXPECT_FALSE(song.followed.running) << "clocks without a start";
    song.say(MidiKind::start);
    song.run(24 * 8);
    EXPECT_TRUE(song.followed.running);
    // Eight beats of half a show second each, at 120.
    EXPECT_NEAR(show::to_seconds(song.followed.time), 4, 0.03) << bpm;
    EXPECT_NEAR(song.followed.rate, bpm / 120, 0.01);
    EXPECT_GE(song.least.count(), 0);
    EXPECT_EQ(song.followed.locates, 1u);
  }
}

TEST(ClockFollower, StopsContinuesAndLocates) {
  Song song(120);
  song.say(MidiKind::start);
  song.run(48);
  song.say(MidiKind::stop);
  song.run(48);
  EXPECT_FALSE(song.followed.running);
  EXPECT_NEAR(show::to_seconds(song.followed.time), 1, 0.03);
  song.say(MidiKind::resume);
  song.run(48);
  EXPECT_NEAR(show::to_seconds(song.followed.time), 2, 0.03);
  song.say(MidiKind::stop);
  song.say(MidiKind::song_position, 16);  // sixteen sixteenths: four beats, two seconds
  song.run(1);
  EXPECT_NEAR(show::to_seconds(song.followed.time), 2, 1e-6);
  song.say(MidiKind::song_position, 80);
  song.run(1);
  EXPECT_NEAR(show::to_seconds(song.followed.time), 10, 1e-6);
  song.say(MidiKind::resume);
  song.run(24);
  EXPECT_NEAR(show::to_seconds(song.followed.time), 10.5, 0.03);
}

TEST(ClockFollower, FollowsATempoThatChanges) {
  Song song(120);
  song.say(MidiKind::start);
  song.run(96);
  song.period_ns *= 1.25;
  song.run(24 * 10);
  EXPECT_NEAR(song.followed.rate, 0.8, 0.01);
  EXPECT_NEAR(show::to_seconds(song.followed.time), (96 + 240) * 60 / (24 * 120.0), 0.03);
  EXPECT_EQ(song.followed.locates, 1u);
}

// ---- out

TEST(MtcOut, SaysWhatThePublishedExampleSays) {
  MtcOut out(TimeCodeRate::fps_30);
  const auto at = time_of(TimeCodeRate::fps_30, frame_of({TimeCodeRate::fps_30, 1, 37, 52, 16}));
  out.follow({.at_ns = kSecond, .time = at, .playing = true});
  auto full = out.due(kSecond);
  EXPECT_THAT(std::vector<int>(full.byte.begin(), full.byte.begin() + full.count), testing::ElementsAre(0xF0, 0x7F, 0x7F, 1, 1, 0x61, 0x25, 0x34, 0x10, 0xF7));
  std::vector<int> pieces;
  std::vector<std::int64_t> when;
  for (std::int64_t now = kSecond; pieces.size() < 8; now += 100'000)
    for (auto b = out.due(now); b.count; b = out.due(now)) pieces.push_back(b.byte[1]), when.push_back(now);
  EXPECT_THAT(pieces, testing::ElementsAre(0x00, 0x11, 0x24, 0x33, 0x45, 0x52, 0x61, 0x76));
  for (std::size_t n = 1; n < when.size(); ++n) EXPECT_NEAR(static_cast<double>(when[n] - when[n - 1]), 8'333'333, 200'000) << "a quarter of a frame";
}

TEST(MtcOut, IsWhatAFollowerFollows_ThroughASeekAndAStop) {
  for (const TimeCodeRate rate : {TimeCodeRate::fps_24, TimeCodeRate::fps_25, TimeCodeRate::fps_30_drop, TimeCodeRate::fps_30}) {
    MtcOut out(rate, show::Time{3600 * kSecond});
    Follower follower;
    follower.set({.source = Src::mtc, .zero = show::Time{3600 * kSecond}});
    MidiParser parser;
    std::int64_t now = 7 * kSecond;
    Followed f;
    show::Time at{0};
    const auto run = [&](std::int64_t for_ns, bool playing) {
      for (const std::int64_t end = now + for_ns; now < end; now += kMs) {
        if (now % kTick == 0) out.follow({now, at, playing});
        for (auto b = out.due(now); b.count; b = out.due(now))
          for (int n = 0; n < b.count; ++n)
            if (const auto m = parser.feed(b.byte[static_cast<std::size_t>(n)])) follower.hear(*m, now);
        f = follower.advance(now);
        if (playing) at += show::Time{kMs};
      }
    };
    run(kSecond, false);
    EXPECT_FALSE(f.running);
    EXPECT_NEAR(show::to_seconds(f.time), 0, 0.05);
    run(3 * kSecond, true);
    EXPECT_TRUE(f.running);
    EXPECT_NEAR(show::to_seconds(f.time), show::to_seconds(at), 0.003) << int(rate);
    at = show::Time{60 * kSecond};
    run(kSecond, true);
    EXPECT_TRUE(f.running);
    EXPECT_NEAR(show::to_seconds(f.time), show::to_seconds(at), 0.003);
    run(200 * kMs, false);
    EXPECT_FALSE(f.running) << "stopped by the full frame, without freewheeling";
    EXPECT_NEAR(show::to_seconds(f.time), show::to_seconds(at), 0.05);
  }
}

TEST(MtcOut, LeavesOutWhatIsLate) {
  MtcOut out;
  out.follow({.at_ns = 0, .time = show::Time{0}, .playing = true});
  int count = 0;
  for (auto b = out.due(10 * kSecond); b.count; b = out.due(10 * kSecond)) ++count;
  EXPECT_LE(count, 9) << "a full frame, and no burst of what was to be said in ten seconds";
  EXPECT_GT(out.next_ns(), 10 * kSecond);
  EXPECT_EQ(MtcOut().next_ns(), INT64_MAX);
}

}  // namespace
}  // namespace mien::live
