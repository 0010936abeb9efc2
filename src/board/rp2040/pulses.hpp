// Servo pulses from the chip's PWM: 16 outputs, 1 us steps, periods locked to the clock that all boards share.
#pragma once
#include <cstdint>

namespace mien::board::rp2040 {

/// What the pulses are kept in step with.
struct SharedTime {
  bool known = false;
  std::uint32_t ahead_us = 0;  ///< shared clock = own clock + this, modulo 2^32
};

/// A pulse starts when its counter wraps, and what it compares with is taken over at the wrap (datasheet 4.5.2.3). So widths
/// are handed over shortly before each wrap, and boards move together only if their wraps coincide. With a shared clock every
/// wrap is steered to its whole multiples of the period: by making periods longer or shorter by 100 us at most while an output
/// is driven (a servo measures the pulse, not the pause), at once while none is.
class Pulses {
 public:
  static constexpr std::uint32_t kPeriod_us = 20'000;
  static constexpr std::uint32_t kLead_us = 300;  ///< before a wrap at which widths for it are handed over

  /// All silent.
  void start(std::uint32_t now_us) noexcept;
  /// When renew() wants to be called next.
  std::uint32_t due_us() const noexcept { return wrap_us_ - kLead_us; }
  /// Widths in 1/16 us for the coming period, 0 for silence; rounded to whole microseconds. Call between due_us() and the wrap;
  /// later calls cost one period of delay and nothing else.
  void renew(const std::uint16_t (&width)[16], const SharedTime& shared, std::uint32_t now_us) noexcept;

 private:
  std::uint32_t period_after(std::uint32_t wrap_us, const SharedTime& shared, bool driven) const noexcept;

  std::uint32_t wrap_us_ = 0;  // when the running period ends
  std::uint32_t period_us_ = kPeriod_us;
  bool driven_ = false;
};

}  // namespace mien::board::rp2040
