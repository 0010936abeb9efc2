#include "board/rp2040/analog.hpp"

#include "board/rp2040/chip.hpp"
#include "board/rp2040/pins.hpp"

namespace mien::board::rp2040 {
namespace {

std::uint16_t scaled(std::uint32_t sum, std::uint32_t full) noexcept {
  return static_cast<std::uint16_t>((sum >> 4) * full / 4095u);
}

}  // namespace

void Analog::start() noexcept {
  constexpr int kInputs[] = {pins::kRailVoltage, pins::kRailCurrent};
  for (const int gpio : kInputs) {
    at(io::pad(gpio)) = io::kPullDown;  // no digital input (4.9.2)
    at(io::control(gpio)) = io::kNothing;
  }
  at(adc::kControl) = adc::kEnable;
}

void Analog::step() noexcept {
  if ((at(adc::kControl) & adc::kReady) == 0) return;
  if (begun_) {
    const std::uint32_t reading = at(adc::kResult) & 0xFFFu;
    sum_[channel_] = seeded_[channel_] ? sum_[channel_] - (sum_[channel_] >> 4) + reading : reading << 4;
    seeded_[channel_] = true;
    if (!there_ && voltage_mv() >= pins::kRail.there_mv) {
      there_ = true;
      at(io::pad(pins::kRailVoltage)) = 0;
      seeded_[0] = false;  // what it read so far was too little
    }
    turn_ = (turn_ + 1) % kVoltageEvery;
    channel_ = turn_ == 0 ? 0 : 1;
  }
  begun_ = true;
  at(adc::kControl) = adc::kEnable | adc::kStart | static_cast<unsigned>(channel_) << 12;
}

std::uint16_t Analog::voltage_mv() const noexcept { return scaled(sum_[0], pins::kFullVoltage_mv); }
std::uint16_t Analog::current_ma() const noexcept { return scaled(sum_[1], pins::kFullCurrent_ma); }

}  // namespace mien::board::rp2040
