#include "live/script.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace mien::live {
namespace {

TEST(Script, ReadsBytesAxesAndButtons) {
  const auto touches = parse_script("# a script\n\n0 B0 07 40\n0.5 07 41 # running status\n0.5 axis 0 -0.5\n1.25 button 3 1\n2 90 3C 64 3C 00\n", "a.txt", 2);
  ASSERT_TRUE(touches) << to_text(touches.problem());
  ASSERT_EQ(touches->size(), 6u);
  EXPECT_EQ((*touches)[1].midi.value, 0x41);
  EXPECT_EQ((*touches)[1].at_ns, 500'000'000);
  EXPECT_EQ((*touches)[2].kind, Touch::Kind::axis);
  EXPECT_EQ((*touches)[2].value, -0.5f);
  EXPECT_EQ((*touches)[3].number, 3);
  EXPECT_EQ((*touches)[4].midi.kind, MidiMessage::Kind::note_on);
  EXPECT_EQ((*touches)[5].midi.kind, MidiMessage::Kind::note_off);
  for (const Touch& t : *touches) EXPECT_EQ(t.device, 2);
}

TEST(Script, ReadsMessagesAndSlots) {
  const std::vector<std::string> addresses = {"/mien/control/jaw", "/desk/fader/1"};
  const auto touches = parse_script("0.5 osc /desk/fader/1 0.25\n1 slot 512 1\n", "a.txt", 2, addresses);
  ASSERT_TRUE(touches) << to_text(touches.problem());
  EXPECT_EQ((*touches)[0], (Touch{.at_ns = 500'000'000, .device = 2, .kind = Touch::Kind::osc, .number = 1, .value = 0.25f}));
  EXPECT_EQ((*touches)[1], (Touch{.at_ns = 1'000'000'000, .device = 2, .kind = Touch::Kind::slot, .number = 512, .value = 1}));
  for (const char* text : {"0 osc /nobody 1", "0 osc /desk/fader/1", "0 osc /desk/fader/1 x", "0 slot 0 1", "0 slot 513 1", "0 slot 1 2", "0 slot 1.5 1", "0 slot"})
    EXPECT_FALSE(parse_script(text, "a.txt", 2, addresses)) << text;
}

TEST(Script, SaysInWhichLineSomethingIsWrong) {
  const std::pair<const char*, const char*> cases[] = {{"0 B0 07 40\nx B0", "line 2"}, {"1 B0\n0.5 B0", "line 2"}, {"0", "line 1"}, {"0 B0 1FF", "'1FF' is no byte"}, {"0 axis 0 2", "axis 0 2"}, {"0 button 0 -1", "button"}, {"0 axis", "axis"}, {"-1 B0", "line 1"}};
  for (const auto& [text, part] : cases) {
    const auto touches = parse_script(text, "a.txt");
    ASSERT_FALSE(touches) << text;
    EXPECT_THAT(to_text(touches.problem()), testing::HasSubstr(part));
    EXPECT_THAT(to_text(touches.problem()), testing::StartsWith("error: a.txt"));
  }
}

}  // namespace
}  // namespace mien::live
