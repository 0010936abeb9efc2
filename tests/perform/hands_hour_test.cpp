// An hour of hands at accelerated time: the tick, and all that it hears, allocates nothing.
#include <gtest/gtest.h>

#include <memory>
#include <random>

#include "allocations.hpp"
#include "heads.hpp"
#include "perform/hands_side.hpp"

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

}  // namespace
}  // namespace mien::perform
