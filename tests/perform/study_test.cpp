#include "perform/study.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "heads.hpp"
#include "perform/render.hpp"
#include "perform/sync.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using ::testing::HasSubstr;
using std::chrono::milliseconds;

// The limiter arrives up to a tick before the closed form, starts on the tick of the jump, and within 0.1 deg counts as arrived.
constexpr double kArrival_ms = 25;
constexpr int kLid = 0, kJaw = 1, kLip = 2;

struct Found {
  PlanPtr plan;
  Study study;
};
Found found(std::shared_ptr<const show::Rig> rig, const char* control, std::vector<show::Keyframe> keys) {
  auto show = empty_show();
  add_channel(*show, control, std::move(keys));
  Found f{compile(std::move(rig), show), {}};
  f.study = study(*f.plan);
  return f;
}

TEST(Study, HasNothingToSayOfAShowThatTheHeadFollows) {
  const auto f = found(wide_rig(), "open", {{milliseconds(0), 0}, {milliseconds(500), 0}, {milliseconds(1000), 1}, {milliseconds(1500), 1}, {milliseconds(2000), 0}, {milliseconds(4000), 0}});
  EXPECT_TRUE(f.study.shortfalls.empty());
  EXPECT_TRUE(f.study.whole);
  EXPECT_TRUE(study(*compile(wide_rig(), empty_show())).shortfalls.empty());
  EXPECT_TRUE(study(*compile(wide_rig(), empty_show(milliseconds(0)))).shortfalls.empty());
}

// 60 deg at 300 deg/s and 4000 deg/s^2, rest to rest: h/v + v/a = 0.275 s (closed form of the trapezoid).
TEST(Study, SaysHowLateAJumpArrives) {
  const auto f = found(wide_rig(), "open", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1}});
  ASSERT_EQ(f.study.shortfalls.size(), 1u);
  const auto& s = f.study.shortfalls[0];
  EXPECT_EQ(s.cause, Cause::late);
  EXPECT_EQ(s.control, kOpen);
  EXPECT_EQ(s.actuator, kJaw);
  EXPECT_EQ(s.key, milliseconds(1000));
  EXPECT_EQ(s.range.begin, milliseconds(1000));
  EXPECT_NEAR(show::to_seconds(s.range.end), 1.275, 0.02);
  EXPECT_NEAR(s.late_ms, 275, kArrival_ms);
  EXPECT_NEAR(s.off_deg, 60, 1);
  EXPECT_EQ(s.short_deg, 0);
  const auto finding = finding_of(*f.plan, s, "x.show.json");
  EXPECT_THAT(finding.place, HasSubstr("'open', 1 s"));
  EXPECT_THAT(finding.what, HasSubstr("'jaw' can't jump 60 deg"));
  EXPECT_THAT(finding.what, HasSubstr("late"));
  EXPECT_THAT(finding.cure, HasSubstr("ticks earlier"));
}

TEST(Study, SaysHowFarATooShortPeakIsMissed) {
  const auto f = found(wide_rig(), "open", {{milliseconds(1000), 0}, {milliseconds(1060), 1}, {milliseconds(1120), 0}});
  ASSERT_FALSE(f.study.shortfalls.empty());
  const auto& s = f.study.shortfalls[0];
  EXPECT_EQ(s.key, milliseconds(1060));
  EXPECT_EQ(s.given, milliseconds(60));
  EXPECT_NEAR(s.move_deg, 60, 1e-6);
  double most = -30;
  render(*f.plan, [&](const Tick& t) { return most = std::max(most, t.setpoint_deg[kJaw]), true; });
  EXPECT_NEAR(s.short_deg, 30 - most, 2);
  EXPECT_THAT(finding_of(*f.plan, s).what, HasSubstr("short"));
}

