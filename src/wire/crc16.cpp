#include "wire/crc16.hpp"

namespace mien::wire {
namespace {

// One table of 512 bytes: small enough for a microcontroller's flash, and a frame's 61 bytes cost 61 look-ups.
struct Table {
  std::uint16_t of[256] = {};
};

constexpr Table make_table() noexcept {
  Table table;
  for (unsigned byte = 0; byte < 256; ++byte) {
    unsigned crc = byte << 8;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 0x8000u) != 0 ? (crc << 1) ^ 0x1021u : crc << 1;
    table.of[byte] = static_cast<std::uint16_t>(crc);
  }
  return table;
}

constexpr Table kTable = make_table();

}  // namespace

std::uint16_t crc16(const std::uint8_t* bytes, std::size_t size, std::uint16_t crc) noexcept {
  unsigned state = crc;
  for (std::size_t i = 0; i < size; ++i) state = ((state << 8) & 0xFFFFu) ^ kTable.of[(state >> 8) ^ bytes[i]];
  return static_cast<std::uint16_t>(state);
}

}  // namespace mien::wire
