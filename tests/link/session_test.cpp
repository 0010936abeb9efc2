// The whole link with its thread, against boards in this process and in a server over TCP.
#include "link/session.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "link/session_helpers.hpp"

namespace mien::link {
namespace {

using namespace test;
using testing::HasSubstr;

TEST(Session, IsClosedUntilAPortIsOpened) {
  Session session(small_rig());
  EXPECT_EQ(session.status().state, State::closed);
  EXPECT_EQ(session.armed().epoch, 0u);
  EXPECT_FALSE(session.push(Frame{}));
}

TEST(Session, FindsItsBoardsInThisProcess) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  const auto status = session.status();
  EXPECT_EQ(status.port, "sim:");
  EXPECT_FALSE(status.trouble);
  ASSERT_EQ(status.boards.size(), 2u);
  EXPECT_EQ(status.boards[0].name, "lower");
  EXPECT_TRUE(status.boards[1].answering);
  EXPECT_EQ(status.boards[1].firmware, "simulated");
  session.close();
  EXPECT_TRUE(becomes(session, State::closed));
}

TEST(Session, ArmsOnlyWhenReadyAndOnlyWhenAsked) {
  Session session(small_rig());
  session.arm();
  session.open("sim:");
  session.arm();
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_EQ(session.armed().epoch, 0u);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  const auto first = session.armed();
  EXPECT_NE(first.epoch, 0u);
  EXPECT_EQ(first.pulse[0], pulse_at(small_rig(), 0, -30));
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  EXPECT_EQ(session.armed().epoch, 0u);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  EXPECT_NE(session.armed().epoch, first.epoch);
}

TEST(Session, TakesNoFrameThatWasMeantForAnEarlierEpoch) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  Frame frame;
  frame.epoch = session.armed().epoch;
  frame.count = 3;
  frame.pulse[0] = pulse_at(small_rig(), 0, -30);
  frame.latch_ns = threads::steady_ns();
  EXPECT_TRUE(session.push(frame));
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  EXPECT_FALSE(session.push(frame));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  EXPECT_FALSE(session.push(frame));
}

TEST(Session, DisarmsByWayOfRest) {
  Server server;
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  {
    Hands hands(session, {pulse_at(small_rig(), 0, -20), pulse_at(small_rig(), 1, 5), pulse_at(small_rig(), 2, 0)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 30; })) << text(session);
    session.disarm();
    EXPECT_TRUE(becomes(session, State::ready));
  }
  server.stop();
  const auto jaw = pulses_us(server.log(), 0, 2);
  ASSERT_GE(jaw.size(), 3u);
  EXPECT_EQ(jaw.back(), 0);
  EXPECT_NEAR(jaw[jaw.size() - 2], show::pulse_us(small_rig().actuators[0], -30), 0.07);
}

TEST(Session, EveryFrameThatWasSentIsLatchedOnceAndInOrder) {
  Server server;
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  {
    Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
    ASSERT_TRUE(eventually([&] { return hands.pushed() >= 100; })) << text(session);
  }
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged == session.status().frames_sent; }));
  const auto status = session.status();
  EXPECT_EQ(status.frames_refused, 0u);
  EXPECT_EQ(status.messages_garbled, 0u);
  EXPECT_EQ(status.times_lost, 0u);
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  server.stop();
  for (const int board : {0, 1}) {
    const auto sequences = latched(server.log(), board);
    EXPECT_EQ(sequences.size(), status.frames_sent);
    EXPECT_TRUE(std::is_sorted(sequences.begin(), sequences.end(), std::less_equal<>())) << "twice, or out of order";
  }
  EXPECT_EQ(pulses_us(server.log(), 0, 2).back(), 0) << "stop left it driven";
}

TEST(Session, ClosingWhileArmedStopsTheBoards) {
  Server server;
  {
    Session session(small_rig());
    session.open(server.text());
    ASSERT_TRUE(becomes(session, State::ready));
    session.arm();
    Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 5; })) << text(session);
  }
  server.stop();
  EXPECT_EQ(pulses_us(server.log(), 0, 2).back(), 0);
  EXPECT_THAT(server.log(), Not(HasSubstr("holding"))) << "the boards found out by themselves instead of being told";
}

