// Small baked shows, written byte by byte from BAKED.md: a second writer beside perform/bake_image.cpp.
#pragma once
#include <cstdint>
#include <vector>

#include "board/baked.hpp"
#include "board/desk.hpp"
#include "wire/crc16.hpp"

namespace mien::wire {
inline void PrintTo(BakeFault fault, std::ostream* out) { *out << name(fault); }
}  // namespace mien::wire

namespace mien::board {

using Image = std::vector<std::uint8_t>;

/// What the image says; two_outputs() are its limits. Tracks are pulses in us of output 0; output 1 stands at 1500 us.
struct ImageOf {
  std::uint8_t address = 0;
  Role role = Role::alone;
  bool loop = false;
  std::uint16_t start_mask = 0, start_value = 0;
  std::uint32_t pause_min_ms = 0, pause_max_ms = 0, gap_min_ms = 0, gap_max_ms = 0;
  std::uint32_t number = 77, loop_from = 0;
  std::vector<std::vector<int>> tracks = {{1500, 1501, 1503, 1506}};
  std::vector<std::vector<int>> lamp = {};  ///< of each track, the values of channel 0, a dimmer on line 0; empty: there is none
  Image body;  ///< of track 0's only block, where it is not to be worked out
};

inline void put(Image& to, std::uint32_t value, int size) {
  for (int i = 0; i < size; ++i) to.push_back(static_cast<std::uint8_t>(value >> 8 * i));
}

inline void seal(Image& image, std::size_t from) {
  const std::uint16_t crc = wire::crc16(image.data() + from, image.size() - from);
  image.push_back(static_cast<std::uint8_t>(crc >> 8));
  image.push_back(static_cast<std::uint8_t>(crc & 0xFF));
}

/// In order 1 with Rice parameter 2, whatever the step is.
inline void put_step(std::vector<bool>& bits, int step) {
  const unsigned value = step < 0 ? -2 * step - 1 : 2 * step;
  const bool plain = value >> 2 >= kEscape;
  for (unsigned i = 0; i < (plain ? kEscape : value >> 2); ++i) bits.push_back(true);
  if (!plain) bits.push_back(false);
  for (int i = (plain ? kPlainBits : 2) - 1; i >= 0; --i) bits.push_back((value >> i & 1) != 0);
}

/// Output 1 still; the lamp, where there is one, after the outputs.
inline void put_block(Image& image, const std::vector<int>& us, const std::vector<int>& lamp, std::size_t begin) {
  Image body;
  put(body, 1 << 4 | 2, 1), put(body, static_cast<std::uint32_t>(us[begin]) * 16, 2);
  put(body, 0, 1), put(body, 1500 * 16, 2);
  if (!lamp.empty()) put(body, 1 << 4 | 2, 1), put(body, static_cast<std::uint32_t>(lamp[begin]), 2);
  std::vector<bool> bits;
  for (std::size_t n = begin + 1; n < us.size() && n < begin + kBlockTicks; ++n) {
    put_step(bits, us[n] - us[n - 1]);
    if (!lamp.empty()) put_step(bits, lamp[n] - lamp[n - 1]);
  }
  bits.resize((bits.size() + 7) / 8 * 8);
  for (std::size_t i = 0; i < bits.size(); i += 8) {
    unsigned byte = 0;
    for (std::size_t k = 0; k < 8; ++k) byte = byte << 1 | (bits[i + k] ? 1u : 0u);
    put(body, byte, 1);
  }
  const std::size_t from = image.size();
  put(image, static_cast<std::uint32_t>(body.size()), 2);
  image.insert(image.end(), body.begin(), body.end());
  seal(image, from);
}

inline wire::Configure limits_of(const ImageOf& what) {
  wire::Configure m = two_outputs(what.address);
  if (!what.lamp.empty()) m.channels = 1, m.channel[0].kind = wire::ChannelKind::dimmer, m.channel[0].rest = 3;
  return m;
}

inline Image image_of(const ImageOf& what) {
  Image blocks;
  std::vector<std::uint32_t> offsets;
  for (const auto& track : what.tracks) {
    offsets.push_back(static_cast<std::uint32_t>(blocks.size()));
    if (offsets.size() == 1 && !what.body.empty()) {
      put(blocks, static_cast<std::uint32_t>(what.body.size()), 2);
      blocks.insert(blocks.end(), what.body.begin(), what.body.end());
      seal(blocks, 0);
      continue;
    }
    for (std::size_t begin = 0; begin < track.size(); begin += kBlockTicks) put_block(blocks, track, what.lamp.empty() ? std::vector<int>{} : what.lamp[offsets.size() - 1], begin);
  }
  std::uint8_t packet[wire::kMaxOnWire];
  const auto size = static_cast<std::uint32_t>(encode(limits_of(what), packet, sizeof packet));
  const std::uint32_t lamps = what.lamp.empty() ? 0 : 1;
  const auto head = static_cast<std::uint32_t>(46 + 2 * 4 + 2 * lamps + 8 * what.tracks.size() + 2 + size + 2);
  Image image = {'M', 'B', 'K', '2'};
  put(image, head + static_cast<std::uint32_t>(blocks.size()), 4), put(image, head, 2);
  put(image, what.address, 1), put(image, static_cast<unsigned>(what.role), 1), put(image, 100, 2), put(image, what.loop, 1);
  put(image, 2, 1), put(image, static_cast<std::uint32_t>(what.tracks.size()), 1);
  put(image, what.start_mask, 2), put(image, what.start_value, 2);
  put(image, what.pause_min_ms, 4), put(image, what.pause_max_ms, 4), put(image, what.gap_min_ms, 4), put(image, what.gap_max_ms, 4);
  put(image, what.number, 4), put(image, what.loop_from, 4), put(image, lamps, 1);
  for (std::uint32_t n = 0; n < 2; ++n) put(image, n, 1), put(image, 4, 1), put(image, n == 0 ? static_cast<std::uint32_t>(what.tracks[0][0]) * 16 : 1500 * 16, 2);
  if (lamps) put(image, 0, 1), put(image, static_cast<std::uint32_t>(what.lamp[0][0]), 1);
  for (std::size_t t = 0; t < what.tracks.size(); ++t) put(image, head + offsets[t], 4), put(image, static_cast<std::uint32_t>(what.tracks[t].size()), 4);
  put(image, size, 2);
  image.insert(image.end(), packet, packet + size);
  seal(image, 0);
  image.insert(image.end(), blocks.begin(), blocks.end());
  return image;
}

/// The head's CRC made right again after a change to the head.
inline void reseal(Image& image) {
  const std::size_t head = image[8] | image[9] << 8;
  Image cut(image.begin(), image.begin() + static_cast<std::ptrdiff_t>(head - 2));
  seal(cut, 0);
  std::copy(cut.begin(), cut.end(), image.begin());
}

inline wire::Bytes bytes(const Image& image) { return {image.data(), image.size()}; }

/// Up from 1500 to 1600 us and back, 5 us a tick.
inline std::vector<int> hill() {
  std::vector<int> us;
  for (int n = 0; n <= 40; ++n) us.push_back(1500 + 5 * (n <= 20 ? n : 40 - n));
  return us;
}

}  // namespace mien::board
