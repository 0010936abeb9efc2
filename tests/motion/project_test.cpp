#include "motion/project.hpp"
#include "motion/project_problems.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <memory>
#include <random>

using namespace mien;
using motion::Row;
using motion::RowTerm;
using namespace project_problems;

namespace {

// The nearest point by trying every set of constraints held with equality: Gaussian elimination on the optimality conditions of
// each, and the nearest of those that break nothing. Exponential, and so simple that it can be believed.
std::vector<double> nearest_by_brute_force(const Problem& p) {
  struct Plane { std::vector<double> normal; double bound; };
  const std::size_t n = p.wish.size();
  std::vector<Plane> planes;
  for (const Row& row : p.rows) {
    Plane plane{std::vector<double>(n), row.bound};
    for (unsigned t = 0; t < static_cast<unsigned>(row.count); ++t)
      plane.normal[static_cast<unsigned>(row.actuator[t])] = row.weight[t];
    planes.push_back(plane);
  }
  for (std::size_t i = 0; i < n; ++i) {
    planes.push_back({std::vector<double>(n), p.low[i]});
    planes.back().normal[i] = 1;
    planes.push_back({std::vector<double>(n), -p.high[i]});
    planes.back().normal[i] = -1;
  }
  std::vector<double> best;
  double least = std::numeric_limits<double>::infinity();
  for (unsigned set = 0; set < 1u << planes.size(); ++set) {
    std::vector<const Plane*> held;
    for (std::size_t k = 0; k < planes.size(); ++k)
      if (set >> k & 1u) held.push_back(&planes[k]);
    if (held.size() > n) continue;
    const std::size_t m = held.size();
    std::vector<std::vector<double>> a(m, std::vector<double>(m + 1));
    for (std::size_t i = 0; i < m; ++i) {
      a[i][m] = held[i]->bound;
      for (std::size_t k = 0; k < n; ++k) a[i][m] -= held[i]->normal[k] * p.wish[k];
      for (std::size_t j = 0; j < m; ++j)
        for (std::size_t k = 0; k < n; ++k) a[i][j] += held[i]->normal[k] * held[j]->normal[k];
    }
    bool regular = true;
    for (std::size_t c = 0; c < m && regular; ++c) {
      std::size_t pivot = c;
      for (std::size_t r = c; r < m; ++r)
        if (std::abs(a[r][c]) > std::abs(a[pivot][c])) pivot = r;
      std::swap(a[c], a[pivot]);
      regular = std::abs(a[c][c]) > 1e-9;
      for (std::size_t r = 0; r < m && regular; ++r) {
        if (r == c) continue;
        const double f = a[r][c] / a[c][c];
        for (std::size_t k = c; k <= m; ++k) a[r][k] -= f * a[c][k];
      }
    }
    if (!regular) continue;
    std::vector<double> x = p.wish;
    for (std::size_t i = 0; i < m; ++i)
      for (std::size_t k = 0; k < n; ++k) x[k] += a[i][m] / a[i][i] * held[i]->normal[k];
    if (broken_by(p, x) > 1e-9) continue;
    if (const double d = distance2(x, p.wish); d < least) least = d, best = x;
  }
  return best;
}

}  // namespace

TEST(Project, LeavesWhatIsAllowedUntouchedToTheBit) {
  Problem p{{3.25, -7.5}, {-45, -45}, {45, 45}, {*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, -1}}, 4)}};
  motion::Projected answer;
  EXPECT_EQ(projected(p, &answer), p.wish);
  EXPECT_EQ(answer.steps, 0);
}

TEST(Project, LidsMeetHalfWayKeepingTheirGap) {
  // upper - lower >= 4, asked 10 and 16: each gives 5.
  Problem p{{10, 16}, {-45, -45}, {45, 45}, {*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, -1}}, 4)}};
  const auto x = projected(p);
  EXPECT_NEAR(x[0], 15, 1e-12);
  EXPECT_NEAR(x[1], 11, 1e-12);
}

TEST(Project, WhatOneLidCanNotGiveTheOtherDoes) {
  Problem p{{10, 16}, {-45, -45}, {12, 45}, {*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, -1}}, 4)}};
  const auto x = projected(p);
  EXPECT_EQ(x[0], 12);
  EXPECT_NEAR(x[1], 8, 1e-12);
}

TEST(Project, LetsGoOfAnEndThatTheRowPullsAwayFrom) {
  // The wish is beyond the upper end, the row pulls back inside: the end must not stay held.
  Problem p{{50, 0}, {-45, -45}, {45, 45}, {*motion::row_of(std::array{RowTerm{0, -1}, RowTerm{1, 1}}, -20)}};
  EXPECT_NEAR(projected(p)[0], 35, 1e-12);
  EXPECT_NEAR(projected(p)[1], 15, 1e-12);
}

TEST(Project, IsTheNearestPointThatBruteForceFinds) {
  std::mt19937 random(11);
  int bound = 0;
  for (int k = 0; k < 1500; ++k) {
    const Problem p = random_problem(random, 3, 1 + k % 5, 3);
    motion::Projected answer;
    const auto x = projected(p, &answer);
    const auto want = nearest_by_brute_force(p);
    ASSERT_TRUE(answer.feasible) << k;
    ASSERT_LE(broken_by(p, x), 1e-9) << k;
    ASSERT_THAT(x, testing::Pointwise(testing::DoubleNear(1e-8), want)) << k;
    bound += answer.steps > 1;
  }
  EXPECT_GT(bound, 400);  // the cases do bind
}

