// How a board's clock stands to ours, from round trips of heartbeats.
#pragma once
#include <array>
#include <cstdint>

namespace mien::link {

/// Each round trip gives an offset that is wrong by at most half of the time spent on the line (Cristian 1989, "Probabilistic
/// clock synchronization"); the quickest round trip of the recent past is the one to believe (the clock filter of RFC 5905,
/// section 10), carried on to the present by the drift seen between the quickest of earlier stretches.
/// Board times are microseconds modulo 2^32, ours are whole; host = board + offset, modulo 2^32.
class ClockEstimate {
 public:
  /// The four times of a heartbeat: sent by us, received and answered by the board, answer received by us. Round trips that
  /// can't be (negative, or longer than a second) are ignored.
  void add(std::int64_t sent_us, std::uint32_t board_received_us, std::uint32_t board_sent_us, std::int64_t received_us) noexcept;

  /// Enough round trips to rely on one having been quick.
  bool known() const noexcept { return total_ >= kEnough; }
  int samples() const noexcept { return total_; }
  /// Precondition for the next two: at least one sample.
  std::uint32_t offset_us(std::int64_t now_us) const noexcept;
  double round_trip_us() const noexcept;
  /// How much faster our clock runs than the board's, in parts per million; 0 until it is known.
  double drift_ppm() const noexcept;

 private:
  static constexpr int kEnough = 5, kWindow = 64, kStretches = 8;
  static constexpr double kMaxDriftPpm = 500;  ///< crystals stay within 100, ceramic resonators within 5000 but wander
  struct Sample {
    std::int64_t time_us = 0;
    double relative_us = 0;  ///< offset less base_
    double round_trip_us = 0;
  };
  const Sample& best() const noexcept;

  std::uint32_t base_ = 0;
  int total_ = 0;
  std::array<Sample, kWindow> recent_{};
  std::array<Sample, kStretches> stretches_{};  ///< the best of each full window
  int stretch_count_ = 0;
};

}  // namespace mien::link
