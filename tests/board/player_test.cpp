// Boards with a baked show on their shelves, and no host.
#include "board/player.hpp"

#include "board/baked_images.hpp"

namespace mien::wire {
inline void PrintTo(Phase phase, std::ostream* out) { *out << name(phase); }
inline void PrintTo(BakeFault fault, std::ostream* out) { *out << name(fault); }
}  // namespace mien::wire

namespace mien::board {
namespace {

using wire::State;

/// Boards in a chain: what one forwards, the next receives after a hop. Each board has its own clock.
class Chain {
 public:
  explicit Chain(std::vector<Image> images) {
    for (auto& image : images) {
      places_.push_back(std::make_unique<Place>());
      Place& place = *places_.back();
      place.image = std::move(image);
      place.chain = this;
      place.index = places_.size() - 1;
      switch_on(place.index);
    }
  }
  void switch_on(std::size_t n) {
    Place& place = *places_[n];
    Port port;
    port.context = &place;
    port.forward = [](void* context, const std::uint8_t* at, std::size_t size) {
      Place& from = *static_cast<Place*>(context);
      from.chain->pass(from.index + 1, at, size);
    };
    port.write = [](void* context, const std::uint8_t* at, std::size_t size) {
      auto& said = static_cast<Place*>(context)->said;
      said.insert(said.end(), at, at + size);
    };
    place.room = Image(4096, 0xFF);
    std::copy(place.image.begin(), place.image.end(), place.room.begin());
    port.shelf = {&place, place.room.data(), 4096,
                  [](void* context, std::uint32_t) { return std::fill_n(static_cast<Place*>(context)->room.begin(), 4096, 0xFF), true; },
                  [](void* context, std::uint32_t offset, const std::uint8_t* at, std::uint32_t count) {
                    std::copy_n(at, count, static_cast<Place*>(context)->room.begin() + offset);
                    return true;
                  }};
    place.board = std::make_unique<Board>(About{}, port);
    place.born_ms = ms_ - static_cast<int>(n) * 77;
    place.board->stand_alone(clock_us(place));
  }
  void switch_off(std::size_t n) { places_[n]->board.reset(); }

  void run_ms(int ms) {
    for (int i = 0; i < ms; ++i) {
      ++ms_;
      for (auto& place : places_)
        if (place->board) place->board->tick(clock_us(*place));
    }
  }
  template <class Message>
  void send(const Message& message) {
    std::uint8_t out[wire::kMaxOnWire];
    const std::size_t size = encode(message, out, sizeof out);
    pass(0, out, size);
  }
  void set_inputs(std::uint16_t inputs) { sense(inputs, 0); }
  void sense(std::uint16_t inputs, std::uint8_t faults, std::size_t n = 0) {
    Senses senses;
    senses.inputs = inputs, senses.faults = faults;
    places_[n]->board->sense(senses, clock_us(*places_[n]));
  }
  /// Runs until it is so; how many ms that took.
  template <class So>
  int until(So so, int most_ms = 20'000) {
    for (int ms = 0; ms < most_ms; ++ms) {
      if (so()) return ms;
      run_ms(1);
    }
    ADD_FAILURE() << "never";
    return most_ms;
  }
  int until_phase(Phase phase) {
    return until([&] { return board().player().phase() == phase; });
  }

  Board& board(std::size_t n = 0) { return *places_[n]->board; }
  double us(std::size_t n = 0) { return board(n).pulse(0) / 16.0; }
  template <class Message>
  Message newest_answer(std::size_t n = 0) {
    Message out, newest;
    wire::Deframer deframer;
    for (const auto byte : places_[n]->said)
      if (deframer.push(byte) && decode(deframer.packet(), out)) newest = out;
    return newest;
  }

 private:
  struct Place {
    Image image, room, said;
    std::unique_ptr<Board> board;
    Chain* chain = nullptr;
    std::size_t index = 0;
    int born_ms = 0;
  };
  void pass(std::size_t to, const std::uint8_t* at, std::size_t size) {
    if (to >= places_.size() || !places_[to]->board) return;
    for (std::size_t i = 0; i < size; ++i) places_[to]->board->receive(at[i], clock_us(*places_[to]));
  }
  std::uint32_t clock_us(const Place& place) const { return kBeforeTheWrap + static_cast<std::uint32_t>(ms_ - place.born_ms) * 1000u; }

