// The promise that never bends, on the whole tick: whatever is authored, no setpoint breaks a limit or a constraint.
#include <gtest/gtest.h>

#include <cmath>

#include "perform/rig_check.hpp"
#include "perform/tick.hpp"
#include "support/sample.hpp"

namespace mien::perform {
namespace {

constexpr double kRelative = 1e-9, kConstraint_deg = 1e-9;

// Keys everywhere, far apart in value and near in time.
std::shared_ptr<show::Show> restless(support::Random& random, const show::Rig& rig, show::Time length) {
  const show::Easing easings[] = {show::kHold, show::kLinear, show::kSmooth, show::kEaseInOut};
  auto show = std::make_shared<show::Show>();
  show->length = length;
  for (const auto& control : rig.controls) {
    show::Channel channel{control.name, {}};
    for (show::Time t{0}; t < length; t += length / support::whole(random, 20, 400))
      channel.keys.push_back({t, support::real(random, control.min, control.max), easings[support::whole(random, 0, 3)]});
    show->channels.push_back(std::make_shared<const show::Channel>(std::move(channel)));
  }
  return show;
}

struct Watch {
  const Plan& plan;
  int constrained = 0;  // ticks on which a constraint held something back

  void see(const Tick& now, const Tick& last, const Tick& before_last) {
    for (std::size_t i = 0; i < plan.rest_deg.size(); ++i) {
      const double x = now.setpoint_deg[i], s = x - last.setpoint_deg[i], before = last.setpoint_deg[i] - before_last.setpoint_deg[i];
      const double rounding = 1e-12 * (1 + std::abs(x));
      ASSERT_GE(x, plan.limits.min_deg[i]);
      ASSERT_LE(x, plan.limits.max_deg[i]);
      ASSERT_LE(std::abs(s), plan.limits.step_deg[i] * (1 + kRelative) + rounding);
      ASSERT_LE(std::abs(s - before), plan.limits.change_deg[i] * (1 + kRelative) + 3 * rounding);
    }
    for (const motion::Row& row : plan.map->rows) {
      ASSERT_GE(row.slack(now.setpoint_deg) * row.length, -kConstraint_deg);
      constrained += row.slack(now.setpoint_deg) < 1e-3;
    }
  }
};

TEST(Promise, NoLimitAndNoConstraintIsEverBroken) {
  support::Random random(41);
  int ticks = 0, constrained = 0;
  for (int round = 0; ticks < 100'000; ++round) {
    auto rig = std::make_shared<show::Rig>(support::rig(random, support::whole(random, 4, 32)));
    for (const auto& f : check_rig(*rig, "x")) ASSERT_NE(f.severity, show::Severity::error) << to_text(f);
    const auto plan = compile(rig, restless(random, *rig, std::chrono::seconds(2500) / rig->tick_hz));
    const auto head = std::make_unique<Head>();
    Tick now;
    stand_at(*head, *plan, show::Time{0});
    tick(*plan, *head, show::Time{0}, 0, now);
    Tick last = now, before_last = now;
    Watch watch{*plan};
    for (int n = 1; n <= 2500; ++n, ++ticks) {
      const double share = round % 3 == 0 && n % 700 < 200 ? rig->creep_share : 1;
      // Now and then the person seeks.
      const show::Time t = support::chance(random, 0.005) ? plan->show->length * support::whole(random, 0, 99) / 100 : plan->tick * n;
      tick(*plan, *head, t, share, now);
      watch.see(now, last, before_last);
      if (HasFatalFailure()) FAIL() << "round " << round << ", tick " << n;
      before_last = last, last = now;
    }
    constrained += watch.constrained;
  }
  EXPECT_GT(constrained, 1000) << "the constraints never had a say";
}

// A head that was found in a place which breaks a constraint is led out of it, within its limits, and not let in again.
TEST(Promise, AHeadFoundWhereConstraintsAreBrokenIsLedOut) {
  support::Random random(42);
  int broken = 0;
  for (int round = 0; round < 40; ++round) {
    auto rig = std::make_shared<show::Rig>(support::rig(random, 8));
    for (auto& a : rig->actuators) a.velocity_deg_s = 300, a.acceleration_deg_s2 = 4000;
    rig->tick_hz = 100;
    const auto plan = compile(rig, std::make_shared<show::Show>());
    const auto head = std::make_unique<Head>();
    Tick now;
    load(*head, *plan);
    for (int a = 0; a < plan->actuators(); ++a) {
      const auto& part = rig->actuators[static_cast<std::size_t>(a)];
      motion::seed(head->limiter, plan->limits, a, support::real(random, part.min_deg, part.max_deg), 0, 0);
    }
    const auto least = [&] {
      double slack = 0;
      for (const motion::Row& row : plan->map->rows) slack = std::min(slack, row.slack(head->limiter.position_deg) * row.length);
      return slack;
    };
    broken += least() < -1;
    for (int n = 0; n < 400; ++n) tick(*plan, *head, show::Time{0}, 1, now);
    EXPECT_GE(least(), -kConstraint_deg) << "round " << round;
  }
  EXPECT_GT(broken, 5);
}

}  // namespace
}  // namespace mien::perform
