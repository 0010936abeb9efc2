// Takes: what is on tape, and how many keys it becomes. The bound of 0.5 % of range and the factor of 20 are the wish; the curves are invented, made as hands
// make them: 7-bit steps, noise, slow fades, jumps.
#include "live/take.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>

#include "live/hand_rig.hpp"
#include "motion/curve.hpp"

namespace mien::live {
namespace {

using show::Time;
constexpr Time kTakeTick{10'000'000};

Track track_of(const char* control, int ticks, const std::function<double(double)>& value, Time from = Time{0}) {
  Track track{control, {}, {{from, from + (ticks - 1) * kTakeTick}}};
  for (int n = 0; n < ticks; ++n) track.samples.push_back({from + n * kTakeTick, value(n * 0.01)});
  return track;
}

double furthest(const Track& track, const show::Channel& channel, show::Range within) {
  double most = 0;
  for (const auto& s : track.samples)
    if (s.time >= within.begin && s.time <= within.end) most = std::max(most, std::abs(motion::evaluate(channel, s.time) - s.value));
  return most;
}

TEST(Take, BecomesTwentyTimesFewerKeys_EachSampleWithinHalfAPercentOfTheRange) {
  std::mt19937 random(4);
  std::normal_distribution<double> noise(0, 0.001);
  struct Case { const char* what; std::function<double(double)> value; };
  const Case cases[] = {
      {"a slow fade", [](double t) { return 0.5 - 0.5 * std::cos(t / 20 * M_PI); }},
      {"a hand that nods", [](double t) { return 0.5 + 0.4 * std::sin(t * 2.1) * std::sin(t * 0.37); }},
      {"steps of a switch, smoothed", [](double t) { return 0.5 + 0.5 * std::tanh(6 * std::sin(t * 0.8)); }},
      {"a stick with noise of 0.1 %", [&](double t) { return 0.5 + 0.3 * std::sin(t * 1.1) + std::clamp(noise(random), -0.002, 0.002); }},
  };
  for (const Case& c : cases) {
    const Track track = track_of("jaw", 2000, c.value);
    const auto keys = keys_of(track, hand_rig()->controls[kJaw], track.touched[0]);
    const show::Channel channel{"jaw", keys};
    EXPECT_LE(furthest(track, channel, track.touched[0]), 0.005 + 1e-9) << c.what;
    EXPECT_LE(keys.size() * 20, track.samples.size()) << c.what;
    std::printf("%-32s %zu samples, %zu keys (%.0fx)\n", c.what, track.samples.size(), keys.size(), double(track.samples.size()) / double(keys.size()));
  }
}

// What hands really leave behind: a fader of 7 bits, smoothed as the map says, through the whole layer.
TEST(Take, OfAFaderOfSevenBits_IsTwentyTimesFewerKeys) {
  HandMap map;
  map.knobs = {{.source = {"", 0, Source::Kind::controller, 7}, .control = "jaw", .smoothing_ms = 60, .takeover = Takeover::scaled}};
  Desk desk(map);
  Takes takes(*desk.program);
  for (int n = 0; n < 3000; ++n) {
    const double t = n * 0.01;
    desk.say(controller(7, int(63.5 + 63 * std::sin(t * 0.9) * std::cos(t * 0.23))));
    desk.tick(kJaw);
    TakeTick tick;
    tick.time = n * kTakeTick;
    note(tick, *desk.program, desk.state, desk.now);
    takes.add(tick);
  }
  const auto all = takes.takes();
  ASSERT_EQ(all.size(), 1u);
  ASSERT_EQ(all[0].tracks.size(), 1u);
  const Track& track = all[0].tracks[0];
  const auto keys = keys_of(track, hand_rig()->controls[kJaw], span_of(all[0]));
  std::printf("%zu samples, %zu keys\n", track.samples.size(), keys.size());
  EXPECT_LE(furthest(track, {"jaw", keys}, span_of(all[0])), 0.005 + 1e-9);
  EXPECT_LE(keys.size() * 20, track.samples.size());
}

TEST(Take, HasOnlyControlsThatAreArmed_AndNoTickOfAnotherMap) {
  HandMap map;
  map.knobs = {{.source = {"", 0, Source::Kind::controller, 7}, .control = "jaw", .takeover = Takeover::scaled}, {.source = {"", 0, Source::Kind::controller, 8}, .control = "smile", .takeover = Takeover::scaled}};
  Desk desk(map);
  EXPECT_THAT(moved_by(map, *hand_show()), testing::ElementsAre("jaw", "smile"));
  Takes all(*desk.program), armed(*desk.program, {"jaw"});
  TakeTick tick;
  for (int n = 0; n < 50; ++n) {
    desk.say(controller(7, 64 + n)), desk.say(controller(8, 64 + n));
    desk.tick(kJaw);
    tick.time = n * kTakeTick;
    note(tick, *desk.program, desk.state, desk.now);
    EXPECT_TRUE(all.add(tick));
    EXPECT_TRUE(armed.add(tick));
  }
  ASSERT_EQ(all.takes().size(), 1u);
  EXPECT_EQ(all.takes()[0].tracks.size(), 2u);
  ASSERT_EQ(armed.takes().size(), 1u);
  ASSERT_EQ(armed.takes()[0].tracks.size(), 1u);
  EXPECT_EQ(armed.takes()[0].tracks[0].control, "smile");
  // Another map's ticks count controls otherwise: under this one's names they would be lies.
  map.knobs.erase(map.knobs.begin());
  Desk other(map);
  other.tick(kJaw);
  tick.time = 50 * kTakeTick;
  note(tick, *other.program, other.state, other.now);
  EXPECT_FALSE(all.add(tick));
  EXPECT_EQ(all.takes()[0].tracks[0].samples.size(), 50u);
}

TEST(Take, KeepsOnlyWhatWasTouched_AndEachTimeRoundTheLoop) {
  HandMap map;
  map.knobs = {{.source = {"", 0, Source::Kind::controller, 7}, .control = "jaw", .takeover = Takeover::scaled}, {.source = {"", 0, Source::Kind::controller, 8}, .control = "smile"}};
  map.triggers = {{.source = {"", 0, Source::Kind::note, 60}, .name = "glad", .fade_in_s = 0, .fade_out_s = 0}};
  Desk desk(map);
  EXPECT_THAT(desk.program->reach, testing::ElementsAre(kJaw, kSmile));
  Takes takes(*desk.program);
  const auto run = [&](int from, int to) {
    for (int n = from; n < to; ++n) {
      desk.tick(kJaw);
      TakeTick tick;
      tick.time = n * kTakeTick;
      note(tick, *desk.program, desk.state, desk.now);
      takes.add(tick);
    }
  };
  run(-3, 100);  // times before the show are not kept
  desk.say(note(60, 127)), run(100, 150);
  desk.say(note(60, 0)), run(150, 200);
  run(0, 50);  // the loop came round; nothing touched
  desk.say(controller(7, 127)), run(0, 20);
  const auto all = takes.takes();
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[0].name, "take 1");
  ASSERT_EQ(all[0].tracks.size(), 2u);
  EXPECT_EQ(all[0].tracks[1].control, "smile");
  EXPECT_THAT(all[0].tracks[1].touched, testing::ElementsAre(show::Range{100 * kTakeTick, 149 * kTakeTick}));
  EXPECT_EQ(all[0].tracks[1].samples.size(), 200u);
  ASSERT_EQ(all[1].tracks.size(), 1u);
  EXPECT_EQ(all[1].tracks[0].control, "jaw");
  EXPECT_EQ(span_of(all[1]), (show::Range{Time{0}, 19 * kTakeTick}));
}

TEST(Take, ReplacesItsStretchOfAChannel_AndLeavesTheRestAsItWas) {
  show::Show show = *hand_show();
  const show::Channel old{"jaw", {{Time{0}, 0, show::kEaseInOut}, {Time{4'000'000'000}, 1, show::kLinear}, {Time{8'000'000'000}, 0, show::kHold}}};
  show.channels = {std::make_shared<const show::Channel>(old)};
  Take take{"take 1", {track_of("jaw", 200, [](double t) { return 0.5 + 0.3 * std::sin(3 * t); }, Time{2'000'000'000})}};
  const show::Show made = into_channels(show, *hand_rig(), take);
  ASSERT_EQ(made.channels.size(), 1u);
  const show::Channel& now = *made.channels[0];
  const show::Range stretch = take.tracks[0].touched[0];
  EXPECT_LE(furthest(take.tracks[0], now, stretch), 0.005 + 1e-9);
  for (std::size_t n = 1; n < now.keys.size(); ++n) EXPECT_LT(now.keys[n - 1].time, now.keys[n].time);
  for (Time t{0}; t < Time{10'000'000'000}; t += kTakeTick) {
    if (t > stretch.begin - kTakeTick && t < stretch.end + kTakeTick) continue;
    EXPECT_NEAR(motion::evaluate(now, t), motion::evaluate(old, t), 0.001 + 1e-9) << show::to_seconds(t);
  }
}

TEST(Take, OfAControlWithoutAChannel_ComesFromRestAndReturnsThere) {
  Take take{"take 1", {track_of("gaze_yaw", 100, [](double t) { return 20 * t; }, Time{1'000'000'000})}};
  const show::Show made = into_channels(*hand_show(), *hand_rig(), take);
  ASSERT_EQ(made.channels.size(), 1u);
  EXPECT_EQ(motion::evaluate(*made.channels[0], Time{500'000'000}), 0);
  EXPECT_NEAR(motion::evaluate(*made.channels[0], Time{1'500'000'000}), 10, 0.3);
  EXPECT_EQ(motion::evaluate(*made.channels[0], Time{3'000'000'000}), 0);
}

TEST(Take, ThatStoodStillAtLast_StandsUntilItsEnd) {
  Take take{"take 1", {track_of("jaw", 300, [](double t) { return std::min(t, 0.75); }, Time{1'000'000'000})}};
  const show::Show made = into_channels(*hand_show(), *hand_rig(), take);
  EXPECT_NEAR(motion::evaluate(*made.channels[0], Time{3'000'000'000}), 0.75, 0.005);
  EXPECT_NEAR(motion::evaluate(*made.channels[0], take.tracks[0].touched[0].end), 0.75, 0.005);
  EXPECT_EQ(motion::evaluate(*made.channels[0], Time{4'500'000'000}), 0);
}

TEST(Take, OfStatesIsAKeyAtEachChange) {
  const Track track = track_of("tongue", 300, [](double t) { return std::floor(t); });
  const auto keys = keys_of(track, hand_rig()->controls[kTongue], track.touched[0]);
  EXPECT_THAT(keys, testing::ElementsAre(show::Keyframe{Time{0}, 0, show::kHold}, show::Keyframe{Time{1'000'000'000}, 1, show::kHold}, show::Keyframe{Time{2'000'000'000}, 2, show::kHold}));
}

TEST(Take, AsALayerLiesOverTheShowWhileItLasts) {
  Take take{"take 1", {track_of("jaw", 200, [](double) { return 0.75; }, Time{2'000'000'000})}};
  show::Show made = into_layer(*hand_show(), *hand_rig(), take);
  made = into_layer(made, *hand_rig(), take);
  ASSERT_EQ(made.layers.size(), 2u);
  EXPECT_EQ(made.layers[0]->name, "take 1");
  EXPECT_EQ(made.layers[1]->name, "take 1 (2)");
  const show::Layer& layer = *made.layers[0];
  const show::Channel weight{"", layer.weight_curve};
  EXPECT_EQ(motion::evaluate(weight, Time{1'700'000'000}), 0);
  EXPECT_EQ(motion::evaluate(weight, Time{2'000'000'000}), 1);
  EXPECT_EQ(motion::evaluate(weight, Time{3'900'000'000}), 1);
  EXPECT_EQ(motion::evaluate(weight, Time{4'300'000'000}), 0);
  ASSERT_EQ(layer.channels.size(), 1u);
  EXPECT_EQ(motion::evaluate(*layer.channels[0], Time{3'000'000'000}), 0.75);
  EXPECT_TRUE(into_layer(*hand_show(), *hand_rig(), {}).layers.empty()) << "a take of nothing is no layer";
}

}  // namespace
}  // namespace mien::live
