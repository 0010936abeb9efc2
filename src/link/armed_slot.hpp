// Where the link tells the performing thread that the boards are armed, and from where the head starts.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>

#include "link/session.hpp"

namespace mien::link {

/// One writer, any number of readers, no lock. A reader never waits for the writer, not even for one that was put to sleep in the
/// middle of its work: what is said next goes where what is said now is not, and becomes the present by one store.
class ArmedSlot {
 public:
  using Pulses = std::array<std::uint16_t, show::kMaxActuators>;

  /// A new epoch, never 0.
  void arm(const Pulses& pulse) noexcept {
    newest_epoch_ = newest_epoch_ + 1 == 0 ? 1 : newest_epoch_ + 1;
    said_ = Armed{};
    said_.epoch = newest_epoch_;
    said_.pulse = pulse;
    say();
  }
  /// Some actuators (a bit each) joined in the present epoch, standing at these pulses. The new value of joins. Only while armed.
  std::uint32_t join(std::uint64_t actuators, const Pulses& pulse) noexcept {
    ++said_.joins;
    for (std::size_t i = 0; i < pulse.size(); ++i)
      if ((actuators >> i & 1) != 0) said_.pulse[i] = pulse[i], said_.joined[i] = said_.joins;
    say();
    return said_.joins;
  }
  void disarm() noexcept { now_.store(0, std::memory_order_release); }
  std::uint32_t epoch() const noexcept { return static_cast<std::uint32_t>(now_.load(std::memory_order_acquire) >> 32); }

  Armed read() const noexcept {
    Armed armed;
    // A slot changes under a reader only when two things are said (each takes round trips to a board) while it reads; then the
    // second look tells. The acquiring loads keep it behind them.
    for (std::uint64_t now = 0; (now = now_.load(std::memory_order_acquire)) != 0;) {
      const auto& slot = slots_[now & 1];
      armed.epoch = static_cast<std::uint32_t>(now >> 32);
      armed.joins = slot.joins.load(std::memory_order_acquire);
      for (std::size_t i = 0; i < armed.pulse.size(); ++i) {
        armed.pulse[i] = slot.pulse[i].load(std::memory_order_acquire);
        armed.joined[i] = slot.joined[i].load(std::memory_order_acquire);
      }
      if (now_.load(std::memory_order_acquire) == now) return armed;
    }
    return {};
  }

 private:
  struct Slot {
    std::atomic<std::uint32_t> joins{0};
    std::array<std::atomic<std::uint16_t>, show::kMaxActuators> pulse{};
    std::array<std::atomic<std::uint32_t>, show::kMaxActuators> joined{};
  };
  void say() noexcept {
    ++version_;
    auto& slot = slots_[version_ & 1];
    slot.joins.store(said_.joins, std::memory_order_release);
    for (std::size_t i = 0; i < said_.pulse.size(); ++i) {
      slot.pulse[i].store(said_.pulse[i], std::memory_order_release);
      slot.joined[i].store(said_.joined[i], std::memory_order_release);
    }
    now_.store(std::uint64_t{said_.epoch} << 32 | version_, std::memory_order_release);
  }

  std::array<Slot, 2> slots_;
  std::atomic<std::uint64_t> now_{0};  ///< epoch above, version below; 0 while not armed
  // The writer's own.
  Armed said_;
  std::uint32_t newest_epoch_ = 0, version_ = 0;
};

}  // namespace mien::link