TEST(Session, SaysThatNobodyAnswersOnAPortThatOnlyListens) {
  const int listener = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  ASSERT_EQ(::bind(listener, reinterpret_cast<sockaddr*>(&address), size), 0);
  ASSERT_EQ(::listen(listener, 1), 0);
  ::getsockname(listener, reinterpret_cast<sockaddr*>(&address), &size);
  Session session(small_rig());
  session.open("tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port)));
  ASSERT_TRUE(eventually([&] { return session.status().trouble.has_value(); }));
  EXPECT_EQ(session.status().state, State::greeting);
  EXPECT_THAT(session.status().trouble->what, HasSubstr("No board answers"));
  EXPECT_THAT(session.status().trouble->file, HasSubstr("tcp:"));
  ::close(listener);
}

TEST(Session, SaysWhyAPortCanNotBeOpenedAndKeepsTrying) {
  TempDir dir;
  const auto device = dir.file("board");
  Session session(small_rig());
  const struct { std::string port, what; } cases[] = {
      {device, "no such device"}, {dir.file(""), "directory"}, {"tcp:127.0.0.1:1", "refuses"}, {"tcp:", "names no host"}, {"sim:7", "Nothing may follow"}};
  for (const auto& each : cases) {
    session.open(each.port);
    ASSERT_TRUE(eventually([&] { return session.status().trouble.has_value(); })) << each.port;
    EXPECT_EQ(session.status().state, State::opening);
    EXPECT_EQ(session.status().trouble->file, each.port);
    EXPECT_THAT(session.status().trouble->what, HasSubstr(each.what));
  }
}

TEST(Session, ANewRigIsTakenUpOnceTheHeadIsSilent) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  auto rig = small_rig();
  rig.boards.push_back({"third", 2, 16, {}});
  session.set_rig(rig);
  ASSERT_TRUE(eventually([&] { return session.status().boards.size() == 3 && session.status().state == State::ready; })) << text(session);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  session.set_rig(small_rig());
  ASSERT_TRUE(eventually([&] { return session.status().boards.size() == 2 && session.status().state == State::ready; })) << text(session);
}

TEST(Session, NoFrameIsTakenFromTheMomentAnotherRigIsOrdered) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  for (int round = 0; round < 20; ++round) {
    session.arm();
    ASSERT_TRUE(becomes(session, State::armed));
    Frame frame;
    frame.epoch = session.armed().epoch;
    EXPECT_TRUE(session.push(frame));
    auto rig = small_rig();
    if (round % 2 == 0) rig.boards.push_back({"third", 2, 16, {}});
    session.set_rig(rig);
    EXPECT_FALSE(session.push(frame)) << "whether or not the link's thread has heard of the rig yet";
    ASSERT_TRUE(becomes(session, State::ready));
  }
}

TEST(Session, ARigThatIsTheSameForTheBoardsDisturbsNothing) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  const auto epoch = session.armed().epoch;
  auto rig = small_rig();
  rig.actuators[0].acceleration_deg_s2 = 123;
  session.set_rig(rig);
  const auto seen = session.status().bytes_in;
  ASSERT_TRUE(eventually([&] { return session.status().bytes_in > seen + 200; }));
  EXPECT_EQ(session.armed().epoch, epoch);
  Frame frame;
  frame.epoch = epoch;
  EXPECT_TRUE(session.push(frame));
}

TEST(Session, PerformsWithoutABoardThatIsMissingAndNamesIt) {
  Server server("127.0.0.1:0", 1);
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  ASSERT_TRUE(session.status().trouble);
  EXPECT_THAT(session.status().trouble->place, HasSubstr("upper"));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  const auto status = session.status();
  EXPECT_TRUE(status.boards[0].performing);
  EXPECT_FALSE(status.boards[1].performing);
}

}  // namespace
}  // namespace mien::link
