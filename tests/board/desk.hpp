// A desk with boards on one pipe and a clock that only moves when told to.
#pragma once
#include <gtest/gtest.h>

#include <deque>
#include <memory>
#include <ostream>
#include <vector>

#include "board/board.hpp"

namespace mien::wire {
inline void PrintTo(State state, std::ostream* out) { *out << name(state); }
inline void PrintTo(Reason reason, std::ostream* out) { *out << name(reason); }
}  // namespace mien::wire

namespace mien::board {

/// Starts 300 ms before the boards' clock wraps, so that most tests run across the wrap.
constexpr std::uint32_t kBeforeTheWrap = 0xFFFFFFFFu - 300'000u;

class Desk {
 public:
  explicit Desk(std::vector<std::uint8_t> addresses = {0}, std::uint32_t start_us = kBeforeTheWrap) : now_us(start_us) {
    for (const std::uint8_t address : addresses) {
      About about;
      about.identity = 0xB0A2D000u + boards_.size();
      about.firmware = "desk 1.0";
      about.address = address;
      boards_.push_back(std::make_unique<Board>(about, Port{this, &Desk::write, &Desk::latched}));
    }
  }

  Board& board(std::size_t n = 0) { return *boards_[n]; }

  template <class Message>
  void send(const Message& message) {
    std::uint8_t out[wire::kMaxOnWire];
    const std::size_t size = encode(message, out, sizeof out);
    ASSERT_GT(size, 0u);
    send_bytes({out, out + size});
  }
  void send_bytes(const std::vector<std::uint8_t>& bytes) {
    for (const std::uint8_t byte : bytes)
      for (auto& b : boards_) b->receive(byte, now_us);
  }

  /// Time passes at 1 kHz.
  void run_ms(int ms) {
    for (int i = 0; i < ms; ++i) {
      now_us += 1000;
      for (auto& b : boards_) b->tick(now_us);
    }
  }

  /// The oldest answer not looked at yet must be one of these; returns it.
  template <class Message>
  Message answer() {
    Message out;
    if (answers.empty()) {
      ADD_FAILURE() << "no answer";
      return out;
    }
    const std::vector<std::uint8_t> packet = answers.front();
    answers.pop_front();
    EXPECT_TRUE(decode(wire::Bytes{packet.data(), packet.size()}, out)) << "an answer of type " << int(packet[1]);
    return out;
  }
  wire::Reason refusal() { return answer<wire::Refusal>().reason; }
  bool acknowledged() { return answer<wire::Acknowledgement>().address != wire::kEveryone; }

  std::uint32_t now_us;
  std::deque<std::vector<std::uint8_t>> answers;
  std::vector<std::uint16_t> latched_sequences;

 private:
  static void write(void* context, const std::uint8_t* bytes, std::size_t size) {
    wire::Deframer deframer;  // answers come as whole packets, so each is complete by itself
    Desk& desk = *static_cast<Desk*>(context);
    for (std::size_t i = 0; i < size; ++i)
      if (deframer.push(bytes[i]))
        desk.answers.emplace_back(deframer.packet().data, deframer.packet().data + deframer.packet().size);
    EXPECT_EQ(deframer.counters().packets, 1u);
  }
  static void latched(void* context, std::uint16_t sequence) {
    static_cast<Desk*>(context)->latched_sequences.push_back(sequence);
  }

  std::vector<std::unique_ptr<Board>> boards_;
};

constexpr std::uint16_t us(double microseconds) { return static_cast<std::uint16_t>(microseconds * wire::kUnitsPerUs); }

/// Two outputs, 1000..2000 us, rest 1500, 2000 us/s; watchdog 100, 200, 3000 ms.
inline wire::Configure two_outputs(std::uint8_t address = 0) {
  wire::Configure m;
  m.address = address, m.token = 1, m.watchdog = {100, 200, 3000}, m.count = 2;
  m.outputs[0] = {0, us(1000), us(2000), us(1500), 2000u * wire::kUnitsPerUs};
  m.outputs[1] = m.outputs[0];
  m.outputs[1].output = 1;
  return m;
}

inline wire::Frame frame_for(std::uint8_t address, std::uint16_t sequence, std::uint32_t latch_us, std::uint16_t pulse,
                             std::uint16_t mask = 1) {
  wire::Frame m;
  m.sequence = sequence, m.latch_us = latch_us, m.count = 1;
  m.blocks[0].address = address, m.blocks[0].mask = mask;
  for (auto& p : m.blocks[0].pulse) p = pulse;
  return m;
}

/// A desk with board 0 configured, its clock equal to the host's, and armed; all answers read.
inline std::unique_ptr<Desk> armed_desk(const wire::Configure& configuration = two_outputs()) {
  auto desk = std::make_unique<Desk>();
  desk->send(configuration);
  desk->send(wire::Clock{0, 2, 0, 0, 0});
  desk->send(wire::Order{wire::Type::arm, 0, 3});
  for (int i = 0; i < 3; ++i) EXPECT_TRUE(desk->acknowledged());
  EXPECT_EQ(desk->board().state(), wire::State::waiting);
  return desk;
}

}  // namespace mien::board
