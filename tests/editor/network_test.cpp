// The window's dealings with other machines: the dialog, what they ask of the show, and whose time it follows.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

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

}  // namespace
}  // namespace mien::tests
