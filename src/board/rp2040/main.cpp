// The firmware: one loop around the board's core. Interrupts only move bytes; all else happens here, in the order of the loop.
#include "board/board.hpp"
#include "board/rp2040/analog.hpp"
#include "board/rp2040/chip.hpp"
#include "board/rp2040/memory.hpp"
#include "board/rp2040/pins.hpp"
#include "board/rp2040/pulses.hpp"
#include "board/rp2040/uart.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr std::uint32_t kTick_us = 1'000, kAnalog_us = 5'000, kWatchdog_us = 200'000;

Uart upstream, downstream;

std::int32_t until(std::uint32_t time_us, std::uint32_t now) noexcept { return static_cast<std::int32_t>(time_us - now); }

void answer(void*, const std::uint8_t* bytes, std::size_t size) { upstream.send(bytes, size); }

About about() noexcept {
  About a;
  a.identity = identity();
  a.firmware = MIEN_FIRMWARE_VERSION;
  a.outputs = pins::kServos;
  return a;
}

class Firmware {
 public:
  Firmware() noexcept : board_(about(), Port{nullptr, &answer, nullptr}) {}

  [[noreturn]] void run() noexcept {
    start();
    for (;;) {
      wait_for_event();
      hear();
      const std::uint32_t now = later(now_us());
      if (until(pulses_.due_us(), now) <= 0) renew(now);
      else if (until(next_tick_us_, now) <= 0) tick(now);
      if (until(next_analog_us_, now) <= 0) read_rail(now);
      wake_at(until(pulses_.due_us(), next_tick_us_) < 0 ? pulses_.due_us() : next_tick_us_);
    }
  }

 private:
  void start() noexcept {
    make_output(pins::kLight);
    analog_.start();
    connect(pins::kUpstreamTransmit, io::kUart, Pull::none);
    connect(pins::kUpstreamReceive, io::kUart, Pull::up);  // an open line reads as idle
    connect(pins::kDownstreamTransmit, io::kUart, Pull::none);
    connect(pins::kDownstreamReceive, io::kUart, Pull::up);
    upstream.start(uart::kUart0, nvic::kUart0, pins::kBaud);
    downstream.start(uart::kUart1, nvic::kUart1, pins::kBaud);
    const std::uint32_t now = now_us();
    pulses_.start(now);
    next_tick_us_ = next_analog_us_ = now + kTick_us;
    wake_at(next_tick_us_);
    start_watchdog(kWatchdog_us);
  }

  /// The core's clock never runs backward, though a byte that came while the core was busy is older than "now".
  std::uint32_t later(std::uint32_t time_us) noexcept {
    if (until(time_us, told_us_) > 0) told_us_ = time_us;
    return told_us_;
  }

  void hear() noexcept {
    for (Heard heard; upstream.take(heard);) {
      board_.receive(heard.byte, later(heard.at_us));
      if (until(pulses_.due_us(), now_us()) <= 0) return;  // a flood of bytes must not delay the pulses; the rest waits
    }
  }

  void tick(std::uint32_t now) noexcept {
    board_.tick(now);
    next_tick_us_ = now + kTick_us;
    feed_watchdog(kWatchdog_us);
  }

  void renew(std::uint32_t now) noexcept {
    tick(now);
    std::uint16_t width[pins::kServos];
    for (int n = 0; n < pins::kServos; ++n) width[n] = board_.pulse(n);
    pulses_.renew(width, shared_time(), now_us());
    show_state();
  }

  SharedTime shared_time() const noexcept { return {board_.clock_known(), board_.clock_offset_us()}; }

  void read_rail(std::uint32_t now) noexcept {
    analog_.step();
    next_analog_us_ = now + kAnalog_us;
  }

  /// The light: on while armed, a short flash every second otherwise.
  void show_state() noexcept {
    periods_ = (periods_ + 1) % 50;
    write(pins::kLight, wire::armed(board_.state()) || periods_ < 3);
  }

  Board board_;
  Pulses pulses_;
  Analog analog_;
  std::uint32_t told_us_ = 0, next_tick_us_ = 0, next_analog_us_ = 0;
  int periods_ = 0;
};

}  // namespace

extern "C" void on_upstream() { upstream.on_interrupt(); }
extern "C" void on_downstream() { downstream.on_interrupt(); }

}  // namespace mien::board::rp2040

int main() {
  mien::board::rp2040::start_clocks();
  static mien::board::rp2040::Firmware firmware;
  firmware.run();
}
