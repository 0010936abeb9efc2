// Handles as numbers: what lies how, and what edits make of it.
#include "editor/handles.hpp"

#include <gtest/gtest.h>

#include "editor/edits.hpp"
#include "editor/hands.hpp"
#include "motion/curve.hpp"

namespace mien::tests {
namespace {
using editor::HandleEdit;
using editor::Lie;
using show::from_seconds;

constexpr double kFloat = 1e-6;  // easings are single precision

// Three keys on blink: 0 at 0 s, 0.5 at 1 s, 1 at 3 s.
show::Show three(show::Easing first, show::Easing second) {
  show::Show show = small_show();
  show.channels = {std::make_shared<const show::Channel>(show::Channel{"blink", {{from_seconds(0), 0, first}, {from_seconds(1), 0.5, second}, {from_seconds(3), 1}}})};
  return show;
}
const show::KeyRef kMiddle{"blink", from_seconds(1)};

show::Channel after(const HandleEdit& edit, const show::Show& show) { return *editor::apply(edit, show, small_rig(), {}).show.channels[0]; }

TEST(Handles, AreDistancesFromTheirKeyInTimeAndValue) {
  const show::Show show = three({show::Easing::Kind::bezier, 0.25f, 0.5f, 0.8f, 0.6f}, {show::Easing::Kind::bezier, 0.25f, 0.5f, 1, 1});
  const auto sides = editor::sides_of(*show.channels[0], 1);
  EXPECT_NEAR(show::to_seconds(sides.in.dt), -0.2, kFloat);
  EXPECT_NEAR(sides.in.dv, -0.2, kFloat);
  EXPECT_NEAR(show::to_seconds(sides.out.dt), 0.5, kFloat);
  EXPECT_NEAR(sides.out.dv, 0.25, kFloat);
  EXPECT_EQ(sides.in.lie, Lie::free);
  EXPECT_EQ(sides.out.lie, Lie::free) << "1 a second before the key, 0.5 after it";
  EXPECT_EQ(editor::sides_of(*show.channels[0], 2).out.lie, Lie::none) << "nothing leaves the last key";
}

// A cubic Hermite segment with tangents m0, m1 is the Bezier with inner points a third of the way along them (the usual change of basis,
// as in Farin, Curves and Surfaces for CAGD; from memory). Held against the curve itself at every point.
TEST(Handles, TurningASegmentIntoABezierLeavesTheCurveWhereItWas) {
  for (const auto kind : {show::kSmooth, show::kLinear}) {
    show::Show show = three(kind, kind);
    const show::Channel before = *show.channels[0];
    for (const std::size_t i : {0u, 1u}) {
      const show::Easing e = editor::as_bezier(before, i);
      ASSERT_EQ(e.kind, show::Easing::Kind::bezier);
      show::Channel alone = before;
      alone.keys[i].easing = e;
      for (double t = show::to_seconds(before.keys[i].time); t <= show::to_seconds(before.keys[i + 1].time); t += 0.01)
        EXPECT_NEAR(motion::evaluate(alone, from_seconds(t), 0), motion::evaluate(before, from_seconds(t), 0), 1e-6) << t;
    }
  }
  EXPECT_EQ(editor::as_bezier(*three(show::kHold, show::kHold).channels[0], 0), show::kHold);
}

TEST(Handles, LaidFlatTheCurveStandsStillAtTheKey) {
  const auto channel = after(editor::LayHandles{{kMiddle}, true, true, Lie::flat}, three(show::kSmooth, show::kSmooth));
  const auto sides = editor::sides_of(channel, 1);
  EXPECT_EQ(sides.in.lie, Lie::flat);
  EXPECT_EQ(sides.out.lie, Lie::flat);
  EXPECT_NEAR(motion::slope_per_s(channel, from_seconds(1)), 0, 1e-6);
  EXPECT_NEAR(motion::slope_per_s(channel, from_seconds(1) - show::Time{1000}), 0, 1e-4);
  EXPECT_NEAR(show::to_seconds(sides.out.dt), 2.0 / 3, kFloat) << "the handle keeps its time";
}

TEST(Handles, OneSideAloneIsLaidWhereOnlyThatIsAsked) {
  const auto channel = after(editor::LayHandles{{kMiddle}, false, true, Lie::flat}, three(show::kLinear, show::kLinear));
  EXPECT_EQ(channel.keys[0].easing, show::kLinear);
  EXPECT_EQ(editor::sides_of(channel, 1).out.lie, Lie::flat);
}

TEST(Handles, AlignedHaveTheMeanOfTheirSlopesAndOneLine) {
  const auto channel = after(editor::LayHandles{{kMiddle}, true, true, Lie::aligned}, three(show::kLinear, show::kLinear));  // 0.5 and 0.25 a second
  const auto sides = editor::sides_of(channel, 1);
  EXPECT_EQ(sides.in.lie, Lie::aligned);
  EXPECT_EQ(sides.out.lie, Lie::aligned);
  EXPECT_NEAR(motion::slope_per_s(channel, from_seconds(1)), 0.375, 1e-5);
  EXPECT_NEAR(motion::slope_per_s(channel, from_seconds(1) - show::Time{1000}), 0.375, 1e-4);
}

TEST(Handles, FreedPointAtTheirNeighbours) {
  const auto channel = after(editor::LayHandles{{kMiddle}, true, true, Lie::free}, three(show::kEaseInOut, show::kEaseInOut));
  EXPECT_NEAR(motion::slope_per_s(channel, from_seconds(1) - show::Time{1000}), 0.5, 1e-4);
  EXPECT_NEAR(motion::slope_per_s(channel, from_seconds(1)), 0.25, 1e-5);
  EXPECT_EQ(editor::sides_of(channel, 1).in.lie, Lie::free);
}

TEST(Handles, ATurnTakesTheOtherAlongWhereBothAreAsked) {
  for (const bool both : {false, true}) {
    const show::Show show = three(show::kLinear, show::kLinear);
    const auto channel = after(editor::TurnHandle{kMiddle, true, from_seconds(0.5), 0.3, both}, show);
    const auto sides = editor::sides_of(channel, 1);
    EXPECT_NEAR(sides.out.dv, 0.3, kFloat);
    EXPECT_NEAR(show::to_seconds(sides.out.dt), 0.5, kFloat);
    if (both) {
      EXPECT_NEAR(show::to_seconds(sides.in.dt), -1.0 / 3, kFloat) << "it keeps its time";
      EXPECT_NEAR(sides.in.dv, -0.6 / 3, kFloat);
    } else {
      EXPECT_EQ(channel.keys[0].easing, show::kLinear) << "the other side is let alone";
    }
    EXPECT_EQ(sides.out.lie, both ? Lie::aligned : Lie::free);
  }
}

TEST(Handles, OneThatIsPulledTooFarIsDrawnInAlongItsOwnLine) {
  const auto channel = after(editor::TurnHandle{kMiddle, true, from_seconds(1), 15, false}, three(show::kLinear, show::kLinear));
  const auto side = editor::sides_of(channel, 1).out;
  EXPECT_NEAR(side.dv, 1.5, kFloat) << "three times the rise of 0.5";
  EXPECT_NEAR(side.dv / show::to_seconds(side.dt), 15, 1e-4);
  const auto far = editor::sides_of(after(editor::TurnHandle{kMiddle, true, from_seconds(9), 0.9, false}, three(show::kLinear, show::kLinear)), 1).out;
  EXPECT_EQ(far.dt, from_seconds(2)) << "no farther than the next key";
  EXPECT_NEAR(far.dv, 0.2, kFloat);
}

TEST(Handles, BetweenTwoKeysOfOneValueNothingTilts) {
  show::Show show = small_show();
  show.channels = {std::make_shared<const show::Channel>(show::Channel{"blink", {{from_seconds(0), 0, show::kLinear}, {from_seconds(1), 0.5, show::kLinear}, {from_seconds(2), 0.5}}})};
  EXPECT_FALSE(editor::sides_of(*show.channels[0], 1).out.tilts);
  const auto channel = after(editor::LayHandles{{kMiddle}, true, true, Lie::aligned}, show);
  EXPECT_EQ(editor::sides_of(channel, 1).in.lie, Lie::flat) << "aligned with what can only be flat";
  for (double t = 1; t <= 2; t += 0.05) EXPECT_NEAR(motion::evaluate(channel, from_seconds(t), 0), 0.5, 1e-9);
}

TEST(Handles, NumbersThatAreNoneChangeNothing) {
  const show::Show show = three(show::kEaseInOut, show::kEaseInOut);
  for (const double wrong : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()})
    EXPECT_EQ(after(editor::PutHandle{{kMiddle}, true, {}, wrong}, show), *show.channels[0]);
  EXPECT_EQ(after(editor::PutHandle{{{"blink", from_seconds(2)}, {"nobody", from_seconds(1)}}, true, from_seconds(0.1), 1}, show), *show.channels[0]);
}

TEST(MoveKeys, OfARangeMoveChannelsOfAllUnitsAlike) {
  const show::Show show = small_show();
  const std::vector<show::KeyRef> keys{{"blink", from_seconds(0.5)}, {"yaw", from_seconds(2)}};
  const auto made = editor::apply(editor::MoveKeys{keys, from_seconds(0.1), 0.25, false, true}, show, small_rig(), {}).show;
  EXPECT_NEAR(show::find_channel(made, "blink")->keys[0].value, 0.25, 1e-12);
  EXPECT_NEAR(show::find_channel(made, "yaw")->keys[0].value, 10 + 0.25 * 60, 1e-12);
  EXPECT_EQ(show::find_channel(made, "yaw")->keys[0].time, from_seconds(2.1));
  const auto held = editor::apply(editor::MoveKeys{keys, show::Time{0}, 0.9, false, true}, show, small_rig(), {}).show;
  EXPECT_NEAR(show::find_channel(held, "yaw")->keys[0].value, 30, 1e-9) << "as far as the tightest has room";
  EXPECT_NEAR(show::find_channel(held, "blink")->keys[0].value, 20.0 / 60, 1e-9) << "and the others no farther";
}

}  // namespace
}  // namespace mien::tests
