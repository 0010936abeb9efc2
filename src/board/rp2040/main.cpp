// The firmware: one loop around the board's core. Interrupts only move bytes; all else happens here, in the order of the loop.
#include "board/board.hpp"
#include "board/rp2040/analog.hpp"
#include "board/rp2040/chip.hpp"
#include "board/rp2040/memory.hpp"
#include "board/rp2040/pins.hpp"
#include "board/rp2040/pulses.hpp"
#include "board/rp2040/uart.hpp"
#include "board/rp2040/usb.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr std::uint32_t kTick_us = 1'000, kRail_us = 1'000, kOverrunShown_us = 1'000'000;
constexpr std::uint32_t kTogether_us = 20;  // pairs that are due this soon after one another are renewed at once

Uart upstream, downstream;
Usb computer;
Repeater* repeater = nullptr;

std::int32_t until(std::uint32_t time_us, std::uint32_t now) noexcept { return static_cast<std::int32_t>(time_us - now); }

/// The host is whoever has the board's USB open, else what is at the other end of the line up.
void answer(void*, const std::uint8_t* bytes, std::size_t size) {
  if (computer.open()) computer.send(bytes, size);
  else upstream.send(bytes, size);
}
std::uint32_t time(void*) { return now_us(); }
/// Whole between the bytes that the interrupt passes on.
void tell_below(void*, const std::uint8_t* bytes, std::size_t size) {
  const Undisturbed undisturbed;
  downstream.send(bytes, size);
}
std::size_t room_to_answer(void*) { return computer.open() ? computer.room() : upstream.room(); }

/// In the interrupt, so that a byte is on its way to the next board some microseconds after it came.
void pass_on_from_computer(std::uint8_t byte) {
  std::uint8_t out[Repeater::kMost];
  const int count = repeater->repeat(byte, out);
  if (count > 0) downstream.send(out, static_cast<std::size_t>(count));
}

Port port() noexcept {
  Port p;
  p.write = &answer;
  p.room = &room_to_answer;
  p.tell_below = &tell_below;
  p.now = &time;
  p.shelf = shelf();
  return p;
}

void pass_on(std::uint8_t byte) {
  if (!computer.open()) pass_on_from_computer(byte);
}
std::size_t takes_below() { return downstream.room(); }

About about() noexcept {
  About a;
  a.identity = identity();
  a.firmware = MIEN_FIRMWARE_VERSION;
  a.outputs = pins::kServos;
  a.rails = 1;
  a.lines = pins::kLines;
  a.inputs = pins::kInputs;
  a.outputs_per_timer = 2;
  a.start = why_started();
  return a;
}

class Firmware {
 public:
  Firmware() noexcept : board_(about(), port()) {}

  [[noreturn]] void run() noexcept {
    start();
    for (;;) {
      wait_for_event();
      hear();
      const std::uint32_t now = now_us();
      if (until(pulses_.due_us(), now) <= 0) renew();
      else if (until(next_tick_us_, now) <= 0) tick(now);
      if (until(next_rail_us_, now) <= 0) read_rail(now);
      wake_at(until(pulses_.due_us(), next_tick_us_) < 0 ? pulses_.due_us() : next_tick_us_);
    }
  }

 private:
  void start() noexcept {
    make_output(pins::kLight);
    for (const int gpio : pins::kInput) connect(gpio, io::kSio, Pull::down);
    analog_.start();
    connect(pins::kUpstreamTransmit, io::kUart, Pull::none);
    connect(pins::kUpstreamReceive, io::kUart, Pull::up);  // an open line reads as idle
    connect(pins::kDownstreamTransmit, io::kUart, Pull::none);
    connect(pins::kDownstreamReceive, io::kUart, Pull::up);
    repeater = &board_.repeater();
    downstream.start(uart::kUart1, nvic::kUart1, pins::kBaud);
    upstream.start(uart::kUart0, nvic::kUart0, pins::kBaud, &pass_on);
    computer.start(identity(), &pass_on_from_computer, &takes_below);
    const std::uint32_t now = now_us();
    pulses_.start(now);
    next_tick_us_ = next_rail_us_ = now + kTick_us;
    wake_at(next_tick_us_);
    start_watchdog(kWatchdog_us);
    sense();  // inputs that say start from power-on on don't count
    board_.stand_alone(now);
  }

  /// The core's clock never runs backward, though a byte that came while the core was busy is older than "now".
  std::uint32_t later(std::uint32_t time_us) noexcept {
    if (until(time_us, told_us_) > 0) told_us_ = time_us;
    return told_us_;
  }

