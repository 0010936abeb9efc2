// What waits to be written: a few packets in order, of which old frames give way to new ones and everything gives way to a stop.
#pragma once
#include <array>
#include <cstdint>
#include <deque>
#include <span>

#include "wire/framing.hpp"

namespace mien::link {

class Outbox {
 public:
  /// Commands queue. Beyond kMaxPackets the oldest that is not half written is dropped: such a line carries nothing anyway.
  void put(std::span<const std::uint8_t> packet) { put(packet, false); }
  /// At most kMaxFrames wait: the oldest gives way and counts as dropped, for a late frame is worth less than the newest.
  void put_frame(std::span<const std::uint8_t> packet) { put(packet, true); }
  /// Ahead of everything: what waits is forgotten (frames among it count as dropped), and a packet cut short is ended by a delimiter.
  void put_first(std::span<const std::uint8_t> packet);

  /// The bytes to write next; empty when nothing waits.
  std::span<const std::uint8_t> front() const noexcept;
  /// `count` bytes of front() were written. True when that completed a frame.
  bool wrote(std::size_t count);
  bool empty() const noexcept { return packets_.empty(); }
  /// Forgets what waits, as when the port it was for is gone. Frames count as dropped.
  void clear();
  std::uint64_t frames_dropped() const noexcept { return frames_dropped_; }

 private:
  static constexpr std::size_t kMaxFrames = 3, kMaxPackets = 64;
  struct Packet {
    std::array<std::uint8_t, wire::kMaxOnWire> bytes;
    std::size_t size;
    bool frame;
  };
  void put(std::span<const std::uint8_t> packet, bool frame);
  void drop_oldest(bool frames_only);

  std::deque<Packet> packets_;
  std::size_t written_ = 0;  ///< bytes of the first packet that are gone
  std::uint64_t frames_dropped_ = 0;
};

}  // namespace mien::link
