// Hands within the tick: over the show, through the limiter, on the performing thread.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <functional>
#include <random>
#include <thread>

#include "heads.hpp"
#include "perform/performer.hpp"
#include "perform/render.hpp"
#include "support/eventually.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using std::chrono::milliseconds;
using std::chrono::seconds;
using support::eventually;

live::Touch controller(int number, int value, show::Time at = show::Time{0}) {
  live::Touch touch;
  touch.at_ns = at.count();
  touch.midi = {live::MidiMessage::Kind::controller, 0, static_cast<std::uint8_t>(number), static_cast<std::uint16_t>(value), {}};
  return touch;
}

live::HandMap fader_map() {
  live::HandMap map;
  map.name = "desk";
  map.fade_s = 0.2;
  map.knobs = {{.source = {"", 0, live::Source::Kind::controller, 7}, .control = "open", .takeover = live::Takeover::scaled}};
  return map;
}

PlanPtr plan_with(const live::HandMap& map, std::shared_ptr<const show::Rig> rig, show::ShowPtr show) { return compile(rig, show, nullptr, live::compile(map, rig, show, {})); }

TEST(HandsInTheTick, LieOverTheShow_AndTheLimiterHasItsSay) {
  const auto rig = small_rig();
  const auto show = empty_show(seconds(4));
  add_channel(*show, "open", {{seconds(0), 0.2, show::kLinear}, {seconds(4), 0.2, show::kLinear}});
  const auto plan = plan_with(fader_map(), rig, show);
  const std::vector<live::Touch> touches{controller(7, 0, seconds(1)), controller(7, 127, seconds(2)), controller(7, 127, milliseconds(3990))};
  const motion::Limits& limits = plan->limits;
  std::array<double, 3> before{}, step{};
  std::int64_t n = 0;
  EXPECT_TRUE(render(*plan, show::Time{0}, touches, [&](const Tick& tick) {
    const double open = tick.control[1];
    EXPECT_EQ(open, tick.time < seconds(2) ? 0.2 : 1) << "the first touch says only where the fader is; then the whole way of it at once";
    for (std::size_t a = 0; a < 3; ++a) {
      const double now = n ? tick.setpoint_deg[a] - before[a] : 0;
      if (n) { EXPECT_LE(std::abs(now), limits.step_deg[a] * (1 + 1e-9)); }
      if (n > 1) { EXPECT_LE(std::abs(now - step[a]), rig->actuators[a].acceleration_deg_s2 * 1e-4 * (1 + 1e-6)) << "acceleration, at " << show::to_seconds(tick.time); }
      step[a] = now, before[a] = tick.setpoint_deg[a];
    }
    ++n;
    return true;
  }));
  EXPECT_NEAR(before[1], 30, 1e-6) << "and the jaw arrives";
}

TEST(HandsInTheTick, NoMapMeansTheSameBitsAsNoHands) {
  const auto rig = small_rig();
  const auto show = empty_show(seconds(2));
  add_channel(*show, "open", {{seconds(0), 0, show::kSmooth}, {seconds(1), 1, show::kSmooth}});
  std::vector<double> with, without;
  render(*plan_with(fader_map(), rig, show), [&](const Tick& t) { return with.push_back(t.setpoint_deg[1]), true; });
  render(*compile(rig, show), [&](const Tick& t) { return without.push_back(t.setpoint_deg[1]), true; });
  EXPECT_EQ(with, without);
}

// Random touches of everything at once, ten a tick, for a simulated minute: no setpoint leaves its travel or steps further than its limit.
TEST(HandsInTheTick, AFloodBreaksNoLimit) {
  const auto rig = small_rig();
  const auto show = empty_show(seconds(60));
  live::HandMap map = fader_map();
  map.knobs.push_back({.source = {"", 0, live::Source::Kind::bend, 0}, .control = "smile", .low = -1, .high = 1, .spring_back_s = 0.05});
  map.knobs.push_back({.source = {"", 0, live::Source::Kind::controller, 8}, .control = "blink"});
  const auto plan = plan_with(map, rig, show);
  std::mt19937 random(8);
  std::vector<live::Touch> touches;
  for (int n = 0; n < 60'000; ++n) {
    touches.push_back(controller(random() % 2 ? 7 : 8, int(random() % 128), milliseconds(n)));
    if (random() % 2) touches.back().midi.kind = live::MidiMessage::Kind::bend, touches.back().midi.value = std::uint16_t(random() % 16384);
  }
  std::array<double, 3> before{};
  bool first = true;
  render(*plan, show::Time{0}, touches, [&](const Tick& tick) {
    for (std::size_t a = 0; a < 3; ++a) {
      EXPECT_GE(tick.setpoint_deg[a], rig->actuators[a].min_deg);
      EXPECT_LE(tick.setpoint_deg[a], rig->actuators[a].max_deg);
      if (!first) { EXPECT_LE(std::abs(tick.setpoint_deg[a] - before[a]), plan->limits.step_deg[a] * (1 + 1e-9)); }
      before[a] = tick.setpoint_deg[a];
    }
    first = false;
    return !::testing::Test::HasFailure();
  });
}

