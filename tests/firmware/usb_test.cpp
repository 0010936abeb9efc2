// The board's USB, with a computer at it that keeps to the standards (usb.mjs): expected bytes are written from their tables.
#include <algorithm>
#include <map>
#include <sstream>

#include "firmware/desk.hpp"

namespace mien::firmware {
namespace {

class UsbPort : public Firmware {};

struct Seen {
  std::string state;
  std::map<std::string, std::string> descriptors;  ///< in hexadecimal
};

Seen see(Bench& bench) {
  std::istringstream in(bench.ask_line("usb"));
  Seen seen;
  std::string word;
  in >> word >> seen.state;
  while (in >> word) seen.descriptors[word.substr(0, word.find('='))] = word.substr(word.find('=') + 1);
  return seen;
}

// USB 2.0 table 9-8 (device), 9-10 (configuration), 9-12, 9-13; CDC 1.2 tables 15, 16 and PSTN 1.2 tables 3, 4.
TEST_F(UsbPort, IsFoundAndOpenedAsASerialPort) {
  Host host({"--usb"});
  host.bench.run(50'000);
  const Seen seen = see(host.bench);
  EXPECT_EQ(seen.state, "open");
  EXPECT_EQ(seen.descriptors.at("device"), "12010002" "020000" "40" "0912" "0100" "0001" "010203" "01");
  EXPECT_EQ(seen.descriptors.at("configuration"),
            "0902430002010080" "32" "090400000102020000" "0524002001" "0524010001" "04240202" "0524060001" "07058203080010"
            "09040100020a000000" "07050102400000" "07058102400000");
  EXPECT_EQ(seen.descriptors.at("languages"), "04030904");
  std::string product;
  for (const char c : std::string("Mien board")) product += std::string{"0123456789abcdef"[c >> 4], "0123456789abcdef"[c & 15]} + "00";
  EXPECT_EQ(seen.descriptors.at("product"), "1603" + product);
  const std::string serial = seen.descriptors.at("serial");
  ASSERT_EQ(serial.size(), 68u);
  std::string digits;
  for (std::size_t i = 4; i < serial.size(); i += 4) digits += static_cast<char>(std::stoi(serial.substr(i, 2), nullptr, 16));
  EXPECT_EQ(std::stoull(digits, nullptr, 16), host.greet(0).identity);
}

TEST_F(UsbPort, CarriesAPerformanceOfAChain) {
  Host host({"--usb", "--boards", "2"});
  host.bench.run(50'000);
  for (int board = 0; board < 2; ++board) host.bring_up(board);
  const std::vector<double> pose = {1'000, 1'101, 1'202, 1'303, 1'404, 1'505, 1'606, 1'707, 1'808, 1'909, 1'010, 1'111, 1'212, 1'313, 1'414, 1'515};
  Events events;
  for (int i = 0; i < 30; ++i) {
    host.frame(0, pose), host.frame(1, pose);
    Host::append(events, host.bench.run(10'000));
  }
  for (int board = 0; board < 2; ++board)
    for (std::size_t n = 0; n < pose.size(); ++n) {
      const auto pulses = events.of(board, static_cast<int>(n));
      ASSERT_GE(pulses.size(), 10u) << "board " << board << " output " << n;
      EXPECT_DOUBLE_EQ(pulses.back().width_us, pose[n]) << "board " << board << " output " << n;
    }
  EXPECT_EQ(host.query(0).state, wire::State::running);
  EXPECT_EQ(host.query(1).state, wire::State::running);
}

// USB brings bytes ten times as fast as the line down can take them: the computer waits, and nothing is lost on the way to the last board.
TEST_F(UsbPort, LosesNothingThoughItIsFasterThanTheChain) {
  Host host({"--usb", "--boards", "2"});
  host.bench.run(50'000);
  host.greet(0), host.greet(1);
  std::vector<std::uint8_t> burst;
  constexpr int kFrames = 400;  // which a board that is not armed refuses, and counts
  for (int n = 0; n < kFrames; ++n) {
    wire::Frame frame;
    frame.sequence = static_cast<std::uint16_t>(n), frame.count = 1;
    frame.blocks[0].address = 1, frame.blocks[0].mask = 0xFFFF;
    for (auto& pulse : frame.blocks[0].pulse) pulse = units(1'500);
    std::uint8_t bytes[wire::kMaxOnWire];
    const std::size_t size = encode(frame, bytes, sizeof bytes);
    burst.insert(burst.end(), bytes, bytes + size);
  }
  host.bench.send_bytes(burst);
  host.bench.run(static_cast<double>(burst.size()) * 10 + 20'000);
  const auto said = host.bench.ask<wire::Acknowledgement>(wire::Heartbeat{1, 99, 0});
  EXPECT_EQ(said.counters.refused, 0u + kFrames);
  EXPECT_EQ(said.counters.bad, 0u);
  EXPECT_EQ(host.bench.stats(1).overruns_up, 0);
}

// The second and third go as one packet, which is as long as packets get: the computer waits for a shorter one.
TEST_F(UsbPort, AnswersThatFillAPacketArriveAtOnce) {
  Host host({"--usb"});
  host.bench.run(50'000);
  host.greet(0);
  std::vector<std::uint8_t> three;
  for (std::uint8_t n = 1; n <= 3; ++n) {
    std::uint8_t bytes[wire::kMaxOnWire];
    const std::size_t size = encode(wire::Hello{0, n, true}, bytes, sizeof bytes);
    three.insert(three.end(), bytes, bytes + size);
  }
  host.bench.send_bytes(three);
  int answers = 0;
  std::size_t size = 0;
  for (const Heard& heard : host.bench.run(5'000).heard) {
    wire::Description said;
    if (decode(wire::Bytes{heard.packet.data(), heard.packet.size()}, said)) ++answers, size = heard.bytes.size();
  }
  EXPECT_EQ(size, 32u) << "two of them no longer fill a packet: choose another answer for this test";
  EXPECT_EQ(answers, 3);
}

TEST_F(UsbPort, WhenTheProgramClosesItTheBoardsAreWithoutAHost) {
  Host host({"--usb"});
  host.bench.run(50'000);
  host.bring_up(0, 100'000, {50, 100, 500});
  host.perform(0, {1'600}, 200);
  host.bench.tell("terminal 0");
  const double closed_us = host.bench.now_us();
  const Events events = host.bench.run(1'500'000);
  EXPECT_TRUE(events.heard.empty()) << "it talks to nobody";
  ASSERT_FALSE(events.pulses.empty());
  EXPECT_NEAR(events.pulses.back().rise_us - closed_us, 650'000, 45'000);
  host.bench.tell("terminal 1");
  host.bench.run(10'000);
  EXPECT_EQ(host.query(0).state, wire::State::ready);
}

TEST_F(UsbPort, ComesBackAfterAPowerCut) {
  Host host({"--usb"});
  host.bench.run(50'000);
  const auto identity = host.greet(0).identity;
  host.bench.tell("power 0");
  host.bench.run(50'000);
  EXPECT_EQ(see(host.bench).state, "open");
  EXPECT_EQ(host.greet(0).identity, identity);
}

}  // namespace
}  // namespace mien::firmware
