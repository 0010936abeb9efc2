#include "motion/guard.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <numbers>
#include <random>

using namespace mien;
using motion::LimiterState;
using motion::Limits;
using motion::Row;
using motion::RowTerm;

namespace {

struct Head {
  std::vector<show::Actuator> actuators;
  Limits limits;
  std::vector<Row> rows;
  LimiterState state;
  std::unique_ptr<motion::GuardWorkspace> workspace = std::make_unique<motion::GuardWorkspace>();
  motion::Guarded last;

  std::size_t size() const { return actuators.size(); }
  void rest_at(const std::vector<double>& angles) {
    limits = motion::limits_of(actuators, 0.01);
    for (int i = 0; i < limits.count; ++i) motion::seed(state, limits, i, angles[static_cast<std::size_t>(i)], 0, 0);
  }
  // What a tick does with targets: the nearest allowed ones, the limiter, the guard.
  void tick(std::vector<double> targets, bool guarded = true) {
    motion::project(targets, std::span(limits.min_deg).first(size()), std::span(limits.max_deg).first(size()), rows,
                    workspace->project);
    const LimiterState before = state;
    motion::step(state, limits, targets);
    if (guarded) last = motion::guard(before, state, limits, rows, *workspace);
  }
  double least_row_slack() const {
    double least = 1e9;
    for (const Row& row : rows) least = std::min(least, row.slack(state.position_deg));
    return least;
  }
};

Row row(std::initializer_list<RowTerm> terms, double bound) { return *motion::row_of(std::vector<RowTerm>(terms), bound); }

show::Actuator actuator(double velocity, double acceleration) {
  show::Actuator a;
  a.velocity_deg_s = velocity;
  a.acceleration_deg_s2 = acceleration;
  return a;
}

// Two lids that must stay 4 degrees apart: upper is 0, lower is 1.
Head lids(double upper_acceleration = 4000, double lower_acceleration = 4000) {
  Head head;
  head.actuators = {actuator(300, upper_acceleration), actuator(300, lower_acceleration)};
  head.rows = {row({{0, 1}, {1, -1}}, 4)};
  return head;
}

// Random head with a resting place inside its rows.
Head random_head(std::mt19937& random) {
  std::uniform_real_distribution<double> share(0, 1), weight(-1, 1);
  std::uniform_int_distribution<int> size(2, 10), terms(2, 4), rows(1, 8);
  Head head;
  std::vector<double> rest;
  const int n = size(random);
  for (int i = 0; i < n; ++i) {
    head.actuators.push_back(actuator(std::pow(10, 1.5 + 1.3 * share(random)), std::pow(10, 2.5 + 1.7 * share(random))));
    rest.push_back(60 * weight(random) * 0.5);
  }
  std::uniform_int_distribution<int> pick(0, n - 1);
  for (int r = rows(random); r > 0; --r) {
    std::vector<RowTerm> list;
    for (int t = terms(random); t > 0; --t)
      list.push_back({pick(random), share(random) < 0.5 ? std::copysign(1, weight(random)) : weight(random)});
    auto made = motion::row_of(list, 0);
    if (!made) continue;
    made->bound = made->slack(rest) - (share(random) < 0.3 ? 0 : 15 * share(random));
    head.rows.push_back(*made);
  }
  head.rest_at(rest);
  return head;
}

void expect_within_limits(const Head& head, const LimiterState& before) {
  for (std::size_t i = 0; i < head.size(); ++i) {
    const double s = head.state.step_deg[i];
    ASSERT_LE(std::abs(s), head.limits.step_deg[i] * (1 + 1e-9)) << "velocity of actuator " << i;
    ASSERT_LE(std::abs(s - before.step_deg[i]), head.limits.change_deg[i] * (1 + 1e-9)) << "acceleration of actuator " << i;
    ASSERT_GE(head.state.position_deg[i], head.limits.min_deg[i]);
    ASSERT_LE(head.state.position_deg[i], head.limits.max_deg[i]);
    ASSERT_EQ(head.state.position_deg[i] - before.position_deg[i], s);
  }
}

}  // namespace

