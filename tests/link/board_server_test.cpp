#include "link/board_server.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "link/session_helpers.hpp"

namespace mien::link {
namespace {

using namespace test;
using testing::HasSubstr;

TEST(BoardServer, TellsWhatIsWrongWithItsAddress) {
  Wake stop;
  for (const char* listen : {"", "nowhere", "127.0.0.1:", "127.0.0.1:70000"}) {
    BoardServer server;
    server.listen = listen;
    const auto problem = server.run(stop);
    ASSERT_TRUE(problem) << listen;
    EXPECT_THAT(problem->cure, HasSubstr("127.0.0.1:0"));
  }
  Server first;
  BoardServer second;
  second.listen = first.address();
  const auto problem = second.run(stop);
  ASSERT_TRUE(problem);
  EXPECT_THAT(problem->what, HasSubstr("Another program listens"));
  second.listen = "127.0.0.1:0";
  second.boards = 99;
  EXPECT_TRUE(second.run(stop));
  second.boards = 1;
  second.capture_file = "/no/such/folder/capture";
  EXPECT_THAT(second.run(stop)->what, HasSubstr("capture file"));
}

TEST(BoardServer, CapturesEveryByteThatCame) {
  TempDir dir;
  Server server("127.0.0.1:0", 2, dir.file("capture"));
  std::uint64_t sent = 0;
  {
    Session session(small_rig());
    session.open(server.text());
    ASSERT_TRUE(becomes(session, State::ready)) << text(session);
    sent = session.status().bytes_out;
  }
  server.stop();
  EXPECT_GE(std::filesystem::file_size(dir.file("capture")), sent);
  std::ifstream file(dir.file("capture"), std::ios::binary);
  wire::Deframer deframer;
  for (char byte = 0; file.get(byte);) deframer.push(static_cast<std::uint8_t>(byte));
  EXPECT_GT(deframer.counters().packets, 4u);
  EXPECT_EQ(deframer.counters().bad_crc + deframer.counters().malformed, 0u);
}

TEST(BoardServer, SetsInputsAsLinesOfTextSay) {
  int ends[2];
  ASSERT_EQ(::pipe(ends), 0);
  Server server("127.0.0.1:0", 2, "", ends[0]);
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready));
  const auto inputs = [&](std::size_t board) { return session.status().boards[board].inputs; };
  const auto say = [&](const std::string& line) { EXPECT_EQ(::write(ends[1], line.data(), line.size()), static_cast<long>(line.size())); };
  say("input 1 3 high\ninput 1 0 hi");
  EXPECT_TRUE(eventually([&] { return inputs(1) == 0b1000; }));
  say("gh\ninput 9 0 high\ninput 0 16 high\nnonsense\ninput 0 15 high\n");
  EXPECT_TRUE(eventually([&] { return inputs(0) == 0x8000 && inputs(1) == 0b1001; }));
  EXPECT_TRUE(session.status().boards[1].reported);
  say("input 1 3 low\n");
  EXPECT_TRUE(eventually([&] { return inputs(1) == 0b0001; }));
  ::close(ends[1]);  // the hands rest, the boards live on
  EXPECT_TRUE(eventually([&] { return session.status().round_trip_us > 0; }));
  EXPECT_EQ(inputs(1), 0b0001);
  server.stop();
  ::close(ends[0]);
}

TEST(BoardServer, LetsOneClientInAtATimeAndTheNextWhenItIsGone) {
  Server server;
  auto first = std::make_unique<Session>(small_rig());
  first->open(server.text());
  ASSERT_TRUE(becomes(*first, State::ready));
  Session second(small_rig());
  second.open(server.text());
  ASSERT_TRUE(eventually([&] { return second.status().trouble.has_value(); }));
  EXPECT_EQ(second.status().state, State::greeting);
  first.reset();
  EXPECT_TRUE(becomes(second, State::ready)) << text(second);
}

TEST(BoardServer, LetsTheWatchdogsRunWhileNobodyIsConnected) {
  Server server;
  const auto rig = small_rig();
  {
    Cable cable(server.text());
    Session session(rig);
    session.open(cable.text());
    ASSERT_TRUE(becomes(session, State::ready));
    session.arm();
    Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 20), pulse_at(rig, 2, 10)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 50; })) << text(session);
    cable.plug(false);
    ASSERT_TRUE(becomes(session, State::lost));
  }
  ASSERT_TRUE(eventually([&] { return pulses_us(server.log(), 1, 0).back() == 0; })) << server.log();
  const auto log = server.log();
  const auto holding = log.find("board 1 state holding"), ramping = log.find("board 1 state ramping");
  EXPECT_LT(log.find("client gone"), holding);
  EXPECT_LT(holding, ramping);
  EXPECT_LT(ramping, log.rfind("board 1 state ready"));
  Session late(rig);
  late.open(server.text());
  EXPECT_TRUE(becomes(late, State::ready)) << text(late);
}

}  // namespace
}  // namespace mien::link
