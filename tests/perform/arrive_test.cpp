#include "perform/arrive.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <random>

#include "heads.hpp"
#include "perform/render.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using std::chrono::milliseconds;
using Keys = std::vector<show::Keyframe>;

PlanPtr plan_of(const char* control, Keys keys, std::shared_ptr<const show::Rig> rig = wide_rig()) {
  auto show = empty_show();
  add_channel(*show, control, std::move(keys));
  return compile(std::move(rig), show);
}

Arrival arrive(const PlanPtr& plan) { return make_it_arrive(plan, study(*plan)); }
const Keys& keys_of(const show::Show& show, const char* control) { return show::find_channel(show, control)->keys; }

double setpoint_at(const Plan& plan, const show::Show& show, int actuator, show::Time t) {
  double at = 0;
  const auto changed = compile(plan.rig, std::make_shared<show::Show>(show));
  render(*changed, [&](const Tick& tick) { return at = tick.setpoint_deg[static_cast<std::size_t>(actuator)], tick.time < t; });
  return at;
}

TEST(MakeItArrive, LeavesAShowAloneThatArrives) {
  const auto plan = plan_of("open", {{milliseconds(0), 0}, {milliseconds(500), 0}, {milliseconds(1000), 1}, {milliseconds(2000), 0}, {milliseconds(4000), 0}});
  const auto done = arrive(plan);
  EXPECT_TRUE(done.changes.empty());
  EXPECT_EQ(done.show.channels[0], plan->show->channels[0]);  // shared, not merely equal
}

// 60 deg at 300 deg/s and 4000 deg/s^2 take 0.275 s (trapezoid). An eased move within 1 deg or 20 ms of one that the servo makes can't be
// shorter than that less twice the tolerance, and a smooth one with a peak velocity of 1.72 times its mean is never longer than 0.345 s.
TEST(MakeItArrive, StartsAJumpEarlierByWhatTheClosedFormAsksFor) {
  const auto plan = plan_of("open", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1, show::kHold}});
  const auto done = arrive(plan);
  ASSERT_EQ(done.changes.size(), 1u);
  EXPECT_EQ(done.changes[0].remedy, Remedy::earlier);
  EXPECT_GE(done.changes[0].amount, 275 - 40);
  EXPECT_LE(done.changes[0].amount, 345);
  EXPECT_TRUE(done.study.shortfalls.empty());
  const auto& keys = keys_of(done.show, "open");
  ASSERT_EQ(keys.size(), 3u);
  EXPECT_EQ(keys[0], (show::Keyframe{milliseconds(0), 0, show::kHold}));
  EXPECT_EQ(keys[1].value, 0);
  EXPECT_EQ(keys[2], (show::Keyframe{milliseconds(1000), 1, show::kHold}));
  EXPECT_NEAR(setpoint_at(*plan, done.show, 1, milliseconds(1020)), 30, 1);
  EXPECT_THAT(to_text(*plan, done.changes[0]), HasSubstr("channel 'open', 1 s: the move to it starts"));
}

TEST(MakeItArrive, TakesTheLeastThatDoes) {
  const auto plan = plan_of("open", {{milliseconds(0), 0}, {milliseconds(900), 0}, {milliseconds(1000), 1}, {milliseconds(3000), 1}});
  const auto done = arrive(plan);
  ASSERT_EQ(done.changes.size(), 1u);
  EXPECT_TRUE(done.study.shortfalls.empty());
  Keys keys = keys_of(done.show, "open");
  EXPECT_EQ(keys[2], (show::Keyframe{milliseconds(1000), 1}));
  keys[1].time += milliseconds(10);  // a tick less is not enough
  EXPECT_FALSE(study(*plan_of("open", keys)).shortfalls.empty());
}

