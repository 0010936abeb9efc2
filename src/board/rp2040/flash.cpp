#include "board/rp2040/flash.hpp"

#include "board/rp2040/chip.hpp"

namespace mien::board::rp2040::flash {
namespace {

constexpr std::uint32_t kWatchdogMeanwhile_us = 2'000'000;

// 2.8.3: the ROM begins with 16-bit pointers to a table of functions, each under two letters, and to the function that looks
// one up.
using Lookup = void* (*)(const std::uint16_t* table, std::uint32_t letters);
constexpr std::uint32_t kTableAt = 0x14, kLookupAt = 0x18;

/// The ROM maps flash for reading at a twelfth of the system's clock; this is the boot stage's quarter (boot2.S, 4.10.13).
void read_quickly() noexcept {
  at(ssi::kEnable) = 0;
  at(ssi::kBaud) = 4;
  at(ssi::kEnable) = 1;
}

template <class Function>
Function rom(char a, char b) noexcept {
  const auto half = [](std::uint32_t address) -> std::uint32_t { return *reinterpret_cast<const volatile std::uint16_t*>(address); };
  const auto lookup = reinterpret_cast<Lookup>(half(kLookupAt));
  const auto table = reinterpret_cast<const std::uint16_t*>(half(kTableAt));
  return reinterpret_cast<Function>(lookup(table, static_cast<std::uint32_t>(a) | static_cast<std::uint32_t>(b) << 8));
}

/// 2.8.3.1.3: the order in which the ROM's functions are to be called.
template <class Work>
void with_flash_unmapped(Work work) noexcept {
  const auto connect = rom<void (*)()>('I', 'F');
  const auto leave = rom<void (*)()>('E', 'X');
  const auto flush = rom<void (*)()>('F', 'C');
  const auto map = rom<void (*)()>('C', 'X');
  feed_watchdog(kWatchdogMeanwhile_us);
  connect();
  leave();
  work();
  flush();
  map();
  read_quickly();
  feed_watchdog(kWatchdog_us);
}

bool fits(std::uint32_t offset, std::uint32_t size, std::uint32_t unit) noexcept {
  return offset % unit == 0 && size % unit == 0 && offset >= kBegin && offset <= kEnd && size <= kEnd - offset;
}

}  // namespace

bool erase(std::uint32_t offset, std::uint32_t size) noexcept {
  if (!fits(offset, size, kSector)) return false;
  const auto range_erase = rom<void (*)(std::uint32_t, std::size_t, std::uint32_t, std::uint8_t)>('R', 'E');
  for (; size > 0; offset += kSector, size -= kSector)
    with_flash_unmapped([&] { range_erase(offset, kSector, kSector, 0x20); });  // 20h: erase one sector
  return true;
}

bool program(std::uint32_t offset, const std::uint8_t* data, std::uint32_t size) noexcept {
  if (!fits(offset, size, kPage)) return false;
  const auto range_program = rom<void (*)(std::uint32_t, const std::uint8_t*, std::size_t)>('R', 'P');
  with_flash_unmapped([&] { range_program(offset, data, size); });
  for (std::uint32_t i = 0; i < size; ++i)
    if (bytes(offset)[i] != data[i]) return false;
  return true;
}

}  // namespace mien::board::rp2040::flash