  /// The next byte from the host, whoever that is just now; a new one begins with an end of what the one before may have left open.
  bool hear_host(Heard& heard) noexcept {
    computer.go_on();
    const bool by_usb = computer.open();
    if (by_usb != by_usb_) {
      by_usb_ = by_usb;
      while (by_usb && upstream.take(heard)) {}
      heard = {now_us(), wire::kDelimiter};
      return true;
    }
    if (by_usb) while (upstream.take(heard)) {}
    return by_usb ? computer.take(heard) : upstream.take(heard);
  }

  /// A flood of bytes must not delay the pulses: when they are due, the rest waits.
  void hear() noexcept {
    Heard heard;
    while (until(pulses_.due_us(), now_us()) > 0) {
      const bool above = hear_host(heard);
      if (above) board_.receive(heard.byte, later(heard.at_us));
      const bool below = downstream.take(heard);
      if (below) board_.receive_below(heard.byte, later(heard.at_us));
      if (!above && !below) return;
    }
  }

  void tick(std::uint32_t now) noexcept {
    board_.tick(later(now));
    next_tick_us_ = now + kTick_us;
    feed_watchdog(kWatchdog_us);
    drive_lines();
    sense();
  }

  /// Ticks as of the moment at which pulses were due, however long it is ago: so all boards draw the line between this period's frames
  /// and the next one's at the same shared time.
  void renew() noexcept {
    const std::uint32_t due_us = pulses_.due_us();
    tick(due_us);
    for (int pair = 0; pair < kPairs; ++pair) {
      if (until(pulses_.due_us(pair), due_us + kTogether_us) > 0) continue;
      const int first = 2 * pair;
      const std::uint32_t wrap_us = pulses_.wrap_us(pair);
      const PairPulses pulses{{board_.pulse(first), board_.pulse(first + 1)}, board_.timing(first).period_us};
      pulses_.renew(pair, pulses, board_.until_pulse_us(first, wrap_us), wrap_us);
    }
    show_state(due_us);
  }

  void read_rail(std::uint32_t now) noexcept {
    analog_.step();
    next_rail_us_ = now + kRail_us;
  }

  /// Levels between off and on are made of ticks, spread as evenly as they go.
  void drive_lines() noexcept {
    for (int n = 0; n < pins::kLines; ++n) {
      drive(pins::kLine[n], board_.takes(n));
      level_sum_[n] = static_cast<std::uint16_t>(level_sum_[n] + board_.level(n));
      const bool on = level_sum_[n] >= 255;
      if (on) level_sum_[n] = static_cast<std::uint16_t>(level_sum_[n] - 255);
      write(pins::kLine[n], on);
    }
  }

  void sense() noexcept {
    Senses senses;
    senses.rail[0] = {analog_.voltage_mv(), analog_.current_ma()};
    for (int n = 0; n < pins::kInputs; ++n)
      if (!board_.takes(n - pins::kFirstLineInput) && read(pins::kInput[n])) senses.inputs = static_cast<std::uint16_t>(senses.inputs | 1u << n);
    const std::uint32_t overruns = upstream.overruns() + downstream.overruns();
    if (overruns != overruns_) overruns_ = overruns, overrun_us_ = told_us_, overrun_ = true;
    if (overrun_ && told_us_ - overrun_us_ > kOverrunShown_us) overrun_ = false;
    if (overrun_) senses.faults = static_cast<std::uint8_t>(senses.faults | wire::kOverrun);
    rail_.step(senses.rail[0].voltage_mv, told_us_);
    if (rail_.low())
      senses.faults = static_cast<std::uint8_t>(senses.faults | wire::kLowVoltage);
    board_.sense(senses, told_us_);
  }

  /// The light: on while armed, a short flash a second otherwise.
  void show_state(std::uint32_t now) noexcept {
    write(pins::kLight, wire::armed(board_.state()) || (now >> 10) % 1000 < 50);
  }

  Board board_;
  Pulses pulses_;
  Analog analog_;
  RailWatch rail_{pins::kRail};
  std::uint32_t told_us_ = 0, next_tick_us_ = 0, next_rail_us_ = 0;
  std::uint32_t overruns_ = 0, overrun_us_ = 0;
  std::uint16_t level_sum_[pins::kLines] = {};
  bool overrun_ = false, by_usb_ = false;
};

}  // namespace

extern "C" void on_upstream() { upstream.on_interrupt(); }
extern "C" void on_downstream() { downstream.on_interrupt(); }
extern "C" void on_usb() { computer.on_interrupt(); }

}  // namespace mien::board::rp2040

int main() {
  mien::board::rp2040::start_clocks();
  static mien::board::rp2040::Firmware firmware;
  firmware.run();
}
