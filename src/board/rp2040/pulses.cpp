#include "board/rp2040/pulses.hpp"

#include "board/rp2040/chip.hpp"
#include "board/rp2040/pins.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr int kSlices = 8;
constexpr std::int32_t kMostSteering_us = 100;
constexpr std::int32_t kPeriod = static_cast<std::int32_t>(Pulses::kPeriod_us);

std::uint32_t whole_us(std::uint16_t sixteenths) noexcept { return (sixteenths + 8u) >> 4; }

}  // namespace

void Pulses::start(std::uint32_t now_us) noexcept {
  for (int n = 0; n < kSlices; ++n) {
    const std::uint32_t slice = pwm::slice(n);
    at(slice + pwm::kControl) = 0;
    at(slice + pwm::kDivisor) = (kSystem_hz / 1'000'000u) << 4;
    at(slice + pwm::kCounter) = 0;
    at(slice + pwm::kCompare) = 0;
    at(slice + pwm::kTop) = kPeriod_us - 1;
  }
  for (int n = 0; n < pins::kServos; ++n) connect(pins::kFirstServo + n, io::kPwm, Pull::down);
  at(pwm::kEnableAll) = 0xFF;  // all at once, so that they stay in step
  wrap_us_ = now_us + kPeriod_us;
}

void Pulses::renew(const std::uint16_t (&width)[16], const SharedTime& shared, std::uint32_t now_us) noexcept {
  bool driven = false;
  for (int n = 0; n < kSlices; ++n) {
    at(pwm::slice(n) + pwm::kCompare) = whole_us(width[2 * n]) | whole_us(width[2 * n + 1]) << 16;
    driven = driven || width[2 * n] != 0 || width[2 * n + 1] != 0;
  }
  const std::uint32_t wrap_us = now_us + period_us_ - at(pwm::slice(0) + pwm::kCounter);
  const std::uint32_t next = period_after(wrap_us, shared, driven || driven_);
  for (int n = 0; n < kSlices; ++n) at(pwm::slice(n) + pwm::kTop) = next - 1;
  period_us_ = next;
  driven_ = driven;
  wrap_us_ = wrap_us + next;
}

std::uint32_t Pulses::period_after(std::uint32_t wrap_us, const SharedTime& shared, bool driven) const noexcept {
  if (!shared.known) return kPeriod_us;
  std::int32_t early = -static_cast<std::int32_t>((wrap_us + shared.ahead_us) % kPeriod_us);
  if (early <= -kPeriod / 2) early += kPeriod;  // by how much the wrap should have come later: -9999 .. 10000
  if (driven) early = early > kMostSteering_us ? kMostSteering_us : early < -kMostSteering_us ? -kMostSteering_us : early;
  return static_cast<std::uint32_t>(kPeriod + early);
}

}  // namespace mien::board::rp2040