TEST(Study, TellsOfAStopThatIsTooAbrupt) {
  // 150 deg/s is within the limits; to stop from it takes v^2 / 2a = 2.8 deg.
  const auto f = found(wide_rig(), "open", {{milliseconds(1000), 0, show::kSmooth}, {milliseconds(1400), 1, show::kLinear}, {milliseconds(3000), 1, show::kLinear}});
  ASSERT_FALSE(f.study.shortfalls.empty());
  const auto& s = f.study.shortfalls.back();
  EXPECT_EQ(s.key, milliseconds(1400));
  EXPECT_TRUE(s.past);
  EXPECT_NEAR(s.off_deg, 150.0 * 150 / 8000, 1);
}

TEST(Study, TellsOfAReachBeyondTheTravel) {
  auto rig = small_rig();
  rig->mappings[1].axes[0].terms[0].weight = 47;  // travel ends at 40
  const auto f = found(rig, "open", {{milliseconds(0), 0}, {milliseconds(1000), 1}, {milliseconds(2000), 1}, {milliseconds(3000), 0}});
  ASSERT_EQ(f.study.shortfalls.size(), 1u);
  const auto& s = f.study.shortfalls[0];
  EXPECT_EQ(s.cause, Cause::clipped);
  EXPECT_NEAR(s.off_deg, 7, 1e-6);
  EXPECT_EQ(s.control, kOpen);
  EXPECT_TRUE(s.range.contains(milliseconds(1500)));
  EXPECT_THAT(finding_of(*f.plan, s).what, HasSubstr("7 deg beyond its travel of -40 to 40 deg"));
}

TEST(Study, NamesTheKeyNextToTheTickThatReachesFarthestOut) {
  auto rig = small_rig();
  rig->mappings[1].axes[0].terms[0].weight = 47;  // travel ends at 40
  // Out before the first key, at two that lie as near to a tick, a little after a tick, a little before one, and at the last.
  const auto f = found(rig, "open", {{milliseconds(300), 1}, {milliseconds(800), 0}, {milliseconds(1295), 1}, {milliseconds(1305), 1}, {milliseconds(1800), 0},
                                     {milliseconds(2202), 1}, {milliseconds(2600), 0}, {milliseconds(2998), 1}, {milliseconds(3400), 0}, {milliseconds(3801), 1}});
  std::vector<show::Time> keys;
  for (const auto& s : f.study.shortfalls)
    if (s.cause == Cause::clipped) keys.push_back(s.key);
  EXPECT_EQ(keys, (std::vector<show::Time>{milliseconds(300), milliseconds(1295), milliseconds(2202), milliseconds(2998), milliseconds(3801)}));
}

TEST(Study, AllowsWhatTheRigTolerates) {
  const std::vector<show::Keyframe> step{{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 0.1}};  // 6 deg
  EXPECT_EQ(found(wide_rig(), "open", step).study.shortfalls.size(), 1u);
  auto in_degrees = wide_rig();
  in_degrees->tolerance_deg = 6.5;
  EXPECT_TRUE(found(in_degrees, "open", step).study.shortfalls.empty());
  auto in_time = wide_rig();
  in_time->tolerance_ms = 80;  // it takes sqrt(4 * 6 / 4000) = 77 ms
  EXPECT_TRUE(found(in_time, "open", step).study.shortfalls.empty());
}

TEST(Study, BlamesTheChannelThatMoves) {
  auto show = empty_show();
  add_channel(*show, "smile", {{milliseconds(0), 0}, {milliseconds(4000), 1}});
  add_channel(*show, "open", {{milliseconds(0), 0, show::kHold}, {milliseconds(2000), 1}});
  const auto plan = compile(small_rig(), show);
  const auto result = study(*plan);
  ASSERT_EQ(result.shortfalls.size(), 2u);  // jaw and lip
  EXPECT_EQ(result.of(kOpen).size(), 2u);
  EXPECT_EQ(result.of(kBlink).size(), 0u);
  EXPECT_EQ(result.of(-1).size(), 0u);
  EXPECT_EQ(result.shortfalls[1].actuator, kLip);
}

