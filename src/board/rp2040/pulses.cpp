#include "board/rp2040/pulses.hpp"

#include "board/rp2040/chip.hpp"
#include "board/rp2040/pins.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr std::uint32_t kFirstPeriod_us = 20'000;
constexpr std::int32_t kSteeringShare = 200;  // of the period, while driven

std::uint32_t whole_us(std::uint16_t sixteenths) noexcept { return (sixteenths + 8u) >> 4; }

/// By how much the coming period has to be longer than usual, to end where a pulse is to start.
std::int32_t steering(std::int32_t until_us, std::int32_t period_us, bool driven) noexcept {
  const std::int32_t longer = until_us > period_us / 2 ? until_us - period_us : until_us;
  if (!driven) return longer;
  const std::int32_t most = period_us / kSteeringShare;
  return longer > most ? most : longer < -most ? -most : longer;
}

}  // namespace

void Pulses::start(std::uint32_t now_us) noexcept {
  for (int n = 0; n < kPairs; ++n) {
    const std::uint32_t slice = pwm::slice(n);
    at(slice + pwm::kControl) = 0;
    at(slice + pwm::kDivisor) = (kSystem_hz / 1'000'000u) << 4;  // counts microseconds
    at(slice + pwm::kCounter) = 0;
    at(slice + pwm::kCompare) = 0;
    at(slice + pwm::kTop) = kFirstPeriod_us - 1;
    period_us_[n] = kFirstPeriod_us;
    wrap_us_[n] = now_us + kFirstPeriod_us;
  }
  for (int n = 0; n < pins::kServos; ++n) connect(pins::kFirstServo + n, io::kPwm, Pull::down);
  at(pwm::kEnableAll) = 0xFF;  // all at once, so that they start in step
}

std::uint32_t Pulses::due_us() const noexcept {
  std::uint32_t first = wrap_us_[0];
  for (int n = 1; n < kPairs; ++n)
    if (static_cast<std::int32_t>(wrap_us_[n] - first) < 0) first = wrap_us_[n];
  return first - kLead_us;
}

std::uint32_t Pulses::wrap_us(int pair) const noexcept {
  const Undisturbed undisturbed;  // the two readings belong together
  return now_us() + period_us_[pair] - at(pwm::slice(pair) + pwm::kCounter);
}

void Pulses::renew(int pair, const PairPulses& pulses, std::uint32_t until_us, std::uint32_t wrap_us) noexcept {
  const std::uint32_t slice = pwm::slice(pair);
  at(slice + pwm::kCompare) = whole_us(pulses.width[0]) | whole_us(pulses.width[1]) << 16;
  const bool driven = pulses.width[0] != 0 || pulses.width[1] != 0;
  const auto period = static_cast<std::int32_t>(pulses.period_us);
  const std::int32_t next = period + steering(static_cast<std::int32_t>(until_us), period, driven || driven_[pair]);
  at(slice + pwm::kTop) = static_cast<std::uint32_t>(next - 1);
  period_us_[pair] = static_cast<std::uint32_t>(next);
  driven_[pair] = driven;
  wrap_us_[pair] = wrap_us + period_us_[pair];
}

}  // namespace mien::board::rp2040
