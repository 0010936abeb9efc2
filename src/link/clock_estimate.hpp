// How a board's clock stands to ours, from round trips of heartbeats.
#pragma once
#include <array>
#include <cstdint>

namespace mien::link {

/// Each way takes some least time and, by chance, more: a thread that slept, a packet before it. So of all times seen in one
/// direction only those at the lower edge say anything, and the edge of each direction is found by itself: the two parallel lines
/// that touch the forward and the backward times from below and have the least to spare on average. Half way between them lies the
/// offset, their slope is the drift. (Moon, Skelly & Towsley 1999, "Estimation and removal of clock skew from network delay
/// measurements", with one slope for both directions.) What remains is half of the difference between the two least times.
/// Board times are microseconds modulo 2^32, ours are whole; host = board + offset, modulo 2^32.
class ClockEstimate {
 public:
  /// The four times of a heartbeat: sent by us, received and answered by the board, answer received by us. Round trips that
  /// can't be (negative, or longer than a second) are ignored. One that can't be with the offset that was known, however long each way took, says that the board's clock
  /// jumped, or that ours stood still, as in a suspended computer: all that came before it is forgotten.
  void add(std::int64_t sent_us, std::uint32_t board_received_us, std::uint32_t board_sent_us, std::int64_t received_us) noexcept;

  /// Enough round trips to rely on one having been quick.
  bool known() const noexcept { return total_ >= kEnough; }
  /// Enough of them to bridge seconds, so that they need not come fast any more.
  bool settled() const noexcept { return total_ >= kSettled; }
  int samples() const noexcept { return total_; }
  /// Precondition for the next two: at least one sample.
  std::uint32_t offset_us(std::int64_t now_us) const noexcept;
  double round_trip_us() const noexcept;  ///< the quickest of the recent past
  /// Half of the quickest round trip: how long the way out takes where the way back takes as long.
  double delay_us() const noexcept { return delay_us_; }
  /// How long the way out takes where that is known better; until the next add().
  void set_delay_us(double delay_us) noexcept { offset_us_ += delay_us - used_delay_us_, used_delay_us_ = delay_us; }
  /// How much faster our clock runs than the board's, in parts per million; 0 until it is known.
  double drift_ppm() const noexcept { return slope_ * 1e6; }

 private:
  static constexpr int kEnough = 5, kSettled = 32, kWindow = 512;
  static constexpr double kMaxDrift = 500e-6;  ///< crystals stay within 100 ppm, ceramic resonators within 5000 but wander
  /// Over too short a time jitter passes for drift, so it counts as 0 until kLongEnough_us; on a quiet line, where the way there and back takes
  /// less than a part in kQuiet of that time more than the least on average, from kShortest_us on.
  static constexpr double kShortest_us = 0.5e6, kLongEnough_us = 2e6, kQuiet = 5000;
  struct Sample {
    std::int64_t sent_us = 0, received_us = 0;
    double forward_us = 0;   ///< board received less we sent, as if the offset were base_: the time out less the offset
    double backward_us = 0;  ///< we received less board sent: the time back plus the offset
  };
  struct Edges {
    double forward_us, backward_us;  ///< at the middle of the window
  };
  static constexpr std::int32_t kJump_us = 5000;  ///< less than that is drift that was not known yet
  bool jumped(std::int64_t sent_us, std::uint32_t board_received_us, std::uint32_t board_sent_us, std::int64_t received_us) const noexcept;
  int count() const noexcept { return total_ < kWindow ? total_ : kWindow; }
  Edges edges(double slope) const noexcept;
  double jitter_us() const noexcept;
  void fit() noexcept;

  std::uint32_t base_ = 0;
  int total_ = 0;
  std::array<Sample, kWindow> samples_{};
  std::int64_t middle_us_ = 0;  ///< mean time of the samples
  double slope_ = 0, offset_us_ = 0;  ///< at the middle, less base_
  double delay_us_ = 0, used_delay_us_ = 0;
};

}  // namespace mien::link