TEST(Study, TellsWhatAConstraintHoldsBack) {
  auto rig = wide_rig();
  rig->constraints = {{"jaw and lip share their skin", {{"jaw", -1}, {"lip", -1}}, -10}};
  const auto f = found(rig, "open", {{milliseconds(0), 0}, {milliseconds(500), 0}, {milliseconds(1000), 1}, {milliseconds(1500), 1}, {milliseconds(2000), 0}, {milliseconds(4000), 0}});
  ASSERT_EQ(f.study.shortfalls.size(), 2u);  // 20 deg too much, shared by the two
  for (const auto& s : f.study.shortfalls) {
    EXPECT_EQ(s.cause, Cause::braked);
    EXPECT_EQ(s.control, s.actuator == kJaw ? kOpen : -1);  // nothing asks the lip to give way but the constraint
    EXPECT_NEAR(s.off_deg, 10, 0.05);
  }
}

// Both ends are allowed, and so is all that lies between on the curves; but two servos that rush at each other must brake early.
TEST(Study, TellsWhatIsBrakedOnItsWay) {
  auto rig = wide_rig();
  rig->mappings[2].axes[0].terms = {{"smile", 30}};
  for (auto& a : rig->actuators) a.acceleration_deg_s2 = 900;
  rig->constraints = {{"jaw and lip share their skin", {{"jaw", -1}, {"lip", -1}}, -30.5}};
  auto show = empty_show();
  // The jaw comes up, on a curve that it can just follow, while the lip makes room at the last moment.
  add_channel(*show, "open", {{milliseconds(0), 0}, {milliseconds(500), 0, show::kEaseInOut}, {milliseconds(1300), 1}, {milliseconds(4000), 1}});
  add_channel(*show, "smile", {{milliseconds(0), 1}, {milliseconds(900), 1, show::kEaseInOut}, {milliseconds(1500), 0}, {milliseconds(4000), 0}});
  const auto plan = compile(rig, show);
  int held = 0;
  render(*plan, [&](const Tick& t) { return held += std::count(t.held.begin(), t.held.end(), Held::for_constraint) > 0, true; });
  EXPECT_GT(held, 0);
  const auto result = study(*plan);
  EXPECT_TRUE(std::any_of(result.shortfalls.begin(), result.shortfalls.end(), [](const Shortfall& s) { return s.cause == Cause::braked; }));
  rig->constraints.clear();
  for (const auto& s : study(*compile(rig, show)).shortfalls) EXPECT_NE(s.cause, Cause::braked);
}

// A blink that rides on top, a jaw behind a rod, eyes that are derived of the gaze: each is told by the control that asked.
TEST(Study, BlamesThroughClosingsLinkagesAndEyes) {
  auto rig = small_rig();
  rig->controls.insert(rig->controls.end(), {{"yaw", "eyes", "deg", -30, 30, 0}, {"pitch", "eyes", "deg", -30, 30, 0}, {"far", "eyes", "mm", 200, 5000, 5000}});
  rig->gaze = show::Gaze{"yaw", "pitch", "far"};
  rig->mappings[0].axes[0] = {"lid_upper", 20, {}, show::Closing{"blink", -30}};
  rig->mappings[1] = {{{"jaw_open", 0, {{"open", 7}}}}, show::SliderCrank{12, 40, 0, false, -90}, {"jaw"}};
  rig->mappings[2].axes[0] = {"eye_yaw_left", 0, {{"eye_left", 1}}};
  const std::vector<show::Keyframe> jump{{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1}};
  for (const auto& [control, actuator] : {std::pair{"blink", kLid}, std::pair{"open", kJaw}}) {
    const auto f = found(rig, control, jump);
    ASSERT_FALSE(f.study.shortfalls.empty()) << control;
    for (const auto& s : f.study.shortfalls) EXPECT_EQ(std::pair(s.control, s.actuator), std::pair(control_index(*rig, control), actuator)) << control;
    EXPECT_NEAR(f.study.shortfalls[0].move_deg, f.plan->map->influences[actuator == kLid ? 0 : 1].deg_per_unit, 1e-9);
  }
  const auto f = found(rig, "far", {{milliseconds(0), 5000, show::kHold}, {milliseconds(1000), 200}});
  ASSERT_EQ(f.study.shortfalls.size(), 1u);
  EXPECT_EQ(f.study.shortfalls[0].control, control_index(*rig, "far"));
  EXPECT_NEAR(f.study.shortfalls[0].move_deg, -8.95 + 0.36, 0.01);  // atan(31.5 / 200) - atan(31.5 / 5000)
}