TEST(MakeItArrive, StaysBetweenTheNeighboursAndReachesLessWhereThereIsNoRoom) {
  const auto plan = plan_of("open", {{milliseconds(0), 0.6}, {milliseconds(880), 0}, {milliseconds(1000), 0}, {milliseconds(1050), 1}, {milliseconds(3000), 1}});
  const auto done = arrive(plan);
  EXPECT_TRUE(done.study.shortfalls.empty());
  const auto& keys = keys_of(done.show, "open");
  ASSERT_EQ(keys.size(), 5u);
  EXPECT_EQ(keys[1], (show::Keyframe{milliseconds(880), 0}));
  EXPECT_GT(keys[2].time, keys[1].time);
  EXPECT_EQ(keys[3].time, milliseconds(1050));
  EXPECT_LT(keys[3].value, 1);
  EXPECT_GT(keys[3].value, 0.2);
  EXPECT_EQ(keys[4].value, keys[3].value);  // what stood stands
  EXPECT_EQ(done.changes.back().remedy, Remedy::less);
}

TEST(MakeItArrive, LetsABlinkOpenLaterRatherThanCloseLess) {
  const auto plan = plan_of("blink", {{milliseconds(1000), 0}, {milliseconds(1040), 1}, {milliseconds(1080), 0}, {milliseconds(3000), 0}}, small_rig());
  const auto done = arrive(plan);
  EXPECT_TRUE(done.study.shortfalls.empty());
  const auto& keys = keys_of(done.show, "blink");
  ASSERT_EQ(keys.size(), 4u);
  EXPECT_EQ(keys[1], (show::Keyframe{milliseconds(1040), 1}));
  EXPECT_LT(keys[0].time, milliseconds(1000));
  EXPECT_GT(keys[2].time, milliseconds(1080));
  EXPECT_EQ(keys[2].value, 0);
}

TEST(MakeItArrive, EasesAStopThatIsTooAbruptWithoutMovingAKey) {
  const auto plan = plan_of("open", {{milliseconds(1000), 0, show::kLinear}, {milliseconds(1400), 1, show::kLinear}, {milliseconds(3000), 1, show::kLinear}});
  ASSERT_FALSE(study(*plan).shortfalls.empty());
  const auto done = arrive(plan);
  EXPECT_TRUE(done.study.shortfalls.empty());
  ASSERT_EQ(done.changes.size(), 1u);
  EXPECT_EQ(done.changes[0].remedy, Remedy::eased);
  EXPECT_THAT(keys_of(done.show, "open"), ElementsAre(show::Keyframe{milliseconds(1000), 0, show::kEaseInOut}, show::Keyframe{milliseconds(1400), 1, show::kLinear}, show::Keyframe{milliseconds(3000), 1, show::kLinear}));
}

TEST(MakeItArrive, DrawsAReachInToTheTravel) {
  auto rig = small_rig();
  rig->mappings[1].axes[0].terms[0].weight = 47;  // travel ends at 40; 1 deg is tolerated
  const auto done = arrive(plan_of("open", {{milliseconds(0), 0}, {milliseconds(1000), 1}, {milliseconds(2000), 1}, {milliseconds(3000), 0}}, rig));
  EXPECT_TRUE(done.study.shortfalls.empty());
  const auto& keys = keys_of(done.show, "open");
  EXPECT_NEAR(keys[1].value, 41.0 / 47, 0.002);
  EXPECT_EQ(keys[1].value, keys[2].value);
}

TEST(MakeItArrive, MendsOneFindingAndLeavesTheOthers) {
  const auto plan = plan_of("open", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1, show::kHold}, {milliseconds(2500), 0, show::kHold}});
  const auto found = study(*plan);
  ASSERT_EQ(found.shortfalls.size(), 2u);
  const auto done = make_it_arrive(plan, found, 1);
  ASSERT_EQ(done.study.shortfalls.size(), 1u);
  EXPECT_EQ(done.study.shortfalls[0], found.shortfalls[0]);
  EXPECT_TRUE(make_it_arrive(plan, found, 7).changes.empty());
}

