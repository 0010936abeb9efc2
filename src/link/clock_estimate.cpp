#include "link/clock_estimate.hpp"

#include <algorithm>
#include <cmath>

namespace mien::link {

void ClockEstimate::add(std::int64_t sent_us, std::uint32_t board_received_us, std::uint32_t board_sent_us,
                        std::int64_t received_us) noexcept {
  const auto spent = static_cast<std::int32_t>(board_sent_us - board_received_us);
  const auto round_trip = received_us - sent_us - spent;
  if (spent < 0 || round_trip < 0 || round_trip > 1'000'000) return;
  if (known() && jumped(sent_us, board_received_us, board_sent_us, received_us)) *this = {};
  if (total_ == 0) base_ = static_cast<std::uint32_t>(sent_us) - board_received_us;
  const auto forward = static_cast<std::int32_t>(board_received_us + base_ - static_cast<std::uint32_t>(sent_us));
  const auto backward = static_cast<std::int32_t>(static_cast<std::uint32_t>(received_us) - board_sent_us - base_);
  samples_[static_cast<std::size_t>(total_ % kWindow)] = {sent_us, received_us, static_cast<double>(forward), static_cast<double>(backward)};
  ++total_;
  if (total_ == 2'000'000 * kWindow) total_ = kWindow;  // the count matters only up to the window; keep it from overflowing
  fit();
}

// Nothing arrives before it was sent: that is a lower and an upper bound of the offset.
bool ClockEstimate::jumped(std::int64_t sent_us, std::uint32_t board_received_us, std::uint32_t board_sent_us, std::int64_t received_us) const noexcept {
  const std::uint32_t offset = offset_us(received_us);
  const auto above_least = static_cast<std::int32_t>(offset - (static_cast<std::uint32_t>(sent_us) - board_received_us));
  const auto below_most = static_cast<std::int32_t>(static_cast<std::uint32_t>(received_us) - board_sent_us - offset);
  return above_least < -kJump_us || below_most < -kJump_us;
}

ClockEstimate::Edges ClockEstimate::edges(double slope) const noexcept {
  Edges least{HUGE_VAL, HUGE_VAL};
  for (int i = 0; i < count(); ++i) {
    const Sample& s = samples_[static_cast<std::size_t>(i)];
    least.forward_us = std::min(least.forward_us, s.forward_us + slope * static_cast<double>(s.sent_us - middle_us_));
    least.backward_us = std::min(least.backward_us, s.backward_us - slope * static_cast<double>(s.received_us - middle_us_));
  }
  return least;
}

/// What a round trip takes beyond the least, on average.
double ClockEstimate::jitter_us() const noexcept {
  const Edges least = edges(0);
  double sum = 0;
  for (int i = 0; i < count(); ++i) {
    const Sample& s = samples_[static_cast<std::size_t>(i)];
    sum += s.forward_us + s.backward_us - least.forward_us - least.backward_us;
  }
  return sum / count();
}

// What both lines have to spare on average is a constant less their heights at the middle; the sum of these is concave in the slope.
void ClockEstimate::fit() noexcept {
  std::int64_t first = samples_[0].sent_us, last = first, sum = 0;
  for (int i = 0; i < count(); ++i) {
    const auto at_us = samples_[static_cast<std::size_t>(i)].sent_us;
    first = std::min(first, at_us), last = std::max(last, at_us);
    sum += at_us - samples_[0].sent_us;
  }
  middle_us_ = samples_[0].sent_us + sum / count();
  slope_ = 0;
  const auto span_us = static_cast<double>(last - first);
  if (span_us >= kLongEnough_us || (span_us >= kShortest_us && span_us >= kQuiet * jitter_us())) {
    const auto height = [&](double slope) {
      const auto e = edges(slope);
      return e.forward_us + e.backward_us;
    };
    double low = -kMaxDrift, high = kMaxDrift;
    for (int i = 0; i < 24; ++i) {  // to 0.05 ppm
      const double a = low + (high - low) / 3, b = high - (high - low) / 3;
      if (height(a) < height(b)) low = a;
      else high = b;
    }
    slope_ = (low + high) / 2;
  }
  const auto e = edges(slope_);
  delay_us_ = used_delay_us_ = (e.forward_us + e.backward_us) / 2;
  offset_us_ = delay_us_ - e.forward_us;
}

std::uint32_t ClockEstimate::offset_us(std::int64_t now_us) const noexcept {
  const double relative = offset_us_ + slope_ * static_cast<double>(now_us - middle_us_);
  return base_ + static_cast<std::uint32_t>(std::llround(relative));
}

double ClockEstimate::round_trip_us() const noexcept {
  double least = HUGE_VAL;
  for (int i = 0; i < count(); ++i) least = std::min(least, samples_[static_cast<std::size_t>(i)].forward_us + samples_[static_cast<std::size_t>(i)].backward_us);
  return least;
}

}  // namespace mien::link
