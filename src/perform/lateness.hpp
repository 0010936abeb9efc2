// How late ticks begin: percentiles over the last ten seconds from counts in logarithmic classes. A value of fixed size, made for the
// performing thread.
#pragma once
#include <array>
#include <cstdint>

namespace mien::perform {

/// Lateness in microseconds; a tick is missed when its successor was already due.
struct Lateness {
  double p50_us = 0, p99_us = 0, max_us = 0;  ///< percentiles of the last 10 s, to one part in 8; the greatest of all
  std::uint64_t ticks = 0, missed = 0;
  bool realtime = false;  ///< whether the system gave the thread real-time priority
};

class LatenessMeter {
 public:
  void add(double late_us, bool missed) noexcept;
  /// Ten calls span the window over which percentiles are taken.
  void next_second() noexcept;
  Lateness result(bool realtime) const noexcept;

 private:
  static constexpr int kClasses = 8 * 24;  // eight to the octave, 1 us .. 16 s
  using Counts = std::array<std::uint32_t, kClasses>;
  std::array<Counts, 10> seconds_{};
  std::size_t now_ = 0;
  double max_us_ = 0;
  std::uint64_t ticks_ = 0, missed_ = 0;
};

}  // namespace mien::perform
