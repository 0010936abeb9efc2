#include "board/baked.hpp"

#include "wire/crc16.hpp"
#include "wire/fields.hpp"

namespace mien::board {
namespace {

using wire::Bytes;

constexpr std::size_t kSizes = 10;          // mark, size of the image, size of the head: enough to know how much to read
constexpr std::size_t kLineSize = 3;        // of each output and channel in a block: code, first value
constexpr std::size_t kBlockHead = 2;
constexpr std::uint32_t kLongest_ms = 24u * 3600u * 1000u;

Bytes part(Bytes whole, std::size_t from, std::size_t size) noexcept { return {whole.data + from, size}; }

bool fits(const BakedOutput& o) noexcept {
  return o.output < wire::kMaxOutputs && o.shift <= kMaxGridShift && o.base >= wire::kPulseFloor && o.base <= wire::kPulseCeiling;
}

/// Two streams for one output or channel: which would count?
bool all_differ(const Baked& b) noexcept {
  unsigned seen = 0, channels = 0;
  for (int i = 0; i < b.values; ++i) {
    if (b.value[i].channel >= wire::kMaxChannels || (channels >> b.value[i].channel & 1) != 0) return false;
    channels |= 1u << b.value[i].channel;
  }
  for (int i = 0; i < b.outputs; ++i) {
    if ((seen >> b.output[i].output & 1) != 0) return false;
    seen |= 1u << b.output[i].output;
  }
  return true;
}

bool range_fits(std::uint32_t least_ms, std::uint32_t most_ms) noexcept { return least_ms <= most_ms && most_ms <= kLongest_ms; }

bool values_fit(const Baked& b, std::size_t head) noexcept {
  if (b.address >= wire::kNoAddress || static_cast<int>(b.role) > 2 || b.tick_hz == 0 || b.tick_hz > kMaxBakedHz) return false;
  if ((b.start_value & ~static_cast<unsigned>(b.start_mask)) != 0 || b.number == 0) return false;
  if (!range_fits(b.pause_min_ms, b.pause_max_ms) || !range_fits(b.gap_min_ms, b.gap_max_ms)) return false;
  for (int i = 0; i < b.outputs; ++i)
    if (!fits(b.output[i])) return false;
  for (int i = 0; i < b.tracks; ++i)
    if (b.track[i].ticks == 0 || b.track[i].offset < head || b.track[i].offset >= b.image.size) return false;
  return all_differ(b) && b.loop_from < b.track[0].ticks;
}

void get_head(wire::Reader& from, Baked& b) noexcept {
  b.address = from.u8();
  b.role = static_cast<Role>(from.u8());
  b.tick_hz = from.u16();
  const std::uint8_t loop = from.u8();
  if (loop > 1) from.fail();
  b.loop = loop == 1;
  b.outputs = from.u8(), b.tracks = from.u8();
  b.start_mask = from.u16(), b.start_value = from.u16();
  b.pause_min_ms = from.u32(), b.pause_max_ms = from.u32();
  b.gap_min_ms = from.u32(), b.gap_max_ms = from.u32();
  b.number = from.u32(), b.loop_from = from.u32();
  b.values = from.u8();
  if (b.outputs > wire::kMaxOutputs || b.values > wire::kMaxChannels || b.tracks < 1 || b.tracks > kMaxTracks) from.fail();
  if (!from.ok()) return;
  for (int i = 0; i < b.outputs; ++i) b.output[i].output = from.u8(), b.output[i].shift = from.u8(), b.output[i].base = from.u16();
  for (int i = 0; i < b.values; ++i) b.value[i].channel = from.u8(), b.value[i].base = from.u8();
  for (int i = 0; i < b.tracks; ++i) b.track[i].offset = from.u32(), b.track[i].ticks = from.u32();
}

/// Body and CRC included; 0 where no whole block is at `offset`.
std::size_t block_size(Bytes image, std::size_t offset) noexcept {
  if (offset > image.size || image.size - offset < kBlockHead) return 0;
  wire::Reader from(part(image, offset, kBlockHead));
  const std::size_t size = kBlockHead + from.u16() + wire::kCrcSize;
  return size <= image.size - offset ? size : 0;
}

}  // namespace

BakeFault read(Bytes bytes, Baked& out) noexcept {
  out = Baked{};
  if (bytes.size == 0) return BakeFault::empty;
  if (bytes.size < kSizes) return BakeFault::cut_short;
  for (int i = 0; i < 4; ++i)
    if (bytes.data[i] != kBakedMark[i]) return bytes.data[i] == 0xFF ? BakeFault::empty : BakeFault::unknown;  // FF: erased flash
  wire::Reader sizes(part(bytes, 4, kSizes - 4));
  const std::size_t size = sizes.u32(), head = sizes.u16();
  if (size > bytes.size || head > size) return BakeFault::cut_short;
  if (head < kSizes + wire::kCrcSize || wire::crc16(bytes.data, head) != 0) return BakeFault::damaged;
  out.image = part(bytes, 0, size);
  wire::Reader from(part(bytes, kSizes, head - kSizes - wire::kCrcSize));
  get_head(from, out);
  const std::size_t configure = from.u16(), left = from.left();
  if (!from.ok() || configure != left) return BakeFault::absurd;
  out.configure = part(bytes, head - wire::kCrcSize - left, left);
  return values_fit(out, head) ? BakeFault::none : BakeFault::absurd;
}

void Check::start(const Baked& baked) noexcept {
  *this = Check{};
  baked_ = &baked;
  block_ = baked.track[0].offset;
  over_ = false;
  next_block();
}

/// Goes to the block at block_, or finds that there is none where one must be.
void Check::next_block() noexcept {
  if (tick_ >= baked_->track[track_].ticks) {
    tick_ = 0;
    if (++track_ == baked_->tracks) return end(block_ == baked_->image.size ? BakeFault::none : BakeFault::damaged);
  }
  if (tick_ == 0 && baked_->track[track_].offset != block_) return end(BakeFault::damaged);
  size_ = block_size(baked_->image, block_);
  if (size_ == 0) return end(BakeFault::damaged);
  tick_ = baked_->track[track_].ticks - tick_ > kBlockTicks ? tick_ + kBlockTicks : baked_->track[track_].ticks;
  done_ = 0;
  crc_ = wire::kCrcStart;
}

void Check::go_on(std::size_t bytes) noexcept {
  while (!over_ && bytes > 0) {
    const std::size_t count = bytes < size_ - done_ ? bytes : size_ - done_;
    crc_ = wire::crc16(baked_->image.data + block_ + done_, count, crc_);
    done_ += count;
    bytes -= count;
    if (done_ < size_) continue;
    if (crc_ != 0) return end(BakeFault::damaged);
    block_ += size_;
    next_block();
  }
}

BakeFault check(const Baked& baked) noexcept {
  Check all;
  for (all.start(baked); !all.over();) all.go_on(baked.image.size);
  return all.fault();
}

bool TrackReader::start(const Baked& baked, int track, std::uint32_t tick) noexcept {
  good_ = false;
  baked_ = nullptr;
  if (track < 0 || track >= baked.tracks || tick >= baked.track[track].ticks) return false;
  baked_ = &baked;
  track_ = track;
  block_ = baked.track[track].offset;
  for (tick_ = 0; tick - tick_ >= kBlockTicks; tick_ += kBlockTicks) {
    const std::size_t size = block_size(baked.image, block_);
    if (size == 0) return false;
    block_ += size;
  }
  good_ = true;
  while (good_ && tick_ < tick) {
    good_ = decode();
    ++tick_;
  }
  return good_;
}

bool TrackReader::next(std::uint16_t* pulse, std::uint8_t* value) noexcept {
  if (!good_ || at_end()) return false;
  good_ = decode();
  if (!good_) return false;
  ++tick_;
  for (int i = 0; i < baked_->outputs; ++i) pulse[i] = static_cast<std::uint16_t>(line_[i].at[0] << baked_->output[i].shift);
  for (int i = 0; i < baked_->values; ++i) value[i] = static_cast<std::uint8_t>(line_[baked_->outputs + i].at[0]);
  return true;
}

bool TrackReader::open_block() noexcept {
  const std::size_t size = block_size(baked_->image, block_);
  const std::size_t codes = static_cast<std::size_t>(lines()) * kLineSize;
  if (size < kBlockHead + codes + wire::kCrcSize) return false;
  wire::Reader from(part(baked_->image, block_ + kBlockHead, codes));
  for (int i = 0; i < lines(); ++i) {
    Line& line = line_[i];
    const unsigned code = from.u8();
    line.order = static_cast<int>(code >> 4), line.rice = static_cast<int>(code & 15);
    if (line.order > kMaxOrder || (line.order == 0 && line.rice != 0)) return false;
    line.at[0] = from.u16() >> shift_of(i);
    line.most = (i < baked_->outputs ? 0xFFFF : 0xFF) >> shift_of(i);
    if (line.at[0] > line.most) return false;
  }
  bit_ = (block_ + kBlockHead + codes) * 8;
  block_ += size;
  end_ = (block_ - wire::kCrcSize) * 8;
  return true;
}

/// One tick on, for every output and channel: the block's first value, or the prediction from the ticks before and what it missed by.
bool TrackReader::decode() noexcept {
  const int known = static_cast<int>(tick_ % kBlockTicks);
  if (known == 0) return open_block();
  for (int i = 0; i < lines(); ++i)
    if (line_[i].order > 0 && !advance(line_[i], known)) return false;
  return true;
}

bool TrackReader::advance(Line& line, int known) noexcept {
  int ones = 0;
  while (ones < kEscape && bits(1) == 1) ++ones;
  const std::uint32_t folded =
      ones == kEscape ? bits(kPlainBits) : static_cast<std::uint32_t>(ones) << line.rice | bits(line.rice);
  const auto half = static_cast<std::int32_t>(folded >> 1);
  const std::int32_t value = predict(line.at, line.order < known ? line.order : known) + ((folded & 1) != 0 ? -1 - half : half);
  if (bit_ > end_ || value < 0 || value > line.most) return false;
  line.at[2] = line.at[1], line.at[1] = line.at[0], line.at[0] = value;
  return true;
}

/// Most significant first. Past the end it reads zeros and bit_ says so.
std::uint32_t TrackReader::bits(int count) noexcept {
  std::uint32_t value = 0;
  for (; count > 0; --count, ++bit_) {
    const unsigned bit = bit_ < end_ ? baked_->image.data[bit_ / 8] >> (7 - bit_ % 8) & 1u : 0u;
    value = value << 1 | bit;
  }
  return value;
}

}  // namespace mien::board