TEST(LeastSlack, IsThatOfTheMotionPlayedOut) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> step(-5, 5), change(0.02, 2), weight(-1, 1);
  std::uniform_int_distribution<int> terms(1, 6);
  for (int run = 0; run < 20000; ++run) {
    std::vector<RowTerm> list;
    std::vector<double> x, s, d;
    for (int t = terms(random); t > 0; --t) {
      list.push_back({static_cast<int>(x.size()), weight(random)});
      x.push_back(10 * weight(random)), s.push_back(run % 5 == 0 ? std::round(step(random)) : step(random)),
          d.push_back(run % 5 == 0 ? 1 : change(random));
    }
    const auto row = motion::row_of(list, 3);
    if (!row) continue;
    const auto least = motion::least_slack(*row, x, s, d);
    double want = 1e9;
    auto v = s;
    for (int k = 0; k < 300; ++k) {
      for (std::size_t i = 0; i < x.size(); ++i) x[i] += v[i], v[i] = std::copysign(std::max(0.0, std::abs(v[i]) - d[i]), v[i]);
      want = std::min(want, row->slack(x));
    }
    ASSERT_NEAR(least.slack, want, 1e-10) << run;
  }
}

TEST(Guard, LeavesSafeStepsUntouchedToTheBit) {
  Head guarded = lids(), plain = lids();
  guarded.rest_at({20, -20});
  plain.rest_at({20, -20});
  for (int k = 0; k < 100; ++k) {
    guarded.tick({25, -10});
    plain.tick({25, -10}, false);
    ASSERT_EQ(guarded.state.position_deg, plain.state.position_deg);
    ASSERT_EQ(guarded.last.rounds, 0);
  }
}

TEST(Guard, StopsLidsThatWouldMeetAtFullSpeed) {
  // The upper lid rushes down while the lower, just told to go down and out of its way, is called back up.
  Head guarded = lids(8000, 1500), plain = lids(8000, 1500);
  double least_plain = 0, least_guarded = 1;
  for (Head* head : {&guarded, &plain}) {
    head->rest_at({5, 0});
    for (int k = 0; k < 60; ++k) {
      const LimiterState before = head->state;
      head->tick(k < 12 ? std::vector<double>{-20, -40} : std::vector<double>{0, 30}, head == &guarded);
      expect_within_limits(*head, before);
      double& least = head == &guarded ? least_guarded : least_plain;
      least = std::min(least, head->least_row_slack());
    }
  }
  EXPECT_LT(least_plain, -0.5);  // the limiter alone would let them fight
  EXPECT_GE(least_guarded, -1e-9);
}

TEST(Guard, LetsLidsMoveTogetherAtFullSpeed) {
  Head head = lids();
  head.rest_at({24.1, 20});
  int ticks = 0;
  for (; ticks < 100 && head.state.position_deg[0] > -25.9 + 1e-6; ++ticks) head.tick({-25.9, -30});
  // 50 deg at 300 deg/s and 4000 deg/s^2 take 0.2417 s rest to rest, alone.
  EXPECT_LE(ticks, 26);
}

TEST(Guard, NeverBreaksARowOrALimitWhateverTheTargets) {
  std::mt19937 random(17);
  std::uniform_real_distribution<double> angle(-50, 50), share(0, 1);
  int touched = 0, rounds = 0, fell_back = 0, ticks = 0;
  for (int run = 0; run < 250; ++run) {
    Head head = random_head(random);
    std::vector<double> targets(head.size());
    for (int k = 0; k < 400; ++k, ++ticks) {
      for (std::size_t i = 0; i < targets.size(); ++i) {
        if (run % 3 == 0) targets[i] = 40 * std::sin(0.02 * k * (1 + static_cast<double>(i)) + run);
        else if (share(random) < (run % 3 == 1 ? 0.02 : 0.5)) targets[i] = angle(random);
      }
      const LimiterState before = head.state;
      head.tick(targets);
      ASSERT_GE(head.least_row_slack(), -1e-9) << "run " << run << " tick " << k;
      expect_within_limits(head, before);
      if (testing::Test::HasFatalFailure()) FAIL() << "run " << run << " tick " << k;
      touched += head.last.rounds > 0, rounds += head.last.rounds, fell_back += head.last.fell_back;
    }
  }
  RecordProperty("ticks", ticks);
  std::printf("%d ticks, %d guarded, %.2f rounds each, %d fell back\n", ticks, touched, rounds / std::max(1.0, 1.0 * touched),
              fell_back);
  EXPECT_GT(touched, ticks / 100);
}

TEST(Guard, IsAsSafeWhereItsRoundsRunOut) {
  std::mt19937 random(19);
  std::uniform_real_distribution<double> angle(-50, 50), share(0, 1);
  int fell_back = 0;
  for (int run = 0; run < 60; ++run) {
    Head head = random_head(random);
    head.workspace->most_rounds = run % 2;
    std::vector<double> targets(head.size());
    for (int k = 0; k < 400; ++k) {
      for (double& t : targets)
        if (share(random) < 0.05) t = angle(random);
      const LimiterState before = head.state;
      head.tick(targets);
      ASSERT_GE(head.least_row_slack(), -1e-9) << "run " << run << " tick " << k;
      expect_within_limits(head, before);
      if (testing::Test::HasFatalFailure()) FAIL() << "run " << run << " tick " << k;
      fell_back += head.last.fell_back;
    }
  }
  EXPECT_GT(fell_back, 1000);
}