TEST(Study, StopsWhenItIsTold) {
  const auto plan = compile(small_rig(), empty_show(std::chrono::seconds(60)));
  int asked = 0;
  EXPECT_FALSE(study(*plan, {}, [&] { return ++asked < 3; }).whole);
  EXPECT_EQ(asked, 3);
}

std::vector<show::Keyframe> random_keys(std::mt19937& random, show::Time shortest, show::Time longest) {
  const show::Easing easings[] = {show::kSmooth, show::kLinear, show::kHold, show::kEaseInOut};
  std::vector<show::Keyframe> keys;
  std::uniform_int_distribution<std::int64_t> gap(shortest.count(), longest.count());
  std::uniform_real_distribution<double> value(0, 1);
  for (show::Time t{0}; t < std::chrono::seconds(4); t += show::Time{gap(random)}) keys.push_back({t, value(random), easings[random() % 4]});
  return keys;
}

// The brute-force twin: all ticks kept, the tube looked at from every one of them.
TEST(Study, FindsWhatABruteForceLookFindsAndNothingElse) {
  std::mt19937 random(11);
  for (int round = 0; round < 60; ++round) {
    auto show = empty_show();
    for (const char* control : {"open", "blink", "smile"}) add_channel(*show, control, random_keys(random, milliseconds(60), milliseconds(900)));
    const auto plan = compile(wide_rig(), show);
    std::vector<Tick> ticks;
    render(*plan, [&](const Tick& t) { return ticks.push_back(t), true; });
    const auto result = study(*plan);
    for (int a = 0; a < 3; ++a) {
      const auto i = static_cast<std::size_t>(a);
      const auto target = [&](std::size_t n) { return std::clamp(ticks[n].target_deg[i], -40.0, 40.0); };
      for (std::size_t n = 0; n < ticks.size(); ++n) {
        double target_off = 1e9, setpoint_off = 1e9, t_low = 1e9, t_high = -1e9, s_low = 1e9, s_high = -1e9;
        for (std::size_t m = n < 2 ? 0 : n - 2; m <= std::min(n + 2, ticks.size() - 1); ++m) {
          t_low = std::min(t_low, target(m)), t_high = std::max(t_high, target(m));
          s_low = std::min(s_low, ticks[m].setpoint_deg[i]), s_high = std::max(s_high, ticks[m].setpoint_deg[i]);
        }
        target_off = std::max(s_low - target(n), target(n) - s_high);
        setpoint_off = std::max(t_low - ticks[n].setpoint_deg[i], ticks[n].setpoint_deg[i] - t_high);
        const double off = std::max(target_off, setpoint_off);
        const auto covers = [&](const Shortfall& s) { return s.actuator == a && s.cause == Cause::late && s.range.contains(ticks[n].time); };
        const bool covered = std::any_of(result.shortfalls.begin(), result.shortfalls.end(), covers);
        if (off > 1 + 1e-9) { EXPECT_TRUE(covered) << a << " at " << n << " is off by " << off; }
        if (std::abs(target(n) - ticks[n].setpoint_deg[i]) < 0.1 - 1e-9) { EXPECT_FALSE(covered) << a << " at " << n; }
      }
    }
    for (const auto& s : result.shortfalls) {
      EXPECT_GT(s.off_deg, 1);
      EXPECT_FALSE(s.range.empty());
      ASSERT_GE(s.control, 0);
      const auto& keys = plan->channel_of[static_cast<std::size_t>(s.control)]->keys;
      EXPECT_TRUE(std::any_of(keys.begin(), keys.end(), [&](const auto& key) { return key.time == s.key; }));
    }
  }
}