TEST(MakeItArrive, StopsWhenItIsTold) {
  const auto plan = plan_of("open", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1, show::kHold}});
  const auto done = make_it_arrive(plan, study(*plan), {}, [](double) { return false; });
  EXPECT_TRUE(done.stopped);
  EXPECT_TRUE(done.changes.empty());
}

// Shows at random, far too fast. What must hold of each: nothing is left to find, keys rise in time and stay in the show, values in the
// range of the control, channels without a finding are the same objects.
TEST(MakeItArrive, CleansRandomShowsThatAreTooFast) {
  std::mt19937 random(5);
  const show::Easing easings[] = {show::kSmooth, show::kLinear, show::kHold, show::kEaseIn};
  std::uniform_real_distribution<double> value(0, 1);
  int findings = 0;
  const int rounds = std::getenv("MIEN_ROUNDS") ? std::atoi(std::getenv("MIEN_ROUNDS")) : 25;
  for (int round = 0; round < rounds; ++round) {
    auto show = empty_show();
    for (const char* control : {"open", "blink", "smile"}) {
      Keys keys;
      for (show::Time t{milliseconds(random() % 500)}; t < show->length; t += milliseconds(20 + random() % 500)) {
        keys.push_back({t, random() % 3 && !keys.empty() ? keys.back().value : value(random), easings[random() % 4]});
      }
      add_channel(*show, control, std::move(keys));
    }
    const auto plan = compile(wide_rig(), show);
    const auto found = study(*plan);
    const auto done = make_it_arrive(plan, found);
    findings += static_cast<int>(found.shortfalls.size());
    for (const auto& s : done.study.shortfalls) {
      if (s.cause != Cause::out_of_sync) ADD_FAILURE() << "round " << round << ": " << to_text(finding_of(*plan, s));
    }
    ASSERT_EQ(done.show.channels.size(), show->channels.size());
    for (std::size_t c = 0; c < show->channels.size(); ++c) {
      const auto& keys = done.show.channels[c]->keys;
      for (std::size_t k = 0; k < keys.size(); ++k) {
        if (k) { ASSERT_LT(keys[k - 1].time, keys[k].time); }
        ASSERT_TRUE(keys[k].time >= show::Time{0} && keys[k].time <= show->length);
        ASSERT_TRUE(keys[k].value >= 0 && keys[k].value <= 1);
      }
      const bool fine = std::none_of(done.changes.begin(), done.changes.end(), [&](const Change& change) { return plan->channel_of[static_cast<std::size_t>(change.control)] == show->channels[c].get(); });
      if (fine) { EXPECT_EQ(done.show.channels[c], show->channels[c]); }
    }
  }
  EXPECT_GT(findings, 80);
}

// The jaw asks for 20 deg more than it and the lip may have together: it reaches less far; nothing asked the lip, so nothing there is changed.
TEST(MakeItArrive, ReachesLessFarWhereAConstraintHoldsAndFlattensNothing) {
  auto rig = wide_rig();
  rig->constraints = {{"jaw and lip share their skin", {{"jaw", -1}, {"lip", -1}}, -10}};
  const auto plan = plan_of("open", {{milliseconds(0), 0}, {milliseconds(500), 0}, {milliseconds(1000), 1}, {milliseconds(1500), 1}, {milliseconds(2000), 0}, {milliseconds(4000), 0}}, rig);
  ASSERT_FALSE(study(*plan).shortfalls.empty());
  const auto done = arrive(plan);
  const auto& keys = keys_of(done.show, "open");
  ASSERT_EQ(keys.size(), 6u);
  EXPECT_LT(keys[2].value, 1);
  EXPECT_GT(keys[2].value, 0.6) << "(10 + 30) / 60 is allowed";
  EXPECT_EQ(keys[0].value, 0);
  EXPECT_TRUE(done.study.shortfalls.empty());
}

}  // namespace
}  // namespace mien::perform
