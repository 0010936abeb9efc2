// An input of a fuzzer, read as a script: steps of an opcode, a length and that many bytes. What a byte string of any kind means is
// defined, so every mutation is another script. seeds.cpp writes such scripts.
#pragma once
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <vector>

#include "wire/framing.hpp"

namespace mien::fuzz {

/// A promise of the code under test is broken: tell which, and end as a finding.
inline void demand(bool kept, const char* promise) {
  if (kept) return;
  std::fprintf(stderr, "broken promise: %s\n", promise);
  std::abort();
}

struct Step {
  std::uint8_t code = 0;
  std::span<const std::uint8_t> bytes;
  std::uint8_t byte(std::size_t n) const noexcept { return n < bytes.size() ? bytes[n] : std::uint8_t{0}; }
  std::uint16_t word(std::size_t n) const noexcept { return static_cast<std::uint16_t>(byte(n) | byte(n + 1) << 8); }
  std::uint32_t dword(std::size_t n) const noexcept { return word(n) | static_cast<std::uint32_t>(word(n + 2)) << 16; }
};

class Script {
 public:
  Script(const std::uint8_t* data, std::size_t size) : left_(data, size) {}

  bool next(Step& step) {
    if (left_.size() < 2) return false;
    step.code = left_[0];
    const std::size_t size = std::min<std::size_t>(left_[1], left_.size() - 2);
    step.bytes = left_.subspan(2, size);
    left_ = left_.subspan(2 + size);
    return true;
  }

 private:
  std::span<const std::uint8_t> left_;
};

/// Bytes as a packet on the line, with the CRC that no mutation would find; nothing where they are too many or too few.
inline std::vector<std::uint8_t> sealed(std::span<const std::uint8_t> packet) {
  std::vector<std::uint8_t> out(wire::kMaxOnWire);
  out.resize(wire::seal({packet.data(), packet.size()}, out.data(), out.size()));
  return out;
}

}  // namespace mien::fuzz