TEST(Study, OfAPartFindsWhatTheWholeFindsThere) {
  std::mt19937 random(12);
  for (int round = 0; round < 30; ++round) {
    auto show = empty_show();
    add_channel(*show, "open", {{milliseconds(0), 0, show::kHold}, {milliseconds(500), 0.5}, {milliseconds(1200), 0.5}, {milliseconds(1250), 1}, {milliseconds(3000), 1}});
    const auto plan = compile(wide_rig(), show);
    const auto part = study(*plan, show::Range{milliseconds(1000 + random() % 100), milliseconds(2000 + random() % 500)}), whole = study(*plan);
    ASSERT_EQ(whole.shortfalls.size(), 2u);
    ASSERT_EQ(part.shortfalls.size(), 1u);
    EXPECT_EQ(part.shortfalls[0], whole.shortfalls[1]);
  }
}

// ITU-R BT.1359-1: noticed from 45 ms of early sound on; accepted up to 90 ms.
TEST(Sync, FindsAClosureThatIsSeenTooLate) {
  const auto f = found(small_rig(), "blink", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1}});  // 50 deg: h/v + v/a = 242 ms
  const auto of_blink = f.study.of(kBlink);
  ASSERT_EQ(of_blink.size(), 2u);
  const auto& s = of_blink[of_blink[0].cause == Cause::late];
  EXPECT_EQ(s.cause, Cause::out_of_sync);
  EXPECT_EQ(s.actuator, kLid);
  EXPECT_NEAR(s.late_ms, 242, kArrival_ms);
  EXPECT_THAT(finding_of(*f.plan, s).what, HasSubstr("BT.1359"));
}

TEST(Study, TellsOfAClosingThatIsOutsideTheTravel) {
  auto rig = small_rig();
  rig->mappings[0].axes[0] = {"lid_upper", 20, {}, show::Closing{"blink", -45}};  // travel ends at -40
  const auto f = found(rig, "blink", {{milliseconds(0), 0}, {milliseconds(1500), 1}, {milliseconds(2500), 1}, {milliseconds(4000), 0}});
  ASSERT_EQ(f.study.shortfalls.size(), 1u);
  EXPECT_EQ(f.study.shortfalls[0].cause, Cause::clipped);
  EXPECT_EQ(f.study.shortfalls[0].control, kBlink);
  EXPECT_EQ(f.study.shortfalls[0].actuator, kLid);
  EXPECT_NEAR(f.study.shortfalls[0].off_deg, 5, 1e-6);
}

TEST(Sync, KnowsABlinkThatRidesOnTop) {
  auto rig = small_rig();
  rig->mappings[0].axes[0] = {"lid_upper", 20, {}, show::Closing{"blink", -30}};
  const auto f = found(rig, "blink", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1}});
  EXPECT_TRUE(std::any_of(f.study.shortfalls.begin(), f.study.shortfalls.end(), [](const auto& s) { return s.cause == Cause::out_of_sync; }));
}

