// Whether a rail starves its servos, from its voltage as a board measures it.
#pragma once
#include <cstdint>

namespace mien::board {

struct RailLimits {
  std::uint16_t there_mv = 1'000;  ///< below it nothing is connected, as long as nothing ever was
  std::uint16_t low_mv = 4'500;
  std::uint16_t well_mv = 4'800;   ///< above low_mv: a battery recovers as soon as it is left alone
};

/// A rail is low once it stood below low_mv for kLow_us, and well again once it stood above well_mv for kWell_us. One that was there and is
/// switched off is low, too. Times are the board's microseconds, wrapping at 2^32.
class RailWatch {
 public:
  static constexpr std::uint32_t kLow_us = 20'000, kWell_us = 1'000'000;
  explicit RailWatch(const RailLimits& limits = {}) noexcept : limits_(limits) {}

  /// Call at least 10 times a second.
  void step(std::uint16_t voltage_mv, std::uint32_t now_us) noexcept {
    there_ = there_ || voltage_mv >= limits_.there_mv;
    const bool turning = there_ && (low_ ? voltage_mv > limits_.well_mv : voltage_mv < limits_.low_mv);
    if (!turning || !turning_) since_us_ = now_us;
    turning_ = turning;
    if (!turning || now_us - since_us_ < (low_ ? kWell_us : kLow_us)) return;
    low_ = !low_;
    turning_ = false;
  }
  bool low() const noexcept { return low_; }

 private:
  RailLimits limits_;
  std::uint32_t since_us_ = 0;  // when it began to turn
  bool there_ = false, low_ = false, turning_ = false;
};

}  // namespace mien::board
