#include "sound/renderer.hpp"

#include <gmock/gmock.h>

#include <random>

#include "sound/made.hpp"

namespace mien::sound {
namespace {

using namespace std::chrono_literals;

constexpr int kFade = Voice::kFade_frames, kGrain = Voice::kGrain_frames;

/// A renderer pulled by hand, as a device would, in blocks of odd sizes.
struct Bench {
  Shelf shelf;
  Renderer renderer{shelf};
  Wish wish;
  Bench() { renderer.set_ready(true); }

  void sounds(std::vector<Placed> placed) { shelf.set(std::move(placed), 60s); }
  void ask(Wish::Kind kind, show::Time from = show::Time{0}, show::Range loop = {}) {
    wish.kind = kind;
    wish.from = from;
    wish.loop = loop;
    ++wish.serial;
    renderer.wish(wish);
  }
  void play(show::Time from, show::Range loop = {}) { ask(Wish::Kind::play, from, loop); }

  /// Interleaved stereo.
  std::vector<float> pull(int frames) {
    std::vector<float> out(2 * static_cast<std::size_t>(frames));
    for (int done = 0, block = 1; done < frames; block = block * 7 % 1201) {
      const int run = std::min(frames - done, std::max(1, block));
      renderer.render(out.data() + 2 * done, run);
      done += run;
    }
    return out;
  }
  std::vector<float> left(int frames) {
    const auto both = pull(frames);
    std::vector<float> one;
    for (std::size_t i = 0; i < both.size(); i += 2) one.push_back(both[i]);
    return one;
  }
};

float value(int frame) { return static_cast<float>(frame + 1) / (1 << 20); }  // of made.hpp's ramp
show::Time at_frame(std::int64_t frame) { return show::Time{frames_to_ns(frame)}; }

/// The largest change between neighbouring frames.
float steepest(const std::vector<float>& samples) {
  float most = 0;
  for (std::size_t i = 1; i < samples.size(); ++i) most = std::max(most, std::abs(samples[i] - samples[i - 1]));
  return most;
}

TEST(Frames, AreExactBothWays) {
  EXPECT_EQ(frames_to_ns(48000), 1'000'000'000);
  for (std::int64_t frame = -100000; frame < 100000; frame += 7) EXPECT_EQ(nearest_frame(at_frame(frame)), frame);
  std::mt19937_64 random(5);
  for (int i = 0; i < 100000; ++i) {
    const auto ns = static_cast<std::int64_t>(random() % 1'000'000'000'000'000'000);
    const std::int64_t frames = frames_covering(ns);
    ASSERT_GE(frames_to_ns(frames), ns);
    ASSERT_LT(frames_to_ns(frames - 1), ns);
  }
}

TEST(Mix, PlacesTrimsScalesAndAddsItsSounds) {
  const Mix mix({{wave_of({0.1f, 0.2f, 0.3f, 0.4f}), at_frame(2), at_frame(1), 2.0f}, {wave_of({0.5f, -0.5f, 0.25f, -0.25f}, 2), at_frame(3), show::Time{0}, 1.0f}});
  std::vector<float> out(14);
  mix.render(-1, 7, out.data());
  const std::vector<float> want{0, 0, 0, 0, 0, 0, 0.4f, 0.4f, 1.1f, 0.1f, 1.05f, 0.55f, 0, 0};
  EXPECT_THAT(out, testing::Pointwise(testing::FloatEq(), want));
}

TEST(Mix, EndsWhereASoundsEndIsLeftOut_AndNoCutClicks) {
  // A steady 0.5: without a fade a cut would be a step of 0.5.
  const Mix mix({{wave_of(std::vector<float>(48000, 0.5f)), at_frame(100), at_frame(1000), 1, at_frame(7000)}});
  constexpr int kFrames = 41000;
  std::vector<float> out(2 * kFrames);
  mix.render(0, kFrames, out.data());
  std::vector<float> left;
  for (std::size_t i = 0; i < out.size(); i += 2) left.push_back(out[i]);
  EXPECT_EQ(left[99], 0);
  EXPECT_EQ(left[100 + 40000], 0) << "the part is 40000 frames long";
  EXPECT_GT(left[100 + 39999], 0);
  EXPECT_LT(steepest(left), 0.5f * std::numbers::pi_v<float> / 2 / Mix::kCut_frames * 1.01f) << "a raised cosine is at its steepest pi / 2 of its mean slope";
  for (int i = 100 + Mix::kCut_frames; i < 40100 - Mix::kCut_frames; ++i) ASSERT_EQ(left[static_cast<std::size_t>(i)], 0.5f) << i;
  // A whole sound has no cut to soften.
  const Mix whole({{wave_of(std::vector<float>(1000, 0.5f)), {}, {}, 1}});
  whole.render(0, 1001, out.data());
  EXPECT_EQ(out[0], 0.5f);
  EXPECT_EQ(out[2 * 999], 0.5f);
  EXPECT_EQ(out[2 * 1000], 0);
}

TEST(Mix, LeavesOutWhatCannotBePlayed) {
  const float nan = std::nanf("");
  const Mix mix({{nullptr, {}, {}, 1}, {wave_of({1, 1}), {}, show::Time{1'000'000'000}, 1}, {wave_of({1, 1}), {}, {}, nan}, {wave_of({1, 1}, 1, 44100), {}, {}, 1}, {wave_of({1, 1}), {}, {}, 1, at_frame(2)}});
  std::vector<float> out(8, 9.0f);
  mix.render(0, 4, out.data());
  EXPECT_THAT(out, testing::Each(0.0f));
}

TEST(Mix, ConvertsOtherRatesInPitchAndLevelAndPlace) {
  for (const int rate : {8000, 22050, 44100, 96000}) {
    const WavePtr converted = at_playing_rate(wave_of(tone(440, 1.0, rate), 1, rate));
    ASSERT_NE(converted, nullptr);
    ASSERT_EQ(converted->rate_hz, 48000);
    EXPECT_NEAR(static_cast<double>(converted->frames()), 48000, 2);
    const auto want = tone(440, 1.0, 48000);
    double worst = 0;
    for (std::size_t i = 2000; i < 46000; ++i) worst = std::max(worst, std::abs(static_cast<double>(converted->samples[i]) - want[i]));
    EXPECT_LT(worst, 1e-3) << rate;
  }
  const WavePtr same = ramp(10);
  EXPECT_EQ(at_playing_rate(same), same);
  EXPECT_EQ(at_playing_rate(wave_of(tone(440, 1.0, 44100), 1, 44100), [] { return false; }), nullptr);
}

TEST(Renderer, PlaysEveryFrameInItsPlace) {
  Bench bench;
  bench.sounds({{ramp(100000), {}, {}, 1}});
  bench.play(at_frame(500));
  const auto out = bench.left(20000);
  EXPECT_EQ(out[0], 0.0f);
  EXPECT_LT(out[kFade / 2], value(500 + kFade / 2));
  for (int i = kFade; i < 20000; ++i) ASSERT_EQ(out[static_cast<std::size_t>(i)], value(500 + i)) << i;
}

TEST(Renderer, LoopsExactlyWhereTheShowsTimeWraps) {
  std::mt19937 random(9);
  for (int round = 0; round < 30; ++round) {
    Bench bench;
    bench.sounds({{ramp(60000), {}, {}, 1}});
    // Any nanosecond, so that the loop is no whole number of frames and rounding it once would drift.
    const show::Time begin{random() % 500'000'000}, from{random() % 1'200'000'000};
    const show::Range loop{begin, begin + show::Time{1'000'000 + random() % 300'000'000}};
    bench.play(from, loop);
    const auto out = bench.left(48000);
    for (int i = kFade; i < 48000; ++i) {
      const show::Time want = show::wrapped(from + at_frame(i), loop);
      const auto got = static_cast<double>(out[static_cast<std::size_t>(i)]) * (1 << 20) - 1;
      // The frame that is heard is the nearest one to the wrapped time, within the half frame by which a stretch begins.
      ASSERT_NEAR(got, show::to_seconds(want) * 48000, 1.0) << i;
      if (i > kFade && out[static_cast<std::size_t>(i)] > out[static_cast<std::size_t>(i) - 1]) {
        ASSERT_EQ(out[static_cast<std::size_t>(i)] - out[static_cast<std::size_t>(i) - 1], value(1) - value(0)) << i;
      }
    }
  }
}

TEST(Renderer, SurvivesALoopShorterThanAFrameAndTimesFarAway) {
  Bench bench;
  bench.sounds({{ramp(1000), {}, {}, 1}});
  bench.play({}, {show::Time{0}, show::Time{1}});
  EXPECT_EQ(bench.left(1000)[900], value(0));
  bench.play(show::Time::max(), {show::Time::min(), show::Time::max()});
  EXPECT_EQ(bench.left(1000)[900], 0.0f);
  bench.play(show::Time::min());
  EXPECT_EQ(bench.left(1000)[900], 0.0f);
}

/// A loud low tone: its own slope is small beside a click's.
struct ToneBench : Bench {
  WavePtr wave = wave_of(tone(100, 10, 48000, 1, 0.9));
  ToneBench() { sounds({{wave, {}, {}, 1}}); }
  static constexpr float kNoClick = 0.9f * 2 * 3.1416f * 100 / 48000 + 0.9f * 3.1416f / (2 * kFade) + 0.001f;
};

TEST(Renderer, PlaysPausesAndSeeksWithoutAClick) {
  ToneBench bench;
  std::vector<float> heard;
  const auto pull = [&](int frames) {
    const auto out = bench.left(frames);
    heard.insert(heard.end(), out.begin(), out.end());
  };
  std::mt19937 random(1);
  for (int i = 0; i < 300; ++i) {
    const show::Time anywhere{random() % 9'000'000'000};
    switch (random() % 5) {
      case 0: bench.ask(Wish::Kind::rest); break;
      case 1: bench.ask(Wish::Kind::grain, anywhere); break;
      case 2: bench.sounds({{bench.wave, show::Time{random() % 10'000'000}, {}, 1}}); break;
      default: bench.play(anywhere);
    }
    pull(static_cast<int>(1 + random() % 2000));
  }
  EXPECT_LT(steepest(heard), 2 * ToneBench::kNoClick);  // two voices at most
  EXPECT_GT(*std::max_element(heard.begin(), heard.end()), 0.8f);
  bench.ask(Wish::Kind::rest);
  bench.pull(2 * kFade + 1);
  EXPECT_THAT(bench.left(5000), testing::Each(0.0f));
}

TEST(Renderer, TakesTheNewestWishWithinTwoFades) {
  ToneBench bench;
  bench.play({});
  bench.pull(1000);
  for (int i = 0; i < 50; ++i) bench.play(show::Time{i * 1'000'000});
  bench.pull(2 * kFade);
  EXPECT_EQ(bench.renderer.anchor().serial, bench.wish.serial);
  EXPECT_EQ(bench.renderer.anchor().from, bench.wish.from);
}

TEST(Renderer, SaysAtWhichFrameOfTheStreamAPlayBegan) {
  Bench bench;
  bench.sounds({{ramp(100000), {}, {}, 1}});
  bench.pull(12345);
  bench.play(at_frame(1000));
  const auto out = bench.left(5000);
  const Anchor anchor = bench.renderer.anchor();
  EXPECT_TRUE(anchor.playing);
  EXPECT_EQ(anchor.frame, 12345);
  EXPECT_EQ(out[4000], value(5000));
  bench.ask(Wish::Kind::rest);
  bench.pull(100);
  EXPECT_FALSE(bench.renderer.anchor().playing);
  EXPECT_EQ(bench.renderer.anchor().serial, bench.wish.serial);
}

TEST(Renderer, AMovingPointerSoundsEvenAndARestingOneIsSilent) {
  Bench bench;
  bench.sounds({{wave_of(std::vector<float>(48000 * 10, 0.5f)), {}, {}, 1}});
  std::vector<float> heard;
  for (int i = 0; i < 60; ++i) {  // the pointer moves at 60 Hz for a second
    bench.ask(Wish::Kind::grain, show::Time{i * 20'000'000});
    const auto out = bench.left(800);
    heard.insert(heard.end(), out.begin(), out.end());
  }
  for (int i = kGrain; i < 48000 - 800; ++i) ASSERT_NEAR(heard[static_cast<std::size_t>(i)], 0.5f, 0.001f) << i;
  bench.pull(2 * kGrain);
  EXPECT_THAT(bench.left(48000), testing::Each(0.0f));
  EXPECT_FALSE(bench.renderer.anchor().playing);
}

TEST(Renderer, AGrainIsTheSoundUnderThePointer) {
  Bench bench;
  bench.sounds({{ramp(100000), {}, {}, 1}});
  bench.ask(Wish::Kind::grain, at_frame(2000));
  const auto out = bench.left(4 * kGrain);
  EXPECT_NEAR(out[kGrain], value(2000 + kGrain), 1e-6);
  EXPECT_EQ(out[2 * kGrain + 1], 0.0f);
}

// Grains rise and fall as raised cosines of 30 ms: where two of a sound within +-a overlap, their sum changes by no more than the sound itself does, and by
// 2 a pi / 2 / 1440 a frame that the edges add. A click would be a step of the order of a.
TEST(Renderer, ScrubsForwardAndBackAtAnySpeedWithoutAClick) {
  constexpr double kLevel = 0.5;
  const auto material = tone(440, 20, 48000, 1, kLevel);
  const float most = steepest(material) + static_cast<float>(2 * kLevel * 3.14159265 / 2 / kGrain);
  for (const double speed : {-8.0, -1.0, -0.3, 0.1, 1.0, 2.5, 20.0}) {
    Bench bench;
    bench.sounds({{wave_of(material), {}, {}, 1}});
    std::vector<float> heard;
    for (int i = 0; i < 40; ++i) {
      bench.ask(Wish::Kind::grain, show::from_seconds(std::clamp(10 + speed * i / 60.0, 0.0, 19.0)));
      const auto out = bench.left(800);
      heard.insert(heard.end(), out.begin(), out.end());
    }
    EXPECT_LE(steepest(heard), most * 1.001f) << speed;
    double power = 0;
    for (std::size_t n = 4000; n < heard.size(); ++n) power += static_cast<double>(heard[n]) * heard[n];
    EXPECT_GT(std::sqrt(power / static_cast<double>(heard.size() - 4000)), 0.1) << "nothing is heard at speed " << speed;
  }
}

TEST(Renderer, NewSoundsJoinAPlayWithoutMovingIt) {
  Bench bench;
  bench.sounds({{ramp(100000), {}, {}, 1}});
  bench.play(at_frame(100));
  bench.pull(1000);
  bench.sounds({{ramp(100000), {}, {}, 2}});
  const Anchor before = bench.renderer.anchor();
  const auto out = bench.left(1000);
  for (int i = kFade; i < 1000; ++i) ASSERT_EQ(out[static_cast<std::size_t>(i)], 2 * value(1100 + i));
  EXPECT_EQ(bench.renderer.anchor().frame, before.frame);
}

TEST(Renderer, VolumeGlidesAndTheSumIsHeldInRange) {
  Bench bench;
  bench.sounds({{wave_of(std::vector<float>(48000, 0.9f)), {}, {}, 2}});
  bench.play({});
  bench.pull(1000);
  EXPECT_THAT(bench.left(10), testing::Each(1.0f));
  bench.wish.volume = 0.25f;
  bench.renderer.wish(bench.wish);
  EXPECT_LT(steepest(bench.left(1000)), 0.01f);
  EXPECT_THAT(bench.left(10), testing::Each(testing::FloatNear(0.45f, 1e-6f)));
}

TEST(Renderer, WaitsUntilTheClockIsReady) {
  ToneBench bench;
  bench.renderer.set_ready(false);
  bench.play({});
  EXPECT_THAT(bench.left(5000), testing::Each(0.0f));
  bench.renderer.set_ready(true);
  bench.pull(1000);
  EXPECT_EQ(bench.renderer.anchor().frame, 5000);
}

TEST(Renderer, DroppedWishesFallSilentAndStaySo) {
  ToneBench bench;
  bench.play({});
  bench.pull(1000);
  bench.renderer.drop(bench.wish.serial);
  EXPECT_LT(steepest(bench.left(1000)), ToneBench::kNoClick);
  EXPECT_THAT(bench.left(1000), testing::Each(0.0f));
  bench.play({});
  bench.pull(1000);
  EXPECT_TRUE(bench.renderer.anchor().playing);
}

TEST(Shelf, FreesOldMixesOnlyWhenTheyAreNoLongerHeard) {
  Bench bench;
  WavePtr first = ramp(100000);
  const std::weak_ptr<const Wave> watch = first;
  bench.sounds({{std::move(first), {}, {}, 1}});
  bench.play({});
  bench.pull(1000);
  bench.sounds({{ramp(100), {}, {}, 1}});
  bench.shelf.sweep();
  EXPECT_FALSE(watch.expired());
  bench.pull(kFade / 2);
  bench.shelf.sweep();
  EXPECT_FALSE(watch.expired());
  bench.pull(2 * kFade);
  bench.shelf.sweep();
  EXPECT_TRUE(watch.expired());
}

TEST(Shelf, ConvertsASoundOnceForAllItsPlaces) {
  Bench bench;
  const WavePtr slow = wave_of(tone(440, 1.0, 24000), 1, 24000);
  bench.sounds({{slow, {}, {}, 1}, {slow, show::Time{2'000'000'000}, {}, 1}});
  bench.play(show::Time{2'250'000'000});
  bench.pull(1000);
  EXPECT_NEAR(bench.left(1)[0], 0.5 * std::sin(2 * std::numbers::pi * 440 * (0.25 + 1000.0 / 48000)), 1e-3);
}

TEST(Shelf, HandsMixesToACallbackThatNeverStops) {
  Shelf shelf;
  Renderer renderer(shelf);
  renderer.set_ready(true);
  std::atomic<bool> done{false};
  std::thread callback([&] {
    std::vector<float> out(512);
    while (!done.load()) renderer.render(out.data(), 256);
  });
  Wish wish;
  for (int i = 0; i < 500; ++i) {
    shelf.set({{ramp(1000 + i), {}, {}, 1}}, 60s);
    wish.kind = i % 3 == 0 ? Wish::Kind::rest : Wish::Kind::play;
    ++wish.serial;
    renderer.wish(wish);
    shelf.sweep();
  }
  done = true;
  callback.join();
}

}  // namespace
}  // namespace mien::sound
