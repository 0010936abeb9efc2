// The workbench's travel test against a current that rises at the board's pin.
#include <algorithm>

#include "firmware/desk.hpp"
#include "link/conversation.hpp"
#include "perform/bench.hpp"
#include "perform/plan.hpp"
#include "store/store.hpp"

namespace mien::firmware {
namespace {

constexpr double kWindow_us = 16'667;  // of the window, which looks 60 times a second

/// The first actuator of the demo's rig on its board, on the workbench: a conversation whose clock is the desk's, perform::Bench ticked as
/// editor/studio_bench.cpp does.
class OnTheBench {
 public:
  OnTheBench() {
    const auto loaded = store::load_show(MIEN_SOURCE_DIR "/shows/keeper.show.json");
    if (!loaded) throw std::runtime_error(show::to_text(loaded.problem()));
    show::Rig rig = *loaded->rig;
    rig.actuators.front().commissioned = true;
    actuator_ = rig.actuators.front();
    show::Rig one = perform::bench_rig(rig, 0);
    std::erase_if(one.boards, [&](const show::Board& b) { return b.name != actuator_.board; });
    rig_ = std::make_shared<const show::Rig>(one);
    bench.emplace(rig, 0);
    plan_ = perform::compile(rig_, perform::bench_show(bench->setpoint_deg()));
    conversation_.emplace(*rig_);
    chip.run(50'000);
    conversation_->begin(now_ns());
  }

  void current(double ampere) { chip.tell("adc 0 " + std::to_string(kCurrent) + " " + std::to_string(std::lround(ampere / 33 * 4095))); }

  /// Until `done`, at most so long; what was on the pins meanwhile.
  template <class Done>
  Events run(double most_us, Done done) {
    Events all;
    for (const double until_us = chip.now_us() + most_us; chip.now_us() < until_us && !done();) {
      if (chip.now_us() >= next_look_us_) look();
      if (chip.now_us() >= next_frame_us_) send_frame();
      auto& outbox = conversation_->outbox();
      while (!outbox.empty()) {
        const auto bytes = outbox.front();
        chip.send_bytes({bytes.begin(), bytes.end()});
        outbox.wrote(bytes.size());
      }
      Events events = chip.run(1'000);
      for (const Heard& heard : events.heard) {
        conversation_->receive(heard.bytes, static_cast<std::int64_t>(heard.at_us * 1000));
        wire::StateReport report;
        if (decode(wire::Bytes{heard.packet.data(), heard.packet.size()}, report)) ++reports;
      }
      conversation_->step(now_ns());
      Host::append(all, std::move(events));
    }
    return all;
  }

  void get_going() {
    bench->acknowledge();
    run(3e6, [&] { return conversation_->configured(); });
    conversation_->set_goal(link::Goal::arm, now_ns());
    run(3e6, [&] { return bench->doing() == perform::Doing::holding; });
    ASSERT_EQ(bench->doing(), perform::Doing::holding);
    ASSERT_TRUE(bench->travel(actuator_.min_deg, actuator_.max_deg, actuator_.rest_deg));
  }

  Bench chip{{}};
  std::optional<perform::Bench> bench;
  double halted_us = 0, seen_a = 0;
  int reports = 0;

 private:
  std::int64_t now_ns() const { return static_cast<std::int64_t>(chip.now_us() * 1000); }

  void look() {
    next_look_us_ = chip.now_us() + kWindow_us;
    link::Status status;
    conversation_->describe(status, now_ns());
    perform::Seen seen{kWindow_us * 1e-6, conversation_->armed() ? perform::Contact::armed : perform::Contact::silent, actuator_.rest_deg, {}};
    if (!status.boards.empty() && !status.boards.front().rails.empty()) seen.current_a = seen_a = status.boards.front().rails.front().current_a;
    if (!bench->tick(seen)) return;
    conversation_->set_goal(link::Goal::stop, now_ns());
    if (halted_us == 0) halted_us = chip.now_us();
  }

  void send_frame() {
    next_frame_us_ = chip.now_us() + kTick_us;
    if (!conversation_->armed() || !bench->driven()) return;
    link::Frame frame;
    frame.sequence = ++sequence_, frame.count = 1;
    frame.latch_ns = now_ns() + static_cast<std::int64_t>(rig_->latch_lead_ms * 1e6);
    frame.pulse[0] = perform::pulse_of(*plan_, 0, bench->setpoint_deg());
    conversation_->send(frame);
  }

  show::Actuator actuator_;
  std::shared_ptr<const show::Rig> rig_;
  perform::PlanPtr plan_;
  std::optional<link::Conversation> conversation_;
  double next_look_us_ = 0, next_frame_us_ = 0;
  std::uint32_t sequence_ = 0;
};

struct Ended {
  double halted_ms = 0, silent_ms = 0;  ///< after the current rose: stop was asked for, the last pulse began
};

/// The current rises to twice the threshold, `phase_ms` later than it might; the board is asked every 100 ms.
Ended run_into_something(int phase_ms) {
  OnTheBench desk;
  desk.current(0.3);
  desk.get_going();
  desk.bench->set_most_current(1.5);
  const int before = desk.reports;
  const Events creep = desk.run(1e6 + phase_ms * 1e3, [] { return false; });
  EXPECT_EQ(desk.bench->doing(), perform::Doing::travelling);
  EXPECT_NEAR(desk.seen_a, 0.3, 0.02);
  EXPECT_GE(desk.reports - before, 10) << "reports in a second";
  EXPECT_GT(creep.pulses.size(), 40u);
  EXPECT_NE(creep.pulses.front().width_us, creep.pulses.back().width_us) << "it creeps";

  desk.current(3.0);
  const double rose_us = desk.chip.now_us();
  Events after = desk.run(1e6, [&] { return desk.halted_us != 0; });
  EXPECT_EQ(desk.bench->halted(), perform::Halt::current);
  Host::append(after, desk.run(200'000, [] { return false; }));
  return {(desk.halted_us - rose_us) * 1e-3, (after.pulses.back().rise_us - rose_us) * 1e-3};
}

TEST_F(Firmware, TheTravelTestEndsItsCreepAtOnceWhenTheCurrentRises) {
  Ended worst;
  for (const int phase_ms : {0, 25, 50, 75}) {
    const Ended e = run_into_something(phase_ms);
    EXPECT_LE(e.silent_ms, e.halted_ms + 21) << "one period, and the packet's time";
    worst = {std::max(worst.halted_ms, e.halted_ms), std::max(worst.silent_ms, e.silent_ms)};
  }
  std::printf("the current rose; stopped at most %.1f ms later, the last pulse began at most %.1f ms later\n", worst.halted_ms, worst.silent_ms);
  // The board's smoothing reaches half of the way within 25 ms; it is asked ten times a second, and looked at 60 times a second.
  EXPECT_LE(worst.halted_ms, 25 + 100 + 17 + 3);
}

TEST_F(Firmware, TheTravelTestGoesOnBelowTheThreshold) {
  OnTheBench desk;
  desk.current(0.3);
  desk.get_going();
  desk.bench->set_most_current(1.5);
  desk.run(500'000, [] { return false; });
  desk.current(1.4);
  const Events events = desk.run(1e6, [] { return false; });
  EXPECT_EQ(desk.bench->doing(), perform::Doing::travelling);
  EXPECT_NEAR(desk.seen_a, 1.4, 0.02);
  EXPECT_GT(events.pulses.size(), 40u);
}

}  // namespace
}  // namespace mien::firmware
