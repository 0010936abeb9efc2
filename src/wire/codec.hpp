// Messages to bytes and back. encode() writes a whole packet as it goes on the line (CRC, COBS, delimiter) and returns its
// size; 0 where `capacity` is too small (kMaxOnWire always suffices) or the message breaks a rule that its decoder checks.
// decode() takes what Deframer hands out and is false, with `out` unspecified, unless every length and every value fits.
#pragma once
#include "wire/framing.hpp"
#include "wire/messages.hpp"

namespace mien::wire {

enum class Reading : std::uint8_t {
  ok,
  other_version,  ///< well formed, but of a protocol version that this code doesn't speak: refuse, don't interpret
  malformed,      ///< too short to be a packet of any version
};

/// The first bytes of a packet, whose place never changes from version to version.
Reading read_head(Bytes packet, Head& out) noexcept;

std::size_t encode(const Hello&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Configure&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Order&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Heartbeat&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Clock&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Frame&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Description&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Acknowledgement&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const StateReport&, std::uint8_t* out, std::size_t capacity) noexcept;
std::size_t encode(const Refusal&, std::uint8_t* out, std::size_t capacity) noexcept;

bool decode(Bytes packet, Hello& out) noexcept;
bool decode(Bytes packet, Configure& out) noexcept;
bool decode(Bytes packet, Order& out) noexcept;
bool decode(Bytes packet, Heartbeat& out) noexcept;
bool decode(Bytes packet, Clock& out) noexcept;
bool decode(Bytes packet, Frame& out) noexcept;
bool decode(Bytes packet, Description& out) noexcept;
bool decode(Bytes packet, Acknowledgement& out) noexcept;
bool decode(Bytes packet, StateReport& out) noexcept;
bool decode(Bytes packet, Refusal& out) noexcept;

/// What host and board compare to know whether they mean the same configuration: the CRC of the watchdog's times, of each output's
/// limits and timing, and of each channel, in rising order; PROTOCOL.md, "81 description".
class Checksum {
 public:
  void add(const Watchdog& watchdog) noexcept;
  void add(const OutputLimits& limits, const Timing& timing) noexcept;
  void add(const ChannelSetup& channel) noexcept;
  std::uint16_t value() const noexcept { return crc_; }

 private:
  std::uint16_t crc_ = 0xFFFF;
};

/// The same of a whole configuration in one message, outputs and channels in rising order.
std::uint16_t checksum(const Configure& whole) noexcept;

}  // namespace mien::wire