TEST(Project, KeepsRowsAndBoxesAtTheLargestSize) {
  std::mt19937 random(5);
  for (int k = 0; k < 3000; ++k) {
    const Problem p = random_problem(random, 64, 40, 8);
    motion::Projected answer;
    const auto x = projected(p, &answer);
    ASSERT_TRUE(answer.feasible) << k;
    ASSERT_LE(broken_by(p, x), 1e-9) << k;
    // Projecting again changes nothing.
    Problem again = p;
    again.wish = x;
    ASSERT_THAT(projected(again), testing::Pointwise(testing::DoubleNear(1e-9), x)) << k;
  }
}

TEST(Project, AnswersTheSameBitsWhateverCameBefore) {
  std::mt19937 random(6);
  std::vector<Problem> problems;
  std::vector<std::vector<double>> first;
  for (int k = 0; k < 50; ++k) problems.push_back(random_problem(random, 16, 10, 4)), first.push_back(projected(problems.back()));
  for (std::size_t k = 50; k-- > 0;) EXPECT_EQ(projected(problems[k]), first[k]);
}

TEST(Project, BreaksRowsLeastWhenTheyContradict) {
  // x >= 20 and x <= 10 (both rows): the least squares of the two breaches is in the middle.
  Problem p{{0}, {-45}, {45}, {*motion::row_of(std::array{RowTerm{0, 1}}, 20), *motion::row_of(std::array{RowTerm{0, -1}}, -10)}};
  motion::Projected answer;
  const auto x = projected(p, &answer);
  EXPECT_FALSE(answer.feasible);
  EXPECT_NEAR(x[0], 15, 1e-4);
}

TEST(Project, BoxesWinOverRows) {
  Problem p{{0, 0}, {-10, -10}, {10, 10}, {*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, 1}}, 30)}};
  motion::Projected answer;
  EXPECT_THAT(projected(p, &answer), testing::ElementsAre(10, 10));
  EXPECT_FALSE(answer.feasible);
}

TEST(Project, AnswersWithinTheBoxForNoNumberAndInfinity) {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  Problem p{{nan, inf, -inf}, {-10, -10, -10}, {20, 20, 20}, {*motion::row_of(std::array{RowTerm{1, -1}, RowTerm{2, 1}}, 0)}};
  const auto x = projected(p);
  EXPECT_EQ(x[0], 5);
  EXPECT_LE(broken_by(p, x), 1e-9);
}

TEST(Row, IsNotMadeFromWhatIsNoRow) {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{0, 0}}, 1));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{0, 1}, RowTerm{0, -1}}, 1));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{-1, 1}}, 1));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{show::kMaxActuators, 1}}, 1));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{0, nan}}, 1));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{0, 1}}, nan));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{0, 1}}, inf));
  EXPECT_FALSE(motion::row_of(std::array{RowTerm{0, 1e200}, RowTerm{1, 1e200}}, 1));
  std::vector<RowTerm> nine;
  for (int i = 0; i < 9; ++i) nine.push_back({i, 1});
  EXPECT_FALSE(motion::row_of(nine, 1));
}

TEST(Contradiction, NamesOnlyThoseThatTakePart) {
  const std::vector<double> low{-45, -45, -45}, high{45, 45, 45};
  // 0 over 1 by 4, 1 over 2 by 4, 2 over 0 by 1: a ring. The fourth row is innocent.
  const std::vector<Row> rows{*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, -1}}, 4),
                              *motion::row_of(std::array{RowTerm{1, 1}}, -30),
                              *motion::row_of(std::array{RowTerm{1, 1}, RowTerm{2, -1}}, 4),
                              *motion::row_of(std::array{RowTerm{2, 1}, RowTerm{0, -1}}, 1)};
  const auto why = motion::contradiction(rows, low, high);
  ASSERT_TRUE(why);
  EXPECT_THAT(why->rows, testing::UnorderedElementsAre(0, 2, 3));
  EXPECT_TRUE(why->ends.empty());
}

TEST(Contradiction, OfRowAndTravelNamesBothInWords) {
  const std::vector<double> low{-10, -10}, high{10, 12.5}, rest{0, 0};
  const std::vector<std::string> rows{"lids apart"}, actuators{"lid upper", "lid lower"};
  const std::vector<Row> apart{*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, 1}}, 25)};
  const auto findings = motion::check_rows(apart, low, high, rest, rows, actuators);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].place, "constraint lids apart");
  EXPECT_EQ(findings[0].what,
            "the constraint can't be met within the travel of lid upper at most 10 deg and lid lower at most 12.5 deg");
}

TEST(Contradiction, OfTheRestPoseIsAFinding) {
  const std::vector<double> low{-10, -10}, high{10, 10}, rest{1, 0};
  const std::vector<std::string> rows{"lids apart"}, actuators{"lid upper", "lid lower"};
  const std::vector<Row> apart{*motion::row_of(std::array{RowTerm{0, 1}, RowTerm{1, -1}}, 4)};
  const auto findings = motion::check_rows(apart, low, high, rest, rows, actuators);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].what, "the rest pose of lid upper and lid lower breaks it by 3 deg");
  EXPECT_TRUE(motion::check_rows(apart, low, high, std::vector{4.0, 0.0}, rows, actuators).empty());
}