TEST(HandsOnThePerformer, AreHeardThroughTheInlet_KeptOverANewSnapshot_AndGiveBackInPanic) {
  const auto rig = small_rig();
  live::Inlet inlet;
  Performer performer(nullptr, nullptr, &inlet);
  performer.publish(compile(rig, empty_show(seconds(60))));
  inlet.push(controller(9, 3));
  ASSERT_TRUE(eventually([&] { return performer.latest().hands.heard == 1; })) << "heard without a map, too: for learning";
  EXPECT_EQ(performer.latest().hands.last.midi.number, 9);
  EXPECT_FALSE(performer.latest().hands.there);

  performer.publish(plan_with(fader_map(), rig, empty_show(seconds(60))));
  ASSERT_TRUE(eventually([&] { return performer.latest().hands.there; }));
  inlet.push(controller(7, 0));
  ASSERT_TRUE(eventually([&] { return performer.latest().hands.grip[0] == live::Grip::held; }));
  inlet.push(controller(7, 127));
  ASSERT_TRUE(eventually([&] { return performer.latest().control[1] == 1; }));
  EXPECT_TRUE(performer.latest().hands.touched[1]);
  performer.publish(plan_with(fader_map(), rig, empty_show(seconds(61))));
  for (int n = 0; n < 20; ++n) {
    EXPECT_EQ(performer.latest().control[1], 1) << "an edit of the show leaves the hands where they are";
    std::this_thread::sleep_for(milliseconds(5));
  }
  performer.give(1, false);
  ASSERT_TRUE(eventually([&] { return performer.latest().control[1] == 0; }));
  performer.give(1, true);
  ASSERT_TRUE(eventually([&] { return performer.latest().control[1] == 1; }));
  performer.panic();
  ASSERT_TRUE(eventually([&] { return performer.latest().control[1] == 0; }));
  EXPECT_EQ(performer.latest().hands.grip[0], live::Grip::waiting);
}

TEST(HandsOnThePerformer, ARecordingTellsWhatWasPlayed_AtTheMomentThatWasMeant) {
  const auto rig = small_rig();
  live::Inlet inlet;
  Performer performer(nullptr, nullptr, &inlet);
  const auto plan = plan_with(fader_map(), rig, empty_show(seconds(60)));
  performer.publish(plan);
  inlet.push(controller(7, 0));
  performer.record(true);
  performer.play();
  live::Takes takes(*plan->hands);
  const auto wind = [&] {
    for (live::TakeTick tick; performer.take(tick);) takes.add(tick);
  };
  ASSERT_TRUE(eventually([&] { return wind(), performer.latest().time > milliseconds(200); }));
  const show::Time meant = performer.latest().time - milliseconds(20);  // what was heard just now: the newest tick is a latch lead ahead
  inlet.push(controller(7, 127));
  ASSERT_TRUE(eventually([&] { return wind(), performer.latest().time > milliseconds(600); }));
  performer.record(false);
  performer.pause();
  ASSERT_TRUE(eventually([&] { return !performer.latest().playing; }));
  wind();
  EXPECT_FALSE(performer.latest().hands.recording);
  const auto all = takes.takes();
  ASSERT_EQ(all.size(), 1u);
  ASSERT_EQ(all[0].tracks.size(), 1u);
  const live::Track& track = all[0].tracks[0];
  const auto jump = std::find_if(track.samples.begin(), track.samples.end(), [](const auto& s) { return s.value == 1; });
  ASSERT_NE(jump, track.samples.end());
  EXPECT_GE(jump->time, meant - milliseconds(15)) << "never earlier than meant, but for half a tick and the window's look at the clock";
  for (auto s = track.samples.begin(); s + 1 != track.samples.end(); ++s) ASSERT_LT(s->time, (s + 1)->time);
  EXPECT_EQ(track.samples.back().value, 1);
}

}  // namespace
}  // namespace mien::perform
