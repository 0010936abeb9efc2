// Cables that are pulled, boards that restart and clocks that jump, again and again at random moments of a performance: no output ever jumps, and each comes back by itself.
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "link/chain.hpp"
#include "link/serial_shim.hpp"
#include "link/session_helpers.hpp"
#include "support/fault.hpp"

namespace mien::link {
namespace {

using namespace test_chain;
using support::Fault;

// Follows every output of a chain in which each board drives one, step by step of the performance.
class Outputs {
 public:
  explicit Outputs(Chain& chain) : chain_(chain), last_(chain.rig.actuators.size(), 0) {}
  /// Call every 10 ms. The largest step that the velocity limit allows in that time, and one that was held back before it; a start from silence is the host's creep.
  void look(Fault& fault, const char* when) {
    for (std::size_t b = 0; b < last_.size(); ++b) {
      const auto& a = chain_.rig.actuators[b];
      const int now = chain_.desk.board(b).pulse(0);
      const double most = a.velocity_deg_s * 0.02 * (a.pulse_max_us - a.pulse_min_us) / (a.max_deg - a.min_deg) * kPulseUnitsPerUs * 1.25;
      if (now != 0 && last_[b] != 0 && std::abs(now - last_[b]) > most) fault.lost(std::string(when) + ": the output of board " + std::to_string(b) + " jumped");
      last_[b] = now;
    }
  }

 private:
  Chain& chain_;
  std::vector<int> last_;
};

TEST(LinkFaults, ABoardThatRestartsAgainAndAgainIsBackAndNothingElseStops) {
  Fault fault("board reset in mid-show", "the other boards' frames; the board itself is back within a second, and no output jumps");
  Chain chain(3);
  ASSERT_TRUE(chain.arm());
  std::mt19937 random(91);
  Outputs outputs(chain);
  for (int round = 0; round < 60; ++round) {
    const auto which = 1 + random() % 2;
    const int at_ms = 500 + static_cast<int>(random() % 100) * 10;
    for (int i = 0; i < at_ms; i += 10) chain.perform(20, 10), outputs.look(fault, "before");
    chain.run(static_cast<int>(random() % 10));
    chain.desk.restart(which);
    fault.made();
    for (int i = 0; i < 100; ++i) {
      chain.perform(20, 10);
      outputs.look(fault, "after");
      if (!chain.host.armed()) fault.lost("the arming");
    }
    if (!chain.status().boards[which].performing) fault.lost("the board");
  }
  chain.run(3000);  // until its counters were told
  if (const auto latched = chain.status().boards[0].frames_latched; latched != chain.sequence)
    fault.lost(std::to_string(chain.sequence - latched) + " frames of board 0 of " + std::to_string(chain.sequence));
}

TEST(LinkFaults, ABoardsClockThatJumpsIsFoundOut) {
  Fault fault("board's clock jumping, by 20 to 150 ms, or past its wrap at 2^32 us", "frames latched on time again within 6 s, no output jumps");
  Chain chain(3);
  ASSERT_TRUE(chain.arm());
  std::mt19937 random(92);
  Outputs outputs(chain);
  const auto off_us = [&](std::size_t b) {  // what the board makes of the shared clock, less what it is
    return std::abs(static_cast<std::int32_t>(chain.desk.board(b).shared_us(chain.desk.clock_us(b)) - static_cast<std::uint32_t>(chain.now / 1000)));
  };
  for (int round = 0; round < 40; ++round) {
    for (int i = 0; i < 200; ++i) chain.perform(20, 10), outputs.look(fault, "before");
    const auto which = random() % 3;
    // Near its wrap first, where it will pass a second later.
    if (round % 4 == 0) chain.desk.turn_clock(which, static_cast<std::uint32_t>(-1'000'000) - chain.desk.clock_us(which));
    else chain.desk.turn_clock(which, 20'000 + random() % 130'000);
    fault.made();
    // A clock that jumps by half its range is a board that thinks it was left alone: it goes to rest by itself, and is armed again.
    for (int i = 0; i < 600; ++i) chain.perform(20, 10), outputs.look(fault, "after");
    if (!chain.host.armed()) chain.arm();
    if (off_us(which) > 1000) fault.lost("the clock: " + std::to_string(off_us(which)) + " us off");
    if (!chain.status().boards[which].performing) fault.lost("the board");
  }
}

// Over TCP, with a board's own watchdog on the other side; the port is gone for up to a second.
TEST(LinkFaults, APortThatGoesAgainAndAgainComesBackArmedAndNothingJumps) {
  Fault fault("port gone in mid-show (the cable pulled, and plugged in again)", "the head holds or goes to rest by itself, is armed again and never jumps");
  const auto rig = test::small_rig();
  test::Server server;
  test::Cable cable(server.text());
  Session session(rig);
  session.open(cable.text());
  ASSERT_TRUE(test::becomes(session, State::ready)) << test::text(session);
  session.arm();
  ASSERT_TRUE(test::becomes(session, State::armed)) << test::text(session);
  std::mt19937 random(93);
  {
    test::Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 20), pulse_at(rig, 2, 10)});
    for (int round = 0; round < 10; ++round) {
      std::this_thread::sleep_for(std::chrono::milliseconds(100 + random() % 200));
      cable.plug(false);
      fault.made();
      if (!test::becomes(session, State::lost)) fault.lost("it was not noticed: " + test::text(session));
      std::this_thread::sleep_for(std::chrono::milliseconds(random() % 400));
      cable.plug(true);
      if (!test::becomes(session, State::armed)) fault.lost("the arming: " + test::text(session));
      const auto back = session.status().frames_acknowledged;
      if (!test::eventually([&] { return session.status().frames_acknowledged >= back + 10; })) fault.lost("the frames");
    }
  }
  session.stop();
  ASSERT_TRUE(test::becomes(session, State::ready));
  server.stop();
  std::size_t moves = 0;
  for (const auto& [board, output] : {std::pair{0, 2}, {1, 0}, {1, 5}}) {
    const auto pulses = test::pulses_us(server.log(), board, output);
    moves += pulses.size();
    for (std::size_t i = 1; i + 1 < pulses.size(); ++i)
      if (pulses[i] != 0 && pulses[i - 1] != 0 && std::abs(pulses[i] - pulses[i - 1]) > 300.0 / 90 * 1000 * 0.02 * 1.25) fault.lost("an output jumped");
  }
  EXPECT_GT(moves, 30u);
}

}  // namespace
}  // namespace mien::link
