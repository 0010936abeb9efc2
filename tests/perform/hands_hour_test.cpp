// An hour of hands at accelerated time: the tick, and all that it hears, allocates nothing.
#include <gtest/gtest.h>

#include <memory>
#include <random>

#include "allocations.hpp"
#include "heads.hpp"
#include "live/mtc_out.hpp"
#include "live/osc_ear.hpp"
#include "live/sacn.hpp"
#include "live/sacn_packet.hpp"
#include "perform/hands_side.hpp"
#include "perform/transport.hpp"

namespace mien::perform {
namespace {

using namespace testing;

TEST(HandsForAnHour, AllocateNothing_AndLeaveNoSetpointBeyondItsTravel) {
  const auto rig = small_rig();
  const auto show = empty_show(std::chrono::seconds(3600));
  show->poses = {std::make_shared<const show::Pose>(show::Pose{"glad", {}, "", {{"smile", 1}, {"open", 0.4}}})};
  show->clips = {std::make_shared<const show::Clip>(show::Clip{"blink", show::Time{300'000'000}, {std::make_shared<const show::Channel>(show::Channel{"blink", {{show::Time{0}, 0, show::kEase}, {show::Time{150'000'000}, 1, show::kEase}, {show::Time{300'000'000}, 0, show::kEase}}})}})};
  using S = live::Source::Kind;
  live::HandMap map;
  map.banks = {"one", "two"};
  map.knobs = {{.source = {"", 0, S::controller, 1}, .control = "open", .smoothing_ms = 20}, {.source = {"", 0, S::controller_14, 2}, .control = "smile", .low = -1, .takeover = live::Takeover::scaled, .bank = 2},
               {.source = {"", 0, S::bend, 0}, .control = "smile", .low = -1, .high = 1, .curve = 2, .dead_zone = 0.1, .spring_back_s = 0.3}};
  map.triggers = {{.source = {"", 0, S::note, 0}, .name = "glad"}, {.source = {"", 0, S::note, 1}, .what = live::Trigger::What::clip, .name = "blink", .hold = live::Trigger::Hold::once},
                  {.source = {"", 0, S::note, 2}, .what = live::Trigger::What::bank, .name = "two"}, {.source = {"", 0, S::note, 3}, .what = live::Trigger::What::panic}, {.source = {"", 0, S::note, 4}, .name = "glad", .hold = live::Trigger::Hold::latch}};
  const auto plan = compile(rig, show, nullptr, live::compile(map, rig, show, {}));
  ASSERT_EQ(plan->hands->triggers.size(), 5u);
  auto head = std::make_unique<Head>();
  auto inlet = std::make_unique<live::Inlet>();
  auto side = std::make_unique<HandsSide>(inlet.get());
  side->record(true);
  stand_at(*head, *plan, show::Time{0});
  std::mt19937 random(3);
  live::MidiParser parser;
  Tick out;
  live::TakeTick taken;
  bool within = true;
  std::uint64_t heard = 0;
  constexpr int kHour = 360'000;
  allocations = 0, counting = true;
  for (int n = 0; n < kHour; ++n) {
    for (unsigned m = random() % 4; m > 0; --m) {
      const std::uint8_t kinds[] = {0xB0, 0xE0, 0x90, 0x80};
      const std::uint8_t bytes[] = {kinds[random() % 4], static_cast<std::uint8_t>(random() % 40), static_cast<std::uint8_t>(random() % 128)};
      for (const auto byte : bytes)
        if (const auto message = parser.feed(byte)) inlet->push({.device = 0, .midi = *message});
    }
    const show::Time t{n * 10'000'000ll};
    side->hear(*plan, *head);
    tick(*plan, *head, t, 1, out);
    side->put_on_tape(*plan, *head, out, t);
    heard = side->report(*plan, *head).heard;
    while (side->take(taken)) {}
    for (std::size_t a = 0; a < 3; ++a) within &= out.setpoint_deg[a] >= rig->actuators[a].min_deg && out.setpoint_deg[a] <= rig->actuators[a].max_deg;
  }
  counting = false;
  EXPECT_EQ(allocations, 0u);
  EXPECT_TRUE(within);
  EXPECT_GT(heard, 500'000u);
  EXPECT_EQ(inlet->lost(), 0u);
  counting = true;
  ::operator delete(::operator new(3));
  counting = false;
  EXPECT_EQ(allocations, 1u) << "the counter counts";
}

// Hands, OSC at 100 messages a second, a universe of 64 slots at 44 Hz and time code at once, as threads of their own would bring them; what the performing thread does with it is counted.
// All packets of OSC and sACN are made by the writers of the tests and of live/osc.
TEST(OthersForAnHour, AllocateNothing_LoseNothing_AndNoTickIsMissed) {
  const auto rig = small_rig();
  const auto show = empty_show(std::chrono::seconds(3700));
  show->poses = {std::make_shared<const show::Pose>(show::Pose{"glad", {}, "", {{"smile", 1}, {"open", 0.4}}})};
  live::HandMap map;
  map.knobs = {{.source = *live::parse_source("slot 3"), .control = "open", .takeover = live::Takeover::glide}, {.source = *live::parse_source("osc /desk/smile"), .control = "smile", .low = -1, .high = 1},
               {.source = *live::parse_source("controller 1"), .control = "blink"}};
  map.triggers = {{.source = *live::parse_source("osc /desk/glad"), .name = "glad"}, {.source = *live::parse_source("slot 60"), .name = "glad"}, {.source = *live::parse_source("note 3"), .what = live::Trigger::What::panic}};
  std::vector<std::string> addresses;
  live::know_controls(*rig, addresses);
  live::know_addresses(map, addresses);
  const auto plan = compile(rig, show, nullptr, live::compile(map, rig, show, {}, addresses));
  auto head = std::make_unique<Head>();
  auto inlet = std::make_unique<live::Inlet>();
  auto side = std::make_unique<HandsSide>(inlet.get());
  side->record(true);
  stand_at(*head, *plan, show::Time{0});
  live::OscEar osc(*inlet, 2);
  osc.know(addresses);
  live::SacnEar sacn(*inlet, 3, 1);
  live::MtcOut code;
  live::MidiParser code_parser;
  live::Follower follower;
  follower.set({.source = live::FollowSettings::Source::mtc});
  Transport transport;
  std::mt19937 random(9);
  live::SacnSay desk;
  desk.levels.resize(64);
  Tick out;
  live::TakeTick taken;
  live::Followed followed;
  bool within = true, on_time = true;
  std::uint64_t heard = 0, ticks = 0, steady = 0;
  show::Time last{-1};
  constexpr int kHour = 360'000;
  constexpr std::int64_t kTick_ns = 10'000'000;
  allocations = 0;
  for (int n = 0; n < kHour; ++n) {
    const std::int64_t now = kTick_ns * (n + 1);
    // What other threads do.
    inlet->push({.at_ns = now, .device = 0, .midi = {live::MidiMessage::Kind::controller, 0, 1, static_cast<std::uint16_t>(random() % 128), {}}});
    if (n % 997 == 0) inlet->push({.at_ns = now, .device = 0, .midi = {live::MidiMessage::Kind::note_on, 0, 3, 90, {}}});
    const live::OscValue value[] = {static_cast<float>(random() % 1000) / 999.0f};
    osc.hear(live::write_osc(n % 3 == 0 ? "/desk/smile" : n % 3 == 1 ? "/mien/control/{open,blink}" : "/desk/glad", value), {}, now, now);
    if (n % 500 == 0) osc.hear(live::write_osc("/mien/release", {}), {}, now, now);
    if (n % 9 % 4 == 0) {
      ++desk.sequence;
      for (auto& level : desk.levels) level = static_cast<std::uint8_t>(random());
      sacn.hear(live::sacn_packet(desk), now);
    }
    if (n % 60'000 > 59'500) sacn.catch_up(now + 3'000'000'000);  // a desk that is lost
    code.follow({now, show::Time{now}, true});
    for (auto b = code.due(now); b.count; b = code.due(now))
      for (int k = 0; k < b.count; ++k)
        if (const auto m = code_parser.feed(b.byte[static_cast<std::size_t>(k)])) inlet->push({.at_ns = now, .device = 1, .midi = *m});
    // What the performing thread does.
    counting = true;
    side->hear(*plan, *head, &follower);
    followed = follower.advance(now);
    transport.follow(followed.time, followed.running, now, plan->show->length);
    const show::Time t = transport.advance(now, {}, plan->show->length);
    tick(*plan, *head, t, 1, out);
    if (transport.playing()) side->put_on_tape(*plan, *head, out, t);
    heard = side->report(*plan, *head).heard;
    while (side->take(taken)) {}
    counting = false;
    ++ticks;
    on_time &= t >= last;
    last = t;
    steady += followed.state == live::Followed::State::locked;
    for (std::size_t a = 0; a < 3; ++a) within &= out.setpoint_deg[a] >= rig->actuators[a].min_deg && out.setpoint_deg[a] <= rig->actuators[a].max_deg;
  }
  EXPECT_EQ(allocations, 0u);
  EXPECT_TRUE(within);
  EXPECT_TRUE(on_time) << "the show never runs backward";
  EXPECT_EQ(ticks, std::uint64_t{kHour});
  EXPECT_GT(steady, kHour - 40u) << "locked but for the first quarter frames";
  EXPECT_NEAR(show::to_seconds(last), 3600, 0.02);
  EXPECT_EQ(inlet->lost(), 0u);
  EXPECT_GT(heard, 5'000'000u);
  EXPECT_EQ(osc.counts().unknown + osc.counts().broken, 0u);
}

}  // namespace
}  // namespace mien::perform
