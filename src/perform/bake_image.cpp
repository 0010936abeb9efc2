#include "perform/bake_image.hpp"

#include <algorithm>

#include "board/baked.hpp"
#include "wire/codec.hpp"
#include "wire/crc16.hpp"

namespace mien::perform {
namespace {

using Bytes = std::vector<std::uint8_t>;

void put(Bytes& to, std::uint64_t value, int size) {
  for (int i = 0; i < size; ++i) to.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

void put_crc(Bytes& to, std::size_t from) {
  const std::uint16_t crc = wire::crc16(to.data() + from, to.size() - from);
  to.push_back(static_cast<std::uint8_t>(crc >> 8)), to.push_back(static_cast<std::uint8_t>(crc & 0xFF));
}

/// Bits, the most significant of a byte first.
class BitWriter {
 public:
  explicit BitWriter(Bytes& to) : to_(to) {}
  void put(std::uint32_t value, int count) {
    for (int i = count - 1; i >= 0; --i) {
      if (free_ == 0) to_.push_back(0), free_ = 8;
      to_.back() = static_cast<std::uint8_t>(to_.back() | (value >> i & 1u) << --free_);
    }
  }

 private:
  Bytes& to_;
  int free_ = 0;
};

/// Signed to unsigned, small to small: 0, -1, 1, -2, 2 ... become 0, 1, 2, 3, 4.
std::uint32_t folded(std::int32_t r) { return r < 0 ? static_cast<std::uint32_t>(-r) * 2 - 1 : static_cast<std::uint32_t>(r) * 2; }

int rice_bits(std::uint32_t value, int rice) {
  const std::uint32_t ones = value >> rice;
  return ones < board::kEscape ? static_cast<int>(ones) + 1 + rice : board::kEscape + board::kPlainBits;
}

void put_rice(BitWriter& to, std::uint32_t value, int rice) {
  const std::uint32_t ones = value >> rice;
  if (ones >= board::kEscape) {
    to.put((1u << board::kEscape) - 1, board::kEscape);
    to.put(value, board::kPlainBits);
    return;
  }
  to.put((1u << ones) - 1, static_cast<int>(ones));
  to.put(0, 1);
  to.put(value & ((1u << rice) - 1), rice);
}

/// One output over one track, in steps of its grid; or one auxiliary's values.
using Line = std::vector<std::int32_t>;

/// What prediction of an order misses by on the block's tick n, which is not its first.
std::int32_t residual(const Line& line, std::size_t begin, std::size_t n, int order) {
  std::int32_t before[3] = {};
  const auto known = static_cast<int>(std::min<std::size_t>(n, 3));
  for (int i = 0; i < known; ++i) before[i] = line[begin + n - 1 - static_cast<std::size_t>(i)];
  return line[begin + n] - board::predict(before, std::min(order, known));
}

struct Code {
  int order = 0, rice = 0;
};

/// The one that takes the fewest bits.
Code best_code(const Line& line, std::size_t begin, std::size_t count) {
  const auto first = line.begin() + static_cast<std::ptrdiff_t>(begin);
  if (std::all_of(first, first + static_cast<std::ptrdiff_t>(count), [&](std::int32_t v) { return v == *first; })) return {};
  Code best;
  long fewest = -1;
  for (int order = 1; order <= board::kMaxOrder; ++order)
    for (int rice = 0; rice <= board::kMaxRice; ++rice) {
      long bits = 0;
      for (std::size_t n = 1; n < count; ++n) bits += rice_bits(folded(residual(line, begin, n, order)), rice);
      if (fewest < 0 || bits < fewest) fewest = bits, best = {order, rice};
    }
  return best;
}

void put_block(Bytes& to, const std::vector<Line>& lines, const std::vector<int>& shifts, std::size_t begin, std::size_t count) {
  Bytes body;
  std::vector<Code> codes;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    codes.push_back(best_code(lines[i], begin, count));
    put(body, static_cast<std::uint64_t>(codes[i].order << 4 | codes[i].rice), 1);
    put(body, static_cast<std::uint64_t>(lines[i][begin]) << shifts[i], 2);
  }
  BitWriter bits(body);
  for (std::size_t n = 1; n < count; ++n)
    for (std::size_t i = 0; i < lines.size(); ++i)
      if (codes[i].order > 0) put_rice(bits, folded(residual(lines[i], begin, n, codes[i].order)), codes[i].rice);
  const std::size_t from = to.size();
  put(to, body.size(), 2);
  to.insert(to.end(), body.begin(), body.end());
  put_crc(to, from);
}

/// To the nearest step of the grid that lies in the output's range.
std::int32_t on_grid(std::uint16_t pulse, int shift, const wire::OutputLimits& limits) {
  const std::int32_t half = (1 << shift) >> 1, least = (limits.min + (1 << shift) - 1) >> shift, most = limits.max >> shift;
  return std::clamp((pulse + half) >> shift, least, std::max(least, most));
}

Line line_of(const Track& track, int actuator, int shift, const wire::OutputLimits& limits) {
  Line line;
  for (const auto& pulses : track.ticks) line.push_back(on_grid(pulses[static_cast<std::size_t>(actuator)], shift, limits));
  return line;
}

Line values_of(const Track& track, int auxiliary) {
  Line line;
  for (const auto& values : track.values) line.push_back(values[static_cast<std::size_t>(auxiliary)]);
  return line;
}

/// The coarsest grid on which no step is longer than the board's slew limit lets pass at once: rounding must not make a pulse late.
int shift_of(const std::vector<Track>& tracks, int actuator, const wire::OutputLimits& limits, int tick_hz) {
  const auto most = static_cast<std::int32_t>(limits.slew / static_cast<std::uint32_t>(tick_hz));
  for (int shift = board::kMaxGridShift; shift > 0; --shift) {
    bool passes = limits.max >> shift > (limits.min + (1 << shift) - 1) >> shift;
    for (const auto& track : tracks) {
      const Line line = line_of(track, actuator, shift, limits);
      for (std::size_t n = 1; n < line.size() && passes; ++n) passes = std::abs(line[n] - line[n - 1]) << shift <= most;
    }
    if (passes) return shift;
  }
  return 0;
}

void put_packet(Bytes& to, const wire::Configure& part) {
  std::uint8_t packet[wire::kMaxOnWire];
  to.insert(to.end(), packet, packet + wire::encode(part, packet, sizeof packet));
}

/// What the host would tell this board: in one packet, or in three where that is too much for one.
Bytes configure_packets(const link::Peer& board) {
  wire::Configure whole = board.limits;
  whole.address = static_cast<std::uint8_t>(board.address);
  Bytes packets;
  put_packet(packets, whole);
  if (!packets.empty()) return packets;
  wire::Configure outputs = whole, timings = whole, channels = whole;
  outputs.last = timings.first = timings.last = channels.first = false;
  outputs.timings = outputs.channels = timings.count = timings.channels = channels.count = channels.timings = 0;
  for (const auto& part : {outputs, timings, channels}) put_packet(packets, part);
  return packets;
}

std::uint32_t whole_ms(show::Time t) { return static_cast<std::uint32_t>(std::clamp<std::int64_t>(t.count() / 1'000'000, 0, 86'400'000)); }

board::Role role_of(const link::Peer& board, const BakeSettings& settings) {
  if (settings.apart) return board::Role::alone;
  return board.address == 0 ? board::Role::leads : board::Role::follows;
}

}  // namespace

/// FNV-1a.
std::uint32_t number_of(const std::vector<Track>& tracks) {
  std::uint32_t hash = 2'166'136'261u;
  for (const auto& track : tracks)
    for (std::size_t n = 0; n < track.ticks.size(); ++n) {
      for (const std::uint16_t pulse : track.ticks[n]) hash = (hash ^ pulse) * 16'777'619u;
      for (const std::uint8_t value : track.values[n]) hash = (hash ^ value) * 16'777'619u;
    }
  return hash != 0 ? hash : 1;
}

std::vector<std::uint8_t> image_of(const link::Peer& peer, int tick_hz, const std::vector<Track>& tracks, const BakeSettings& settings,
                                   std::uint32_t number) {
  std::vector<int> shifts, actuators;
  std::vector<wire::OutputLimits> limits(peer.limits.outputs, peer.limits.outputs + peer.limits.count);
  for (const auto& l : limits) {
    actuators.push_back(peer.actuator[l.output]);
    shifts.push_back(shift_of(tracks, actuators.back(), l, tick_hz));
  }
  const auto values = static_cast<std::size_t>(peer.limits.channels);
  shifts.resize(limits.size() + values, 0);
  Bytes blocks;
  std::vector<std::size_t> offsets;
  std::vector<Line> first;
  for (const auto& track : tracks) {
    std::vector<Line> lines;
    for (std::size_t i = 0; i < limits.size(); ++i) lines.push_back(line_of(track, actuators[i], shifts[i], limits[i]));
    for (std::size_t i = 0; i < values; ++i) lines.push_back(values_of(track, peer.auxiliary[i]));
    offsets.push_back(blocks.size());
    for (std::size_t begin = 0; begin < track.ticks.size(); begin += board::kBlockTicks)
      put_block(blocks, lines, shifts, begin, std::min<std::size_t>(board::kBlockTicks, track.ticks.size() - begin));
    if (first.empty()) first = std::move(lines);
  }

  const Bytes configure = configure_packets(peer);
  const std::size_t head = 46 + 4 * limits.size() + 2 * values + 8 * tracks.size() + 2 + configure.size() + 2;
  Bytes image(std::begin(board::kBakedMark), std::end(board::kBakedMark));
  put(image, head + blocks.size(), 4), put(image, head, 2);
  put(image, static_cast<unsigned>(peer.address), 1), put(image, static_cast<unsigned>(role_of(peer, settings)), 1);
  put(image, static_cast<unsigned>(tick_hz), 2), put(image, settings.loop, 1);
  put(image, limits.size(), 1), put(image, tracks.size(), 1);
  put(image, settings.start_mask, 2), put(image, settings.start_value, 2);
  for (const show::Time t : {settings.pause.begin, settings.pause.end, settings.gap.begin, settings.gap.end}) put(image, whole_ms(t), 4);
  put(image, number, 4), put(image, tracks[0].loop_from, 4), put(image, values, 1);
  for (std::size_t i = 0; i < limits.size(); ++i) {
    put(image, limits[i].output, 1), put(image, static_cast<unsigned>(shifts[i]), 1);
    put(image, static_cast<std::uint64_t>(first[i][0]) << shifts[i], 2);
  }
  for (std::size_t i = 0; i < values; ++i)
    put(image, peer.limits.channel[i].channel, 1), put(image, static_cast<std::uint64_t>(first[limits.size() + i][0]), 1);
  for (std::size_t t = 0; t < tracks.size(); ++t) put(image, head + offsets[t], 4), put(image, tracks[t].ticks.size(), 4);
  put(image, configure.size(), 2);
  image.insert(image.end(), configure.begin(), configure.end());
  put_crc(image, 0);
  image.insert(image.end(), blocks.begin(), blocks.end());
  return image;
}

}  // namespace mien::perform
