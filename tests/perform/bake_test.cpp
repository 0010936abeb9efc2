#include "perform/bake.hpp"

#include <gtest/gtest.h>

#include <set>

#include "board/baked.hpp"
#include "board/board.hpp"
#include "link/peer.hpp"
#include "perform/heads.hpp"
#include "perform/render.hpp"
#include "store/store.hpp"
#include "wire/crc16.hpp"

namespace mien::perform {
namespace {

using namespace std::chrono_literals;

PlanPtr keeper() {
  const auto loaded = store::load_show(MIEN_SOURCE_DIR "/shows/keeper.show.json");
  EXPECT_TRUE(loaded) << show::to_text(loaded.problem());
  return compile(loaded->rig, loaded->show);
}

/// A nod of the jaw and a smile over `length`, in a head of three servos.
PlanPtr small_plan(show::Time length = 2s) {
  const auto show = testing::empty_show(length);
  testing::add_channel(*show, "open", {{0s, 0.2}, {500ms, 0.9}, {1500ms, 0.1}, {2s, 0.2}});
  testing::add_channel(*show, "smile", {{0s, 0.3}, {1s, -0.4}, {2s, 0.3}});
  return compile(testing::small_rig(), show);
}

PlanPtr blink_plan(const PlanPtr& of) {
  const auto show = testing::empty_show(600ms);
  testing::add_channel(*show, "blink", {{0s, 0}, {150ms, 1}, {500ms, 0}});
  return compile(of->rig, show);
}

std::vector<Pulses> rendered(const Plan& plan, show::Time length = 0s) {
  std::vector<Pulses> all;
  render(plan, length, [&](const Tick& tick) {
    Pulses p{};
    for (int a = 0; a < plan.actuators(); ++a) p[std::size_t(a)] = pulse_of(plan, a, tick.setpoint_deg[std::size_t(a)]);
    all.push_back(p);
    return true;
  });
  return all;
}

board::Baked opened(const BakedBoard& board) {
  board::Baked baked;
  EXPECT_EQ(board::read({board.image.data(), board.image.size()}, baked), wire::BakeFault::none);
  EXPECT_EQ(board::check(baked), wire::BakeFault::none);
  return baked;
}

/// The farthest that what a track decodes to is from the pulses of its actuators, in microseconds.
double worst_us(const Bake& bake, const show::Rig& rig, int track, const std::vector<Pulses>& expected) {
  double worst = 0;
  const auto peers = link::peers_of(rig);
  for (std::size_t b = 0; b < peers.size(); ++b) {
    const board::Baked baked = opened(bake.boards[b]);
    EXPECT_EQ(baked.track[track].ticks, expected.size());
    board::TrackReader reader;
    EXPECT_TRUE(reader.start(baked, track, 0));
    std::uint16_t pulse[wire::kMaxOutputs] = {};
    std::uint8_t value[wire::kMaxChannels] = {};
    for (const auto& want : expected) {
      EXPECT_TRUE(reader.next(pulse, value));
      for (int i = 0; i < baked.outputs; ++i) {
        const auto actuator = peers[b].actuator[baked.output[i].output];
        worst = std::max(worst, std::abs(pulse[i] - want[std::size_t(actuator)]) / 16.0);
      }
    }
    EXPECT_FALSE(reader.next(pulse, value));
  }
  return worst;
}

TEST(Bake, HoldsTheDemoInFortyBytesPerActuatorAndSecondWithinAMicrosecond) {
  const PlanPtr plan = keeper();
  const auto baked = bake(*plan, {}, {});
  ASSERT_TRUE(baked);
  EXPECT_EQ(baked->boards.size(), 3u);
  EXPECT_EQ(baked->actuators, 21);
  EXPECT_LE(baked->bytes_per_actuator_second(), 40);
  EXPECT_LE(worst_us(*baked, *plan->rig, 0, rendered(*plan)), 0.5);
}

TEST(Bake, TellsBoardsExactlyTheLimitsThatTheHostTells) {
  const PlanPtr plan = keeper();
  const auto baked = bake(*plan, {}, {});
  ASSERT_TRUE(baked);
  const auto peers = link::peers_of(*plan->rig);
  for (std::size_t b = 0; b < peers.size(); ++b) {
    const board::Baked head = opened(baked->boards[b]);
    wire::Deframer deframer;
    wire::Configure told;
    int packets = 0;
    for (std::size_t i = 0; i < head.configure.size; ++i)
      if (deframer.push(head.configure.data[i])) packets += decode(deframer.packet(), told);
    EXPECT_EQ(packets, 1);
    EXPECT_EQ(wire::checksum(told), peers[b].checksum);
  }
}

TEST(Bake, AShowThatIsFollowedByNothingIsTheRenderedOne) {
  const PlanPtr plan = small_plan();
  const auto baked = bake(*plan, {}, {});
  ASSERT_TRUE(baked);
  EXPECT_LE(worst_us(*baked, *plan->rig, 0, rendered(*plan)), 0.5);
}

TEST(Bake, ASeamlessLoopIsKeptOnce) {
  const PlanPtr plan = small_plan();
  BakeSettings settings;
  settings.loop = true;
  const auto baked = bake(*plan, {}, settings);
  ASSERT_TRUE(baked);
  const auto twice = rendered(*plan, 4s - 10ms);
  const board::Baked head = opened(baked->boards[0]);
  // The limiter starts at rest the first time round, in motion the second: kept twice only where that shows.
  const bool same = std::equal(twice.begin(), twice.begin() + 200, twice.begin() + 200, twice.begin() + 400);
  EXPECT_EQ(head.track[0].ticks, same ? 200u : 400u);
  EXPECT_EQ(head.loop_from, same ? 0u : 200u);
  EXPECT_EQ(head.track[0].ticks - head.loop_from, 200u);
}

TEST(Bake, ALoopWithAWayIntoItGoesOnAtTheLoopsBeginning) {
  auto show = std::make_shared<show::Show>(*small_plan()->show);
  show->loop = show::Range{500ms, 1500ms};
  const PlanPtr plan = compile(testing::small_rig(), show);
  BakeSettings settings;
  settings.loop = true;
  const auto baked = bake(*plan, {}, settings);
  ASSERT_TRUE(baked);
  const board::Baked head = opened(baked->boards[0]);
  const auto expected = rendered(*plan, 10s);
  board::TrackReader reader;
  ASSERT_TRUE(reader.start(head, 0, 0));
  double worst = 0;
  for (const auto& want : expected) {
    if (reader.at_end()) reader.start(head, 0, head.loop_from);
    std::uint16_t pulse[wire::kMaxOutputs];
    std::uint8_t value[wire::kMaxChannels];
    ASSERT_TRUE(reader.next(pulse, value));
    for (std::size_t a = 0; a < 3; ++a) worst = std::max(worst, std::abs(pulse[a] - want[a]) / 16.0);
  }
  EXPECT_LE(worst, 0.5);
}

TEST(Bake, SaysThatCuesAreLeftOut) {
  const PlanPtr plan = small_plan();
  const auto plain = bake(*plan, {}, {});
  ASSERT_TRUE(plain);
  EXPECT_TRUE(plain->notes.empty());
  auto with_cue = std::make_shared<show::Show>(*plan->show);
  with_cue->cues.resize(1);
  with_cue->cues[0].name = "wink";
  const auto baked = bake(*compile(plan->rig, with_cue), {}, {});
  ASSERT_TRUE(baked);
  ASSERT_EQ(baked->notes.size(), 1u);
  EXPECT_EQ(baked->notes[0].severity, show::Severity::note);
  EXPECT_NE(baked->notes[0].cure.find("--cues"), std::string::npos);
  EXPECT_EQ(baked->bytes(), plain->bytes());
}

TEST(Bake, ShowAndIdleLifeBeginAndEndInTheSamePoseAndKeepTheLimits) {
  const PlanPtr plan = small_plan();
  show::Findings notes;
  BakeSettings settings;
  const Track show = show_track(*plan, settings, true, notes), blink = idle_track(*plan, *blink_plan(plan), notes);
  EXPECT_TRUE(notes.empty());
  EXPECT_EQ(show.ticks.back(), show.ticks.front());
  EXPECT_EQ(blink.ticks.back(), show.ticks.front());
  for (const Track* track : {&show, &blink}) {
    Pulses last = show.ticks.front();
    for (const auto& pulses : track->ticks) {
      for (int a = 0; a < plan->actuators(); ++a) {
        const auto i = std::size_t(a);
        const double step_deg = std::abs(angle_of(*plan, a, pulses[i]) - angle_of(*plan, a, last[i]));
        EXPECT_LE(step_deg, plan->limits.step_deg[i] + 1 / std::abs(plan->pulse_per_deg[i]));
      }
      last = pulses;
    }
  }
}

TEST(Bake, IdleLifeMovesNothingThatItSaysNothingOf) {
  const PlanPtr plan = small_plan();
  show::Findings notes;
  const Track blink = idle_track(*plan, *blink_plan(plan), notes);
  const Pulses base = rendered(*plan).front();
  bool blinked = false;
  for (const auto& pulses : blink.ticks) {
    EXPECT_EQ(pulses[1], base[1]);
    EXPECT_EQ(pulses[2], base[2]);
    blinked = blinked || pulses[0] != base[0];
  }
  EXPECT_TRUE(blinked);
}

TEST(Bake, ABoardWithoutActuatorsStillHasAnImageSoThatItCanLead) {
  auto rig = testing::small_rig();
  rig->boards.push_back(rig->boards[0]);
  rig->boards[0].name = "root";
  rig->boards[1].address = 1;
  const auto show = testing::empty_show(1s);
  const auto baked = bake(*compile(rig, show), {}, {});
  ASSERT_TRUE(baked);
  ASSERT_EQ(baked->boards.size(), 2u);
  const board::Baked root = opened(baked->boards[0]), one = opened(baked->boards[1]);
  EXPECT_EQ(root.outputs, 0);
  EXPECT_EQ(root.role, board::Role::leads);
  EXPECT_EQ(one.role, board::Role::follows);
  EXPECT_EQ(root.number, one.number);
}

/// The head of three servos with a lamp, a module that is told states, and a fan of its own.
PlanPtr plan_with_auxiliaries() {
  auto rig = testing::small_rig();
  rig->controls.push_back({"glow", "eyes", "1", 0, 1, 0.25});
  rig->controls.push_back({"mood", "mouth", "1", 0, 3, 0, {"calm", "curious", "cross", "glad"}});
  rig->auxiliaries = {{"halo", "one", "glow", 0, show::Dimmer{}}, {"display", "one", "mood", 2, show::Code{2, 4, 1}}, {"fan", "one", "", 5, show::Fan{}}};
  const auto show = std::make_shared<show::Show>(*small_plan()->show);
  testing::add_channel(*show, "glow", {{0s, 0.5}, {400ms, 1}, {1s, 0}, {2s, 0.75}});
  testing::add_channel(*show, "mood", {{0s, 1, show::kHold}, {600ms, 3, show::kHold}, {1300ms, 0, show::kHold}, {1800ms, 2, show::kHold}});
  return compile(rig, show);
}

/// Bake's way and render's way to the same values: what each tick tells every auxiliary is on the board's lines, once the code has settled.
TEST(Bake, WhatABoardTellsItsAuxiliariesIsWhatRenderSays) {
  const PlanPtr plan = plan_with_auxiliaries();
  const auto baked = bake(*plan, {}, {});
  ASSERT_TRUE(baked);
  std::vector<Values> expected;
  render(*plan, 0s, [&](const Tick& tick) {
    Values values{};
    for (int n = 0; n < 3; ++n) values[std::size_t(n)] = auxiliary_of(*plan, n, tick.control);
    expected.push_back(values);
    return true;
  });
  auto image = baked->boards[0].image;
  board::Port port;
  port.shelf = {nullptr, image.data(), static_cast<std::uint32_t>(image.size()), nullptr, nullptr};
  board::About about;
  about.lines = 6;
  board::Board board(about, port);
  std::uint32_t now_us = 1000;
  board.stand_alone(now_us);
  ASSERT_EQ(board.player().fault(), wire::BakeFault::none);
  const auto tick = [&] { board.tick(now_us += 1000); };
  for (int ms = 0; board.player().phase() != wire::Phase::show; ++ms) {
    ASSERT_LT(ms, 10'000);
    tick();
  }
  std::set<int> halo, mood;
  for (const auto& want : expected) {  // the first of them was played just now
    for (int ms = 0; ms < 6; ++ms) tick();
    EXPECT_EQ(board.level(0), want[0]);
    const int shown = (board.level(2) ? 1 : 0) + (board.level(3) ? 2 : 0);
    EXPECT_EQ(shown, want[1]);
    EXPECT_EQ(board.level(5), 0) << "nothing is hot";
    halo.insert(board.level(0)), mood.insert(shown);
    for (int ms = 6; ms < 10; ++ms) tick();
  }
  EXPECT_GT(halo.size(), 50u);
  EXPECT_EQ(mood.size(), 4u);
  for (int ms = 0; ms < 3000; ++ms) tick();
  EXPECT_EQ(board.player().phase(), wire::Phase::waiting);
  EXPECT_EQ(board.level(0), 64) << "after the show it rests: a quarter of 255";
}

TEST(Bake, IdleLifeLeavesTheLampsAsTheShowBegins) {
  const PlanPtr plan = plan_with_auxiliaries();
  show::Findings notes;
  BakeSettings settings;
  const Track show = show_track(*plan, settings, true, notes), blink = idle_track(*plan, *blink_plan(plan), notes);
  ASSERT_EQ(show.values.size(), show.ticks.size());
  ASSERT_EQ(blink.values.size(), blink.ticks.size());
  EXPECT_EQ(show.values.back(), show.values.front());
  for (const auto& values : blink.values) EXPECT_EQ(values, show.values.front());
}

TEST(Bake, TwoBakesOfAShowAreTheSameBytesAndAnotherShowHasChanceOfItsOwn) {
  const PlanPtr plan = plan_with_auxiliaries();
  BakeSettings settings;
  settings.loop = true, settings.pause = {1s, 9s};
  const std::vector<PlanPtr> idle{blink_plan(plan)};
  const auto one = bake(*plan, idle, settings), two = bake(*plan, idle, settings);
  ASSERT_TRUE(one && two);
  EXPECT_EQ(one->boards[0].image, two->boards[0].image);
  auto other = std::make_shared<show::Show>(*plan->show);
  std::erase_if(other->channels, [](const auto& channel) { return channel->control == "mood"; });
  testing::add_channel(*other, "mood", {{0s, 1, show::kHold}, {600ms, 2, show::kHold}});
  const auto third = bake(*compile(plan->rig, other), idle, settings);
  ASSERT_TRUE(third);
  EXPECT_NE(opened(one->boards[0]).number, opened(third->boards[0]).number) << "a lamp alone makes it another show";
}

/// A board with the demo's image on its shelf, ticked a thousand times a second as firmware does: what its outputs drive.
TEST(Bake, WhatABoardPlaysIsWhatRenderSaysWithinAMicrosecond) {
  const PlanPtr plan = keeper();
  const auto baked = bake(*plan, {}, {});
  ASSERT_TRUE(baked);
  const auto expected = rendered(*plan);
  const auto peers = link::peers_of(*plan->rig);
  for (std::size_t b = 0; b < peers.size(); ++b) {
    auto image = baked->boards[b].image;
    image[11] = static_cast<std::uint8_t>(board::Role::alone);
    const std::size_t head = image[8] | image[9] << 8;
    const auto crc = wire::crc16(image.data(), head - 2);
    image[head - 2] = static_cast<std::uint8_t>(crc >> 8), image[head - 1] = static_cast<std::uint8_t>(crc);
    board::Port port;
    port.shelf = {nullptr, image.data(), static_cast<std::uint32_t>(image.size()), nullptr, nullptr};
    board::Board board({}, port);
    std::uint32_t now_us = 4'294'000'000u;
    board.stand_alone(now_us);
    ASSERT_EQ(board.player().fault(), wire::BakeFault::none);
    const auto tick = [&] { board.tick(now_us += 1000); };
    for (int ms = 0; board.player().phase() != wire::Phase::show; ++ms) {
      ASSERT_LT(ms, 10'000);
      tick();
    }
    const auto slewed_before = board.counters().slewed;  // on the way there: the first pulse has no time to move in
    double worst = 0;
    for (const auto& want : expected) {  // the first of them was played just now
      for (int n = 0; n < wire::kMaxOutputs; ++n)
        if (const int a = peers[b].actuator[std::size_t(n)]; a >= 0)
          worst = std::max(worst, std::abs(board.pulse(n) - want[std::size_t(a)]) / 16.0);
      for (int ms = 0; ms < 10; ++ms) tick();
    }
    EXPECT_LE(worst, 1.0) << peers[b].name;
    EXPECT_EQ(board.counters().clamped, 0u);
    EXPECT_EQ(board.counters().slewed, slewed_before);
    EXPECT_EQ(board.player().phase(), wire::Phase::waiting);
  }
}

}  // namespace
}  // namespace mien::perform
