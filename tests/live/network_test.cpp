// The network's thread, spoken to over this machine's loopback: by liblo (Debian 0.31), and by plain sockets.
#include "live/network.hpp"

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <lo/lo.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <thread>

#include "live/hand_rig.hpp"
#include "live/lo_values.hpp"
#include "live/sacn_packet.hpp"
#include "live/udp.hpp"
#include "support/eventually.hpp"

namespace mien::live {
namespace {

using support::eventually;

constexpr int kOsc = 3, kSacn = 4;

// Long enough for a packet to have come, if it comes at all.
void a_moment() { std::this_thread::sleep_for(std::chrono::milliseconds(150)); }

struct NetworkBench {
  NetworkBench() {
    know_controls(*hand_rig(), addresses);
    network.know(addresses);
  }
  [[nodiscard]] bool open_osc(NetworkSettings s = {}) {
    s.osc = true;
    if (const auto problem = network.open(s)) return ADD_FAILURE() << show::to_text(*problem), false;
    peer = lo_address_new("127.0.0.1", std::to_string(network.status().osc_at.port).c_str());
    return true;
  }
  ~NetworkBench() { if (peer) lo_address_free(peer); }
  void listen() {
    inlet.drain([&](const Touch& t) { heard.push_back(t); });
  }
  Inlet inlet;
  Network network{inlet, kOsc, kSacn};
  lo_address peer = nullptr;
  std::vector<std::string> addresses;
  std::vector<Touch> heard;
};

TEST(Network, IsSilentUntilItIsOpened_AndOnLoopbackUntilItIsToldOtherwise) {
  NetworkBench b;
  EXPECT_FALSE(b.network.status().osc);
  EXPECT_FALSE(b.network.status().sacn);
  EXPECT_FALSE(b.network.open({}));
  EXPECT_FALSE(b.network.status().osc);
  ASSERT_TRUE(b.open_osc());
  EXPECT_EQ(b.network.status().osc_at.ip, kLoopback);
  EXPECT_NE(b.network.status().osc_at.port, 0);
}

TEST(Network, HearsAPeer_MessagesAndBundles) {
  NetworkBench b;
  ASSERT_TRUE(b.open_osc());
  lo_send(b.peer, "/mien/control/jaw", "f", 0.75);
  lo_bundle bundle = lo_bundle_new(LO_TT_IMMEDIATE);
  lo_message smile = lo_message_new();
  lo_message_add_double(smile, 0.5);
  lo_bundle_add_message(bundle, "/mien/control/smile", smile);
  lo_send_bundle(b.peer, bundle);
  lo_bundle_free_recursive(bundle);
  ASSERT_TRUE(eventually([&] { return b.listen(), b.heard.size() == 2; }));
  EXPECT_EQ(b.heard[0].kind, Touch::Kind::osc);
  EXPECT_EQ(b.heard[0].device, kOsc);
  EXPECT_EQ(b.heard[0].number, 1);
  EXPECT_EQ(b.heard[0].value, 0.75f);
  EXPECT_EQ(b.heard[1].number, 2);
  // Ahead of its time by a fifth of a second: it waits.
  lo_timetag now;
  lo_timetag_now(&now);
  now.frac += 858'993'459u;  // 0.2 s
  now.sec += now.frac < 858'993'459u;
  b.heard.clear();
  lo_send_timestamped(b.peer, now, "/mien/control/jaw", "f", 0.1);
  ASSERT_TRUE(eventually([&] { return b.listen(), b.heard.size() == 1; }));
  lo_timetag heard;
  lo_timetag_now(&heard);
  EXPECT_GE(lo_timetag_diff(heard, now), 0);
}

TEST(Network, HandsOrdersOver_AndTellsWhoeverAskedWhereTheShowIs) {
  NetworkBench b;
  ASSERT_TRUE(b.open_osc());
  struct Told { std::atomic<int> times{0}, armed{-1}, well{-1}; std::atomic<double> time{0}; std::string cue; } told;
  lo_server server = lo_server_new(nullptr, nullptr);
  lo_server_add_method(server, "/mien/state", "fiisi",
                       [](const char*, const char*, lo_arg** v, int, lo_message, void* to) {
                         auto& t = *static_cast<Told*>(to);
                         t.time = lo_float(v[0]), t.armed = lo_int(v[2]), t.cue = lo_text(v[3]), t.well = lo_int(v[4]), ++t.times;
                         return 0;
                       },
                       &told);
  lo_send_from(b.peer, server, LO_TT_IMMEDIATE, "/mien/state", "");
  lo_send(b.peer, "/mien/marker", "s", "Wakes");
  std::optional<NetworkOrder> order;
  ASSERT_TRUE(eventually([&] { return (order = b.network.order()).has_value(); }));
  EXPECT_EQ(*order, (NetworkOrder{NetworkOrder::Kind::marker, show::Time{0}, "Wakes"}));
  ASSERT_TRUE(eventually([&] { return b.network.status().askers == 1; }));
  const auto began = std::chrono::steady_clock::now();
  // However often it is told, and however long this machine takes over it: no more than 25 a second and the first.
  while (told.times < 10) {
    b.network.tell({12.5, true, true, true, "greet"});
    while (lo_server_recv_noblock(server, 1) > 0) {}
    ASSERT_LT(std::chrono::steady_clock::now() - began, std::chrono::seconds(10));
  }
  const double took_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  EXPECT_LE(told.times - 1, took_s * kMostReports_hz + 1);
  EXPECT_EQ(told.time, 12.5);
  EXPECT_EQ(told.armed, 1);
  EXPECT_EQ(told.well, 1);
  EXPECT_EQ(told.cue, "greet");
  lo_server_free(server);
}

TEST(Network, HearsNobodyWhoIsNotOnTheList) {
  NetworkBench b;
  NetworkSettings s;
  s.allow = *parse_ranges("10.0.0.0/8", "");
  ASSERT_TRUE(b.open_osc(s));
  lo_send(b.peer, "/mien/control/jaw", "f", 0.75);
  lo_send(b.peer, "/mien/play", "");
  ASSERT_TRUE(eventually([&] { return b.network.status().refused == 2; }));
  b.listen();
  EXPECT_THAT(b.heard, testing::IsEmpty());
  EXPECT_FALSE(b.network.order());
  s.allow = *parse_ranges("10.0.0.0/8,127.0.0.1", "");
  lo_address_free(b.peer);
  ASSERT_TRUE(b.open_osc(s));
  lo_send(b.peer, "/mien/control/jaw", "f", 0.75);
  EXPECT_TRUE(eventually([&] { return b.listen(), !b.heard.empty() && b.heard.back().kind == Touch::Kind::osc; }));
}

TEST(Network, AFloodOfThousandsEndsWithTheNewestOfEach) {
  NetworkBench b;
  ASSERT_TRUE(b.open_osc());
  for (int n = 0; n < 10'000; ++n) {
    lo_send(b.peer, "/mien/control/jaw", "f", n * 1e-4);
    if (n % 100 == 0) b.listen();  // as the tick does
  }
  // What the system itself could not keep is gone; the last one, sent into quiet, is not.
  a_moment();
  lo_send(b.peer, "/mien/control/jaw", "f", 1.0);
  EXPECT_TRUE(eventually([&] { return b.listen(), b.heard.back().value == 1.0f; }));
  EXPECT_GT(b.heard.size(), 100u);
}

TEST(Network, ClosingGivesBackWhatWasHeld) {
  NetworkBench b;
  ASSERT_TRUE(b.open_osc());
  b.network.close();
  b.listen();
  ASSERT_EQ(b.heard.size(), 1u);
  EXPECT_EQ(b.heard[0].kind, Touch::Kind::osc_gone);
  EXPECT_FALSE(b.network.status().osc);
}

TEST(Network, APortThatIsTakenOrNotThisMachinesIsNamedWithACure) {
  NetworkBench b, c;
  ASSERT_TRUE(b.open_osc());
  NetworkSettings s{.osc = true, .osc_port = b.network.status().osc_at.port};
  auto problem = c.network.open(s);
  ASSERT_TRUE(problem);
  EXPECT_THAT(show::to_text(*problem), testing::HasSubstr("OSC: 127.0.0.1:" + std::to_string(s.osc_port)));
  EXPECT_THAT(problem->cure, testing::HasSubstr("another port"));
  EXPECT_FALSE(c.network.status().osc);
  s.osc_port = 0, s.osc_ip = *parse_ip("192.0.2.1");  // RFC 5737: nobody's
  problem = c.network.open(s);
  ASSERT_TRUE(problem);
  EXPECT_THAT(problem->cure, testing::HasSubstr("127.0.0.1"));
}

TEST(Network, WarnsOfDoorsThatStandOpen) {
  EXPECT_THAT(cautions({.osc = true, .sacn = true}), testing::IsEmpty());
  EXPECT_EQ(cautions({.osc = true, .osc_ip = 0, .sacn = true, .sacn_ip = 0x0A00'0001}).size(), 2u);
  EXPECT_THAT(cautions({.osc = true, .osc_ip = 0, .allow = {{0x0A00'0000, 8}}}), testing::IsEmpty());
}

TEST(Network, HearsSacnByUnicastAndByTheUniversesGroup) {
  NetworkBench b;
  NetworkSettings s{.sacn = true, .universe = 7, .sacn_port = 0};
  ASSERT_FALSE(b.network.open(s));
  const std::uint16_t port = b.network.status().sacn_at.port;
  auto sender = UdpSocket::open({kLoopback, 0}, "");
  ASSERT_TRUE(sender);
  ASSERT_TRUE(sender->send(sacn_packet({.universe = 7, .levels = {10, 255}}), {kLoopback, port}));
  ASSERT_TRUE(eventually([&] { return b.listen(), b.heard.size() == 2; }));
  EXPECT_EQ(b.heard[1].kind, Touch::Kind::slot);
  EXPECT_EQ(b.heard[1].device, kSacn);
  EXPECT_EQ(b.heard[1].number, 2);
  EXPECT_EQ(b.heard[1].value, 1.0f);
  ASSERT_TRUE(eventually([&] { return b.network.status().sources.size() == 1; }));
  EXPECT_EQ(b.network.status().sources[0].name, "Desk");
  // To the group, by way of loopback: where this machine's loopback carries multicast at all.
  in_addr interface{};
  interface.s_addr = htonl(kLoopback);
  ASSERT_EQ(::setsockopt(sender->handle(), IPPROTO_IP, IP_MULTICAST_IF, &interface, sizeof interface), 0);
  if (!sender->send(sacn_packet({.sequence = 2, .universe = 7, .levels = {11, 255}}), {sacn_group(7), port})) GTEST_SKIP() << "this machine's loopback carries no multicast";
  ASSERT_TRUE(eventually([&] { return b.listen(), b.heard.size() == 3; }));
  EXPECT_EQ(b.heard[2].number, 1);
  b.network.close();
  b.listen();
  EXPECT_EQ(b.heard.back().kind, Touch::Kind::slots_gone);
}

}  // namespace
}  // namespace mien::live
