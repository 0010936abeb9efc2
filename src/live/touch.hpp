// What comes from a hand at a moment, and how it reaches the performing thread.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>

#include "live/midi.hpp"
#include "threads/ring.hpp"

namespace mien::live {

inline constexpr int kMostDevices = 16;
inline constexpr std::uint16_t kEveryAddress = 0xFFFF;

/// One thing that a device told.
struct Touch {
  enum class Kind : std::uint8_t {
    midi, axis, button,
    gone,        ///< the device was unplugged: what it held is let go
    osc,         ///< a message to an address; `number` as whoever listens counts addresses (HandProgram), `value` its first number
    slot,        ///< of a sACN universe, 1..512; `value` its level, 0..1
    let_go,      ///< what the address `number` held directly is let go; kEveryAddress: what all of them did
    osc_gone, slots_gone,  ///< who sent these is silent or was switched off: all that they held is given back to the show
  };
  std::int64_t at_ns = 0;    ///< threads::steady_ns() when it arrived
  std::uint8_t device = 0;   ///< by the order in which the program came to know devices (live/devices.hpp)
  Kind kind = Kind::midi;
  MidiMessage midi{};
  std::uint16_t number = 0;  ///< of the axis, button, address or slot
  float value = 0;           ///< axis: -1..1; button: 0 or 1
  friend bool operator==(const Touch&, const Touch&) = default;
};

/// From the devices' threads to the performing one: a ring for each device, so that no two threads push into the same. Never waits, never allocates.
class Inlet {
 public:
  /// A device's thread only: each device has one. False, and counted, when 1,023 touches wait already.
  bool push(const Touch& touch) noexcept {
    const bool room = touch.device < kMostDevices && rings_[touch.device].push(touch);
    if (!room) lost_.fetch_add(1, std::memory_order_relaxed);
    return room;
  }
  /// The performing thread only: each waiting touch to hear(touch), device by device, at most what waits now.
  template <class Hear>
  void drain(Hear hear) noexcept {
    for (auto& ring : rings_) {
      Touch touch;
      for (int n = 0; n < kRoom && ring.pop(touch); ++n) hear(touch);
    }
  }
  std::uint64_t lost() const noexcept { return lost_.load(std::memory_order_relaxed); }

 private:
  static constexpr int kRoom = 1024;
  std::array<threads::Ring<Touch, kRoom>, kMostDevices> rings_;
  std::atomic<std::uint64_t> lost_{0};
};

}  // namespace mien::live
