#include "perform/tick.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "heads.hpp"
#include "perform/render.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using std::chrono::milliseconds;

TEST(Tick, TellsTheStoryFromCurveToSetpoint) {
  auto show = empty_show();
  add_channel(*show, "open", {{milliseconds(0), 0, show::kLinear}, {milliseconds(1000), 1, show::kLinear}});
  add_channel(*show, "smile", {{milliseconds(0), 0.5, show::kHold}});
  const auto plan = compile(small_rig(), show);
  Head head;
  Tick out;
  stand_at(head, *plan, milliseconds(0));
  for (int n = 0; n <= 50; ++n) tick(*plan, head, milliseconds(10 * n), 1, out);
  EXPECT_DOUBLE_EQ(out.control[1], 0.5);
  EXPECT_DOUBLE_EQ(out.control[2], 0.5);
  EXPECT_DOUBLE_EQ(out.target_deg[0], 20);          // nothing moves the lid: it stays at its offset
  EXPECT_DOUBLE_EQ(out.target_deg[1], 15);          // 30 deg * 0.5
  EXPECT_DOUBLE_EQ(out.target_deg[2], 10 * 0.5 - 5 * 0.5);
  for (int a = 0; a < 3; ++a) EXPECT_NEAR(out.setpoint_deg[a], out.target_deg[a], 1e-9);  // 30 deg/s is well within the limits
}

TEST(Tick, DrawsControlsInToTheirRange) {
  auto show = empty_show();
  add_channel(*show, "open", {{milliseconds(0), 7, show::kHold}});
  add_channel(*show, "smile", {{milliseconds(0), -3, show::kHold}});
  const auto plan = compile(small_rig(), show);
  Head head;
  Tick out;
  load(head, *plan);
  aim(*plan, head, milliseconds(1), out);
  EXPECT_EQ(out.control[1], 1);
  EXPECT_EQ(out.control[2], -1);
}

TEST(Plan, LeavesUnknownNamesOutAndUnmappedActuatorsAtRest) {
  auto rig = small_rig();
  rig->mappings[0].actuators[0] = "nobody";
  rig->mappings[1].axes[0].terms[0].control = "nothing";
  auto show = empty_show();
  add_channel(*show, "nothing", {{milliseconds(0), 1, show::kHold}});
  const auto plan = compile(rig, show);
  Head head;
  Tick out;
  load(head, *plan);
  aim(*plan, head, milliseconds(1), out);
  EXPECT_EQ(out.target_deg[0], 20);
  EXPECT_EQ(out.target_deg[1], 0);
}

TEST(Plan, LendsShapesToTheNextSnapshot) {
  auto show = empty_show();
  add_channel(*show, "open", {{milliseconds(0), 0, show::kEaseIn}, {milliseconds(900), 1, show::kEase}, {milliseconds(1900), 0, show::kHold}});
  const auto rig = small_rig();
  const auto first = compile(rig, show);
  EXPECT_EQ(compile(rig, show, first.get())->shapes, first->shapes);
  auto edited = std::make_shared<show::Show>(*show);
  add_channel(*edited, "smile", {{milliseconds(0), 0, show::kEaseOut}, {milliseconds(100), 1, show::kHold}});
  const auto second = compile(rig, edited, first.get());
  EXPECT_EQ(second->shapes->size(), 3u);
  EXPECT_EQ(second->shapes->find(show::kEase), first->shapes->find(show::kEase));
}

// A show that is edited for long fills the set; those that are still in use are not fitted anew with every edit from then on.
TEST(Plan, LendsShapesEvenWhereTheSetWasFull) {
  auto show = empty_show();
  std::vector<show::Keyframe> keys;
  for (int k = 0; k < 1500; ++k) keys.push_back({milliseconds(k), k % 2 * 1.0, {show::Easing::Kind::bezier, 0.4f, 0.0005f * static_cast<float>(k + 1), 0.6f, 1}});
  add_channel(*show, "open", keys);
  const auto rig = small_rig();
  const auto first = compile(rig, show);
  ASSERT_EQ(first->shapes->size(), motion::Shapes::kMost);
  auto edited = std::make_shared<show::Show>(*show);
  add_channel(*edited, "smile", {{milliseconds(0), 0, show::kHold}});
  const auto second = compile(rig, edited, first.get());
  EXPECT_NE(second->shapes, first->shapes) << "begun afresh";
  ASSERT_TRUE(first->shapes->find(keys[3].easing));
  EXPECT_EQ(second->shapes->find(keys[3].easing), first->shapes->find(keys[3].easing));
}

