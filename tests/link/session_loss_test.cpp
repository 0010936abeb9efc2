// What the link does when cables are pulled, boards fall silent and lines are noisy; over TCP and through libserialport.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "link/serial_shim.hpp"
#include "link/session_helpers.hpp"

namespace mien::link {
namespace {

using namespace test;
using testing::AllOf, testing::HasSubstr;

TEST(Session, ComesBackByItselfAfterALossAndArmsAgain) {
  auto server = std::make_unique<Server>();
  Session session(small_rig());
  session.open(server->text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 5; })) << text(session);
  const auto epoch = session.armed().epoch;
  const auto address = server->address();
  server.reset();
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  EXPECT_EQ(session.armed().epoch, 0u);
  EXPECT_TRUE(session.status().trouble);
  EXPECT_EQ(session.status().times_lost, 1u);
  server = std::make_unique<Server>(address);
  ASSERT_FALSE(server->problem());
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  EXPECT_NE(session.armed().epoch, epoch);
  EXPECT_FALSE(session.status().trouble);
}

TEST(Session, NothingJumpsWhenTheCableIsPulledAndPluggedInAgain) {
  const auto rig = small_rig();
  Server server;
  Cable cable(server.text());
  Session session(rig);
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  {
    Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 20), pulse_at(rig, 2, 10)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 50; })) << text(session);
    cable.plug(false);
    ASSERT_TRUE(becomes(session, State::lost)) << text(session);
    cable.plug(true);
    ASSERT_TRUE(becomes(session, State::armed)) << text(session);
    const auto back = session.status().frames_acknowledged;
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= back + 50; })) << text(session);
  }
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  server.stop();
  // Each change of the pulse is at most what the slew limit allows in the 20 ms for which travel may add up.
  const auto brow = pulses_us(server.log(), 1, 0);
  ASSERT_GE(brow.size(), 3u);
  const double most_us = 300.0 / 90 * 1000 * 0.02 * 1.25;
  for (std::size_t i = 1; i + 1 < brow.size(); ++i) {
    ASSERT_NE(brow[i], 0) << "it let go on the way";
    ASSERT_LE(std::abs(brow[i] - brow[i - 1]), most_us);
  }
}

TEST(Session, FramesThatComeBackAfterTheHeadLeftForRestStartANewEpochFromWhereItIs) {
  const auto rig = small_rig();
  Server server;
  Session session(rig);
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 44), pulse_at(rig, 2, 10)});
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 50; })) << text(session);
  const auto before = session.armed();
  hands.rest(true);
  ASSERT_TRUE(eventually([&] { return server.log().find("board 1 state ramping") != std::string::npos; }));
  hands.rest(false);
  ASSERT_TRUE(eventually([&] { return session.armed().epoch != 0 && session.armed().epoch != before.epoch; })) << text(session);
  const auto after = session.armed();
  EXPECT_LT(after.pulse[1], pulse_at(rig, 1, 44));
  EXPECT_GE(after.pulse[1], pulse_at(rig, 1, 0));
}

TEST(Session, BoardsThatReleasedForWantOfFramesAreNotArmedAgainByThemselves) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  ASSERT_TRUE(becomes(session, State::ready));  // nobody pushes a frame
  ASSERT_TRUE(session.status().trouble);
  EXPECT_THAT(session.status().trouble->what, HasSubstr("no frames came"));
}

TEST(Session, StoppedOrDisarmedWhileLostItStaysUnarmed) {
  for (const bool stop : {true, false}) {
    Server server;
    Cable cable(server.text());
    Session session(small_rig());
    session.open(cable.text());
    ASSERT_TRUE(becomes(session, State::ready));
    session.arm();
    ASSERT_TRUE(becomes(session, State::armed)) << text(session);
    cable.plug(false);
    ASSERT_TRUE(becomes(session, State::lost));
    stop ? session.stop() : session.disarm();
    cable.plug(true);
    ASSERT_TRUE(becomes(session, State::ready)) << text(session);
    EXPECT_EQ(session.armed().epoch, 0u);
  }
}

