// What host and boards say to each other, as plain values. PROTOCOL.md beside this file gives the bytes and the rules; the
// names here are the names there.
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::wire {

inline constexpr std::uint8_t kVersion = 1;
inline constexpr std::uint8_t kEveryone = 0xFF;   ///< address: every board that has one
inline constexpr std::uint8_t kNoAddress = 0xFE;  ///< a board that waits for its address
inline constexpr std::uint8_t kUnasked = 0;       ///< token of what a board sends by itself; hosts use 1..255
inline constexpr int kMaxOutputs = 16;
inline constexpr int kMaxBlocks = 8;
inline constexpr int kMaxRails = 8;
inline constexpr int kMaxFirmwareText = 24;

/// Pulses and slews travel in sixteenths of a microsecond.
inline constexpr int kUnitsPerUs = 16;
inline constexpr std::uint16_t kPulseFloor = 400 * kUnitsPerUs;     ///< no servo takes less
inline constexpr std::uint16_t kPulseCeiling = 2600 * kUnitsPerUs;  ///< or more
inline constexpr std::uint32_t kSlewCeiling = 1'000'000u * kUnitsPerUs;  ///< units per second

enum class Type : std::uint8_t {
  hello = 0x01,
  configure = 0x02,
  arm = 0x03,
  disarm = 0x04,
  stop = 0x05,
  heartbeat = 0x06,
  clock = 0x07,
  query = 0x08,
  frame = 0x10,
  description = 0x81,
  acknowledgement = 0x82,
  state_report = 0x83,
  refusal = 0x84,
};

enum class State : std::uint8_t {
  unconfigured = 0,  ///< silent; no complete configuration
  ready = 1,         ///< silent; configured, not armed
  waiting = 2,       ///< silent; armed, no frame yet
  running = 3,       ///< frames drive the outputs
  holding = 4,       ///< armed, frames stopped coming: outputs stay where they are
  ramping = 5,       ///< armed, still no frames: outputs creep to rest
  disarming = 6,     ///< told to disarm: outputs creep to rest, then go silent
};

enum class Reason : std::uint8_t {
  none = 0,            ///< nothing is refused; never sent
  version = 1,         ///< a protocol version that the board doesn't speak; detail: the version it was given
  unknown_type = 2,    ///< detail: the type
  malformed = 3,       ///< the body's length or content fits no message of this type; detail: the type
  not_configured = 4,
  not_armed = 5,
  armed = 6,           ///< not while armed or disarming
  bad_value = 7,       ///< detail: the output whose limits are absurd, 0xFF for the watchdog's times
  unknown_output = 8,  ///< detail: the first output that the board lacks or was not told about
  bad_time = 9,        ///< a frame's latch time lies more than a second ahead
  queue_full = 10,     ///< more frames ahead than the board can keep
};

/// Plain words, for people; "unknown" for a number that is none of these.
const char* name(Type type) noexcept;
const char* name(State state) noexcept;
const char* name(Reason reason) noexcept;

constexpr bool armed(State s) noexcept {
  return s == State::waiting || s == State::running || s == State::holding || s == State::ramping;
}

/// What every packet starts with. A frame has no address and no token; they read as kEveryone and kUnasked.
struct Head {
  std::uint8_t version = kVersion;
  std::uint8_t type = 0;
  std::uint8_t address = kEveryone;
  std::uint8_t token = kUnasked;
};

// ---- host to board

/// Who are you? Answer: Description.
struct Hello {
  std::uint8_t address = kEveryone, token = 0;
  bool assign = false;  ///< a board without an address takes this one
};

/// The limits of one output. Pulses in units, slew in units per second.
struct OutputLimits {
  std::uint8_t output = 0;
  std::uint16_t min = 0, max = 0, rest = 0;
  std::uint32_t slew = 0;
};

/// What a board does by itself without frames; each time counted from the one before.
struct Watchdog {
  std::uint16_t hold_ms = 200;      ///< silence until the board holds
  std::uint16_t ramp_ms = 1000;     ///< time it holds until it creeps to rest
  std::uint16_t release_ms = 4000;  ///< time it creeps until pulses stop; also the longest that disarming takes
};

/// False for what no head needs: an output number beyond kMaxOutputs, min >= max, rest outside, a pulse outside 400..2600 us,
/// slew of zero or beyond kSlewCeiling.
constexpr bool sane(const OutputLimits& l) noexcept {
  return l.output < kMaxOutputs && l.min >= kPulseFloor && l.max <= kPulseCeiling && l.min < l.max && l.rest >= l.min &&
         l.rest <= l.max && l.slew > 0 && l.slew <= kSlewCeiling;
}
/// False where hold or release is zero: the board would hold between frames, or drop the head at once.
constexpr bool sane(const Watchdog& w) noexcept { return w.hold_ms > 0 && w.release_ms > 0; }

/// A board's configuration, or a part of it. Answer: Acknowledgement.
struct Configure {
  std::uint8_t address = 0, token = 0;
  bool first = true;  ///< forget what was told before
  bool last = true;   ///< complete: the board may be armed
  Watchdog watchdog;
  std::uint8_t count = 0;
  OutputLimits outputs[kMaxOutputs];
};

/// arm, disarm, stop (answer: Acknowledgement) and query (answer: StateReport).
struct Order {
  Type type = Type::stop;
  std::uint8_t address = kEveryone, token = 0;
};

/// Answer: Acknowledgement with the three other times of a clock measurement.
struct Heartbeat {
  std::uint8_t address = kEveryone, token = 0;
  std::uint32_t host_us = 0;
};

/// host clock = board clock + offset, modulo 2^32. Answer: Acknowledgement.
struct Clock {
  std::uint8_t address = 0, token = 0;
  std::uint32_t offset_us = 0;
};

/// One board's share of a frame. pulse[n] counts where bit n of mask is set.
struct Block {
  std::uint8_t address = 0;
  std::uint16_t mask = 0;
  std::uint16_t pulse[kMaxOutputs] = {};
};

/// Setpoints of one tick. Never answered but by a refusal, and that at most every 100 ms.
struct Frame {
  std::uint16_t sequence = 0;
  std::uint32_t latch_us = 0;  ///< host clock, wrapping
  std::uint8_t count = 0;
  Block blocks[kMaxBlocks];
};

// ---- board to host

struct Description {
  std::uint8_t address = 0, token = 0;
  std::uint8_t newest_version = kVersion;  ///< the newest protocol version that the board speaks
  std::uint64_t identity = 0;
  std::uint8_t outputs = 0, rails = 0;
  State state = State::unconfigured;
  std::uint16_t configuration = 0;  ///< checksum() of what it was told; 0 while unconfigured
  char firmware[kMaxFirmwareText + 1] = {};  ///< printable ASCII, ends with a zero
};

struct Counters {
  std::uint32_t latched = 0;  ///< frames that took effect, late ones too
  std::uint32_t late = 0;     ///< of these, the ones whose time was more than 2 ms gone
  std::uint32_t stale = 0;    ///< frames dropped, not newer than one before
  std::uint32_t bad = 0;      ///< packets dropped for their CRC or shape
  std::uint32_t clamped = 0;  ///< pulses pulled back into the output's range
  std::uint32_t slewed = 0;   ///< pulses that the slew limit held back at their latch
  std::uint32_t refused = 0;  ///< packets refused, whether or not a refusal was sent
};

struct Acknowledgement {
  std::uint8_t address = 0, token = 0;
  Type of = Type::heartbeat;  ///< what it acknowledges
  State state = State::unconfigured;
  std::uint16_t sequence = 0;     ///< of the frame latched last
  std::uint32_t host_us = 0;      ///< the heartbeat's own, 0 for other commands
  std::uint32_t received_us = 0;  ///< board clock at the command's last byte
  std::uint32_t sent_us = 0;      ///< board clock when this answer was handed to the line
  Counters counters;
};

struct RailReading {
  std::uint16_t voltage_mv = 0, current_ma = 0;
};

struct StateReport {
  std::uint8_t address = 0, token = 0;
  State state = State::unconfigured;
  std::uint16_t sequence = 0;  ///< of the frame latched last
  std::uint16_t known = 0;     ///< outputs whose pulse means something: driven now, or driven since power-on
  std::uint16_t driven = 0;    ///< outputs that pulse now
  std::uint8_t outputs = 0;
  std::uint16_t pulse[kMaxOutputs] = {};  ///< now, or when it went silent; 0 where not known
  std::uint8_t rails = 0;                 ///< readings that follow; 0 from a board that measures nothing
  RailReading rail[kMaxRails];
};

struct Refusal {
  std::uint8_t address = 0, token = 0;
  std::uint8_t of = 0;  ///< type of what is refused, as it was received
  Reason reason = Reason::malformed;
  std::uint8_t detail = 0;  ///< see Reason; 0 where it names nothing
};

}  // namespace mien::wire
