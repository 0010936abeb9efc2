// Servo pulses from the chip's PWM: 16 outputs in 8 pairs, 1 us steps, each pair with its own period, in step with a clock.
#pragma once
#include <cstdint>

namespace mien::board::rp2040 {

inline constexpr int kPairs = 8;

/// What a pair of outputs is to do in its coming period.
struct PairPulses {
  std::uint16_t width[2] = {};   ///< in 1/16 us, rounded to whole microseconds; 0: silence
  std::uint32_t period_us = 0;   ///< from pulse to pulse
};

/// A pulse starts when its counter wraps, and what the counter is compared with is taken over at the wrap (datasheet 4.5.2.3). So
/// widths are handed over shortly before each wrap, and boards move together only if their wraps coincide. Each wrap is steered to
/// where the shared clock wants it by making the period before it longer or shorter: by half a percent at most while an output
/// is driven (a servo measures the pulse, not the pause), by all that is needed while none is.
class Pulses {
 public:
  static constexpr std::uint32_t kLead_us = 300;  ///< before a wrap at which widths for it are due

  /// All silent, 50 Hz.
  void start(std::uint32_t now_us) noexcept;
  /// When renew() for this pair is due: call it between then and kLead_us later. A later call costs one period of delay, nothing else.
  std::uint32_t due_us(int pair) const noexcept { return wrap_us_[pair] - kLead_us; }
  std::uint32_t due_us() const noexcept;  ///< of the pair that is due first
  /// When the pair's running period ends.
  std::uint32_t wrap_us(int pair) const noexcept;
  /// For the period after that wrap. `until_us`: from that wrap to the moment at which a pulse is to start, 1..period_us.
  void renew(int pair, const PairPulses& pulses, std::uint32_t until_us, std::uint32_t wrap_us) noexcept;

 private:
  std::uint32_t wrap_us_[kPairs] = {};    // expected end of the period for which widths are still to come
  std::uint32_t period_us_[kPairs] = {};  // of the counter now, or from its next wrap on
  bool driven_[kPairs] = {};
};

}  // namespace mien::board::rp2040
