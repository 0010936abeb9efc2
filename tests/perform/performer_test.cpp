// The performing thread for real: its own clock, a link to simulated boards in the same process, no sound.
#include "perform/performer.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <thread>

#include "heads.hpp"
#include "live/mtc_out.hpp"
#include "support/eventually.hpp"
#include "threads/steady.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using std::chrono::milliseconds;
using std::chrono::seconds;
using support::eventually;

std::shared_ptr<show::Show> opening_show() {
  auto show = empty_show(seconds(60));
  add_channel(*show, "open", {{seconds(0), 0.2, show::kLinear}, {seconds(60), 1, show::kLinear}});
  return show;
}

TEST(Performer, PlaysPausesSeeksAndStops) {
  Performer performer(nullptr, nullptr);
  performer.publish(compile(small_rig(), opening_show()));
  performer.seek(seconds(3));
  performer.play();
  ASSERT_TRUE(eventually([&] { return performer.latest().playing && performer.latest().time > milliseconds(3050); }));
  performer.pause();
  ASSERT_TRUE(eventually([&] { return !performer.latest().playing; }));
  const auto stood = performer.latest().time;
  ASSERT_TRUE(eventually([&] { return performer.latest().lateness.ticks > 20; }));
  EXPECT_EQ(performer.latest().time, stood);
  performer.stop();
  EXPECT_TRUE(eventually([&] { return performer.latest().time.count() == 0 && !performer.latest().playing; }));
  performer.seek(seconds(-4));
  EXPECT_TRUE(eventually([&] { return performer.latest().time.count() == 0; }));
}

