#include "live/learn.hpp"

#include <gtest/gtest.h>

#include "live/hand_rig.hpp"

namespace mien::live {
namespace {

TEST(Learn, MakesAKnobOfWhatHasAnAmount) {
  const show::Control yaw = hand_rig()->controls[kYaw];
  const auto cc = learned(controller(7, 3, 4), {}, "Slide Eight", yaw);
  ASSERT_TRUE(cc);
  EXPECT_EQ(cc->source, (Source{"Slide Eight", 5, Source::Kind::controller, 7}));
  EXPECT_EQ(cc->control, "gaze_yaw");
  EXPECT_EQ(cc->low, -30);
  EXPECT_EQ(cc->high, 30);
  EXPECT_EQ(cc->spring_back_s, 0);
  HandMap map;
  map.knobs = {*cc, *learned(bend(3), {}, "", yaw)};
  EXPECT_GT(map.knobs[1].spring_back_s, 0);
  EXPECT_TRUE(validate(map, *hand_rig(), "").empty());
  EXPECT_FALSE(learned(note(60, 1), {}, "", yaw));
}

TEST(Learn, TwoHalvesAtOnceAreOneControllerOfFourteenBits) {
  const show::Control yaw = hand_rig()->controls[kYaw];
  Touch high = controller(1, 64), low = controller(33, 5);
  high.at_ns = 1'000'000, low.at_ns = 1'200'000;
  EXPECT_EQ(to_text(learned(low, high, "", yaw)->source), "controller-14 1");
  EXPECT_EQ(to_text(learned(high, low, "", yaw)->source), "controller-14 1");
  low.at_ns = 900'000'000;
  EXPECT_EQ(to_text(learned(low, high, "", yaw)->source), "controller 33") << "long after, it is one of its own";
  EXPECT_EQ(to_text(learned(controller(70, 5), controller(38, 5), "", yaw)->source), "controller 70") << "64 and up have no halves";
}

TEST(Learn, ASlotGlidesSinceNobodyMovesADesksFaderToMeetAControl) {
  const auto knob = learned({.device = 3, .kind = Touch::Kind::slot, .number = 300, .value = 0.5f}, {}, "sACN", hand_rig()->controls[kYaw]);
  ASSERT_TRUE(knob);
  EXPECT_EQ(knob->source, (Source{"", 0, Source::Kind::slot, 300}));
  EXPECT_EQ(knob->takeover, Takeover::glide);
}

TEST(Learn, AStickHasToBeMeant) {
  const show::Control yaw = hand_rig()->controls[kYaw];
  Touch stick;
  stick.kind = Touch::Kind::axis, stick.number = 2, stick.value = 0.2f;
  EXPECT_FALSE(learned(stick, {}, "", yaw));
  stick.value = -0.7f;
  EXPECT_EQ(to_text(learned(stick, {}, "", yaw)->source), "axis 2");
}

TEST(Learn, AKeyIsWhatIsPressed) {
  const auto midi_of = [](MidiMessage::Kind kind, int number, int value) {
    Touch touch;
    touch.midi = {kind, 2, static_cast<std::uint8_t>(number), static_cast<std::uint16_t>(value), {}};
    return touch;
  };
  using K = MidiMessage::Kind;
  EXPECT_EQ(pressed(midi_of(K::note_on, 60, 1), "pad"), (Source{"pad", 3, Source::Kind::note, 60}));
  EXPECT_EQ(pressed(midi_of(K::controller, 20, 127), "pad"), (Source{"pad", 3, Source::Kind::controller, 20})) << "as switches send it";
  EXPECT_FALSE(pressed(midi_of(K::controller, 20, 90), "pad")) << "a fader on its way";
  EXPECT_FALSE(pressed(midi_of(K::note_off, 60, 0), "pad"));
  EXPECT_FALSE(pressed(midi_of(K::bend, 0, 16383), "pad"));
  const Touch button{.kind = Touch::Kind::button, .number = 3, .value = 1}, up{.kind = Touch::Kind::button, .number = 3, .value = 0}, stick{.kind = Touch::Kind::axis, .number = 0, .value = 1};
  EXPECT_EQ(pressed(button, "gamepad"), (Source{"gamepad", 0, Source::Kind::button, 3}));
  EXPECT_FALSE(pressed(up, "gamepad"));
  EXPECT_FALSE(pressed(stick, "gamepad"));
}

}  // namespace
}  // namespace mien::live