// Pulses: linear between the two ends, reversed where the servo is mounted the other way round.
TEST(Plan, TurnsAnglesIntoPulsesAndBack) {
  const auto plan = compile(small_rig(), empty_show());
  EXPECT_EQ(pulse_of(*plan, 0, 0), 1500 * 16);
  EXPECT_EQ(pulse_of(*plan, 0, -40), 1000 * 16);
  EXPECT_EQ(pulse_of(*plan, 0, 40), 2000 * 16);
  EXPECT_EQ(pulse_of(*plan, 1, 40), 1000 * 16);
  EXPECT_EQ(pulse_of(*plan, 1, -20), 1750 * 16);
  for (double angle = -40; angle <= 40; angle += 0.7) EXPECT_NEAR(angle_of(*plan, 1, pulse_of(*plan, 1, angle)), angle, 0.5 * 80 / 16000 + 1e-9);
}

TEST(Face, ShowsTheShareOfTravelOnEitherSideOfRest) {
  const auto plan = compile(small_rig(), empty_show());
  const double angles[] = {-10, 20, 0};  // the lid: 30 of the 60 deg between rest (20) and its lower end (-40)
  const auto face = face_of(*plan, angles);
  EXPECT_TRUE(face[show::Role::lid_upper].present);
  EXPECT_NEAR(face[show::Role::lid_upper].share, -0.5, 1e-12);
  EXPECT_NEAR(face[show::Role::jaw_open].share, 0.5, 1e-12);
  EXPECT_EQ(face[show::Role::lip_lower_centre].share, 0);
  EXPECT_FALSE(face[show::Role::brow_inner_left].present);
}

TEST(Render, HasATickAtTheStartAndAtTheEnd) {
  const auto plan = compile(small_rig(), empty_show(milliseconds(1000)));
  std::vector<show::Time> times;
  EXPECT_TRUE(render(*plan, [&](const Tick& t) { times.push_back(t.time); return true; }));
  ASSERT_EQ(times.size(), 101u);
  EXPECT_EQ(times.front().count(), 0);
  EXPECT_EQ(times.back(), milliseconds(1000));
  int seen = 0;
  EXPECT_FALSE(render(*plan, [&](const Tick&) { return ++seen < 7; }));
  EXPECT_EQ(seen, 7);
}

// 60 deg at 300 deg/s and 4000 deg/s^2, rest to rest: h/v + v/a = 0.275 s (closed form of the trapezoid).
TEST(Render, ArrivesWhenTheClosedFormSaysAndBreaksNoLimit) {
  auto show = empty_show();
  add_channel(*show, "open", {{milliseconds(0), 0, show::kHold}, {milliseconds(1000), 1, show::kHold}});
  auto rig = small_rig();
  rig->mappings[1].axes[0] = {"jaw_open", -30, {{"open", 60}}};
  const auto plan = compile(rig, show);
  std::vector<double> x;
  render(*plan, [&](const Tick& t) { x.push_back(t.setpoint_deg[1]); return true; });
  EXPECT_NEAR(x[99], -30, 1e-12);
  std::size_t arrived = 100;
  while (std::abs(x[arrived] - 30) > 1e-9) ++arrived;
  EXPECT_NEAR(static_cast<double>(arrived - 99) * 0.01, 0.275, 0.01 + 1e-9);  // the tick that hears of it is the first to move
  for (std::size_t n = 2; n < x.size(); ++n) {
    EXPECT_LE(std::abs(x[n] - x[n - 1]) / 0.01, 300 * (1 + 1e-9));
    EXPECT_LE(std::abs(x[n] - 2 * x[n - 1] + x[n - 2]) / 1e-4, 4000 * (1 + 1e-9));
  }
}

TEST(Render, LoopsForAsLongAsAsked) {
  auto show = empty_show(milliseconds(1000));
  show->loop = show::Range{milliseconds(500), milliseconds(1000)};
  add_channel(*show, "open", {{milliseconds(0), 0, show::kLinear}, {milliseconds(1000), 1, show::kLinear}});
  const auto plan = compile(small_rig(), show);
  std::vector<double> open;
  render(*plan, milliseconds(2000), [&](const Tick& t) { open.push_back(t.control[1]); return true; });
  ASSERT_EQ(open.size(), 201u);
  EXPECT_NEAR(open[99], 0.99, 1e-6);
  EXPECT_NEAR(open[100], 0.50, 1e-6);
  EXPECT_NEAR(open[151], 0.51, 1e-6);
}

}  // namespace
}  // namespace mien::perform
