// Where the link tells the performing thread that the boards are armed, and from where the head starts.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>

#include "link/session.hpp"

namespace mien::link {

/// One writer, any number of readers, no lock. A reader never waits for the writer, not even for one that was put to sleep in the
/// middle of its work: the pulses of the next epoch go where those of the present one are not, and become the present ones by one store.
class ArmedSlot {
 public:
  /// A new epoch, never 0.
  void arm(const std::array<std::uint16_t, show::kMaxActuators>& pulse) noexcept {
    newest_ = newest_ + 1 == 0 ? 1 : newest_ + 1;
    auto& slot = slots_[newest_ & 1];
    for (std::size_t i = 0; i < pulse.size(); ++i) slot[i].store(pulse[i], std::memory_order_release);
    epoch_.store(newest_, std::memory_order_release);
  }
  void disarm() noexcept { epoch_.store(0, std::memory_order_release); }
  std::uint32_t epoch() const noexcept { return epoch_.load(std::memory_order_acquire); }

  Armed read() const noexcept {
    Armed armed;
    // A slot changes under a reader only when two armings (each takes round trips to every board) happen while it reads; then
    // the epoch tells. The acquiring loads keep the second look at it behind them.
    while ((armed.epoch = epoch()) != 0) {
      const auto& slot = slots_[armed.epoch & 1];
      for (std::size_t i = 0; i < armed.pulse.size(); ++i) armed.pulse[i] = slot[i].load(std::memory_order_acquire);
      if (epoch() == armed.epoch) return armed;
    }
    return {};
  }

 private:
  std::array<std::array<std::atomic<std::uint16_t>, show::kMaxActuators>, 2> slots_{};
  std::atomic<std::uint32_t> epoch_{0};
  std::uint32_t newest_ = 0;  ///< the writer's own
};

}  // namespace mien::link
