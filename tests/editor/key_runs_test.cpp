#include "editor/key_runs.hpp"

#include <gtest/gtest.h>

#include <random>

namespace mien::editor {
namespace {
using show::Time;

// The definition, key by key.
std::vector<KeyRun> brute(const std::vector<Time>& times, const TimeAxis& axis, float merge_px) {
  const Time merge = axis.span(merge_px) - Time{1}, margin = axis.span(2 * merge_px);
  std::vector<KeyRun> runs;
  for (std::size_t i = 0; i < times.size(); ++i) {
    if (times[i] < axis.range.begin - margin) continue;
    const bool joined = !runs.empty() && runs.back().last + 1 == i && times[i] - times[i - 1] <= merge;
    if (!joined && times[i] > axis.range.end + margin) break;
    if (joined) runs.back().end = times[i], runs.back().last = i;
    else runs.push_back({times[i], times[i], i, i});
  }
  return runs;
}

TEST(KeyRuns, AreThoseOfTheDefinitionForAnyKeysAndAnyView) {
  std::mt19937_64 random(7);
  for (int round = 0; round < 400; ++round) {
    std::vector<Time> times;
    std::int64_t t = 0;
    const std::int64_t gap = 1 + static_cast<std::int64_t>(random() % 40'000'000);
    for (std::size_t i = 0, n = random() % 400; i < n; ++i) times.push_back(Time{t += 1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(gap))});
    const std::int64_t begin = static_cast<std::int64_t>(random() % 2'000'000'000), length = 50'000'000 + static_cast<std::int64_t>(random() % 4'000'000'000);
    const TimeAxis axis{{Time{begin}, Time{begin + length}}, 100, 900};
    std::vector<KeyRun> runs;
    gather_runs(std::span<const Time>(times), axis, kMergePx, runs);
    std::vector<KeyRun> expected = brute(times, axis, kMergePx);
    // Beyond the right edge a run may end early: nobody sees where.
    ASSERT_EQ(runs.size(), expected.size()) << "round " << round;
    for (std::size_t i = 0; i < runs.size(); ++i) {
      ASSERT_EQ(runs[i].first, expected[i].first) << "round " << round;
      if (runs[i].end <= axis.range.end) {
        ASSERT_EQ(runs[i].last, expected[i].last) << "round " << round;
      }
    }
  }
}

TEST(KeyRuns, OfAMillionKeysAreAsManyAsFitSideBySide) {
  std::vector<Time> times;
  for (std::int64_t i = 0; i < 1'000'000; ++i) times.push_back(Time{i * 1'000'000});
  std::vector<KeyRun> runs;
  for (const std::int64_t length : {1'000'000'000'000L, 50'000'000'000L, 1'000'000'000L, 50'000'000L}) {
    gather_runs(std::span<const Time>(times), TimeAxis{{Time{0}, Time{length}}, 0, 1200}, kMergePx, runs);
    EXPECT_LE(runs.size(), 1200 / static_cast<std::size_t>(kMergePx) + 4) << length;
    EXPECT_GE(runs.size(), 1u);
  }
}

TEST(KeyRuns, OfNothingAreNone) {
  std::vector<KeyRun> runs{{}};
  gather_runs(std::span<const Time>(), TimeAxis{{Time{0}, Time{1'000'000'000}}, 0, 100}, kMergePx, runs);
  EXPECT_TRUE(runs.empty());
}

}  // namespace
}  // namespace mien::editor