TEST(Sync, LetsPassWhatGoesUnnoticed) {
  auto rig = small_rig();
  const std::vector<show::Keyframe> soft{{milliseconds(0), 0}, {milliseconds(600), 1}, {milliseconds(1500), 0}};
  rig->link_latency_ms = 30;  // is led by as much
  for (auto& a : rig->actuators) a.servo_response_ms = 60;
  EXPECT_TRUE(found(rig, "blink", soft).study.shortfalls.empty());
  EXPECT_EQ(motion_lead(*rig), milliseconds(90));
  EXPECT_EQ(compile(rig, empty_show())->lead, milliseconds(90));
  rig->actuators[kJaw].servo_response_ms = 0;  // the head's one lead is now 60 ms: the lid is seen 30 ms late
  EXPECT_TRUE(found(rig, "blink", soft).study.shortfalls.empty());
  rig->actuators[kLid].servo_response_ms = 160;  // 110 ms lead, seen 80 ms late
  const auto f = found(rig, "blink", soft);
  ASSERT_EQ(f.study.shortfalls.size(), 1u);
  EXPECT_NEAR(f.study.shortfalls[0].late_ms, 80, 1e-6);
  rig->actuators[kLid].servo_response_ms = 0, rig->actuators[kJaw].servo_response_ms = 300;  // seen 150 ms early
  ASSERT_EQ(found(rig, "blink", soft).study.shortfalls.size(), 1u);
  EXPECT_NEAR(found(rig, "blink", soft).study.shortfalls[0].late_ms, -150, 1e-6);
}

// A closure of a layer is judged as the show's own is, and named by its layer; one that a layer covers is none.
TEST(Sync, SeesClosuresOfLayersAndOfClips) {
  const std::vector<show::Keyframe> hasty{{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1}};
  const auto blink = std::make_shared<const show::Channel>(show::Channel{"blink", hasty});
  const auto late = [](const show::Show& show) {
    std::vector<Shortfall> found;
    const auto plan = compile(small_rig(), std::make_shared<const show::Show>(show));
    for (const auto& s : study(*plan).shortfalls)
      if (s.cause == Cause::out_of_sync) found.push_back(s);
    return std::pair{found, plan};
  };
  auto show = *empty_show();
  show::Layer layer;
  layer.name = "lids", layer.channels = {blink};
  show.layers = {std::make_shared<const show::Layer>(layer)};
  const auto [own, plan] = late(show);
  ASSERT_EQ(own.size(), 1u);
  EXPECT_EQ(own[0].layer, 0);
  EXPECT_EQ(own[0].control, -1);
  EXPECT_EQ(own[0].actuator, kLid);
  EXPECT_NEAR(own[0].late_ms, 242, 25);  // as long as the same key of the show's own takes (above); here until setpoint and target meet
  EXPECT_THAT(finding_of(*plan, own[0]).place, HasSubstr("layer 'lids', 1 s"));

  auto placed = *empty_show();
  placed.clips = {std::make_shared<const show::Clip>(show::Clip{"shut", milliseconds(2000), {blink}})};
  show::Layer with_clip;
  with_clip.name = "lids";
  show::Placement placement;
  placement.clip = "shut", placement.start = milliseconds(500), placement.rate = 2, placement.repeats = 2;
  with_clip.placements = {placement};
  placed.layers = {std::make_shared<const show::Layer>(with_clip)};
  const auto twice = late(placed).first;
  ASSERT_EQ(twice.size(), 2u);
  EXPECT_EQ(twice[0].key, milliseconds(1000));
  EXPECT_EQ(twice[1].key, milliseconds(2000));

  layer.channels = {std::make_shared<const show::Channel>(show::Channel{"blink", {{milliseconds(0), 0}}})};
  auto covered = *empty_show();
  covered.channels = {blink}, covered.layers = {std::make_shared<const show::Layer>(layer)};
  EXPECT_TRUE(late(covered).first.empty());
  layer.weight = 0.5, layer.channels = {blink};  // half shut is not shut
  covered.channels.clear(), covered.layers = {std::make_shared<const show::Layer>(layer)};
  EXPECT_TRUE(late(covered).first.empty());
}

}  // namespace
}  // namespace mien::perform
