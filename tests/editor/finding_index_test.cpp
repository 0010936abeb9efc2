// Findings as lanes see them, against looking at every one of them.
#include "editor/finding_index.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <tuple>

#include "editor/finding_marks.hpp"
#include "editor/hands.hpp"
#include "support/sample.hpp"

namespace mien::editor {
namespace {
using support::Random;
constexpr show::Time kLength{100'000'000'000};

// Four controls in two groups, and one of none.
show::Rig five_controls() {
  show::Rig rig = tests::small_rig();
  rig.controls = {{"a", "eyes", "1", 0, 1, 0}, {"b", "mouth", "1", 0, 1, 0}, {"c", "eyes", "1", 0, 1, 0}, {"d", "mouth", "1", 0, 1, 0}, {"e", "", "1", 0, 1, 0}};
  return rig;
}

Feasibility random_findings(Random& random, const show::Rig& rig, int count) {
  Feasibility f;
  for (int i = 0; i < count; ++i) {
    perform::Shortfall s;
    s.control = support::whole(random, -1, 4);
    const show::Time begin{std::uniform_int_distribution<std::int64_t>(0, kLength.count())(random)};
    s.range = {begin, begin + show::Time{support::whole(random, 1, 400) * 1'000'000}};
    s.key = begin + show::Time{support::whole(random, -300, 300) * 1'000'000};
    s.cause = support::chance(random, 0.3) ? perform::Cause::clipped : perform::Cause::late;
    f.study.shortfalls.push_back(s);
  }
  auto& all = f.study.shortfalls;
  std::sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return std::tuple(a.control, a.range.begin) < std::tuple(b.control, b.range.begin); });
  f.index = index_of(f.study, rig);
  return f;
}

TEST(FindingIndex, KnowsOneControlAndAWholeGroupAndNothingElse) {
  Random random(1);
  const Feasibility f = random_findings(random, five_controls(), 50);
  const std::vector<int> one{3}, eyes{0, 2}, half{0, 1}, three{0, 2, 1}, none{}, beyond{5}, other{4};
  EXPECT_EQ(f.index.of(one), &f.index.by_control[3]);
  EXPECT_EQ(f.index.of(eyes), &f.index.by_group[0]);
  EXPECT_EQ(f.index.of(half), nullptr);
  EXPECT_EQ(f.index.of(three), nullptr);
  EXPECT_EQ(f.index.of(none), nullptr);
  EXPECT_EQ(f.index.of(beyond), nullptr);
  EXPECT_EQ(f.index.of(other), &f.index.by_control[4]);
}

TEST(FindingIndex, MarksHoldEachFindingInViewOnceAndInTime) {
  Random random(2);
  for (int round = 0; round < 60; ++round) {
    const Feasibility f = random_findings(random, five_controls(), support::whole(random, 0, 2000));
    const auto& all = f.study.shortfalls;
    const show::Time begin = kLength * support::whole(random, 0, 90) / 100;
    const TimeAxis axis{{begin, begin + kLength * support::whole(random, 1, 100) / 100}, 0, 1000};
    for (const std::vector<int>& controls : {std::vector<int>{0}, {0, 2}, {0, 1}, {1, 3}, {4}}) {
      const FindingMarks found = gather_findings(f, controls, axis, 12);
      std::vector<std::size_t> seen;
      for (std::size_t m = 0; m < found.marks.size(); ++m) {
        const auto of = found.of(found.marks[m]);
        ASSERT_FALSE(of.empty());
        EXPECT_EQ(seen_at(all[of.front()]), found.marks[m].time);
        if (m > 0) {
          EXPECT_GE(axis.x(found.marks[m].time) - axis.x(found.marks[m - 1].time), 11.9f) << "apart from the one before";
        }
        seen.insert(seen.end(), of.begin(), of.end());
      }
      std::vector<std::size_t> sorted = seen, in_view;
      std::sort(sorted.begin(), sorted.end());
      EXPECT_EQ(std::unique(sorted.begin(), sorted.end()), sorted.end()) << "none twice";
      for (std::size_t i = 0; i < all.size(); ++i)
        if (std::find(controls.begin(), controls.end(), all[i].control) != controls.end() && axis.range.contains(seen_at(all[i]))) in_view.push_back(i);
      EXPECT_TRUE(std::includes(sorted.begin(), sorted.end(), in_view.begin(), in_view.end())) << "none in view left out";
    }
  }
}

TEST(FindingIndex, AMarkWithACountHasRoomForItsDigits) {
  Random random(3);
  const Feasibility f = random_findings(random, five_controls(), 50'000);
  const TimeAxis axis{{show::Time{0}, kLength}, 0, 1000};
  const std::vector<int> eyes{0, 2};
  const auto marks = gather_findings(f, eyes, axis, 12).marks;
  ASSERT_GT(marks.size(), 10u);
  EXPECT_LE(marks.size(), 1000u / 30);
  for (std::size_t m = 1; m < marks.size(); ++m)
    EXPECT_GE(axis.x(marks[m].time) - axis.x(marks[m - 1].time), 12 + 9 * std::to_string(marks[m - 1].count).size() - 0.5);
}

TEST(FindingIndex, StretchesCoverWhatIsOffAndNothingFarFromIt) {
  Random random(4);
  for (int round = 0; round < 60; ++round) {
    const Feasibility f = random_findings(random, five_controls(), support::whole(random, 0, 800));
    const show::Time begin = kLength * support::whole(random, 0, 90) / 100;
    const TimeAxis axis{{begin, begin + kLength * support::whole(random, 1, 100) / 100}, 0, 1000};
    for (const std::vector<int>& controls : {std::vector<int>{1}, {1, 3}, {0, 3}}) {
      std::vector<std::pair<float, float>> off;
      for (const auto& s : f.study.shortfalls)
        if (std::find(controls.begin(), controls.end(), s.control) != controls.end()) off.emplace_back(axis.x(s.range.begin), axis.x(s.range.end));
      const auto stretches = finding_stretches(f, controls, axis);
      for (float x = 0.5; x < 1000; x += 1) {
        const bool shaded = std::any_of(stretches.begin(), stretches.end(), [&](ImVec2 s) { return s.x <= x && x <= s.y; });
        const bool is_off = std::any_of(off.begin(), off.end(), [&](const auto& s) { return s.first <= x && x <= s.second; });
        const bool near = std::any_of(off.begin(), off.end(), [&](const auto& s) { return s.first - 2.1f <= x && x <= s.second + 2.1f; });
        ASSERT_TRUE(shaded || !is_off) << "at " << x;
        ASSERT_TRUE(near || !shaded) << "at " << x;
      }
    }
  }
}

}  // namespace
}  // namespace mien::editor
