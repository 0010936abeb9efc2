// What devices are told of where their knobs' controls stand. Bytes are those of the MIDI 1.0 Detailed Specification 4.2, tables II and III; that they mean what they should is
// held to the parser and the hands themselves: told back to them, they lead the control to where it stands.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "hand_rig.hpp"
#include "live/feedback.hpp"
#include "support/time.hpp"

namespace mien::live {
namespace {

using Kind = Source::Kind;
using support::kSecond;

std::string text_of(const std::vector<FeedbackMessage>& messages) {
  std::string text;
  for (const auto& m : messages) {
    text += std::to_string(m.device) + ":";
    for (int n = 0; n < m.count; ++n) {
      char byte[8];
      std::snprintf(byte, sizeof byte, " %02X", m.bytes[static_cast<std::size_t>(n)]);
      text += byte;
    }
    text += "; ";
  }
  return text;
}

HandProgramPtr program_of(const HandMap& map, show::ShowPtr show = hand_show()) {
  const std::vector<std::string> devices{"keys", "pad"};
  return compile(map, hand_rig(), show, devices);
}
Knob knob(Kind kind, int number, const char* control, double low = 0, double high = 1) { return {.source = {"pad", 3, kind, number}, .control = control, .low = low, .high = high}; }

TEST(Feedback, TellsAKnobWhereItsControlStands_OnceForEachChange) {
  HandMap map;
  map.knobs = {knob(Kind::controller, 7, "jaw"), knob(Kind::controller_14, 2, "smile"), knob(Kind::bend, 0, "gaze_yaw", -30, 30)};
  Feedback feedback(program_of(map));
  std::vector<double> control{0, 0.5, 1, 0};
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, 0)), "1: B2 07 40; 1: B2 02 7F B2 22 7F; 1: E2 00 40; ") << "0.5 is 63.5 steps of 127, rounded up; the wheel in its middle is 8192";
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, kSecond)), "");
  control[kJaw] = 0;
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, 2 * kSecond)), "1: B2 07 00; ");
  control[kYaw] = 30, control[kJaw] = 7;
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, 3 * kSecond)), "1: B2 07 7F; 1: E2 7F 7F; ") << "beyond the knob's range: its end";
  feedback.forget();
  EXPECT_EQ(feedback.tell(control, {}, 1, 4 * kSecond).size(), 3u);
}

TEST(Feedback, HasItsRate) {
  HandMap map;
  map.knobs = {knob(Kind::controller, 7, "jaw")};
  Feedback feedback(program_of(map));
  int told = 0;
  for (int n = 0; n < 1000; ++n) {
    const std::vector<double> control{0, n / 1000.0, 0, 0};
    told += static_cast<int>(feedback.tell(control, {}, 1, n * 1'000'000ll).size());
  }
  EXPECT_LE(told, 31) << "a second at 30 a second";
  EXPECT_GE(told, 25);
}

TEST(Feedback, MovesNoKnobUnderAHand) {
  HandMap map;
  map.knobs = {knob(Kind::controller, 7, "jaw")};
  Feedback feedback(program_of(map));
  std::vector<double> control{0, 0.2, 0, 0};
  feedback.tell(control, {}, 1, 0);
  feedback.touched(midi(MidiMessage::Kind::controller, 2, 7, 90, 1), kSecond);
  control[kJaw] = 0.8;
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, kSecond + kHandOff_ns - 1)), "");
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, kSecond + kHandOff_ns)), "1: B2 07 66; ") << "0.8 of 127 is 101.6";
  feedback.touched(midi(MidiMessage::Kind::controller, 2, 7, 102, 1), 5 * kSecond);
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, 7 * kSecond)), "") << "it stands there, its hand has said so";
  feedback.touched(midi(MidiMessage::Kind::controller, 1, 7, 5, 1), 8 * kSecond);
  feedback.touched(midi(MidiMessage::Kind::controller, 2, 8, 5, 1), 8 * kSecond);
  control[kJaw] = 0.1;
  EXPECT_EQ(feedback.tell(control, {}, 1, 8 * kSecond).size(), 1u) << "another channel and another knob are not it";
}

TEST(Feedback, LeavesSpringsAndGamepadsAlone_AndOtherBanks) {
  HandMap map;
  map.banks = {"one", "two"};
  map.knobs = {knob(Kind::controller, 7, "jaw"), knob(Kind::bend, 0, "gaze_yaw", -30, 30), knob(Kind::axis, 0, "smile")};
  map.knobs[0].bank = 2, map.knobs[1].spring_back_s = 0.3, map.knobs[2].source.channel = 0;
  Feedback feedback(program_of(map));
  const std::vector<double> control{10, 0.5, 1, 0};
  EXPECT_EQ(text_of(feedback.tell(control, {}, 1, 0)), "");
  EXPECT_EQ(text_of(feedback.tell(control, {}, 2, kSecond)), "1: B2 07 40; ");
}

