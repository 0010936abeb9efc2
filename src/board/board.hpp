// A controller board as the host sees it: bytes in, bytes out, pulses. It is the firmware's core and the simulated board,
// the same source: no heap, no exceptions, no clock and no thread of its own, so the same bytes at the same times give the
// same pulses. PROTOCOL.md in src/wire says what it does.
#pragma once
#include <cstddef>
#include <cstdint>

#include "board/drive.hpp"
#include "board/player.hpp"
#include "board/repeater.hpp"
#include "board/storage.hpp"
#include "wire/codec.hpp"

namespace mien::board {

/// What a board is, for its description.
struct About {
  std::uint64_t identity = 0;      ///< unique, the same after every power-on
  const char* firmware = "";       ///< printable ASCII, the first wire::kMaxFirmwareText characters count
  std::uint8_t outputs = wire::kMaxOutputs;
  std::uint8_t rails = 0;
  std::uint8_t address = wire::kNoAddress;  ///< fixed, or kNoAddress: takes the first one that a hello assigns
  std::uint8_t lines = 0;                   ///< digital lines out, for channels
  std::uint8_t inputs = 0;                  ///< digital lines in
  std::uint8_t outputs_per_timer = 1;       ///< 2 where a pair of outputs can only have one period and phase
  wire::Start start = wire::Start::power;   ///< why it started this time
};

/// How it reaches the world; called from within receive() and tick(). Functions may be null.
struct Port {
  void* context = nullptr;
  void (*write)(void* context, const std::uint8_t* bytes, std::size_t size) = nullptr;  ///< one whole packet a call
  void (*latched)(void* context, std::uint16_t sequence) = nullptr;  ///< a frame took effect; its pulses move with the tick
  /// Toward the next board of the chain, at once and without waiting for more. Null where an interrupt does it with repeater().
  void (*forward)(void* context, const std::uint8_t* bytes, std::size_t size) = nullptr;
  /// How many bytes write() would take now without losing any; null: always enough.
  std::size_t (*room)(void* context) = nullptr;
  /// A packet of this board's own toward the next one, where an interrupt repeats what the host says; null: by forward().
  void (*tell_below)(void* context, const std::uint8_t* bytes, std::size_t size) = nullptr;
  /// The board's clock at this very moment, for the times that answers carry; null: the time that the call was given.
  std::uint32_t (*now)(void* context) = nullptr;
  Shelf shelf{};  ///< for a baked show
};

/// One of a chain: bytes from the host are repeated downward as they come, packets from below are passed upward whole. Or one of several
/// that listen to one pipe: each answers for its own address and keeps quiet about the rest.
/// `now_us` is the board's clock, wrapping at 2^32; it never runs backward from call to call.
class Board {
 public:
  Board(const About& about, const Port& port) noexcept;
  Board(const Board&) = delete;
  Board& operator=(const Board&) = delete;

  /// Takes up the baked show on the shelf, if there is one, and its address where the board has none: once, after power-on, before anything is
  /// received, with the inputs as sense() told them. A large show is looked over in the ticks that follow. It then plays as the show says, until
  /// the first packet from a host comes.
  void stand_alone(std::uint32_t now_us) noexcept;

  /// A byte from the host, with the time at which it came. Forwarded first, then looked at.
  void receive(std::uint8_t byte, std::uint32_t now_us) noexcept;
  /// A byte from the next board of the chain. With the packet's last one the packet goes up, where there is room for it and for answers
  /// of this board's own: a board below that floods the line silences itself and what is below it, nobody else.
  void receive_below(std::uint8_t byte, std::uint32_t now_us) noexcept;
  /// What the board measures; call at least 10 times a second, and at once when an input changes. The host hears of inputs and faults that
  /// changed without asking.
  void sense(const Senses& senses, std::uint32_t now_us) noexcept;
  /// Latches what is due, moves pulses, runs the watchdog: call at least 1,000 times a second.
  void tick(std::uint32_t now_us) noexcept;

