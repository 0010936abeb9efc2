#include "show/lane_order.hpp"

#include <gtest/gtest.h>

#include "show/edit.hpp"

namespace mien::tests {
namespace {

show::Rig rig() {
  show::Rig rig;
  rig.groups = {{"eyes"}, {"mouth"}};
  rig.controls = {{"a", "eyes", "1", 0, 1, 0}, {"jaw", "mouth", "1", 0, 1, 0}, {"b", "eyes", "1", 0, 1, 0}, {"c", "eyes", "1", 0, 1, 0}, {"d", "eyes", "1", 0, 1, 0}, {"odd", "elsewhere", "1", 0, 1, 0}};
  return rig;
}

show::Show with(std::initializer_list<const char*> controls) {
  show::Show show;
  show.length = show::from_seconds(1);
  for (const char* c : controls) show.channels.push_back(std::make_shared<const show::Channel>(show::Channel{c, {{show::Time{0}, 0.5}}}));
  return show;
}

// The lanes of the eyes, as one word.
std::string eyes(const show::Show& show) {
  std::string text;
  const auto order = show::lane_order(rig(), show.channels);
  for (const std::size_t c : order[0]) text += rig().controls[c].name;
  return text;
}

TEST(LaneOrder, IsTheRigsWhereNoChannelSaysOtherwise) {
  EXPECT_EQ(eyes(with({})), "abcd");
  EXPECT_EQ(eyes(with({"a", "b", "d"})), "abcd");
  EXPECT_EQ(show::lane_order(rig(), {})[2], std::vector<std::size_t>{5}) << "controls of no listed group come last";
}

TEST(LaneOrder, FollowsTheChannelsAndLeavesTheOthersWhereTheRigHasThem) {
  EXPECT_EQ(eyes(with({"d", "jaw", "a"})), "dbca");
  EXPECT_EQ(eyes(with({"d", "c", "b", "a"})), "dcba");
}

TEST(LaneOrder, ALaneGoesWhereItIsPutAndStaysThere) {
  const show::Show before = with({"a", "jaw", "b", "c", "d"});
  EXPECT_EQ(eyes(show::with_lane_at(before, rig(), "d", 0)), "dabc");
  EXPECT_EQ(eyes(show::with_lane_at(before, rig(), "a", 2)), "bcad");
  EXPECT_EQ(eyes(show::with_lane_at(before, rig(), "a", 99)), "bcda");
  EXPECT_EQ(show::with_lane_at(before, rig(), "a", 99).channels[1]->control, "jaw") << "other groups keep their places";
  EXPECT_TRUE(show::same(show::with_lane_at(before, rig(), "nobody", 0), before));
  EXPECT_TRUE(show::same(show::with_lane_at(before, rig(), "b", 1), before));
}

TEST(LaneOrder, ALaneWithoutKeysGetsAnEmptyChannelToBePlaced) {
  const show::Show moved = show::with_lane_at(with({"a", "b"}), rig(), "d", 0);
  EXPECT_EQ(eyes(moved), "dabc");
  ASSERT_NE(show::find_channel(moved, "d"), nullptr);
  EXPECT_TRUE(show::find_channel(moved, "d")->keys.empty());
  EXPECT_TRUE(show::same(show::with_lane_at(with({"a", "b"}), rig(), "d", 0, false), with({"a", "b"}))) << "but not in a clip, where it would take the control";
}

TEST(LaneOrder, FewerEmptyChannelsThanAllWhereTheOrderIsToldByThoseThere) {
  const show::Show moved = show::with_lane_at(with({"a", "b"}), rig(), "b", 0);
  EXPECT_EQ(eyes(moved), "bacd");
  EXPECT_EQ(moved.channels.size(), 2u);
}

TEST(LaneOrder, AFirstKeyMovesNoLane) {
  for (const auto& start : {with({"d", "a"}), with({"d", "c", "b"}), with({}), with({"c"})})
    for (const char* control : {"a", "b", "c", "d", "jaw"}) {
      const std::string before = eyes(start);
      show::Show after = show::with_key(start, control, {show::Time{0}, 1});
      show::settle_new_channels(after.channels, start.channels, rig());
      EXPECT_EQ(eyes(after), before) << control;
      EXPECT_NE(show::find_channel(after, control), nullptr);
    }
}

}  // namespace
}  // namespace mien::tests
