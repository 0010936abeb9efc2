// The window's dealings with other machines: the dialog, what they ask of the show, and whose time it follows.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <thread>

#include "editor/hands.hpp"

namespace mien::tests {
namespace {

using editor::Dialog;
using K = live::NetworkOrder::Kind;

void open_dialog(Hands& hands) {
  hands.press(GLFW_KEY_N, editor::kCtrl | editor::kAlt);
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::network);
}

void type_into(Hands& hands, const std::string& field, const std::string& text) {
  hands.double_click(hands.middle(field));
  hands.press(GLFW_KEY_A, editor::kCtrl);
  hands.type(text);
  hands.settle();
}

TEST(NetworkDialog, SwitchesNothingOnByItself) {
  Hands hands;
  open_dialog(hands);
  hands.click("button/Use this");
  hands.settle();
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_FALSE(hands.stage.network_asked.osc);
  EXPECT_FALSE(hands.stage.network_asked.sacn);
  EXPECT_EQ(hands.stage.following.source, live::FollowSettings::Source::none);
  EXPECT_FALSE(hands.sees("transport/follow"));
}

TEST(NetworkDialog, OpensWhatIsTickedAsItIsTyped) {
  Hands hands;
  open_dialog(hands);
  EXPECT_FALSE(hands.sees("field/osc_port"));
  hands.click("network/osc");
  hands.click("network/sacn");
  hands.settle();
  type_into(hands, "field/osc_port", "9123");
  type_into(hands, "field/universe", "12");
  type_into(hands, "field/allow", "10.0.0.0/8");
  hands.click("network/transport");
  hands.click("button/Use this");
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::none) << hands.studio->panels().network.problem;
  const auto& asked = hands.stage.network_asked;
  EXPECT_TRUE(asked.osc && asked.sacn);
  EXPECT_EQ(asked.osc_port, 9123);
  EXPECT_EQ(asked.osc_ip, live::kLoopback);
  EXPECT_EQ(asked.universe, 12);
  EXPECT_EQ(asked.may, (live::OscMay{true, true, false}));
  EXPECT_EQ(asked.allow, (std::vector<live::AddressRange>{{0x0A00'0000, 8}}));
}

TEST(NetworkDialog, StaysAndSaysWhatIsWrong) {
  Hands hands;
  open_dialog(hands);
  hands.click("network/osc");
  hands.settle();
  type_into(hands, "field/osc_port", "70000");
  hands.click("button/Use this");
  hands.settle();
  EXPECT_EQ(hands.studio->dialog(), Dialog::network);
  EXPECT_THAT(hands.studio->panels().network.problem, testing::HasSubstr("65535"));
  type_into(hands, "field/osc_port", "9000");
  hands.stage.network_problem = show::Finding{show::Severity::error, "", "OSC", "127.0.0.1:9000 can't be listened on", "End the other one."};
  hands.click("button/Use this");
  hands.settle();
  EXPECT_EQ(hands.studio->dialog(), Dialog::network);
  EXPECT_THAT(hands.studio->panels().network.problem, testing::HasSubstr("End the other one."));
}

TEST(NetworkDialog, ADoorThatStandsOpenIsTold) {
  Hands hands;
  open_dialog(hands);
  hands.click("network/osc");
  hands.settle();
  type_into(hands, "field/osc_ip", "0.0.0.0");
  hands.click("button/Use this");
  hands.settle();
  ASSERT_EQ(hands.studio->notices().size(), 1u);
  EXPECT_THAT(hands.studio->notices()[0].what, testing::HasSubstr("every machine"));
}

TEST(NetworkOrders, AreObeyedInTheWindow_ButNeverArm_AndNotAtTheWorkbench) {
  Hands hands;
  hands.stage.network_now.osc = true;
  show::Cue greet;
  greet.name = "greet", greet.deed = show::CueStop{};
  auto with = std::make_shared<show::Show>(hands.studio->document().whole());
  with->cues = {greet};
  hands.studio->apply(editor::Change{editor::Composition{editor::PutShow{"Add a cue", with}}});
  hands.stage.orders = {{K::locate, show::from_seconds(1.5)}, {K::play}, {K::cue, show::Time{0}, "greet"}};
  hands.settle();
  EXPECT_EQ(hands.stage.now.time, show::from_seconds(1.5));
  EXPECT_TRUE(hands.stage.now.playing);
  EXPECT_THAT(hands.stage.asked, testing::Contains("start cue 0"));
  EXPECT_NEAR(hands.stage.network_told.time_s, 1.5, 1e-9);
  EXPECT_TRUE(hands.stage.network_told.playing);
  EXPECT_FALSE(hands.stage.network_told.armed);
  EXPECT_THAT(hands.stage.asked, testing::Not(testing::Contains("arm")));
  hands.stage.orders = {{K::stop}};
  hands.settle();
  EXPECT_FALSE(hands.stage.now.playing);
  hands.studio->open_bench();
  hands.settle();
  hands.stage.orders = {{K::play}};
  hands.settle();
  EXPECT_FALSE(hands.stage.now.playing);
  EXPECT_TRUE(hands.stage.orders.empty()) << "nor later";
}

TEST(Following, IsChosenInTheDialog_AndSaidByTheTransport) {
  Hands hands;
  open_dialog(hands);
  hands.click("network/follow mtc");
  hands.settle();
  type_into(hands, "field/zero", "01:00:00:00");
  hands.click("button/Use this");
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::none) << hands.studio->panels().network.problem;
  EXPECT_EQ(hands.stage.following.source, live::FollowSettings::Source::mtc);
  EXPECT_EQ(hands.stage.following.zero, std::chrono::hours(1));
  EXPECT_EQ(hands.studio->follows(), live::FollowSettings::Source::mtc);
  hands.settle();
  EXPECT_TRUE(hands.sees("transport/follow"));
  EXPECT_TRUE(hands.studio->lively());
  hands.stage.orders = {{K::play}};
  hands.stage.network_now.osc = true;
  hands.settle();
  EXPECT_THAT(hands.stage.asked, testing::Not(testing::Contains("play"))) << "the time is the other machine's";
}

// The show's time as it is, for a while; the stage of the tests has no time of its own.
bool plays_until(Hands& hands, const std::function<bool()>& holds) {
  const std::int64_t began = threads::steady_ns();
  const show::Time from = hands.stage.now.time;
  while (!holds()) {
    const show::Time gone{threads::steady_ns() - began};
    if (gone > std::chrono::seconds(20)) return false;
    if (hands.stage.now.playing) hands.stage.now.time = from + gone;
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  return true;
}

// Bytes: MIDI 1.0 Detailed Specification and MIDI Time Code (MMA 1987). A full frame is F0 7F 7F 01 01 hh mm ss ff F7 with the rate (0: 24, 1: 25, 2: 30 drop, 3: 30) in bits 5 and 6 of hh;
// a quarter frame is F1 0nnndddd.
void choose_tape_machine(Hands& hands) {
  open_dialog(hands);
  hands.click("network/send");
  hands.settle();
  hands.click("network/output");
  hands.click("network/output Tape Machine");
}

TEST(SendingCode, IsOffUntilItIsSwitchedOn_AndGoesOutWithTheTransport) {
  using Message = live::MidiMessage::Kind;
  Hands hands;
  open_dialog(hands);
  hands.click("button/Use this");
  hands.settle();
  EXPECT_TRUE(hands.stage.code_asked.output.empty()) << "off until it is switched on";
  EXPECT_FALSE(hands.sees("transport/follow"));

  open_dialog(hands);
  EXPECT_FALSE(hands.sees("network/output"));
  hands.click("network/send");
  hands.settle();
  hands.click("button/Use this");
  hands.settle();
  EXPECT_THAT(hands.studio->panels().network.problem, testing::HasSubstr("Choose the MIDI output"));
  hands.click("network/output");
  hands.click("network/output Tape Machine");
  hands.click("network/rate 29.97 drop");
  type_into(hands, "field/zero", "00:59:60;00");
  hands.click("button/Use this");
  hands.settle();
  EXPECT_THAT(hands.studio->panels().network.problem, testing::HasSubstr("hours, minutes, seconds"));
  type_into(hands, "field/zero", "10:00:00;00");
  hands.click("button/Use this");
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::none) << hands.studio->panels().network.problem;
  EXPECT_EQ(hands.stage.code_asked.rate, live::TimeCodeRate::fps_30_drop);
  ASSERT_TRUE(plays_until(hands, [&] { return hands.stage.machine.bytes().size() >= 10; }));
  EXPECT_EQ(hands.stage.machine.bytes(), (std::vector<std::uint8_t>{0xF0, 0x7F, 0x7F, 0x01, 0x01, 2 << 5 | 10, 0, 0, 0, 0xF7})) << "it stands at its beginning";

  hands.studio->apply(editor::Act{"play"});
  ASSERT_TRUE(hands.stage.now.playing);
  ASSERT_TRUE(plays_until(hands, [&] { return hands.stage.machine.count(Message::quarter_frame) >= 16; }));
  hands.studio->apply(editor::Act{"play"});
  ASSERT_FALSE(hands.stage.now.playing);
  const auto full = hands.stage.machine.count(Message::full_time);
  ASSERT_TRUE(plays_until(hands, [&] { return hands.stage.machine.count(Message::full_time) > full; })) << "where it stopped";
  const auto quarters = hands.stage.machine.count(Message::quarter_frame);
  for (int n = 0; n < 20; ++n) hands.frame(), std::this_thread::sleep_for(std::chrono::milliseconds(3));
  EXPECT_EQ(hands.stage.machine.count(Message::quarter_frame), quarters) << "a show that stands sends none";
  hands.studio->apply(editor::Act{"play"});
  ASSERT_TRUE(plays_until(hands, [&] { return hands.stage.machine.count(Message::quarter_frame) > quarters + 8; })) << "and goes on";

  open_dialog(hands);
  EXPECT_TRUE(hands.sees("network/output")) << "what was chosen is still chosen";
  EXPECT_EQ(hands.studio->panels().network.output, "Tape Machine");
  hands.click("network/send");
  hands.click("button/Use this");
  hands.settle();
  EXPECT_EQ(hands.stage.code, nullptr) << "switched off";
  EXPECT_FALSE(hands.sees("transport/follow"));
}

TEST(SendingCode, TheWindowSaysWhenTheOutputIsGone_AndTakesItUpAgain) {
  Hands hands;
  choose_tape_machine(hands);
  hands.click("button/Use this");
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::none) << hands.studio->panels().network.problem;
  EXPECT_TRUE(hands.sees("transport/follow"));
  EXPECT_TRUE(hands.studio->lively()) << "so that the word is told when it changes";
  hands.stage.machine.unplug(false);
  ASSERT_TRUE(plays_until(hands, [&] { return !hands.studio->code_sent().there; }));
  EXPECT_EQ(editor::time_word(hands.stage.now, hands.studio->follows(), hands.studio->code_sent()).text, "Code out: gone");
  hands.stage.machine.forget();
  hands.stage.machine.plug("Tape Machine 30:0");
  ASSERT_TRUE(plays_until(hands, [&] { return hands.studio->code_sent().there; }));
  EXPECT_EQ(editor::time_word(hands.stage.now, hands.studio->follows(), hands.studio->code_sent()).text, "Code out");
  EXPECT_TRUE(plays_until(hands, [&] { return hands.stage.machine.bytes().size() >= 10; }));
}

TEST(SendingCode, AnOutputThatWentAwayMeanwhileIsNamedInTheDialog) {
  Hands hands;
  choose_tape_machine(hands);
  hands.stage.machine.unplug(true);
  hands.click("button/Use this");
  hands.settle();
  EXPECT_EQ(hands.studio->dialog(), Dialog::network);
  EXPECT_THAT(hands.studio->panels().network.problem, testing::HasSubstr("Tape Machine"));
}

}  // namespace
}  // namespace mien::tests
