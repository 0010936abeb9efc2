// The least and greatest value of stretches of keys, against looking at every one of them.
#include "editor/value_reach.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>

#include "support/sample.hpp"

namespace mien::editor {
namespace {
using support::Random;

show::ChannelPtr random_channel(Random& random, int count) {
  show::Channel channel{"brow", {}};
  for (int i = 0; i < count; ++i) channel.keys.push_back({show::Time{i * std::int64_t{1'000'000}}, support::real(random, -1, 1)});
  return std::make_shared<const show::Channel>(std::move(channel));
}

TEST(ValueReach, IsThatOfEveryKeyLookedAt) {
  Random random(1);
  for (const int count : {1, 15, 16, 17, 255, 256, 257, 4096, 5000}) {
    const show::ChannelPtr channel = random_channel(random, count);
    const ValueReach reach(channel);
    for (int round = 0; round < 200; ++round) {
      const auto first = static_cast<std::size_t>(support::whole(random, 0, count - 1));
      const auto last = round == 0 ? channel->keys.size() : static_cast<std::size_t>(support::whole(random, static_cast<int>(first) + 1, count));
      const auto [low, high] = std::minmax_element(channel->keys.begin() + static_cast<std::ptrdiff_t>(first), channel->keys.begin() + static_cast<std::ptrdiff_t>(last),
                                                   [](const auto& a, const auto& b) { return a.value < b.value; });
      const ValueReach::Reach found = reach.of(first, last);
      ASSERT_EQ(found.low, low->value) << first << " to " << last << " of " << count;
      ASSERT_EQ(found.high, high->value) << first << " to " << last << " of " << count;
    }
  }
}

TEST(ValueReaches, KeepsWhatIsAskedForAndForgetsTheRest) {
  Random random(2);
  ValueReaches all;
  const show::ChannelPtr one = random_channel(random, 40);
  show::ChannelPtr other = random_channel(random, 40);
  const std::weak_ptr<const show::Channel> watched = other;
  const ValueReach* first = &all.of(one);
  all.of(other);
  other.reset();
  all.end_frame();
  EXPECT_FALSE(watched.expired()) << "asked for in the frame that ended";
  EXPECT_EQ(&all.of(one), first);
  all.end_frame();
  EXPECT_TRUE(watched.expired());
  EXPECT_EQ(&all.of(one), first);
}

}  // namespace
}  // namespace mien::editor
