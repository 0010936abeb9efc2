#include "wire/cobs.hpp"

namespace mien::wire {
namespace {
constexpr std::uint8_t kFull = 0xFF;  // a block of 254 bytes, with no zero after it
}

std::size_t cobs_encode(const std::uint8_t* in, std::size_t size, std::uint8_t* out, std::size_t capacity) noexcept {
  if (capacity == 0) return 0;
  std::size_t code_at = 0, end = 1;
  std::uint8_t code = 1;
  for (std::size_t i = 0; i < size; ++i) {
    if (in[i] != 0) {
      if (end == capacity) return 0;
      out[end++] = in[i];
      ++code;
    }
    // A block closes at a zero, and when it is full unless nothing follows.
    if (in[i] == 0 || (code == kFull && i + 1 < size)) {
      if (end == capacity) return 0;
      out[code_at] = code;
      code_at = end++;
      code = 1;
    }
  }
  out[code_at] = code;
  return end;
}

bool cobs_decode(const std::uint8_t* in, std::size_t size, std::uint8_t* out, std::size_t capacity,
                 std::size_t& out_size) noexcept {
  out_size = 0;
  if (size == 0) return false;
  std::size_t end = 0;
  for (std::size_t i = 0; i < size;) {
    const std::uint8_t code = in[i++];
    const std::size_t data = static_cast<std::size_t>(code) - 1;
    if (code == 0 || data > size - i || data > capacity - end) return false;
    for (std::size_t k = 0; k < data; ++k) {
      const std::uint8_t byte = in[i++];
      if (byte == 0) return false;
      out[end++] = byte;
    }
    if (code != kFull && i < size) {
      if (end == capacity) return false;
      out[end++] = 0;
    }
  }
  out_size = end;
  return true;
}

}  // namespace mien::wire
