#include "board/player.hpp"

#include "board/standing_boards.hpp"

namespace mien::board {
namespace {

/// The pulses of a tick, looked at 1 ms after it; `ticks` of them.
std::vector<double> watch(Chain& chain, int ticks, std::size_t n = 0) {
  std::vector<double> us;
  for (int i = 0; i < ticks; ++i) {
    us.push_back(chain.us(n));
    chain.run_ms(10);
  }
  return us;
}

TEST(Player, PlaysAtPowerOnOnceAndThenFallsSilent) {
  Chain chain({image_of(at_power_on())});
  EXPECT_EQ(chain.board().address(), 0);
  chain.until_phase(Phase::show);
  const std::vector<int> hill_us = hill();
  EXPECT_EQ(watch(chain, 41), std::vector<double>(hill_us.begin(), hill_us.end()));
  chain.run_ms(1000);
  EXPECT_EQ(chain.board().player().phase(), Phase::waiting);
  EXPECT_EQ(chain.board().state(), State::ready);
  EXPECT_EQ(chain.us(), 0);
  chain.run_ms(60'000);
  EXPECT_EQ(chain.board().state(), State::ready);
}

TEST(Player, GivesALampItsBaseOnTheWayItsValuesInTheShowAndItsRestElsewhere) {
  ImageOf what;
  what.tracks = {std::vector<int>(41, 1900)};  // far from rest, so that there is a way
  what.lamp = {{}};
  for (std::size_t n = 0; n < what.tracks[0].size(); ++n) what.lamp[0].push_back(static_cast<int>(40 + 5 * n));
  Chain chain({image_of(what)});
  chain.until_phase(Phase::coming);
  chain.run_ms(20);
  EXPECT_EQ(chain.board().level(0), 40);
  chain.until_phase(Phase::show);
  for (const int value : what.lamp[0]) {
    EXPECT_EQ(chain.board().level(0), value);
    chain.run_ms(10);
  }
  chain.run_ms(1000);
  EXPECT_EQ(chain.board().player().phase(), Phase::waiting);
  EXPECT_EQ(chain.board().level(0), 3);
}

TEST(Player, PlaysNoImageWhoseLampTheBoardHasNoLineFor) {
  ImageOf what = at_power_on();
  what.lamp = {std::vector<int>(what.tracks[0].size(), 9)};
  const Image image = image_of(what);
  Port port;
  port.shelf = {nullptr, image.data(), static_cast<std::uint32_t>(image.size()), nullptr, nullptr};
  Board board({}, port);
  board.stand_alone(0);
  EXPECT_EQ(board.player().fault(), BakeFault::other_board);
}

TEST(Player, CreepsFromRestToWhereTheShowBegins) {
  ImageOf what;
  what.tracks = {{1900, 1900, 1900}};
  Chain chain({image_of(what)});
  EXPECT_EQ(chain.until([&] { return chain.us() > 0; }), 1000);
  EXPECT_NEAR(chain.us(), 1500, 3);
  chain.run_ms(100);
  double last = chain.us(), fastest = 0;
  while (chain.board().player().phase() == Phase::coming) {
    chain.run_ms(10);
    fastest = std::max(fastest, chain.us() - last);
    last = chain.us();
  }
  EXPECT_NEAR(fastest, 2000 / 8 * 0.010, 0.1);  // us in 10 ms, at an eighth of the slew limit
  EXPECT_EQ(chain.us(), 1900);
}

TEST(Player, LoopsWithoutASeam) {
  ImageOf what = at_power_on();
  what.loop = true;
  what.loop_from = 10;
  Chain chain({image_of(what)});
  chain.until_phase(Phase::show);
  std::vector<double> expected;
  const std::vector<int> us = hill();
  expected.insert(expected.end(), us.begin(), us.end());
  for (int round = 0; round < 3; ++round) expected.insert(expected.end(), us.begin() + 10, us.end());
  // The leap from the loop's end to its beginning is this test's own; the slew limit rounds it off for 25 ms.
  const auto played = watch(chain, static_cast<int>(expected.size()));
  int different = 0;
  for (std::size_t n = 0; n < expected.size(); ++n) different += played[n] != expected[n];
  EXPECT_LE(different, 9);
}

TEST(Player, WaitsForItsInputToChangeAndHold) {
  ImageOf what = at_power_on();
  what.start_mask = what.start_value = 1 << 2;
  Chain chain({image_of(what)});
  chain.set_inputs(1 << 2);  // so from the beginning: no change
  chain.run_ms(500);
  EXPECT_EQ(chain.board().player().phase(), Phase::waiting);
  chain.set_inputs(1 << 3);
  chain.run_ms(500);
  chain.set_inputs(1 << 2);  // a bounce
  chain.run_ms(10);
  chain.set_inputs(0);
  chain.run_ms(500);
  EXPECT_EQ(chain.board().player().phase(), Phase::waiting);
  EXPECT_EQ(chain.us(), 0);
  for (int round = 0; round < 2; ++round) {
    chain.set_inputs(1 << 2 | 1 << 7);
    chain.until_phase(Phase::show);
    chain.set_inputs(0);
    chain.until_phase(Phase::waiting);
    chain.run_ms(2000);
  }
}

TEST(Player, StartsAtItsCodeAndAtNoOther) {
  ImageOf what = at_power_on();
  what.start_mask = 0x0F0, what.start_value = 0x050;
  Chain chain({image_of(what)});
  for (unsigned code = 0; code < 16; ++code) {
    chain.set_inputs(static_cast<std::uint16_t>(code << 4 | 3));
    chain.run_ms(200);
    if (code == 0) chain.run_ms(1000);
    EXPECT_EQ(chain.board().player().phase() != Phase::waiting, code == 5) << code;
    if (code == 5) chain.until_phase(Phase::waiting);
  }
}

TEST(Player, LivesBetweenPerformancesInPausesOfRandomLength) {
  ImageOf what = at_power_on();
  what.loop = true;
  what.pause_min_ms = 2000, what.pause_max_ms = 5000, what.gap_min_ms = 300, what.gap_max_ms = 900;
  what.tracks.push_back({1500, 1510, 1500});
  what.tracks.push_back({1500, 1490, 1500});
  Chain chain({image_of(what)});
  std::vector<int> pauses;
  int clips[3] = {};
  for (int round = 0; round < 20; ++round) {
    chain.until_phase(Phase::show);
    chain.until_phase(Phase::living);
    Phase before = Phase::living;
    pauses.push_back(chain.until([&] {
      const Phase now = chain.board().player().phase();
      if (now == Phase::clip && before != Phase::clip) ++clips[chain.board().player().track()];
      before = now;
      return now == Phase::show;
    }));
  }
  EXPECT_GE(*std::min_element(pauses.begin(), pauses.end()), 1990);
  EXPECT_LE(*std::max_element(pauses.begin(), pauses.end()), 5050);
  EXPECT_GT(*std::max_element(pauses.begin(), pauses.end()) - *std::min_element(pauses.begin(), pauses.end()), 1000);
  EXPECT_GT(clips[1], 20);
  EXPECT_GT(clips[2], 20);
  EXPECT_EQ(clips[0], 0);
}

TEST(Player, IsAliveWhileItWaitsForItsStart) {
  ImageOf what = at_power_on();
  what.start_mask = what.start_value = 1;
  what.gap_min_ms = what.gap_max_ms = 500;
  what.tracks.push_back({1500, 1510, 1500});
  Chain chain({image_of(what)});
  chain.until_phase(Phase::clip);
  chain.set_inputs(1);
  chain.until_phase(Phase::show);
  chain.until_phase(Phase::living);
  chain.until_phase(Phase::clip);
  chain.run_ms(5000);
  EXPECT_EQ(chain.board().state(), State::running);
}

TEST(Player, GivesWayToTheHostWithoutAJump) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain({image_of(what)});
  chain.until([&] { return chain.us() > 1580; });
  const double there = chain.us();
  chain.send(wire::Hello{0, 1, true});
  EXPECT_EQ(chain.newest_answer<wire::Description>().configuration, checksum(two_outputs()));
  EXPECT_EQ(chain.board().player().phase(), Phase::off);
  chain.run_ms(150);
  EXPECT_EQ(chain.board().state(), State::holding);
  EXPECT_NEAR(chain.us(), there, 5);
  const double held = chain.us();
  chain.send(wire::Clock{0, 2, 0, 0, 0});
  chain.send(wire::Order{wire::Type::arm, 0, 3});
  chain.send(frame_for(0, 1, 0, us(held)));
  chain.run_ms(50);
  EXPECT_EQ(chain.us(), held);
}

TEST(Player, ABoardThatHearsAHostAtOnceIsAnUnconfiguredOne) {
  Chain chain({image_of(at_power_on())});
  chain.run_ms(300);
  chain.send(wire::Heartbeat{0, 1, 0});
  EXPECT_EQ(chain.board().state(), State::unconfigured);
  chain.run_ms(5000);
  EXPECT_EQ(chain.us(), 0);
  chain.send(two_outputs());
  EXPECT_EQ(chain.board().state(), State::ready);
}

TEST(Player, WhatTheHostLeavesAloneHoldsThenCreepsToRestThenFallsSilentForGood) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain({image_of(what)});
  chain.until([&] { return chain.us() > 1580; });
  chain.send(wire::Heartbeat{9, 1, 0});  // not even for this board
  chain.run_ms(120);
  EXPECT_EQ(chain.board().state(), State::holding);
  chain.run_ms(200);
  EXPECT_EQ(chain.board().state(), State::ramping);
  chain.run_ms(60'000);
  EXPECT_EQ(chain.board().state(), State::ready);
  EXPECT_EQ(chain.us(), 0);
}

TEST(Player, ADamagedShowIsNotPlayedAndTheHostIsTold) {
  Image image = image_of(at_power_on());
  image.back() ^= 1;
  Chain chain({image});
  chain.run_ms(5000);
  EXPECT_EQ(chain.us(), 0);
  EXPECT_EQ(chain.board().state(), State::unconfigured);
  chain.send(wire::Hello{0, 1, true});
  chain.send(wire::AskPlayback{0, 2});
  const auto told = chain.newest_answer<wire::Playback>();
  EXPECT_EQ(told.fault, BakeFault::damaged);
  EXPECT_EQ(told.bake, 0u);
  EXPECT_EQ(told.capacity, 4096u);
}

/// Takes seven ticks or so to look over.
ImageOf large() {
  ImageOf what = at_power_on();
  while (what.tracks[0].size() < 3'500) what.tracks[0].insert(what.tracks[0].end(), what.tracks[0].begin(), what.tracks[0].begin() + 41);
  return what;
}

TEST(Player, LooksOverALargeShowAPieceATickAndThenPlaysIt) {
  const Image image = image_of(large());
  ASSERT_GT(image.size(), 2'500u);
  ASSERT_LT(image.size(), 4'096u);
  Chain chain({image});
  EXPECT_EQ(chain.board().address(), wire::kNoAddress);
  EXPECT_EQ(chain.board().state(), State::unconfigured);
  chain.run_ms(2);
  EXPECT_EQ(chain.board().address(), wire::kNoAddress) << "all of it at once";
  chain.run_ms(8);
  EXPECT_EQ(chain.board().address(), 0);
  EXPECT_EQ(chain.board().state(), State::ready);
  chain.until_phase(Phase::show);
}

TEST(Player, DamageAtTheEndOfALargeShowIsFoundBeforeAnythingMoves) {
  Image image = image_of(large());
  image.back() ^= 1;
  Chain chain({image});
  chain.run_ms(5'000);
  EXPECT_EQ(chain.us(), 0);
  EXPECT_EQ(chain.board().state(), State::unconfigured);
  EXPECT_EQ(chain.board().address(), wire::kNoAddress);
}

TEST(Player, AHostThatAsksBeforeAllWasLookedOverGetsTheWholeAnswer) {
  for (const bool damaged : {false, true}) {
    Image image = image_of(large());
    if (damaged) image.back() ^= 1;
    Chain chain({image});
    chain.run_ms(1);
    chain.send(wire::Hello{0, 1, true});
    chain.send(wire::AskPlayback{0, 2});
    EXPECT_EQ(chain.newest_answer<wire::Playback>().fault, damaged ? BakeFault::damaged : BakeFault::none);
    chain.run_ms(5'000);
    EXPECT_EQ(chain.us(), 0);
    EXPECT_EQ(chain.board().state(), State::unconfigured);
  }
}

TEST(Player, ARailThatIsTooLowEndsAShowAsWithoutAHostAndItBeginsAnewWhenTheRailIsWell) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain({image_of(what)});
  chain.until([&] { return chain.us() > 1580; });
  chain.sense(0, wire::kLowVoltage);
  const double there = chain.us();
  chain.run_ms(120);
  EXPECT_EQ(chain.board().state(), State::holding);
  EXPECT_NEAR(chain.us(), there, 5);
  chain.run_ms(250);
  EXPECT_EQ(chain.board().state(), State::ramping);
  chain.run_ms(60'000);
  EXPECT_EQ(chain.us(), 0);
  EXPECT_EQ(chain.board().state(), State::ready);
  chain.sense(0, 0);
  EXPECT_EQ(chain.until([&] { return chain.us() > 0; }), 1);
  EXPECT_NEAR(chain.us(), 1500, 3) << "from rest, where it was left";
  chain.until_phase(Phase::show);
}

TEST(Player, AShowThatItsInputStartedWaitsForTheNextStartAfterALowRail) {
  ImageOf what = at_power_on();
  what.start_mask = what.start_value = 1;
  Chain chain({image_of(what)});
  chain.run_ms(1'100);
  chain.sense(1, 0);
  chain.until_phase(Phase::show);
  chain.sense(1, wire::kLowVoltage);
  chain.run_ms(5'000);
  chain.sense(0, wire::kLowVoltage);
  chain.run_ms(100);
  chain.sense(1, wire::kLowVoltage);  // nobody must be surprised by it later
  chain.run_ms(100);
  chain.sense(1, 0);
  chain.run_ms(5'000);
  EXPECT_EQ(chain.us(), 0);
  chain.sense(0, 0);
  chain.run_ms(100);
  chain.sense(1, 0);
  chain.until_phase(Phase::show);
}

std::vector<Image> three(ImageOf what) {
  std::vector<Image> images;
  for (std::uint8_t address = 0; address < 3; ++address) {
    what.address = address;
    what.role = address == 0 ? Role::leads : Role::follows;
    images.push_back(image_of(what));
  }
  return images;
}

TEST(Player, TheBoardThatLeadsTakesTheChainAlongTickForTick) {
  ImageOf what = at_power_on();
  what.loop = true;
  what.pause_max_ms = 700;
  what.tracks.push_back({1500, 1510, 1500});
  what.gap_min_ms = 100, what.gap_max_ms = 200;
  Chain chain(three(what));
  chain.until_phase(Phase::show);
  int moved = 0;
  for (int ms = 0; ms < 10'000; ++ms) {
    chain.run_ms(1);
    for (std::size_t n = 1; n < 3; ++n) ASSERT_EQ(chain.us(n), chain.us(0)) << "board " << n << " after " << ms << " ms";
    moved += chain.us(0) != 1500;
  }
  EXPECT_GT(moved, 2000);
}

TEST(Player, ABoardThatRestartsRejoinsWithoutAJump) {
  ImageOf what = at_power_on();
  what.loop = true;
  for (auto& us : what.tracks[0]) us += 300;
  Chain chain(three(what));
  chain.until_phase(Phase::show);
  chain.run_ms(1000);
  chain.switch_off(1);
  chain.run_ms(500);
  chain.switch_on(1);
  chain.until([&] { return chain.us(1) > 0; });
  double last = 1500, fastest = 0;
  for (int ms = 0; ms < 15'000; ms += 10) {
    if (ms > 100) fastest = std::max(fastest, std::abs(chain.us(1) - last));
    last = chain.us(1);
    chain.run_ms(10);
  }
  EXPECT_LE(fastest, 20.1);  // the slew limit, in 10 ms
  EXPECT_EQ(chain.us(1), chain.us(0));
}

TEST(Player, BoardsThatFollowComeToRestWhenTheirLeaderIsGone) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain(three(what));
  chain.until_phase(Phase::show);
  chain.run_ms(500);
  chain.switch_off(0);
  EXPECT_LE(chain.until([&] { return chain.board(1).state() == State::holding; }), 620);
  chain.run_ms(5000);
  EXPECT_EQ(chain.board(1).state(), State::ready);
  EXPECT_EQ(chain.us(2), 0);
  chain.switch_on(0);
  chain.run_ms(3000);
  EXPECT_EQ(chain.board(2).state(), State::running);
}

TEST(Player, ABoardWhoseRailIsTooLowComesToRestAloneAndTheOneThatLeadsTakesAllToRest) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain(three(what));
  chain.until_phase(Phase::show);
  chain.sense(0, wire::kLowVoltage, 1);
  chain.run_ms(5'000);
  EXPECT_EQ(chain.board(1).state(), State::ready);
  EXPECT_EQ(chain.board(0).state(), State::running);
  EXPECT_EQ(chain.board(2).state(), State::running);
  chain.sense(0, 0, 1);
  chain.run_ms(5'000);
  EXPECT_EQ(chain.us(1), chain.us(0));
  chain.sense(0, wire::kLowVoltage, 0);
  chain.run_ms(5'000);
  for (std::size_t n = 0; n < 3; ++n) EXPECT_EQ(chain.us(n), 0) << "board " << n;
}

TEST(Player, FollowsNoLeaderWithAnotherShow) {
  ImageOf what = at_power_on();
  what.loop = true;
  std::vector<Image> images = three(what);
  what.address = 1, what.role = Role::follows, what.number = 78;
  images[1] = image_of(what);
  Chain chain(images);
  chain.until_phase(Phase::show);
  chain.run_ms(1000);
  EXPECT_EQ(chain.us(1), 0);
}

}  // namespace
}  // namespace mien::board
