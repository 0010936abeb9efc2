// What host and boards say to each other, as plain values. PROTOCOL.md beside this file gives the bytes and the rules; the
// names here are the names there.
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::wire {

inline constexpr std::uint8_t kVersion = 2;
inline constexpr std::uint8_t kEveryone = 0xFF;   ///< address: every board that has one
inline constexpr std::uint8_t kNoAddress = 0xFE;  ///< a board that waits for its address
inline constexpr std::uint8_t kUnasked = 0;       ///< token of what a board sends by itself; hosts use 1..255
inline constexpr int kMaxOutputs = 16;
inline constexpr int kMaxBlocks = 8;
inline constexpr int kMaxRails = 8;
inline constexpr int kMaxLines = 16;     ///< digital lines out, beside the servo outputs
inline constexpr int kMaxInputs = 16;    ///< digital lines in
inline constexpr int kMaxChannels = 8;   ///< auxiliary channels; each works one line or, as a code, several
inline constexpr int kMaxFirmwareText = 24;

/// Pulses and slews travel in sixteenths of a microsecond.
inline constexpr int kUnitsPerUs = 16;
inline constexpr std::uint16_t kPulseFloor = 400 * kUnitsPerUs;     ///< no servo takes less
inline constexpr std::uint16_t kPulseCeiling = 2600 * kUnitsPerUs;  ///< or more
inline constexpr std::uint16_t kPeriod_us = 20'000;       ///< from pulse to pulse, unless told otherwise: 50 Hz
inline constexpr std::uint16_t kShortestPeriod_us = 3'000;  ///< 333 Hz; and room for the longest pulse
inline constexpr std::uint16_t kLongestPeriod_us = 20'000;
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
  store_begin = 0x20,
  store_chunk = 0x21,
  store_commit = 0x22,
  ask_playback = 0x23,
  lead = 0x24,
  description = 0x81,
  acknowledgement = 0x82,
  state_report = 0x83,
  refusal = 0x84,
  playback = 0xA0,
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
  bad_value = 7,       ///< detail: the output whose limits or timing are absurd, 0x80 + channel, 0xFF for the watchdog's times
  unknown_output = 8,  ///< detail: the first output that the board lacks or was not told about
  bad_time = 9,        ///< a frame's latch time lies more than a second ahead
  queue_full = 10,     ///< more frames ahead than the board can keep
  unknown_channel = 11,  ///< detail: the channel that the board was not told about, or whose line it lacks
  no_room = 12,          ///< a baked show that is larger than the board can store, or stored without having begun
  store_failed = 13,     ///< the board's memory did not take it
};

/// Why a board last started.
enum class Start : std::uint8_t { power = 0, watchdog = 1, brown_out = 2, other = 3 };

/// Plain words, for people; "unknown" for a number that is none of these.
const char* name(Type type) noexcept;
const char* name(State state) noexcept;
const char* name(Reason reason) noexcept;
const char* name(Start start) noexcept;

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
  bool release = false; ///< the board gives its address up, once it has answered; not both
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

/// When the pulses of an output start: at shared times that leave phase_us when divided by period_us. An output that no Timing names
/// has 50 Hz and phase 0.
struct Timing {
  std::uint8_t output = 0;
  std::uint16_t period_us = kPeriod_us;
  std::uint16_t phase_us = 0;
};

enum class ChannelKind : std::uint8_t {
  onoff = 0,   ///< a line, on from value 128 up: a relay, a lamp
  dimmer = 1,  ///< a line, on for value / 255 of the time
  fan = 2,     ///< a line, on while the rail is hot, or from value 128 up
  code = 3,    ///< several lines that say a number in binary
};

enum class CodeOrder : std::uint8_t {
  gray = 0,    ///< the number in Gray code; it walks from number to number by one, each step one line and settle_ms long
  strobe = 1,  ///< the number in plain binary; valid while the strobe line is on, which goes off settle_ms before a change and comes
               ///< on settle_ms after it
};

/// An auxiliary channel: what stands beside the servos. Fields that its kind does not use are 0.
struct ChannelSetup {
  std::uint8_t channel = 0;
  ChannelKind kind = ChannelKind::onoff;
  std::uint8_t line = 0;       ///< the first, least significant one of a code
  std::uint8_t rest = 0;       ///< value while the board is not running
  std::uint8_t lines = 1;      ///< code: how many
  CodeOrder order = CodeOrder::gray;
  std::uint8_t strobe = 0;     ///< code: the strobe's line
  std::uint16_t settle_ms = 0; ///< code
  std::uint8_t rail = 0;       ///< fan: whose current is the heat; kEstimated: none is measured
  std::uint16_t draw_ma = 0;   ///< fan: what one moving output is taken to draw where nothing is measured
  std::uint16_t on_ma = 0, off_ma = 0;  ///< fan: smoothed current at which it starts and, lower, at which it stops
  std::uint8_t smooth_s = 0;   ///< fan: time constant of the smoothing
};
inline constexpr std::uint8_t kEstimated = 0xFF;