TEST(Guard, BrakesHardlyMoreThanTheNearestSafeStepsOfABruteForceSearch) {
  // Two actuators, so that every pair of steps can be tried on a fine grid and judged by playing out the braking.
  std::mt19937 random(31);
  std::uniform_real_distribution<double> angle(-50, 50);
  double excess = 0, worst = 0;
  int compared = 0;
  for (int run = 0; run < 60; ++run) {
    Head head = lids(std::pow(10, 3 + 0.02 * run), std::pow(10, 4.2 - 0.02 * run));
    head.rest_at({5, 0});
    std::vector<double> targets(2);
    for (int k = 0; k < 80; ++k) {
      if (k % 9 == 0) targets = {angle(random), angle(random)};
      const LimiterState before = head.state;
      head.tick(targets);
      if (head.last.rounds == 0) continue;
      auto allowed = targets;
      motion::project(allowed, std::span(head.limits.min_deg).first(2), std::span(head.limits.max_deg).first(2), head.rows,
                      head.workspace->project);
      LimiterState wish = before;
      motion::step(wish, head.limits, allowed);
      double nearest = 1e9;
      std::array<double, 2> low, high, change{head.limits.change_deg[0], head.limits.change_deg[1]};
      for (std::size_t i = 0; i < 2; ++i) {
        const double reach = motion::braking_step(std::max(0.0, head.limits.max_deg[i] - before.position_deg[i]), change[i]);
        const double reach_down = motion::braking_step(std::max(0.0, before.position_deg[i] - head.limits.min_deg[i]), change[i]);
        high[i] = std::min({before.step_deg[i] + change[i], head.limits.step_deg[i], reach});
        low[i] = std::max({before.step_deg[i] - change[i], -head.limits.step_deg[i], -reach_down});
      }
      for (int a = 0; a <= 100; ++a)
        for (int b = 0; b <= 100; ++b) {
          const std::array<double, 2> s{std::lerp(low[0], high[0], a / 100.0), std::lerp(low[1], high[1], b / 100.0)};
          const double far = std::hypot(s[0] - wish.step_deg[0], s[1] - wish.step_deg[1]);
          if (far < nearest && motion::least_slack(head.rows[0], before.position_deg, s, change).slack >= 0) nearest = far;
        }
      const double far = std::hypot(head.state.step_deg[0] - wish.step_deg[0], head.state.step_deg[1] - wish.step_deg[1]);
      const double over = (far - nearest) / std::max(change[0], change[1]);
      worst = std::max(worst, over), excess += std::max(0.0, over), ++compared;
    }
  }
  std::printf("%d ticks: %.4f of the acceleration limit too far on average, %.4f at worst\n", compared, excess / compared, worst);
  ASSERT_GT(compared, 300);
  EXPECT_LT(excess / compared, 0.02);
  EXPECT_LT(worst, 1);
}

TEST(Guard, ArrivesAtStandingTargets) {
  std::mt19937 random(29);
  std::uniform_real_distribution<double> angle(-50, 50);
  for (int run = 0; run < 60; ++run) {
    Head head = random_head(random);
    for (int move = 0; move < 3; ++move) {
      std::vector<double> targets(head.size());
      for (double& t : targets) t = angle(random);
      for (int k = 0; k < 1500; ++k) head.tick(targets);
      motion::project(targets, std::span(head.limits.min_deg).first(head.size()),
                      std::span(head.limits.max_deg).first(head.size()), head.rows, head.workspace->project);
      for (std::size_t i = 0; i < head.size(); ++i)
        ASSERT_NEAR(head.state.position_deg[i], targets[i], 1e-6) << "run " << run << " actuator " << i;
    }
  }
}

TEST(Guard, LeadsOutOfABrokenRowWithoutMakingItWorse) {
  Head head = lids();
  head.rest_at({0, 3});  // 7 degrees short
  double slack = head.least_row_slack();
  for (int k = 0; k < 100; ++k) {
    head.tick({-20, 20});
    ASSERT_GE(head.least_row_slack(), slack - 1e-9) << k;
    slack = std::min(0.0, head.least_row_slack());
  }
  EXPECT_GE(head.least_row_slack(), -1e-9);
}