TEST(Feedback, LightsTheKeysOfCuesAndBanks) {
  HandMap map;
  map.banks = {"one", "two"};
  auto show = *hand_show();
  show.cues.resize(1), show.cues[0].name = "hello";
  map.triggers = {{.source = {"pad", 1, Kind::note, 60}, .what = Trigger::What::cue, .name = "hello"}, {.source = {"", 0, Kind::note, 61}, .what = Trigger::What::bank, .name = "two"}, {.source = {"", 0, Kind::note, 62}, .what = Trigger::What::panic}};
  Feedback feedback(program_of(map, std::make_shared<const show::Show>(show)));
  const std::vector<double> control(4, 0);
  const std::vector<char> on{1}, off{0};
  EXPECT_EQ(text_of(feedback.tell(control, off, 1, 0)), "1: 90 3C 00; -1: 90 3D 00; ");
  EXPECT_EQ(text_of(feedback.tell(control, on, 2, kSecond)), "1: 90 3C 7F; -1: 90 3D 7F; ");
  feedback.touched(midi(MidiMessage::Kind::note_off, 0, 60, 0, 1), kSecond);
  EXPECT_EQ(text_of(feedback.tell(control, on, 2, 2 * kSecond)), "1: 90 3C 7F; ") << "the key may have put its light out when it was let go";
}

TEST(Feedback, LightsTheKeysOfPosesAndClipsThatAreOn) {
  HandMap map;
  map.triggers = {{.source = {"pad", 1, Kind::note, 60}, .name = "glad", .hold = Trigger::Hold::latch}, {.source = {"pad", 1, Kind::note, 61}, .name = "glad"}};
  const auto program = program_of(map);
  ASSERT_EQ(program->triggers.size(), 2u);
  HandState state;
  load(state, program.get());
  Feedback feedback(program);
  const std::vector<double> rest(4, 0);
  std::vector<double> control = rest;
  const auto lit = [&] {
    std::vector<char> on;
    for (const auto& t : state.triggers) on.push_back(t.on);
    return on;
  };
  EXPECT_EQ(text_of(feedback.tell(rest, {}, 1, 0, lit())), "1: 90 3C 00; 1: 90 3D 00; ");
  hear(*program, state, midi(MidiMessage::Kind::note_on, 0, 60, 100, 1));
  hear(*program, state, midi(MidiMessage::Kind::note_off, 0, 60, 0, 1));
  play(*program, state, 0.01, control);
  EXPECT_EQ(text_of(feedback.tell(rest, {}, 1, kSecond, lit())), "1: 90 3C 7F; ") << "it is latched";
  hear(*program, state, midi(MidiMessage::Kind::note_on, 0, 60, 100, 1));
  play(*program, state, 0.01, control);
  EXPECT_EQ(text_of(feedback.tell(rest, {}, 1, 2 * kSecond, lit())), "1: 90 3C 00; ");
  hear(*program, state, midi(MidiMessage::Kind::note_on, 0, 61, 100, 1));
  play(*program, state, 0.01, control);
  EXPECT_EQ(text_of(feedback.tell(rest, {}, 1, 3 * kSecond, lit())), "1: 90 3D 7F; ") << "for as long as it is held";
}

// Whatever the curve, the dead zone and the kind: what is told is what would bring the control to where it is.
TEST(Feedback, IsTheInverseOfTheHands) {
  for (const Kind kind : {Kind::controller, Kind::controller_14, Kind::bend, Kind::pressure})
    for (const double curve : {1.0, 2.0, 0.5})
      for (const double dead : {0.0, 0.2})
        for (const bool inverted : {false, true})
          for (const double where : {0.3, 0.62, 0.9}) {
            HandMap map;
            map.knobs = {knob(kind, kind == Kind::bend || kind == Kind::pressure ? 0 : 9, "smile")};
            map.knobs[0].curve = curve, map.knobs[0].dead_zone = dead, map.knobs[0].inverted = inverted, map.knobs[0].takeover = Takeover::scaled;
            const auto program = program_of(map);
            Feedback feedback(program);
            const std::vector<double> control{0, 0, where, 0};
            const auto messages = feedback.tell(control, {}, 1, 0);
            ASSERT_EQ(messages.size(), 1u);
            HandState hands;
            load(hands, program.get());
            MidiParser parser;
            // From an end of its way, so that a scaled knob has taken hold.
            const std::uint8_t status = messages[0].bytes[0];
            for (const std::uint8_t byte : {status, std::uint8_t{9}, std::uint8_t{0}})
              if (const auto m = parser.feed(byte)) hear(*program, hands, {.device = 1, .midi = *m});
            std::vector<double> now(4, 0);
            play(*program, hands, 0.01, now);
            for (int n = 0; n < messages[0].count; ++n)
              if (const auto m = parser.feed(messages[0].bytes[static_cast<std::size_t>(n)])) hear(*program, hands, {.device = 1, .midi = *m});
            for (int n = 0; n < 200; ++n) now.assign(4, 0), play(*program, hands, 0.01, now);
            const double amount = hands.knobs[0].y, value = program->knobs[0].low + amount * (program->knobs[0].high - program->knobs[0].low);
            // Half a step of 127, by the steepest that the curve is here: 5 for a root at a hundredth, and 1.25 for the dead zone that is left out.
            EXPECT_NEAR(value, where, curve == 0.5 ? 0.5 / 127 * 5 * 1.25 + 1e-3 : 0.012) << static_cast<int>(kind) << " " << curve << " " << dead << " " << inverted;
          }
}

}  // namespace
}  // namespace mien::live
