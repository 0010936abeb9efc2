// What another machine asks of the show, put into effect on a runner of the test's own.
#include "perform/orders.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace mien::perform {
namespace {

using live::NetworkOrder;
using OrderKind = NetworkOrder::Kind;
using std::chrono::seconds;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

struct Orders {
  Orders() {
    show.length = seconds(10);
    show.markers = {{seconds(2), "Wakes"}, {seconds(5), "Wakes again"}};
    runner.play = [&] { done.push_back("play"); };
    runner.stop = [&] { done.push_back("stop"); };
    runner.locate = [&](show::Time t) { done.push_back("locate " + std::to_string(t / seconds(1))); };
    show.cues.resize(2);
    show.cues[1].name = "greet";
    runner.start_cue = [&](int cue) { done.push_back("cue " + std::to_string(cue)); };
  }
  std::string say(const NetworkOrder& order) { return obey(order, show, runner); }
  show::Show show;
  Runner runner;
  std::vector<std::string> done;
};

TEST(NetworkOrders, AreObeyed) {
  Orders o;
  EXPECT_EQ(o.say({OrderKind::play}), "play");
  o.say({OrderKind::stop});
  EXPECT_EQ(o.say({OrderKind::locate, seconds(3)}), "locate 3.000 s");
  o.say({OrderKind::locate, seconds(99)});
  o.say({OrderKind::marker, show::Time{0}, "Wakes again"});
  EXPECT_EQ(o.say({OrderKind::cue, show::Time{0}, "greet"}), "cue greet");
  EXPECT_THAT(o.done, ElementsAre("play", "stop", "locate 3", "locate 10", "locate 5", "play", "cue 1"));
}

TEST(NetworkOrders, OtherMachinesAreToldOfTheCueThatMatters) {
  Orders o;
  CuesNow now;
  now.count = 2;
  EXPECT_EQ(cue_on(now, o.show), "");
  o.show.cues[0].name = "nap";
  now.cue[0].phase = CuePhase::holding, now.cue[1].phase = CuePhase::leaving;
  EXPECT_EQ(cue_on(now, o.show), "nap");
  now.cue[1].phase = CuePhase::playing;
  EXPECT_EQ(cue_on(now, o.show), "greet") << "of equals the later in the list";
  o.show.cues[0].priority = 5;
  EXPECT_EQ(cue_on(now, o.show), "nap");
}

TEST(NetworkOrders, SayWhyNothingIsDone) {
  Orders o;
  EXPECT_EQ(o.say({OrderKind::marker, show::Time{0}, "Sleeps"}), "marker Sleeps: the show has no such marker");
  EXPECT_EQ(o.say({OrderKind::cue, show::Time{0}, "bow"}), "cue bow: the show has no such cue");
  o.runner.followed = true;
  for (const OrderKind kind : {OrderKind::play, OrderKind::stop, OrderKind::locate, OrderKind::marker}) EXPECT_THAT(o.say({kind}), ::testing::HasSubstr("follows another machine's time"));
  EXPECT_THAT(o.done, IsEmpty());
  o.runner = {};
  for (const OrderKind kind : {OrderKind::play, OrderKind::stop, OrderKind::locate}) o.say({kind});  // nobody runs it: nothing happens
}

}  // namespace
}  // namespace mien::perform