// Time code from a device's thread, as it comes: in real time, on whatever machine this is.
TEST(Performer, IsLedByTimeCode_AndByNobodyElseMeanwhile) {
  const auto inlet = std::make_unique<live::Inlet>();
  Performer performer(nullptr, nullptr, inlet.get());
  performer.publish(compile(small_rig(), opening_show()));
  performer.follow({.source = live::FollowSettings::Source::mtc, .freewheel_ns = 2'000'000'000});
  live::MtcOut code;
  live::MidiParser parser;
  std::int64_t began = threads::steady_ns();
  const auto send_until = [&](const std::function<bool()>& done) {
    return eventually([&] {
      const std::int64_t now = threads::steady_ns();
      code.follow({now, seconds(20) + show::Time{now - began}, true});
      for (auto b = code.due(now); b.count; b = code.due(now))
        for (int n = 0; n < b.count; ++n)
          if (const auto m = parser.feed(b.byte[static_cast<std::size_t>(n)])) inlet->push({.at_ns = now, .midi = *m});
      return done();
    });
  };
  ASSERT_TRUE(send_until([&] { return performer.latest().followed.state == live::Followed::State::locked && performer.latest().playing; }));
  EXPECT_GE(performer.latest().time, seconds(20));
  performer.pause();
  performer.seek(seconds(1));
  ASSERT_TRUE(send_until([&] { return performer.latest().time > milliseconds(21'000); })) << "pause and seek are the other machine's";
  EXPECT_TRUE(performer.latest().playing);
  ASSERT_TRUE(eventually([&] { return !performer.latest().playing; })) << "it fell silent: the show stands after two seconds";
  const auto stood = performer.latest().time;
  EXPECT_GE(stood, milliseconds(21'500));
  performer.follow({});
  ASSERT_TRUE(eventually([&] { return performer.latest().followed.state == live::Followed::State::off; }));
  EXPECT_EQ(performer.latest().time, stood);
  performer.play();
  EXPECT_TRUE(eventually([&] { return performer.latest().playing && performer.latest().time > stood; }));
}

TEST(Performer, PlaysFromTheBeginningAgainAtTheEnd) {
  Performer performer(nullptr, nullptr);
  performer.publish(compile(small_rig(), empty_show(milliseconds(200))));
  performer.play();
  ASSERT_TRUE(eventually([&] { return performer.latest().time == milliseconds(200) && !performer.latest().playing; }));
  performer.play();
  EXPECT_TRUE(eventually([&] { return performer.latest().playing && performer.latest().time < milliseconds(200); }));
}

TEST(Performer, TellsAnAuxiliaryAStateUntilTheShowIsStartedOrStopped) {
  const auto rig = small_rig();
  rig->controls.push_back({"mood", "mouth", "1", 0, 3, 0, {"calm", "curious", "cross", "glad"}});
  rig->auxiliaries = {{"display", "one", "mood", 0, show::Code{2, -1, 1}}};
  auto show = opening_show();
  add_channel(*show, "mood", {{seconds(0), 1, show::kHold}});
  Performer performer(nullptr, nullptr);
  performer.publish(compile(rig, show));
  const auto told = [&](int value) { return eventually([&] { return performer.latest().auxiliaries == 1 && performer.latest().auxiliary[0] == value; }); };
  EXPECT_TRUE(told(1));
  performer.set_state(0, 2);
  EXPECT_TRUE(told(2));
  performer.set_state(99, 3);
  performer.pause();
  performer.set_state(0, 3);
  EXPECT_TRUE(told(3));
  performer.play();
  EXPECT_TRUE(told(1));
  performer.set_state(0, 2);
  EXPECT_TRUE(told(2));
  EXPECT_TRUE(performer.latest().playing) << "the show goes on";
  performer.stop();
  EXPECT_TRUE(told(1));
  performer.set_state(0, 2);
  EXPECT_TRUE(told(2));
  performer.publish(compile(std::make_shared<show::Rig>(*rig), show));
  EXPECT_TRUE(told(1)) << "another rig counts its auxiliaries otherwise";
}

TEST(Performer, GoesOnFromWhereItStandsWhenAnEditIsPublished) {
  Performer performer(nullptr, nullptr);
  const auto rig = small_rig();
  performer.publish(compile(rig, opening_show()));
  ASSERT_TRUE(eventually([&] { return std::abs(performer.latest().setpoint_deg[1] - 6) < 1e-6; }));
  auto edited = empty_show(seconds(60));
  add_channel(*edited, "open", {{seconds(0), 1, show::kHold}});
  double last = 6;
  performer.publish(compile(rig, edited));
  ASSERT_TRUE(eventually([&] {
    const double x = performer.latest().setpoint_deg[1];
    EXPECT_GE(x, last - 1e-9);  // it creeps up from where it was, it doesn't start over
    last = x;
    return std::abs(x - 30) < 1e-6;
  }));
}

TEST(Performer, SendsNothingBeforeArmingAndThenCreepsFromRest) {
  const auto rig = small_rig();
  link::Session session(*rig);
  Performer performer(&session, nullptr);
  performer.publish(compile(rig, opening_show()));
  performer.seek(seconds(60));
  session.open("sim:");
  ASSERT_TRUE(eventually([&] { return session.status().state == link::State::ready; }));
  EXPECT_EQ(performer.latest().mode, Mode::rehearse);
  EXPECT_EQ(session.status().frames_sent, 0u);

  session.arm();
  ASSERT_TRUE(eventually([&] { return performer.latest().mode == Mode::creep; }));
  bool crept = false;
  ASSERT_TRUE(eventually([&] {
    const auto& r = performer.latest();
    if (r.mode != Mode::creep) return r.mode == Mode::live;
    EXPECT_LE(std::abs(r.velocity_deg_s[1]), 300 * rig->creep_share * (1 + 1e-9));
    crept = crept || std::abs(r.velocity_deg_s[1]) > 10;
    return false;
  }));
  EXPECT_TRUE(crept);
  EXPECT_NEAR(performer.latest().setpoint_deg[1], 30, 1.5);
  EXPECT_TRUE(eventually([&] { return session.status().frames_acknowledged > 10; }));

  session.stop();
  ASSERT_TRUE(eventually([&] { return performer.latest().mode == Mode::rehearse && session.status().state == link::State::ready; }));
  const auto sent = session.status().frames_sent;
  const auto ticks = performer.latest().lateness.ticks;
  ASSERT_TRUE(eventually([&] { return performer.latest().lateness.ticks > ticks + 20; }));
  EXPECT_EQ(session.status().frames_sent, sent);
}

}  // namespace
}  // namespace mien::perform
