#include "show/edit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "support/numbers.hpp"
#include "support/sample.hpp"

namespace mien::show {
namespace {

using support::kNan;

ChannelPtr channel_at(const std::string& control, std::initializer_list<int> times) {
  Channel channel{control, {}};
  for (const int t : times) channel.keys.push_back({Time{t}, t / 10.0});
  return std::make_shared<const Channel>(channel);
}

Show two_channels() {
  Show show;
  show.length = Time{100};
  show.channels = {channel_at("a", {10, 20, 30}), channel_at("b", {15, 100})};
  return show;
}

std::vector<std::int64_t> times(const Show& show, const std::string& control) {
  std::vector<std::int64_t> all;
  for (const auto& key : find_channel(show, control)->keys) all.push_back(key.time.count());
  return all;
}

using Times = std::vector<std::int64_t>;

TEST(WithKey, PutsTheKeyInItsPlace) {
  EXPECT_EQ(times(with_key(two_channels(), "a", {Time{25}, 1}), "a"), (Times{10, 20, 25, 30}));
}

TEST(WithKey, ReplacesTheKeyAtTheSameTime) {
  const Show show = with_key(two_channels(), "a", {Time{20}, 7});
  EXPECT_EQ(times(show, "a"), (Times{10, 20, 30}));
  EXPECT_EQ(find_channel(show, "a")->keys[1].value, 7);
}

TEST(WithKey, MakesTheChannelWhereThereIsNone) { EXPECT_EQ(times(with_key(two_channels(), "c", {Time{5}, 1}), "c"), (Times{5})); }

TEST(WithKey, OfAValueThatIsNotFiniteChangesNothing) { EXPECT_TRUE(same(with_key(two_channels(), "c", {Time{5}, kNan}), two_channels())); }

TEST(Edits, ShareEveryChannelTheyDidNotTouch) {
  const Show show = two_channels();
  const Show edited = with_key(show, "a", {Time{25}, 1});
  EXPECT_EQ(edited.channels[1], show.channels[1]);
  EXPECT_NE(edited.channels[0], show.channels[0]);
  EXPECT_EQ(times(show, "a"), (Times{10, 20, 30})) << "the old show changed";
}

TEST(WithoutKeys, LeavesAnEmptyChannelStanding) {
  const KeyRef keys[] = {{"a", Time{10}}, {"a", Time{20}}, {"a", Time{30}}, {"a", Time{99}}, {"none", Time{1}}};
  EXPECT_EQ(times(without_keys(two_channels(), keys), "a"), (Times{}));
}

TEST(WithKeysMoved, MovesTimesAndValues) {
  const KeyRef keys[] = {{"a", Time{20}}};
  const Show show = with_keys_moved(two_channels(), keys, Time{5}, 0.5);
  EXPECT_EQ(times(show, "a"), (Times{10, 25, 30}));
  EXPECT_EQ(find_channel(show, "a")->keys[1].value, 2.5);
}

TEST(WithKeysMoved, ReplacesAKeyThatIsLandedOn) {
  const KeyRef keys[] = {{"a", Time{10}}, {"a", Time{20}}};
  const Show show = with_keys_moved(two_channels(), keys, Time{10}, 0);
  EXPECT_EQ(times(show, "a"), (Times{20, 30}));
  EXPECT_EQ(find_channel(show, "a")->keys[1].value, 2.0) << "the moved key should have won";
}

TEST(WithKeysMoved, PassesOverKeysOnTheWay) {
  const KeyRef keys[] = {{"a", Time{10}}};
  EXPECT_EQ(times(with_keys_moved(two_channels(), keys, Time{15}, 0), "a"), (Times{20, 25, 30}));
}

TEST(WithKeysMoved, KeepsTheGroupTogetherAtTheEndsOfTheShow) {
  const KeyRef keys[] = {{"a", Time{20}}, {"b", Time{100}}};
  std::vector<KeyRef> moved;
  EXPECT_TRUE(same(with_keys_moved(two_channels(), keys, Time{50}, 0, &moved), two_channels()));
  EXPECT_EQ(moved, (std::vector<KeyRef>{{"a", Time{20}}, {"b", Time{100}}}));
  const Show back = with_keys_moved(two_channels(), keys, Time::min(), 0, &moved);
  EXPECT_EQ(times(back, "a"), (Times{0, 10, 30}));
  EXPECT_EQ(times(back, "b"), (Times{15, 80}));
  EXPECT_EQ(moved, (std::vector<KeyRef>{{"a", Time{0}}, {"b", Time{80}}}));
}

TEST(WithKeysMoved, TellsTheNewNamesInTheOrderAsked) {
  const KeyRef keys[] = {{"b", Time{15}}, {"a", Time{30}}, {"a", Time{10}}};
  std::vector<KeyRef> moved;
  with_keys_moved(two_channels(), keys, Time{1}, 0, &moved);
  EXPECT_EQ(moved, (std::vector<KeyRef>{{"b", Time{16}}, {"a", Time{31}}, {"a", Time{11}}}));
}

TEST(WithKeysMoved, ByAValueThatIsNotFiniteKeepsTheValues) {
  const KeyRef keys[] = {{"a", Time{20}}};
  EXPECT_TRUE(same(with_keys_moved(two_channels(), keys, Time{0}, kNan), two_channels()));
}

TEST(WithKeysMoved, DoesNotDragBackAKeyThatStandsBeyondTheEnd) {
  Show show = two_channels();
  show.length = Time{50};
  const KeyRef keys[] = {{"b", Time{100}}};
  EXPECT_EQ(times(with_keys_moved(show, keys, Time{0}, 1), "b"), (Times{15, 100}));
  EXPECT_EQ(times(with_keys_moved(show, keys, Time{-60}, 0), "b"), (Times{15, 40}));
}

TEST(WithValues, AndWithEasingChangeTheNamedKeysOnly) {
  const KeyRef keys[] = {{"a", Time{20}}, {"b", Time{15}}};
  const Show show = with_easing(with_values(two_channels(), keys, 9), keys, kHold);
  EXPECT_EQ(find_channel(show, "a")->keys[1], (Keyframe{Time{20}, 9, kHold}));
  EXPECT_EQ(find_channel(show, "b")->keys[0], (Keyframe{Time{15}, 9, kHold}));
  EXPECT_EQ(find_channel(show, "a")->keys[0], find_channel(two_channels(), "a")->keys[0]);
  EXPECT_TRUE(same(with_values(two_channels(), keys, kNan), two_channels()));
}

TEST(CopiedKeys, AreRelativeToTheEarliest) {
  const KeyRef keys[] = {{"b", Time{15}}, {"a", Time{30}}, {"a", Time{20}}};
  const KeyBundle bundle = copy_keys(two_channels(), keys);
  ASSERT_EQ(bundle.strands.size(), 2u);
  EXPECT_EQ(bundle.strands[0].keys[0].time, Time{5});
  EXPECT_EQ(bundle.strands[0].keys[1].time, Time{15});
  EXPECT_EQ(bundle.strands[1].keys[0].time, Time{0});
  EXPECT_TRUE(copy_keys(two_channels(), {}).strands.empty());
}

TEST(PastedKeys, StandWhereAskedAndReplaceWhatTheyLandOn) {
  const KeyRef keys[] = {{"a", Time{10}}, {"a", Time{20}}};
  std::vector<KeyRef> pasted;
  const Show show = with_pasted(two_channels(), copy_keys(two_channels(), keys), Time{20}, &pasted);
  EXPECT_EQ(times(show, "a"), (Times{10, 20, 30}));
  EXPECT_EQ(find_channel(show, "a")->keys[1].value, 1.0);
  EXPECT_EQ(find_channel(show, "a")->keys[2].value, 2.0);
  EXPECT_EQ(pasted, (std::vector<KeyRef>{{"a", Time{20}}, {"a", Time{30}}}));
}

TEST(PastedKeys, BeyondTheShowAreLeftOut) {
  const KeyRef keys[] = {{"a", Time{10}}, {"a", Time{20}}};
  EXPECT_EQ(times(with_pasted(two_channels(), copy_keys(two_channels(), keys), Time{95}), "a"), (Times{10, 20, 30, 95}));
}

TEST(PastedKeys, OfAnyOrderAreSortedAndToldApart) {
  const KeyBundle bundle{{{"c", {{Time{9}, 1}, {Time{3}, 2}, {Time{9}, 3}, {Time{5}, kNan}}}}};
  EXPECT_EQ(times(with_pasted(two_channels(), bundle, Time{0}), "c"), (Times{3, 9}));
}

// Whatever is asked of them, in any order: keys stay in strictly rising time, and a control has one channel at most.
TEST(Edits, KeepThePromisesOfAShow) {
  support::Random random(11);
  Show show;
  show.length = Time{60};
  const auto any_ref = [&] { return KeyRef{std::string(1, static_cast<char>('a' + support::whole(random, 0, 4))), Time{support::whole(random, -5, 70)}}; };
  const auto any_value = [&] { return support::chance(random, 0.05) ? kNan : support::real(random, -1, 1); };
  for (int step = 0; step < 8'000; ++step) {
    std::vector<KeyRef> keys(static_cast<std::size_t>(support::whole(random, 0, 6)));
    for (KeyRef& key : keys) key = any_ref();
    switch (support::whole(random, 0, 5)) {
      case 0: show = with_key(show, any_ref().control, {Time{support::whole(random, 0, 60)}, any_value()}); break;
      case 1: if (support::chance(random, 0.3)) show = without_keys(show, keys); break;
      case 2: show = with_keys_moved(show, keys, Time{support::whole(random, -80, 80)}, any_value()); break;
      case 3: show = with_values(show, keys, any_value()); break;
      case 4: show = with_easing(show, keys, support::easing(random)); break;
      default: show = with_pasted(show, copy_keys(show, keys), Time{support::whole(random, 0, 60)});
    }
    std::set<std::string> controls;
    for (const auto& c : show.channels) {
      ASSERT_TRUE(controls.insert(c->control).second) << "two channels for " << c->control;
      for (std::size_t i = 0; i < c->keys.size(); ++i) {
        ASSERT_TRUE(i == 0 || c->keys[i - 1].time < c->keys[i].time) << "step " << step;
        ASSERT_TRUE(std::isfinite(c->keys[i].value));
        ASSERT_TRUE(c->keys[i].time >= Time{0} && c->keys[i].time <= show.length) << "step " << step;
      }
    }
  }
}

}  // namespace
}  // namespace mien::show
