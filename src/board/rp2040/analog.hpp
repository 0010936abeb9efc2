// The rail's voltage and current, from the chip's ADC.
#pragma once
#include <cstdint>

namespace mien::board::rp2040 {

/// Never waits for a conversion: each step() takes the one that the step before began. Readings are smoothed over some 16 of a channel.
/// Pins that nothing is connected to read 0: the chip pulls them down, the voltage's until it is there, for its divider would feel it.
class Analog {
 public:
  void start() noexcept;
  void step() noexcept;
  std::uint16_t voltage_mv() const noexcept;
  std::uint16_t current_ma() const noexcept;

 private:
  static constexpr int kChannels = 2;
  static constexpr int kVoltageEvery = 10;  // steps: a jam shows in the current at once, a servo's start must not pass for a low rail
  std::uint32_t sum_[kChannels] = {};  // 16 readings' worth
  bool seeded_[kChannels] = {};
  int channel_ = 0, turn_ = 0;
  bool begun_ = false, there_ = false;
};

}  // namespace mien::board::rp2040
