// Hands on the head, tick by tick. Amounts follow from MIDI 1.0's ranges (7 bits: 127 is the whole way, 14 bits: 16383); shapes from their definition in
// live/hand_map.hpp.
#include "live/hands.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "live/hand_rig.hpp"

namespace mien::live {
namespace {

using Kind = Source::Kind;
using What = Trigger::What;
using Hold = Trigger::Hold;

Knob fader(const char* control = "jaw", int number = 7) { return {.source = {"", 0, Kind::controller, number}, .control = control}; }
HandMap with(const Knob& knob) { return {.name = "m", .banks = {}, .knobs = {knob}, .triggers = {}}; }
HandMap with(const Trigger& trigger) { return {.name = "m", .banks = {}, .knobs = {}, .triggers = {trigger}}; }

TEST(Hands, AMapThatNobodyTouchesChangesNothing) {
  Desk desk(with(fader()));
  desk.below = {5, 0.25, 0.5, 1};
  desk.tick(kJaw, 100);
  EXPECT_EQ(desk.now, desk.below);
  EXPECT_THAT(desk.state.touched, testing::Each(0));
}

TEST(Hands, APickedUpKnobDoesNothingUntilItCrossesTheControl_AndThenLeadsItAlone) {
  Desk desk(with(fader()));
  desk.below[kJaw] = 0.5;
  for (const int value : {0, 20, 40, 60}) {
    desk.say(controller(7, value));
    EXPECT_EQ(desk.tick(kJaw), 0.5) << value;
    EXPECT_EQ(desk.state.knobs[0].grip, Grip::waiting);
  }
  desk.say(controller(7, 70));  // 70 / 127 is above 0.5
  EXPECT_NEAR(desk.tick(kJaw), 0.5, 0.02) << "it takes over where the control is";
  EXPECT_EQ(desk.state.knobs[0].grip, Grip::held);
  EXPECT_NEAR(desk.tick(kJaw, 60), 70 / 127.0, 1e-4);
  desk.below[kJaw] = 0.1;
  desk.say(controller(7, 127));
  EXPECT_NEAR(desk.tick(kJaw, 100), 1, 1e-6) << "the show below has no say any more";
}

TEST(Hands, TakeoverNeverJumps_HoweverTheKnobAndTheShowMove) {
  for (const auto takeover : {Takeover::pick_up, Takeover::scaled}) {
    std::mt19937 random(takeover == Takeover::scaled ? 5 : 6);
    for (int round = 0; round < 200; ++round) {
      Knob knob = fader();
      knob.takeover = takeover, knob.inverted = round % 2, knob.curve = 1 + 0.5 * (round % 2);
      Desk desk(with(knob));
      desk.below[kJaw] = 0.2 + 0.6 * double(random() % 1000) / 999;
      desk.say(controller(7, int(random() % 128)));
      double before = desk.tick(kJaw);
      EXPECT_NEAR(before, desk.below[kJaw], 0.01) << "the first touch moves nothing, but where the knob happens to stand there";
      bool held = desk.state.knobs[0].grip == Grip::held;
      for (int n = 0; n < 60 && !held; ++n) {
        desk.say(controller(7, int(random() % 128)));
        const double now = desk.tick(kJaw);
        held = desk.state.knobs[0].grip == Grip::held;
        EXPECT_LT(std::abs(now - before), 0.2) << "even where the knob crosses by a leap; the tick makes up a sixth of it";
        before = now;
      }
      EXPECT_TRUE(held) << "60 leaps in either direction cross the control";
    }
  }
}

TEST(Hands, AScaledKnobMovesAtOnce_AndReachesBothEnds) {
  Knob knob = fader();
  knob.takeover = Takeover::scaled;
  Desk desk(with(knob));
  desk.below[kJaw] = 0.8;
  desk.say(controller(7, 64));  // half way, while the control is at 0.8
  EXPECT_EQ(desk.tick(kJaw), 0.8);
  desk.say(controller(7, 32));
  EXPECT_NEAR(desk.tick(kJaw), 0.8 * 32 / 64.0, 1e-9) << "half of its way down: half of the control's way down";
  desk.say(controller(7, 0));
  EXPECT_NEAR(desk.tick(kJaw), 0, 1e-12);
  desk.say(controller(7, 64));
  EXPECT_NEAR(desk.tick(kJaw), 64 / 127.0, 1e-9) << "after an end it is where the knob is";
  desk.say(controller(7, 127));
  EXPECT_EQ(desk.tick(kJaw), 1);
}

TEST(Hands, FourteenBitsMakeFineSteps_InAnyOrderOfHalves) {
  Knob knob = fader();
  knob.source.kind = Kind::controller_14, knob.source.number = 1;
  Desk desk(with(knob));
  desk.say(controller(1, 0));
  desk.tick(kJaw);
  desk.say(controller(1, 0x40)), desk.say(controller(33, 0x21));
  EXPECT_NEAR(desk.tick(kJaw, 200), (0x40 * 128 + 0x21) / 16383.0, 1e-9);
  desk.say(controller(33, 0x22));
  EXPECT_NEAR(desk.tick(kJaw, 200), (0x40 * 128 + 0x22) / 16383.0, 1e-9);
}

TEST(Hands, RangeInversionCurveAndDeadZone) {
  struct Case { bool inverted; double curve, dead_zone; int value; double jaw; };
  for (const Case& c : {Case{false, 1, 0, 127, 0.6}, {true, 1, 0, 127, 0.2}, {true, 1, 0, 0, 0.6}, {false, 2, 0, 64, 0.2 + 0.4 * (64 / 127.0) * (64 / 127.0)},
                        {false, 1, 0.5, 63, 0.2}, {false, 1, 0.5, 127, 0.6}, {false, 1, 0.5, 96, 0.2 + 0.4 * (96 / 127.0 - 0.5) / 0.5}}) {
    Knob knob = fader();
    knob.low = 0.2, knob.high = 0.6, knob.inverted = c.inverted, knob.curve = c.curve, knob.dead_zone = c.dead_zone;
    knob.takeover = Takeover::scaled;
    Desk desk(with(knob));
    for (const int end : {0, 127, c.value}) desk.say(controller(7, end)), desk.tick(kJaw);
    EXPECT_NEAR(desk.tick(kJaw), c.jaw, 1e-9) << c.value;
  }
}

TEST(Hands, SmoothingIsAnExponentialOfItsTimeConstant) {
  Knob knob = fader();
  knob.smoothing_ms = 100, knob.takeover = Takeover::scaled;
  Desk desk(with(knob));
  desk.say(controller(7, 0)), desk.tick(kJaw);
  desk.say(controller(7, 127));
  EXPECT_NEAR(desk.tick(kJaw, 10), 1 - std::exp(-1.0), 1e-9) << "after one time constant";
  EXPECT_NEAR(desk.tick(kJaw, 20), 1 - std::exp(-3.0), 1e-9);
}

Knob stick() { return {.source = {"", 0, Kind::bend, 0}, .control = "gaze_yaw", .low = -30, .high = 30, .spring_back_s = 0.2}; }

TEST(Hands, ASpringLeadsFromTheShowToEitherEnd_AndGivesItBack) {
  Desk desk(with(stick()));
  desk.below[kYaw] = 10;
  desk.say(bend(kBendCentre));
  EXPECT_EQ(desk.tick(kYaw), 10);
  desk.say(bend(kMost14Bit));
  EXPECT_EQ(desk.tick(kYaw), 30);
  desk.say(bend(0));
  EXPECT_EQ(desk.tick(kYaw), -30);
  desk.say(bend(kBendCentre / 2));
  EXPECT_NEAR(desk.tick(kYaw), 10 + 0.5 * (-30 - 10), 1e-9);
  desk.say(bend(kBendCentre));
  EXPECT_NEAR(desk.tick(kYaw, 5), 10 + 0.25 * (-30 - 10), 1e-9) << "50 of the 200 ms for the whole way, of which half was left";
  EXPECT_EQ(desk.tick(kYaw, 5), 10);
  EXPECT_FALSE(desk.state.touched[kYaw]);
}

TEST(Hands, AxesOfAGamepadAreSticksAndTriggers) {
  HandMap map;
  map.knobs = {{.source = {"pad", 0, Kind::axis, 0}, .control = "gaze_yaw", .low = -30, .high = 30, .dead_zone = 0.1, .spring_back_s = 0.1},
               {.source = {"pad", 0, Kind::axis, 5}, .control = "jaw", .spring_back_s = 0.1}};
  Desk desk(map);
  const auto axis = [](int number, float value, int device = 1) { Touch t; t.kind = Touch::Kind::axis, t.device = std::uint8_t(device), t.number = std::uint8_t(number), t.value = value; return t; };
  desk.say(axis(0, 0.05f)), desk.say(axis(5, -1));
  desk.tick(kYaw);
  EXPECT_EQ(desk.now, desk.below) << "within the dead zone, and let go";
  desk.say(axis(0, -1)), desk.say(axis(5, 1));
  desk.tick(kYaw);
  EXPECT_EQ(desk.now[kYaw], -30);
  EXPECT_EQ(desk.now[kJaw], 1);
  desk.say(axis(0, 1, 0)), desk.say(axis(0, NAN));
  EXPECT_EQ(desk.tick(kYaw, 20), 0) << "another device is not heard; what is no number counts as rest";
}

TEST(Hands, ANoteHoldsAPoseByItsVelocity) {
  Desk desk(with(Trigger{.source = {"", 0, Kind::note, 60}, .name = "glad", .curve = 2, .fade_in_s = 0.1, .fade_out_s = 0.2}));
  desk.say(note(60, 127));
  EXPECT_NEAR(desk.tick(kSmile, 5), 0.5, 1e-9) << "half of its fade";
  EXPECT_NEAR(desk.tick(kSmile, 20), 1, 1e-9);
  EXPECT_NEAR(desk.now[kJaw], 0.5, 1e-9);
  desk.say(note(60, 0));
  EXPECT_NEAR(desk.tick(kSmile, 10), 0.5, 1e-9);
  EXPECT_NEAR(desk.tick(kSmile, 11), 0, 1e-9);
  desk.say(note(60, 64));
  EXPECT_NEAR(desk.tick(kSmile, 30), std::pow(64 / 127.0, 2), 1e-9);
}

TEST(Hands, TwoPosesShareTheControlsThatBothHave) {
  HandMap map;
  map.triggers = {{.source = {"", 0, Kind::note, 60}, .name = "glad", .fade_in_s = 0}, {.source = {"", 0, Kind::note, 61}, .name = "shut", .fade_in_s = 0}};
  Desk desk(map);
  desk.say(note(60, 127)), desk.say(note(61, 127));
  EXPECT_NEAR(desk.tick(kJaw), 0.25, 1e-9);
  EXPECT_NEAR(desk.now[kSmile], 1, 1e-9);
}

TEST(Hands, ALatchLastsUntilItIsPressedAgain) {
  Desk desk(with(Trigger{.source = {"", 0, Kind::controller, 80}, .name = "glad", .hold = Hold::latch, .fade_in_s = 0, .fade_out_s = 0}));
  desk.say(controller(80, 127)), desk.say(controller(80, 0));
  EXPECT_EQ(desk.tick(kSmile), 1);
  desk.say(controller(80, 64)), desk.say(controller(80, 127));
  EXPECT_EQ(desk.tick(kSmile), 0) << "one press, though the switch told of it twice";
}

TEST(Hands, AClipGoesRoundWhileHeld_OrOnceFromBeginningToEnd) {
  Trigger trigger{.source = {"", 0, Kind::note, 62}, .what = What::clip, .name = "glance", .fade_in_s = 0, .fade_out_s = 0};
  Desk held(with(trigger));
  held.say(note(62, 1));
  EXPECT_NEAR(held.tick(kYaw, 51), 10, 1e-6) << "0.5 s into a glance to 20 deg";
  EXPECT_NEAR(held.tick(kYaw, 100), 10, 1e-6) << "and the next time round";
  held.say(note(62, 0));
  EXPECT_EQ(held.tick(kYaw), 0);

  trigger.hold = Hold::once;
  Desk once(with(trigger));
  once.say(note(62, 100)), once.say(note(62, 0));
  EXPECT_NEAR(once.tick(kYaw, 51), 10, 1e-6) << "though the note is gone";
  EXPECT_EQ(once.tick(kYaw, 100), 0);
  EXPECT_FALSE(once.state.triggers[0].on);
}

TEST(Hands, StatesAreNeverBetweenTwo) {
  Knob knob = fader("tongue");
  knob.high = 2, knob.takeover = Takeover::scaled;
  Desk desk(with(knob));
  desk.say(controller(7, 0)), desk.tick(kTongue);
  for (int value = 0; value < 128; ++value) {
    desk.say(controller(7, value));
    const double now = desk.tick(kTongue);
    EXPECT_EQ(now, std::round(2 * value / 127.0));
  }
}

TEST(Hands, BanksGiveOneKnobSeveralControls_AndWhatItHeldStays) {
  HandMap map;
  map.banks = {"one", "two"};
  map.knobs = {fader("jaw"), fader("smile")};
  map.knobs[0].bank = 1, map.knobs[1].bank = 2;
  map.triggers = {{.source = {"", 0, Kind::note, 1}, .what = What::bank, .name = "one"}, {.source = {"", 0, Kind::note, 2}, .what = What::bank, .name = "two"}};
  Desk desk(map);
  desk.say(controller(7, 0)), desk.tick(kJaw);
  desk.say(controller(7, 64));
  EXPECT_NEAR(desk.tick(kJaw, 100), 64 / 127.0, 1e-6);
  desk.say(note(2, 1)), desk.say(note(2, 0));
  desk.say(controller(7, 0)), desk.tick(kSmile);
  desk.say(controller(7, 127));
  EXPECT_NEAR(desk.tick(kSmile, 100), 1, 1e-6);
  EXPECT_NEAR(desk.now[kJaw], 64 / 127.0, 1e-6) << "the first bank's control stays where it was left";
  desk.say(note(1, 1));
  desk.say(controller(7, 120));
  EXPECT_NEAR(desk.tick(kJaw, 10), 64 / 127.0, 1e-6) << "and has to be picked up again";
  EXPECT_EQ(desk.state.knobs[0].grip, Grip::waiting);
  desk.say(controller(7, 50));
  EXPECT_NEAR(desk.tick(kJaw, 100), 50 / 127.0, 1e-6);
}

TEST(Hands, TheKnobThatMovedLastHasTheControl) {
  HandMap map;
  map.knobs = {fader("jaw", 7), fader("jaw", 8)};
  Desk desk(map);
  desk.say(controller(7, 0)), desk.tick(kJaw);
  desk.say(controller(7, 100)), desk.tick(kJaw, 100);
  desk.say(controller(8, 0)), desk.tick(kJaw);
  desk.say(controller(8, 127));
  EXPECT_NEAR(desk.tick(kJaw, 100), 1, 1e-6);
  EXPECT_EQ(desk.state.knobs[0].grip, Grip::waiting);
}

TEST(Hands, PanicGivesTheHeadBackToTheShow_Fading) {
  HandMap map;
  map.fade_s = 0.5;
  map.knobs = {fader("jaw"), stick()};
  map.triggers = {{.source = {"", 0, Kind::note, 60}, .name = "glad", .hold = Hold::latch, .fade_in_s = 0, .fade_out_s = 0.2}, {.source = {"", 0, Kind::note, 0}, .what = What::panic}};
  Desk desk(map);
  desk.say(controller(7, 0)), desk.tick(kJaw);
  desk.say(controller(7, 127)), desk.say(bend(kMost14Bit));
  EXPECT_NEAR(desk.tick(kJaw, 100), 1, 1e-6);
  desk.say(note(60, 127)), desk.tick(kSmile, 10);
  desk.say(note(0, 1)), desk.say(note(0, 0));
  EXPECT_NEAR(desk.tick(kSmile, 10), 0.5, 1e-9);
  EXPECT_NEAR(desk.tick(kJaw, 15), 0.5, 0.01) << "half of the fade";
  desk.tick(kJaw, 40);
  EXPECT_EQ(desk.now, desk.below) << "though the stick is still bent";
  EXPECT_THAT(desk.state.touched, testing::Each(0));
  desk.say(bend(kBendCentre)), desk.tick(kYaw);
  desk.say(bend(kMost14Bit));
  EXPECT_EQ(desk.tick(kYaw), 30) << "until it has rested once";
}

TEST(Hands, AGroupIsGivenToTheHandsAndTakenFromThem_Fading) {
  HandMap map;
  map.fade_s = 0.2;
  map.knobs = {fader("jaw"), stick()};
  Desk desk(map);
  desk.say(controller(7, 0)), desk.tick(kJaw);
  desk.say(controller(7, 127)), desk.say(bend(kMost14Bit)), desk.tick(kJaw, 100);
  enable(desk.state, 1, false);  // the mouth
  enable(desk.state, 7, false), enable(desk.state, -1, false);
  EXPECT_NEAR(desk.tick(kJaw, 10), 0.5, 1e-6);
  EXPECT_EQ(desk.tick(kJaw, 11), 0);
  EXPECT_EQ(desk.now[kYaw], 30) << "the eyes stay with the hands";
  EXPECT_FALSE(desk.state.touched[kJaw]);
  enable(desk.state, 1, true);
  EXPECT_NEAR(desk.tick(kJaw, 10), 0.5, 1e-6);
  EXPECT_NEAR(desk.tick(kJaw, 11), 1, 1e-6);
}

TEST(Hands, AnUnpluggedDeviceLetsGoWhatItHeld) {
  HandMap map;
  map.knobs = {stick()};
  map.triggers = {{.source = {"", 0, Kind::note, 60}, .name = "glad", .fade_in_s = 0, .fade_out_s = 0}};
  Desk desk(map);
  desk.say(note(60, 127)), desk.say(bend(0)), desk.tick(kYaw, 10);
  Touch gone;
  gone.kind = Touch::Kind::gone;
  desk.say(gone);
  desk.tick(kYaw, 50);
  EXPECT_EQ(desk.now, desk.below);
}

TEST(Hands, DeviceAndChannelArePartOfASource) {
  Knob knob = fader();
  knob.source.device = "pad", knob.source.channel = 3;
  Desk desk(with(knob));
  desk.say(midi(MidiMessage::Kind::controller, 2, 7, 0, 0)), desk.say(midi(MidiMessage::Kind::controller, 1, 7, 0, 1)), desk.tick(kJaw);
  EXPECT_EQ(desk.state.knobs[0].grip, Grip::none);
  desk.say(midi(MidiMessage::Kind::controller, 2, 7, 0, 1)), desk.tick(kJaw);
  EXPECT_EQ(desk.state.knobs[0].grip, Grip::held) << "the control stands at 0, too";
  EXPECT_EQ(Desk(with(knob), {"keys"}).program->knobs[0].ear.device, -2) << "a device that nobody knows yet is not any device";
}

TEST(Hands, ANewSnapshotOfTheShowChangesNothingInTheHands) {
  HandMap map;
  map.knobs = {fader()};
  map.triggers = {{.source = {"", 0, Kind::note, 60}, .name = "glad", .fade_in_s = 0}};
  Desk desk(map);
  desk.say(controller(7, 0)), desk.tick(kJaw);
  desk.say(controller(7, 30)), desk.say(note(60, 64)), desk.tick(kJaw, 100);
  const auto next = compile(map, desk.program->rig, hand_show(), std::vector<std::string>{"keys"});
  HandState state;
  load(state, next.get());
  carry_over(state, *next, desk.state, *desk.program);
  std::vector<double> before = desk.below, after = desk.below;
  play(*desk.program, desk.state, 0.01, before), play(*next, state, 0.01, after);
  EXPECT_EQ(before, after);
  EXPECT_GT(after[kJaw], 0.2);

  HandMap other = map;
  other.knobs[0].source.number = 9;
  const auto another = compile(other, desk.program->rig, hand_show(), std::vector<std::string>{"keys"});
  load(state, another.get());
  carry_over(state, *another, desk.state, *desk.program);
  std::vector<double> faded = desk.below;
  play(*another, state, 0.01, faded);
  EXPECT_GT(faded[kJaw], 0.2);
  EXPECT_LT(faded[kJaw], before[kJaw]) << "what no knob holds any more fades back";
}

// Ten seconds of 10,000 messages a second: every message is heard, the ring's bound holds, and values stay within the controls' ranges.
TEST(Hands, AFloodOfAnythingKeepsControlsWithinTheirRanges) {
  HandMap map;
  map.banks = {"one", "two"};
  map.knobs = {fader("jaw", 7), stick(), fader("smile", 8), fader("tongue", 9)};
  map.knobs[3].high = 2, map.knobs[2].takeover = Takeover::scaled, map.knobs[2].bank = 2;
  map.triggers = {{.source = {"", 0, Kind::note, 60}, .name = "glad"}, {.source = {"", 0, Kind::note, 61}, .what = What::clip, .name = "glance", .hold = Hold::once},
                  {.source = {"", 0, Kind::note, 62}, .what = What::bank, .name = "two"}, {.source = {"", 0, Kind::note, 63}, .what = What::panic}};
  Desk desk(map);
  Inlet inlet;
  std::mt19937 random(3);
  std::uint64_t heard = 0;
  for (int tick = 0; tick < 1000; ++tick) {
    for (int n = 0; n < 100; ++n) {
      Touch t = midi(static_cast<MidiMessage::Kind>(random() % 7), 0, int(random() % 3 ? 7 + random() % 3 : 60 + random() % 4), int(random() % 128));
      if (t.midi.kind == MidiMessage::Kind::bend) t.midi.value = std::uint16_t(random() % 16384);
      ASSERT_TRUE(inlet.push(t));
    }
    inlet.drain([&](const Touch& t) { ++heard, desk.say(t); });
    desk.below = {double(random() % 60) - 30, 0.5, 0.5, 1};
    desk.tick(kJaw);
    for (std::size_t c = 0; c < 4; ++c) {
      ASSERT_GE(desk.now[c], desk.program->min[c]) << c;
      ASSERT_LE(desk.now[c], desk.program->max[c]) << c;
    }
  }
  EXPECT_EQ(heard, 100'000u);
  EXPECT_EQ(inlet.lost(), 0u);
}

TEST(Inlet, CountsWhatDoesNotFit_AndNeverWaits) {
  Inlet inlet;
  for (int n = 0; n < 2000; ++n) inlet.push(controller(7, 1));
  EXPECT_EQ(inlet.lost(), 2000u - 1023u);
  int heard = 0;
  inlet.drain([&](const Touch&) { ++heard; });
  EXPECT_EQ(heard, 1023);
  Touch beyond;
  beyond.device = kMostDevices;
  EXPECT_FALSE(inlet.push(beyond));
}

}  // namespace
}  // namespace mien::live
