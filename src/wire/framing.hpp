// Packets on a byte pipe: packet and CRC, stuffed by COBS, ended by a zero byte. PROTOCOL.md, "Framing".
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::wire {

inline constexpr std::uint8_t kDelimiter = 0x00;
inline constexpr std::uint8_t kGiveUp = 0xFF;  ///< before a delimiter: no COBS can end so but by a data byte
inline constexpr std::size_t kMinPacket = 2;    ///< version and type
inline constexpr std::size_t kMaxPacket = 248;  ///< version to the last byte of the body
inline constexpr std::size_t kCrcSize = 2;
inline constexpr std::size_t kMaxOnWire = kMaxPacket + kCrcSize + 2;  ///< with COBS code byte and delimiter

/// Bytes that someone else keeps.
struct Bytes {
  const std::uint8_t* data = nullptr;
  std::size_t size = 0;
};

/// Writes packet, CRC, COBS and delimiter to `out`; the size on the wire, or 0 where the packet is too short or too long or
/// `capacity` doesn't hold it. `out` may be as small as the answer.
std::size_t seal(Bytes packet, std::uint8_t* out, std::size_t capacity) noexcept;

/// Finds packets in whatever arrives, a byte at a time. What is no packet is dropped and counted, and the next delimiter
/// starts afresh: garbage costs at most the packet that it runs into. Delimiters in a row are no error.
class Deframer {
 public:
  struct Counters {
    std::uint32_t packets = 0;    ///< good ones
    std::uint32_t bad_crc = 0;    ///< right shape, wrong CRC
    std::uint32_t malformed = 0;  ///< no COBS, or too short to hold anything
    std::uint32_t overlong = 0;   ///< longer than any packet
    std::uint32_t given_up = 0;   ///< ended by kGiveUp and a delimiter: whoever passed it on took it back
  };

  /// True when this byte completed a packet; then packet() holds it, without CRC, until the next push.
  bool push(std::uint8_t byte) noexcept;
  Bytes packet() const noexcept { return {buffer_, packet_size_}; }
  const Counters& counters() const noexcept { return counters_; }
  /// Forgets a half-received packet, not the counters; for a pipe that was closed and opened again.
  void reset() noexcept { *this = Deframer(counters_); }

  Deframer() = default;

 private:
  explicit Deframer(const Counters& counters) noexcept : counters_(counters) {}
  bool finish() noexcept;

  static constexpr std::size_t kRoom = kMaxOnWire - 1;  // the longest packet, stuffed; decoding happens in place
  std::uint8_t buffer_[kRoom] = {};
  std::size_t filled_ = 0;
  std::size_t packet_size_ = 0;
  bool overlong_ = false;
  Counters counters_;
};

}  // namespace mien::wire