  /// What the output drives now in 1/16 us; 0 is silence, and the answer for an output that the board lacks.
  std::uint16_t pulse(int output) const noexcept;
  /// The level of an auxiliary line: 0 off .. 255 on, between them a share of the time.
  std::uint8_t level(int line) const noexcept { return drive_.channels().level(line); }
  /// Whether a channel has the line, so that something is to be driven by it.
  bool takes(int line) const noexcept { return drive_.channels().takes(line); }

  /// How long from now until a pulse of the output is to start, so that pulses of all boards keep step with the shared clock:
  /// 1..period_us, for an output that the board has. Once in 71 minutes, when the shared clock wraps, the answer jumps.
  std::uint32_t until_pulse_us(int output, std::uint32_t now_us) const noexcept;
  const wire::Timing& timing(int output) const noexcept { return drive_.output(output).timing(); }
  /// The host's clock; the board's own until the host told.
  std::uint32_t shared_us(std::uint32_t now_us) const noexcept { return drive_.clock().host_us(now_us); }
  bool clock_known() const noexcept { return drive_.clock().known(); }

  /// For ports that repeat bytes in an interrupt, ahead of receive().
  Repeater& repeater() noexcept { return repeater_; }

  wire::State state() const noexcept { return drive_.state(); }
  std::uint16_t sequence() const noexcept { return drive_.sequence(); }  ///< of the frame latched last
  std::uint8_t address() const noexcept { return address_; }
  const Player& player() const noexcept { return player_; }
  wire::Counters counters() const noexcept;

 private:
  bool is_for_me(const wire::Head& head) const noexcept;
  void release() noexcept;
  void take_address(const wire::Head& head, wire::Bytes packet) noexcept;
  void handle(wire::Bytes packet, std::uint32_t now_us) noexcept;
  void obey(const wire::Head& head, wire::Bytes packet, std::uint32_t now_us) noexcept;
  Verdict carry_out(const wire::Head& head, wire::Bytes packet, wire::Heartbeat& beat, std::uint32_t now_us) noexcept;
  void follow(wire::Bytes packet, std::uint32_t now_us) noexcept;
  void lead() noexcept;
  void handle_frame(wire::Bytes packet, std::uint32_t now_us) noexcept;
  void announce(std::uint32_t now_us) noexcept;
  void describe(std::uint8_t token) noexcept;
  void acknowledge(const wire::Head& head, std::uint32_t host_us, std::uint32_t now_us) noexcept;
  void report(std::uint8_t token) noexcept;
  Verdict store(const wire::Head& head, wire::Bytes packet) noexcept;
  void inspect() noexcept;
  void take_up() noexcept;
  void tell_playback(std::uint8_t token) noexcept;
  void refuse(const wire::Head& head, Verdict verdict) noexcept;
  void refuse_frame(Verdict verdict, std::uint32_t now_us) noexcept;
  std::uint32_t clock_us(std::uint32_t given_us) const noexcept;
  std::size_t relay(wire::Bytes packet, std::uint32_t began_us, std::uint32_t now_us, std::uint8_t* out, std::size_t capacity) const noexcept;
  template <class Message>
  void send(const Message& message) noexcept;

  About about_;
  Port port_;
  Drive drive_;
  wire::Deframer deframer_, below_;
  Repeater repeater_;
  Senses senses_;
  Player player_;
  Storage storage_;
  BakeFault stored_ = BakeFault::empty;
  std::uint32_t stored_number_ = 0;
  std::uint32_t refused_ = 0, short_packets_ = 0, unrelayed_ = 0;
  std::uint32_t announced_us_ = 0, sensed_us_ = 0;
  std::uint32_t below_began_us_ = 0;  // when the packet that comes from below began
  bool below_coming_ = false;
  bool announced_ = false, released_ = false;
  bool inspected_ = false;  // stored_ says what is on the shelf
  std::uint16_t told_inputs_ = 0;
  std::uint8_t told_faults_ = 0;
  std::uint32_t frame_refused_us_ = 0;
  bool frame_refused_ = false;
  std::uint8_t address_;
  wire::State told_ = wire::State::unconfigured;  // the state that the host heard last
};

}  // namespace mien::board