constexpr bool sane(const Timing& t) noexcept {
  return t.output < kMaxOutputs && t.period_us >= kShortestPeriod_us && t.period_us <= kLongestPeriod_us && t.phase_us < t.period_us;
}

/// The lines that a channel works, a bit each.
constexpr std::uint32_t lines_of(const ChannelSetup& c) noexcept {
  if (c.kind != ChannelKind::code) return 1u << c.line;
  return ((1u << c.lines) - 1) << c.line | (c.order == CodeOrder::strobe ? 1u << c.strobe : 0u);
}

/// False for what makes no sense: a line beyond kMaxLines, a code of no lines or more than 8 (numbers are one byte), a strobe among its
/// own code's lines, a rest that the code can't say, a fan that stops no lower than it starts.
constexpr bool sane(const ChannelSetup& c) noexcept {
  if (c.channel >= kMaxChannels || c.line >= kMaxLines || static_cast<int>(c.kind) > 3) return false;
  if (c.kind == ChannelKind::fan) return c.off_ma < c.on_ma && (c.rail < kMaxRails || c.rail == kEstimated) && c.smooth_s > 0;
  if (c.kind != ChannelKind::code) return true;
  if (c.lines < 1 || c.lines > 8 || c.line + c.lines > kMaxLines || c.rest >> c.lines != 0) return false;
  if (c.order == CodeOrder::gray) return true;
  return c.order == CodeOrder::strobe && c.strobe < kMaxLines && (c.strobe < c.line || c.strobe >= c.line + c.lines);
}

/// A board's configuration, or a part of it. Answer: Acknowledgement.
struct Configure {
  std::uint8_t address = 0, token = 0;
  bool first = true;  ///< forget what was told before
  bool last = true;   ///< complete: the board may be armed
  Watchdog watchdog;
  std::uint8_t count = 0;
  OutputLimits outputs[kMaxOutputs];
  std::uint8_t timings = 0;
  Timing timing[kMaxOutputs];
  std::uint8_t channels = 0;
  ChannelSetup channel[kMaxChannels];
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

/// host clock = board clock + offset + (board clock - board_us) * rate / 10^9, modulo 2^32. Answer: Acknowledgement.
struct Clock {
  std::uint8_t address = 0, token = 0;
  std::uint32_t board_us = 0;  ///< board clock at which the offset held; at most half an hour from now
  std::uint32_t offset_us = 0;
  std::int32_t rate_ppb = 0;   ///< by how much the host's clock runs faster, in parts per 10^9
};
inline constexpr std::int32_t kMostRate_ppb = 10'000'000;

/// One board's share of a frame. pulse[n] counts where bit n of mask is set, value[n] where bit n of channels is; not both are 0.
struct Block {
  std::uint8_t address = 0;
  std::uint16_t mask = 0;
  std::uint16_t pulse[kMaxOutputs] = {};
  std::uint8_t channels = 0;
  std::uint8_t value[kMaxChannels] = {};
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
  std::uint8_t outputs = 0, rails = 0, lines = 0, inputs = 0;
  std::uint8_t outputs_per_timer = 1;  ///< neighbours that share one period and phase: 1 or 2
  Start start = Start::power;
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
  std::uint32_t unrelayed = 0;  ///< what came from the board below and was not passed on: no packet, or no room for it
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

/// What a board has to complain of, a bit each.
enum Fault : std::uint8_t {
  kOverrun = 1,      ///< bytes were lost before they could be read
  kLowVoltage = 2,   ///< a rail is below what its servos need
  kOverCurrent = 4,  ///< reserved for a rail that gives more than it is rated for: boards aren't told ratings yet, so none sets it
  kHot = 8,          ///< a fan's rail is above its threshold
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
  std::uint16_t inputs = 0;    ///< levels of the digital inputs
  std::uint8_t faults = 0;     ///< Fault
};

struct Refusal {
  std::uint8_t address = 0, token = 0;
  std::uint8_t of = 0;  ///< type of what is refused, as it was received
  Reason reason = Reason::malformed;
  std::uint8_t detail = 0;  ///< see Reason; 0 where it names nothing
};

}  // namespace mien::wire