  std::vector<std::unique_ptr<Place>> places_;
  int ms_ = 0;
};

ImageOf at_power_on() {
  ImageOf what;
  what.tracks = {hill()};
  return what;
}

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

// ---- Storing

void store(Chain& chain, const Image& image, std::uint16_t crc) {
  chain.send(wire::StoreBegin{0, 1, static_cast<std::uint32_t>(image.size())});
  for (std::size_t at = 0; at < image.size(); at += wire::kMaxChunk) {
    wire::StoreChunk chunk;
    chunk.offset = static_cast<std::uint32_t>(at);
    chunk.count = static_cast<std::uint8_t>(std::min<std::size_t>(wire::kMaxChunk, image.size() - at));
    std::copy_n(image.begin() + static_cast<std::ptrdiff_t>(at), chunk.count, chunk.bytes);
    chain.send(chunk);
    chain.send(chunk);  // as when the answer was lost
  }
  chain.send(wire::StoreCommit{0, 2, crc});
}

TEST(Storing, AShowIsKeptWholeAndPlaysFromTheNextPowerOn) {
  Chain chain({Image{}});
  chain.send(wire::Hello{0, 1, true});
  const Image image = image_of(at_power_on());
  store(chain, image, wire::crc16(image.data(), image.size()));
  const auto told = chain.newest_answer<wire::Playback>();
  EXPECT_EQ(told.token, 2);
  EXPECT_EQ(told.fault, BakeFault::none);
  EXPECT_EQ(told.bake, 77u);
  EXPECT_EQ(told.phase, Phase::off);
  chain.run_ms(3000);
  EXPECT_EQ(chain.us(), 0);
  chain.board().stand_alone(kBeforeTheWrap);
  chain.until_phase(Phase::show);
}

TEST(Storing, RefusesWhatIsTooLargeOutOfTurnOrNotWhole) {
  Chain chain({Image{}});
  chain.send(wire::Hello{0, 1, true});
  const auto reason = [&] { return chain.newest_answer<wire::Refusal>().reason; };
  chain.send(wire::StoreBegin{0, 1, 4097});
  EXPECT_EQ(reason(), wire::Reason::no_room);
  wire::StoreChunk chunk;
  chunk.count = 10;
  chain.send(chunk);
  EXPECT_EQ(reason(), wire::Reason::store_failed);
  chain.send(wire::StoreBegin{0, 1, 200});
  chunk.offset = 128;
  chain.send(chunk);
  EXPECT_EQ(reason(), wire::Reason::store_failed);
  const Image image = image_of(at_power_on());
  store(chain, image, 0x1234);
  EXPECT_EQ(chain.newest_answer<wire::Refusal>().of, static_cast<std::uint8_t>(wire::Type::store_commit));
}

/// Memory that takes bytes in pages, as flash does, and counts how often it is asked for patience.
struct PagedMemory {
  Image bytes = Image(16'384, 0xFF), page;
  int finished = 0, patience = 0;
  bool works = true;
  Storage storage() {
    return Storage({this, bytes.data(), static_cast<std::uint32_t>(bytes.size()), [](void*, std::uint32_t) { return true; },
                    [](void* context, std::uint32_t, const std::uint8_t* at, std::uint32_t count) {
                      Image& kept = static_cast<PagedMemory*>(context)->page;
                      return kept.insert(kept.end(), at, at + count), true;
                    },
                    [](void* context) {
                      auto& memory = *static_cast<PagedMemory*>(context);
                      std::copy(memory.page.begin(), memory.page.end(), memory.bytes.begin());
                      return ++memory.finished, memory.works;
                    },
                    [](void* context) { ++static_cast<PagedMemory*>(context)->patience; }});
  }
};

TEST(Storing, MemoryHearsOfTheLastByteOnceAndOfLongReading) {
  PagedMemory memory;
  Storage storage = memory.storage();
  const Image image(10'000, 0x5A);
  EXPECT_TRUE(storage.begin(10'000).ok());
  for (std::size_t at = 0; at < image.size(); at += wire::kMaxChunk) {
    EXPECT_EQ(memory.finished, 0);
    wire::StoreChunk chunk{0, 1, static_cast<std::uint32_t>(at)};
    chunk.count = static_cast<std::uint8_t>(std::min<std::size_t>(wire::kMaxChunk, image.size() - at));
    std::fill_n(chunk.bytes, chunk.count, 0x5A);
    EXPECT_TRUE(storage.add(chunk).ok());
    EXPECT_TRUE(storage.add(chunk).ok());
  }
  EXPECT_EQ(memory.finished, 1);
  EXPECT_TRUE(storage.commit(wire::crc16(image.data(), image.size())).ok());
  EXPECT_EQ(memory.patience, 3);  // for 4096 bytes each
}

TEST(Storing, MemoryThatFailsAtTheLastByteFailsTheShow) {
  PagedMemory memory;
  memory.works = false;
  Storage storage = memory.storage();
  EXPECT_TRUE(storage.begin(5).ok());
  wire::StoreChunk chunk;
  chunk.count = 5;
  EXPECT_EQ(storage.add(chunk).reason, wire::Reason::store_failed);
  EXPECT_EQ(storage.add(chunk).reason, wire::Reason::store_failed);
  EXPECT_EQ(storage.commit(wire::crc16(chunk.bytes, 5)).reason, wire::Reason::store_failed);
}

TEST(Storing, IsRefusedWhileOutputsAreDriven) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain({image_of(what)});
  chain.until_phase(Phase::show);
  chain.send(wire::StoreBegin{0, 1, 100});
  EXPECT_EQ(chain.newest_answer<wire::Refusal>().reason, wire::Reason::armed);
}

}  // namespace
}  // namespace mien::board
