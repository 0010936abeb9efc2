// A day of cues at accelerated time, with idle life between, and every quarter of an hour a link that comes back and finds the head at rest: nothing is allocated, memory stays as
// it is, no setpoint breaks a limit, and after an arming the head creeps. The monitor knows the rig's figures and the laws as
// show/rig.hpp words them, and nothing of the limiter. Short here; the whole day is labelled long.
#include <gtest/gtest.h>

#include <unistd.h>

#include <cmath>
#include <fstream>
#include <memory>
#include <random>

#include "allocations.hpp"
#include "cue_show.hpp"
#include "perform/cue_side.hpp"
#include "perform/performer.hpp"
#include "store/store.hpp"
#include "support/fault.hpp"

namespace mien::perform {
namespace {

using namespace testing;

class Monitor {
 public:
  explicit Monitor(const show::Rig& rig) : rig_(rig), last_(rig.actuators.size()), step_(rig.actuators.size()) {}

  /// The head was found at rest, and moves at no more than this share of the velocity limits from here on.
  void found_at_rest() {
    for (std::size_t a = 0; a < last_.size(); ++a) last_[a] = rig_.actuators[a].rest_deg, step_[a] = 0;
    ticks_ = 2;
  }

  void see(const Tick& tick, double share) {
    const double tick_s = 1.0 / rig_.tick_hz;
    for (std::size_t a = 0; a < rig_.actuators.size(); ++a) {
      const show::Actuator& about = rig_.actuators[a];
      const double x = tick.setpoint_deg[a], step = x - last_[a], kHair = 1e-9;
      if (!(x >= about.min_deg - kHair && x <= about.max_deg + kHair)) ++broken, where = about.name + " travel";
      if (ticks_ > 0 && !(std::abs(step) <= share * about.velocity_deg_s * tick_s * (1 + kHair) + kHair)) ++broken, where = about.name + " velocity";
      if (ticks_ > 1 && !(std::abs(step - step_[a]) <= about.acceleration_deg_s2 * tick_s * tick_s * (1 + kHair) + kHair)) ++broken, where = about.name + " acceleration";
      ++setpoints, moved_deg += std::abs(step), last_[a] = x, step_[a] = step;
    }
    for (const show::Constraint& c : rig_.constraints) {
      double sum = 0;
      for (const auto& term : c.terms)
        for (std::size_t a = 0; a < rig_.actuators.size(); ++a)
          if (rig_.actuators[a].name == term.actuator) sum += term.weight * tick.setpoint_deg[a];
      if (sum < c.at_least_deg - 1e-6) ++broken, where = c.name;
    }
    ++ticks_;
  }

  std::int64_t broken = 0, setpoints = 0;
  double moved_deg = 0;
  std::string where;

 private:
  const show::Rig& rig_;
  std::vector<double> last_, step_;
  std::int64_t ticks_ = 0;
};

std::int64_t resident_kB() {
  std::int64_t all = 0, resident = 0;
  std::ifstream("/proc/self/statm") >> all >> resident;
  return resident * (::sysconf(_SC_PAGESIZE) / 1024);
}

void live_through(std::int64_t ticks, const char* how_long) {
  support::Fault fault(std::string("setpoints of ") + how_long + " on duty at accelerated time: cues by chance, idle life, an arming every 15 minutes", "every limit and constraint, held by a monitor of its own; creep after arming; time never backward; memory constant");
  constexpr std::int64_t kArming = 90'000, kCreep = 300;
  const auto loaded = store::load_show(std::string(MIEN_SOURCE_DIR) + "/shows/duty.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  const auto plan = compile(loaded->rig, loaded->show);
  ASSERT_TRUE(plan->cues);
  const auto cues = static_cast<int>(plan->cues->cues.size());
  const auto head = std::make_unique<Head>();
  const auto side = std::make_unique<CueSide>();
  const auto out = std::make_unique<Tick>();
  stand_at(*head, *plan, show::Time{0});
  set_live(head->cues, true, show::Time{0});
  Monitor monitor(*plan->rig);
  std::mt19937 visitors(11);
  std::array<std::uint64_t, show::kMaxCues> seen{};
  show::Time show{0};
  bool plays = false;
  std::int64_t day_ns = 8 * 3'600'000'000'000;
  side->set_names(loaded->show);
  std::int64_t resident_before_kB = 0, backward = 0;
  allocations = 0, counting = true;
  for (std::int64_t n = 0; n < ticks; ++n, day_ns = (day_ns + plan->tick.count()) % show::kDay.count()) {
    // A visitor every 20 s or so, who asks for anything, or changes their mind.
    if (visitors() % 2000 == 0) side->start(static_cast<int>(visitors() % static_cast<unsigned>(cues)));
    if (visitors() % 6000 == 0) side->release(static_cast<int>(visitors() % static_cast<unsigned>(cues)));
    if (n == 1000) counting = false, resident_before_kB = resident_kB(), counting = true;
    if (n % kArming == kArming / 2) {
      for (int a = 0; a < plan->actuators(); ++a) motion::seed(head->limiter, plan->limits, a, plan->rig->actuators[static_cast<std::size_t>(a)].rest_deg, 0, 0);
      monitor.found_at_rest();
    }
    const double share = n >= kArming / 2 && (n + kArming / 2) % kArming < kCreep ? plan->rig->creep_share : 1;
    side->hear(*plan, *head);
    const show::Time show_before = show;
    if (plays) show = std::min(show + plan->tick, plan->show->length);
    const StageGo go = step(plan->cues.get(), head->cues, {show, plays, plan->tick.count(), day_ns});
    if (go.go) show = go.to, plays = go.play;
    backward += show < show_before && !go.go;
    tick(*plan, *head, held_within(plan->cues.get(), head->cues, show), share, *out);
    counting = false;  // the monitor may
    monitor.see(*out, share);
    for (int c = 0; c < cues; ++c) seen[static_cast<std::size_t>(c)] += head->cues.runs[static_cast<std::size_t>(c)].phase == CuePhase::playing;
    counting = true;
    side->report(*plan, *head, show);
  }
  counting = false;
  fault.made(monitor.setpoints);
  if (monitor.broken > 0) fault.lost(std::to_string(monitor.broken) + " setpoints broke a limit: " + monitor.where);
  if (backward > 0) fault.lost("time ran backward");
  EXPECT_LE(resident_kB() - resident_before_kB, 512) << "kB of memory more than after the first 10 s";
  EXPECT_EQ(allocations, 0u);
  EXPECT_GT(monitor.moved_deg, static_cast<double>(ticks) * 0.1) << "the head stood";
  EXPECT_GT(head->cues.begun, static_cast<std::uint64_t>(ticks) / 4000);
  for (int c = 0; c < cues; ++c)
    if (plan->cues->cues[static_cast<std::size_t>(c)].kind != CueProgram::Kind::stop) {
      EXPECT_GT(seen[static_cast<std::size_t>(c)], 0u) << loaded->show->cues[static_cast<std::size_t>(c)].name << " never played";
    }
}

TEST(CuesForHalfAnHour, AllocateNothing_AndBreakNoLimit) { live_through(180'000, "half an hour"); }
TEST(CuesForADay, AllocateNothing_AndBreakNoLimit) { live_through(8'640'000, "24 hours"); }

}  // namespace
}  // namespace mien::perform
