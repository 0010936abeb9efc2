#include "board/rp2040/chip.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr std::uint32_t kUsed = resets::kAdc | resets::kIoBank0 | resets::kPadsBank0 | resets::kPllSys | resets::kPllUsb |
                                resets::kPwm | resets::kTimer | resets::kUart0 | resets::kUart1 | resets::kUsb;

void wait_for(std::uint32_t address, std::uint32_t bits) noexcept {
  while ((at(address) & bits) != bits) {
  }
}

void release(std::uint32_t blocks) noexcept {
  clear_bits(resets::kReset, blocks);
  wait_for(resets::kDone, blocks);
}

/// 12 MHz * feedback / (first * second), as 2.18.2 tells to start it.
void start_pll(std::uint32_t base, std::uint32_t feedback, std::uint32_t first, std::uint32_t second) noexcept {
  at(base + pll::kControl) = 1;  // the crystal undivided
  at(base + pll::kFeedback) = feedback;
  clear_bits(base + pll::kPower, pll::kPowerDown | pll::kOscillatorDown);
  wait_for(base + pll::kControl, pll::kLocked);
  at(base + pll::kPostDividers) = first << 16 | second << 12;
  clear_bits(base + pll::kPower, pll::kPostDividersDown);
}

}  // namespace

void start_clocks() noexcept {
  clear_bits(clocks::kSysControl, 1);  // off the PLL, should it be running
  wait_for(clocks::kSysSelected, 1u << 0);
  set_bits(resets::kReset, kUsed);  // whatever ran before, a debugger's restart say, begins afresh

  at(xosc::kStartup) = 47;  // 47 * 256 cycles: 1 ms at 12 MHz
  at(xosc::kControl) = xosc::kEnable | xosc::k1To15MHz;
  wait_for(xosc::kStatus, xosc::kStable);
  at(clocks::kRefControl) = 2;  // clk_ref from the crystal
  wait_for(clocks::kRefSelected, 1u << 2);

  release(resets::kPllSys | resets::kPllUsb);
  start_pll(pll::kSys, 125, 6, 2);  // 1500 MHz / 12 = 125
  start_pll(pll::kUsb, 100, 5, 5);  // 1200 MHz / 25 = 48
  at(clocks::kSysControl) = 0;      // auxiliary source: the system's PLL
  set_bits(clocks::kSysControl, 1);
  wait_for(clocks::kSysSelected, 1u << 1);
  at(clocks::kPeriControl) = clocks::kEnable;  // from clk_sys
  at(clocks::kUsbControl) = clocks::kEnable;   // from the PLL of USB
  at(clocks::kAdcControl) = clocks::kEnable;   // likewise

  at(watchdog::kTick) = watchdog::kTickEnable | 12;  // 1 MHz from clk_ref (4.7.2)
  release(kUsed);
  at(timer::kEnabled) = 1;
  enable_interrupt(nvic::kTimer0, 3);
}

void wake_at(std::uint32_t time_us) noexcept {
  at(timer::kAlarm0) = time_us;
  // An alarm fires only when the time is met (4.6.3): one that went by while it was being set would come in 71 minutes.
  if (static_cast<std::int32_t>(time_us - now_us()) <= 0) asm volatile("sev");
}

extern "C" void on_timer() { at(timer::kInterrupts) = 1; }  // waking up is all it is for

void feed_watchdog(std::uint32_t time_us) noexcept { at(watchdog::kLoad) = 2 * time_us; }  // counts twice a tick: erratum E1

void start_watchdog(std::uint32_t time_us) noexcept {
  at(psm::kWatchdogResets) = psm::kAllButOscillators;
  feed_watchdog(time_us);
  set_bits(watchdog::kControl, watchdog::kEnable | watchdog::kPauseWhileDebugged);
}

wire::Start why_started() noexcept {
  if ((at(watchdog::kReason) & 3u) != 0) return wire::Start::watchdog;
  // A supply that dips below the detector's threshold counts as a power-on, too (2.10.2): the chip can't tell the two apart.
  return (at(power::kChipReset) & power::kHadPowerOn) != 0 ? wire::Start::power : wire::Start::other;
}

void connect(int gpio, std::uint32_t function, Pull pull) noexcept {
  const std::uint32_t pulls = pull == Pull::up ? io::kPullUp : pull == Pull::down ? io::kPullDown : 0u;
  at(io::pad(gpio)) = io::kInput | io::kDrive4mA | io::kSchmitt | pulls;
  at(io::control(gpio)) = function;
}

void make_output(int gpio) noexcept {
  write(gpio, false);
  at(sio::kEnableSet) = 1u << gpio;
  connect(gpio, io::kSio, Pull::none);
}

void enable_interrupt(int number, int priority) noexcept {
  const std::uint32_t word = nvic::kPriority + static_cast<unsigned>(number & ~3);
  const int shift = 8 * (number & 3) + 6;  // two bits a byte, the upper ones
  at(word) = (at(word) & ~(3u << shift)) | static_cast<unsigned>(priority) << shift;
  at(nvic::kEnable) = 1u << number;
}

}  // namespace mien::board::rp2040
