// A controller board as the host sees it: bytes in, bytes out, pulses. It is the firmware's core and the simulated board,
// the same source: no heap, no exceptions, no clock and no thread of its own, so the same bytes at the same times give the
// same pulses. PROTOCOL.md in src/wire says what it does.
#pragma once
#include <cstddef>
#include <cstdint>

#include "board/drive.hpp"
#include "wire/codec.hpp"

namespace mien::board {

/// What a board is, for its description.
struct About {
  std::uint64_t identity = 0;      ///< unique, the same after every power-on
  const char* firmware = "";       ///< printable ASCII, the first wire::kMaxFirmwareText characters count
  std::uint8_t outputs = wire::kMaxOutputs;
  std::uint8_t rails = 0;
  std::uint8_t address = wire::kNoAddress;  ///< fixed, or kNoAddress: takes the first one that a hello assigns
};

/// How it reaches the world; called from within receive() and tick(). Functions may be null.
struct Port {
  void* context = nullptr;
  void (*write)(void* context, const std::uint8_t* bytes, std::size_t size) = nullptr;  ///< one whole packet a call
  void (*latched)(void* context, std::uint16_t sequence) = nullptr;  ///< a frame took effect; its pulses move with the tick
};

/// Several boards may listen to one pipe: each answers for its own address and keeps quiet about the rest.
/// `now_us` is the board's clock, wrapping at 2^32; it never runs backward from call to call.
class Board {
 public:
  Board(const About& about, const Port& port) noexcept;
  Board(const Board&) = delete;
  Board& operator=(const Board&) = delete;

  /// A byte from the host, with the time at which it came.
  void receive(std::uint8_t byte, std::uint32_t now_us) noexcept;
  /// Latches what is due, moves pulses, runs the watchdog: call at least 1,000 times a second.
  void tick(std::uint32_t now_us) noexcept;

  /// What the output drives now in 1/16 us; 0 is silence, and the answer for an output that the board lacks.
  std::uint16_t pulse(int output) const noexcept;
  wire::State state() const noexcept { return drive_.state(); }
  std::uint16_t sequence() const noexcept { return drive_.sequence(); }  ///< of the frame latched last
  std::uint8_t address() const noexcept { return address_; }
  wire::Counters counters() const noexcept;
  bool clock_known() const noexcept { return drive_.clock_known(); }
  std::uint32_t clock_offset_us() const noexcept { return drive_.clock_offset_us(); }  ///< host clock - board clock

 private:
  bool is_for_me(const wire::Head& head) const noexcept;
  void take_address(const wire::Head& head, wire::Bytes packet) noexcept;
  void handle(wire::Bytes packet, std::uint32_t now_us) noexcept;
  void obey(const wire::Head& head, wire::Bytes packet, std::uint32_t now_us) noexcept;
  Verdict carry_out(const wire::Head& head, wire::Bytes packet, wire::Heartbeat& beat, std::uint32_t now_us) noexcept;
  void handle_frame(wire::Bytes packet, std::uint32_t now_us) noexcept;
  void describe(const wire::Head& head) noexcept;
  void acknowledge(const wire::Head& head, std::uint32_t host_us, std::uint32_t now_us) noexcept;
  void report(std::uint8_t token) noexcept;
  void refuse(const wire::Head& head, Verdict verdict) noexcept;
  void refuse_frame(Verdict verdict, std::uint32_t now_us) noexcept;
  template <class Message>
  void send(const Message& message) noexcept;

  About about_;
  Port port_;
  Drive drive_;
  wire::Deframer deframer_;
  std::uint32_t refused_ = 0, short_packets_ = 0;
  std::uint32_t frame_refused_us_ = 0;
  bool frame_refused_ = false;
  std::uint8_t address_;
  wire::State told_ = wire::State::unconfigured;  // the state that the host heard last
};

}  // namespace mien::board
