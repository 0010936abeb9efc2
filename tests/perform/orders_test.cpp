// What another machine asks of the show, put into effect on a runner of the test's own.
#include "perform/orders.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace mien::perform {
namespace {

using live::NetworkOrder;
using K = NetworkOrder::Kind;
using std::chrono::seconds;
using testing::ElementsAre;
using testing::IsEmpty;

struct Orders {
  Orders() {
    show.length = seconds(10);
    show.markers = {{seconds(2), "Wakes"}, {seconds(5), "Wakes again"}};
    runner.play = [&] { done.push_back("play"); };
    runner.stop = [&] { done.push_back("stop"); };
    runner.locate = [&](show::Time t) { done.push_back("locate " + std::to_string(t / seconds(1))); };
    runner.on_cue = [&](const std::string& name) { done.push_back("cue " + name); };
  }
  std::string say(const NetworkOrder& order) { return obey(order, show, runner); }
  show::Show show;
  Runner runner;
  std::vector<std::string> done;
};

TEST(NetworkOrders, AreObeyed) {
  Orders o;
  EXPECT_EQ(o.say({K::play}), "play");
  o.say({K::stop});
  EXPECT_EQ(o.say({K::locate, seconds(3)}), "locate 3.000 s");
  o.say({K::locate, seconds(99)});
  o.say({K::marker, show::Time{0}, "Wakes again"});
  EXPECT_EQ(o.say({K::cue, show::Time{0}, "greet"}), "cue greet");
  EXPECT_THAT(o.done, ElementsAre("play", "stop", "locate 3", "locate 10", "locate 5", "play", "cue greet"));
}

TEST(NetworkOrders, SayWhyNothingIsDone) {
  Orders o;
  EXPECT_EQ(o.say({K::marker, show::Time{0}, "Sleeps"}), "marker Sleeps: the show has no such marker");
  o.runner.on_cue = nullptr;
  EXPECT_EQ(o.say({K::cue, show::Time{0}, "greet"}), "cue greet: nothing to do, no cues are on");
  o.runner.followed = true;
  for (const K kind : {K::play, K::stop, K::locate, K::marker}) EXPECT_THAT(o.say({kind}), testing::HasSubstr("follows another machine's time"));
  EXPECT_THAT(o.done, IsEmpty());
  o.runner = {};
  for (const K kind : {K::play, K::stop, K::locate}) o.say({kind});  // nobody runs it: nothing happens
}

}  // namespace
}  // namespace mien::perform
