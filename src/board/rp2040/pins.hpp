// Which pin does what. The README of src/board has the same table for people; change both.
#pragma once
#include <cstdint>

#include "board/rail_watch.hpp"

namespace mien::board::rp2040::pins {

// Output n is GPIO n: one side of the common 40-pin module. GPIO n and n + 16 share one PWM channel (datasheet 4.5.2), so the
// other pins below can't be servos as well.
inline constexpr int kFirstServo = 0, kServos = 16;

inline constexpr int kUpstreamTransmit = 16, kUpstreamReceive = 17;      ///< UART0: the host, or the board before
inline constexpr int kDownstreamTransmit = 20, kDownstreamReceive = 21;  ///< UART1: the next board
inline constexpr int kLines = 3, kLine[kLines] = {18, 19, 22};            ///< digital lines out, each from when a channel takes it
/// Digital lines in; open reads as off. The header has no pins to spare: a line that no channel takes is an input.
inline constexpr int kInputs = 4, kInput[kInputs] = {28, 18, 19, 22};
inline constexpr int kFirstLineInput = 1;  ///< input kFirstLineInput + n is line n
inline constexpr int kLight = 25;                                         ///< the module's own light
inline constexpr int kRailVoltage = 26, kRailCurrent = 27;                ///< ADC 0 and 1

inline constexpr std::uint32_t kBaud = 1'000'000;

/// What a full reading of 3.3 V stands for: a divider of 30 k over 10 k, and a current sensor that gives 100 mV for 1 A.
inline constexpr std::uint32_t kFullVoltage_mv = 13'200, kFullCurrent_ma = 33'000;
/// A rail that is connected at all and below 4.5 V starves its servos (common practice: 4.8 V types stop pulling near here).
inline constexpr RailLimits kRail{1'000, 4'500, 4'800};

}  // namespace mien::board::rp2040::pins