TEST(Session, LostWhileItIsArmedAnewItComesBackArmed) {
  const auto rig = small_rig();
  Server server;
  Cable cable(server.text());
  Session session(rig);
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 44), pulse_at(rig, 2, 10)});
  const auto raised = [&] { return session.status().boards.at(1).pulse[0]; };
  ASSERT_TRUE(eventually([&] { return raised() == pulse_at(rig, 1, 44); })) << text(session);
  hands.rest(true);
  ASSERT_TRUE(eventually([&] { return raised() < pulse_at(rig, 1, 40); })) << "they did not leave for rest";
  cable.mute(true);
  hands.rest(false);  // the frame on which the boards are armed anew, but none of them hears of it
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  cable.mute(false);
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
}

TEST(Session, LostBeforeItWasArmedItStaysUnarmedAndSaysSo) {
  Server server;
  Cable cable(server.text());
  Session session(small_rig());
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  cable.mute(true);
  session.arm();
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  EXPECT_THAT(text(session), HasSubstr("stopped answering"));  // first what is wrong now
  cable.mute(false);
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_THAT(text(session), AllOf(HasSubstr("lost before the head was armed"), HasSubstr("Arm again")));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  EXPECT_FALSE(session.status().trouble);
}

TEST(Session, AwayForTooLongItStaysUnarmedAndSaysSo) {
  Server server;
  Cable cable(server.text());
  Session session(small_rig(), {.resume_within_s = 0.05});
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  cable.mute(true);
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  std::this_thread::sleep_for(std::chrono::milliseconds(100));
  cable.mute(false);
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_THAT(text(session), HasSubstr("away for too long"));
}

TEST(Session, DoesNotArmItselfAgainWhenToldNeverTo) {
  Server server;
  Cable cable(server.text());
  Session session(small_rig(), {.resume_within_s = 0});
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  cable.plug(false);
  ASSERT_TRUE(becomes(session, State::lost));
  cable.plug(true);
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_THAT(text(session), HasSubstr("lost while the head was armed"));
}

TEST(Session, WorksOnThroughGarbageAndCountsIt) {
  Server server;
  Cable cable(server.text());
  Session session(small_rig());
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
  cable.spoil(true);
  EXPECT_TRUE(eventually([&] {
    const auto status = session.status();
    return status.messages_garbled >= 3 && status.boards.at(0).frames_bad >= 3;
  }));
  cable.spoil(false);
  const auto before = session.status().frames_acknowledged;
  EXPECT_TRUE(eventually([&] { return session.status().frames_acknowledged >= before + 20; })) << text(session);
}

TEST(Session, PerformsThroughLibserialportAndComesBackAfterUnplugging) {
  const test::SerialShim shim;
  const int asked = test::SerialShim::modem_requests();
  TempDir dir;
  const auto device = dir.file("board");
  auto boards = std::make_unique<PtyBoards>(device);
  Session session(small_rig());
  session.open(device);
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_GT(test::SerialShim::modem_requests(), asked);
  ASSERT_TRUE(arms(session)) << text(session);
  Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 20; })) << text(session);
  boards.reset();
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  boards = std::make_unique<PtyBoards>(device);
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  const auto before = session.status().frames_acknowledged;
  EXPECT_TRUE(eventually([&] { return session.status().frames_acknowledged >= before + 20; })) << text(session);
}

TEST(Session, SaysThatAPortIsBusyAndTakesItWhenItIsFree) {
  TempDir dir;
  const auto device = dir.file("board");
  PtyBoards boards(device);
  auto first = std::make_unique<Session>(small_rig());
  first->open(device);
  ASSERT_TRUE(becomes(*first, State::ready)) << text(*first);
  Session second(small_rig());
  second.open(device);
  ASSERT_TRUE(eventually([&] { return second.status().trouble.has_value(); }));
  EXPECT_THAT(second.status().trouble->what, HasSubstr("Another program has this port open"));
  first.reset();
  EXPECT_TRUE(becomes(second, State::ready)) << text(second);
}

}  // namespace
}  // namespace mien::link
