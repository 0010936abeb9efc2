// The registers of the RP2040 that this port uses, by the sections of the RP2040 datasheet (Raspberry Pi Ltd) that describe
// them. Numbers are written from those tables; nothing of a vendor's SDK is used.
#pragma once
#include <cstdint>

namespace mien::board::rp2040 {

using Register = volatile std::uint32_t;

inline Register& at(std::uint32_t address) noexcept { return *reinterpret_cast<Register*>(address); }

/// 2.1.2 Atomic register access: a write to the same register 0x2000 or 0x3000 higher sets or clears its bits.
inline void set_bits(std::uint32_t address, std::uint32_t bits) noexcept { at(address + 0x2000) = bits; }
inline void clear_bits(std::uint32_t address, std::uint32_t bits) noexcept { at(address + 0x3000) = bits; }

namespace resets {  // 2.14.3
inline constexpr std::uint32_t kReset = 0x4000'C000, kDone = 0x4000'C008;
inline constexpr std::uint32_t kAdc = 1u << 0, kIoBank0 = 1u << 5, kPadsBank0 = 1u << 8, kPllSys = 1u << 12, kPllUsb = 1u << 13,
                               kPwm = 1u << 14, kTimer = 1u << 21, kUart0 = 1u << 22, kUart1 = 1u << 23, kUsb = 1u << 24;
}  // namespace resets

namespace clocks {  // 2.15.7
inline constexpr std::uint32_t kRefControl = 0x4000'8030, kRefSelected = 0x4000'8038;
inline constexpr std::uint32_t kSysControl = 0x4000'803C, kSysSelected = 0x4000'8044;
inline constexpr std::uint32_t kPeriControl = 0x4000'8048, kUsbControl = 0x4000'8054, kAdcControl = 0x4000'8060;
inline constexpr std::uint32_t kEnable = 1u << 11;
}  // namespace clocks

namespace xosc {  // 2.16.7
inline constexpr std::uint32_t kControl = 0x4002'4000, kStatus = 0x4002'4004, kStartup = 0x4002'400C;
inline constexpr std::uint32_t k1To15MHz = 0xAA0, kEnable = 0xFABu << 12, kStable = 1u << 31;
}  // namespace xosc

namespace rosc {  // 2.17.8
inline constexpr std::uint32_t kRandomBit = 0x4006'001C;
}  // namespace rosc

namespace pll {  // 2.18.4
inline constexpr std::uint32_t kSys = 0x4002'8000, kUsb = 0x4002'C000;
inline constexpr std::uint32_t kControl = 0x0, kPower = 0x4, kFeedback = 0x8, kPostDividers = 0xC;
inline constexpr std::uint32_t kLocked = 1u << 31, kPowerDown = 1u << 0, kPostDividersDown = 1u << 3, kOscillatorDown = 1u << 5;
}  // namespace pll

namespace io {  // 2.19.6: bank 0, then its pads
constexpr std::uint32_t control(int gpio) noexcept { return 0x4001'4004u + 8u * static_cast<unsigned>(gpio); }
constexpr std::uint32_t pad(int gpio) noexcept { return 0x4001'C004u + 4u * static_cast<unsigned>(gpio); }
inline constexpr std::uint32_t kUart = 2, kPwm = 4, kSio = 5, kNothing = 31;
inline constexpr std::uint32_t kInput = 1u << 6, kPullUp = 1u << 3, kPullDown = 1u << 2, kSchmitt = 1u << 1, kDrive4mA = 1u << 4;
}  // namespace io

namespace sio {  // 2.3.1.7
inline constexpr std::uint32_t kIn = 0xD000'0004, kOutSet = 0xD000'0014, kOutClear = 0xD000'0018, kOutToggle = 0xD000'001C,
                               kEnableSet = 0xD000'0024, kEnableClear = 0xD000'0028;
}

namespace uart {  // 4.2.8
inline constexpr std::uint32_t kUart0 = 0x4003'4000, kUart1 = 0x4003'8000;
inline constexpr std::uint32_t kData = 0x00, kFlags = 0x18, kDivisor = 0x24, kFraction = 0x28, kLine = 0x2C, kControl = 0x30,
                               kMask = 0x38, kMasked = 0x40, kClear = 0x44;
inline constexpr std::uint32_t kTransmitFull = 1u << 5, kReceiveEmpty = 1u << 4;                 // flags
inline constexpr std::uint32_t kReceive = 1u << 4, kTransmit = 1u << 5, kReceiveTimeout = 1u << 6;  // interrupts
}  // namespace uart

namespace pwm {  // 4.5.3
constexpr std::uint32_t slice(int n) noexcept { return 0x4005'0000u + 0x14u * static_cast<unsigned>(n); }
inline constexpr std::uint32_t kControl = 0x0, kDivisor = 0x4, kCounter = 0x8, kCompare = 0xC, kTop = 0x10;
inline constexpr std::uint32_t kEnableAll = 0x4005'00A0;
}  // namespace pwm

namespace timer {  // 4.6.5
inline constexpr std::uint32_t kAlarm0 = 0x4005'4010, kNow = 0x4005'4028, kInterrupts = 0x4005'4034, kEnabled = 0x4005'4038;
}

namespace watchdog {  // 4.7.6
inline constexpr std::uint32_t kControl = 0x4005'8000, kLoad = 0x4005'8004, kReason = 0x4005'8008, kTick = 0x4005'802C;
inline constexpr std::uint32_t kEnable = 1u << 30, kPauseWhileDebugged = 7u << 24, kTickEnable = 1u << 9;
}  // namespace watchdog

namespace psm {  // 2.13.5
inline constexpr std::uint32_t kWatchdogResets = 0x4001'0008;
inline constexpr std::uint32_t kAllButOscillators = 0x0001'FFFC;
}  // namespace psm

namespace power {  // 2.10.6
inline constexpr std::uint32_t kChipReset = 0x4006'4008, kHadPowerOn = 1u << 8;
}

namespace adc {  // 4.9.6
inline constexpr std::uint32_t kControl = 0x4004'C000, kResult = 0x4004'C004;
inline constexpr std::uint32_t kEnable = 1u << 0, kStart = 1u << 2, kReady = 1u << 8;
}  // namespace adc

namespace usb {  // 4.1.3 (registers), 4.1.2.5 (what the shared memory holds for a device)
inline constexpr std::uint32_t kMemory = 0x5010'0000, kMemorySize = 4096;
inline constexpr std::uint32_t kSetup = kMemory, kEndpoint0 = kMemory + 0x100, kBuffers = 0x180;  // the last: offset of the first free buffer
/// Of endpoints 1..15.
constexpr std::uint32_t endpoint_control(int n, bool out) noexcept { return kMemory + 8u * static_cast<unsigned>(n) + (out ? 4u : 0u); }
/// Of endpoints 0..15.
constexpr std::uint32_t buffer_control(int n, bool out) noexcept { return kMemory + 0x80 + 8u * static_cast<unsigned>(n) + (out ? 4u : 0u); }
inline constexpr std::uint32_t kEndpointOn = 1u << 31, kEachBuffer = 1u << 29, kBulk = 2u << 26, kInterrupt = 3u << 26;
inline constexpr std::uint32_t kFull = 1u << 15, kData1 = 1u << 13, kStall = 1u << 11, kAvailable = 1u << 10, kLength = 0x3FF;

inline constexpr std::uint32_t kAddress = 0x5011'0000, kMain = 0x5011'0040, kSieControl = 0x5011'004C, kSieStatus = 0x5011'0050,
                               kBufferStatus = 0x5011'0058, kStallArm = 0x5011'0068, kMuxing = 0x5011'0074, kPower = 0x5011'0078,
                               kEnabled = 0x5011'0090, kMasked = 0x5011'0098;
inline constexpr std::uint32_t kControllerOn = 1u << 0;                            // main
inline constexpr std::uint32_t kPullUp = 1u << 16, kEndpoint0Each = 1u << 29;      // SIE control
inline constexpr std::uint32_t kBusReset = 1u << 19, kSetupCame = 1u << 17, kResumed = 1u << 11, kSuspended = 1u << 4;  // SIE status
inline constexpr std::uint32_t kToPhy = 1u << 0, kSoftConnect = 1u << 3;           // muxing
inline constexpr std::uint32_t kVbusThere = 1u << 2, kVbusOverride = 1u << 3;      // power
inline constexpr std::uint32_t kSetupNews = 1u << 16, kResumeNews = 1u << 15, kSuspendNews = 1u << 14, kResetNews = 1u << 12,
                               kBufferNews = 1u << 4;                              // interrupts
}  // namespace usb

namespace ssi {  // 4.10.13
inline constexpr std::uint32_t kEnable = 0x1800'0008, kBaud = 0x1800'0014;
}

namespace nvic {  // 2.4.8 (the M0PLUS_ registers)
inline constexpr std::uint32_t kEnable = 0xE000'E100, kPriority = 0xE000'E400, kVectors = 0xE000'ED08;
inline constexpr int kTimer0 = 0, kUsb = 5, kUart0 = 20, kUart1 = 21;  // 2.3.2
}  // namespace nvic

}  // namespace mien::board::rp2040
