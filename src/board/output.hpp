// One servo output: where its pulse is, where it is going, and how fast it may get there.
#pragma once
#include <cstdint>

#include "wire/messages.hpp"

namespace mien::board {

/// Moves a pulse toward its target within the output's range and slew limit. The limit counts from one change of the pulse
/// to the next: what the pulse may travel adds up while it stands, for 20 ms at most (a servo sees one pulse in that time),
/// so a setpoint that keeps to the limit is reached the moment it is latched, and one that doesn't is crept to.
/// Sampled at the moments of its changes, no pulse ever moves faster than the limit.
class Output {
 public:
  void configure(const wire::OutputLimits& limits) noexcept;
  void configure(const wire::Timing& timing) noexcept { timing_ = timing; }
  void forget() noexcept { configured_ = false, timing_ = wire::Timing{}; }
  bool configured() const noexcept { return configured_; }
  const wire::OutputLimits& limits() const noexcept { return limits_; }
  const wire::Timing& timing() const noexcept { return timing_; }

  /// Drives the output toward a pulse; true when that had to be pulled back into the range. The first pulse ever starts at
  /// rest, later ones where the output was last.
  bool aim(std::uint16_t pulse) noexcept;
  void aim_at_rest() noexcept;  ///< where driven, at an eighth of the slew limit
  void stay() noexcept;         ///< where it is now; and takes back what travel had added up
  void silence() noexcept { driven_ = false; }

  void accrue(std::uint32_t elapsed_us) noexcept;
  /// True when the slew limit held back a target that was set since the last call.
  bool move() noexcept;

  bool driven() const noexcept { return driven_; }
  bool known() const noexcept { return known_; }
  bool arrived() const noexcept { return !driven_ || position_ == target_; }
  std::uint16_t pulse() const noexcept { return driven_ ? position_ : std::uint16_t{0}; }
  std::uint16_t position() const noexcept { return position_; }  ///< now or last; 0 unless known()

 private:
  wire::OutputLimits limits_;
  wire::Timing timing_;
  std::uint64_t rate_ = 0;    // units per microsecond, 32 fractional bits: no division at run time
  std::uint64_t credit_ = 0;  // units it may travel, 32 fractional bits
  std::uint16_t position_ = 0, target_ = 0;
  bool configured_ = false, driven_ = false, known_ = false, gentle_ = false, fresh_ = false;
};

}  // namespace mien::board
