// The chip itself: its clocks, the time, pins, sleep and the watchdog.
#pragma once
#include <cstdint>

#include "board/rp2040/registers.hpp"
#include "wire/messages.hpp"

namespace mien::board::rp2040 {

inline constexpr std::uint32_t kSystem_hz = 125'000'000;

/// Crystal, PLLs (125 MHz for all but the ADC's 48) and the 1 MHz of timer and watchdog; releases what the port uses from reset.
void start_clocks() noexcept;

/// Microseconds since start_clocks(), wrapping at 2^32.
inline std::uint32_t now_us() noexcept { return at(timer::kNow); }

/// Lets wait_for_event() return at this time at the latest; a time gone by counts as now.
void wake_at(std::uint32_t time_us) noexcept;
/// Sleeps until an interrupt came since the last call (or came long ago and was not slept on yet: no race, no lost wake).
inline void wait_for_event() noexcept { asm volatile("wfe" ::: "memory"); }

inline constexpr std::uint32_t kWatchdog_us = 200'000;  ///< what the loop is given; work that takes longer feeds it
/// From here on the chip resets unless fed again in time. Longest 8 s.
void feed_watchdog(std::uint32_t time_us) noexcept;
void start_watchdog(std::uint32_t time_us) noexcept;
wire::Start why_started() noexcept;

enum class Pull : std::uint8_t { none, up, down };
void connect(int gpio, std::uint32_t function, Pull pull) noexcept;
void make_output(int gpio) noexcept;
/// Whether a pin of the SIO is driven; what write() said last shows as it begins.
inline void drive(int gpio, bool driven) noexcept { at(driven ? sio::kEnableSet : sio::kEnableClear) = 1u << gpio; }
inline void write(int gpio, bool high) noexcept { at(high ? sio::kOutSet : sio::kOutClear) = 1u << gpio; }
inline bool read(int gpio) noexcept { return (at(sio::kIn) >> gpio & 1u) != 0; }

/// 0 is the most urgent of 0..3.
void enable_interrupt(int number, int priority) noexcept;

/// Interrupts wait while one lives.
class Undisturbed {
 public:
  Undisturbed() noexcept {
    asm volatile("mrs %0, primask" : "=r"(before_));
    asm volatile("cpsid i" ::: "memory");
  }
  ~Undisturbed() noexcept { asm volatile("msr primask, %0" ::"r"(before_) : "memory"); }
  Undisturbed(const Undisturbed&) = delete;
  Undisturbed& operator=(const Undisturbed&) = delete;

 private:
  std::uint32_t before_;
};

}  // namespace mien::board::rp2040
