#include "board/rp2040/memory.hpp"

#include "board/rp2040/chip.hpp"
#include "board/rp2040/flash.hpp"
#include "wire/crc16.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr std::uint32_t kPlace = flash::kEnd - flash::kSector;  // the last sector
constexpr std::uint8_t kMark[4] = {'M', 'I', 'E', '1'};
constexpr int kSize = 4 + 8 + 2;  // mark, identity, CRC
constexpr std::uint32_t kShelf = flash::kBegin, kShelfSize = kPlace - kShelf;

/// Flash takes pages, and each only once between erasures; the wire brings halves of them, in order. The first half waits here for the second.
class Pages {
 public:
  void forget() noexcept { filled_ = 0; }
  bool put(std::uint32_t offset, const std::uint8_t* bytes, std::uint32_t count) noexcept {
    if (filled_ == 0) begin(offset);
    for (std::uint32_t i = 0; i < count; ++i) page_[filled_ + i] = bytes[i];
    filled_ += count;
    return filled_ < flash::kPage || write();
  }
  /// What the last page lacks stays erased.
  bool write() noexcept {
    if (filled_ == 0) return true;
    filled_ = 0;
    return flash::program(kShelf + at_, page_, flash::kPage);
  }

 private:
  void begin(std::uint32_t offset) noexcept {
    at_ = offset;
    for (std::uint8_t& byte : page_) byte = 0xFF;
  }
  std::uint8_t page_[flash::kPage];
  std::uint32_t at_ = 0, filled_ = 0;
};
static_assert(flash::kPage == 2 * wire::kMaxChunk, "a chunk is half a page");

Pages pages;

bool good(const std::uint8_t* record) noexcept {
  for (int i = 0; i < 4; ++i)
    if (record[i] != kMark[i]) return false;
  return wire::crc16(record, kSize) == 0;
}

/// The ring oscillator's bit is biased and slow to change (2.17.5): 64 samples, some microseconds apart, go into each bit.
std::uint64_t draw() noexcept {
  std::uint64_t drawn = 0;
  for (int bit = 0; bit < 64; ++bit) {
    std::uint32_t parity = 0;
    for (int sample = 0; sample < 64; ++sample) {
      parity ^= at(rosc::kRandomBit) & 1u;
      for (int wait = 0; wait < 7 + (sample & 3); ++wait) asm volatile("nop");
    }
    drawn = drawn << 1 | parity;
  }
  return drawn;
}

}  // namespace

std::uint64_t identity() noexcept {
  const std::uint8_t* kept = flash::bytes(kPlace);
  std::uint64_t identity = 0;
  if (good(kept)) {
    for (int i = 7; i >= 0; --i) identity = identity << 8 | kept[4 + i];
    return identity;
  }
  identity = draw();
  std::uint8_t page[flash::kPage];
  for (std::uint8_t& byte : page) byte = 0xFF;
  for (int i = 0; i < 4; ++i) page[i] = kMark[i];
  for (int i = 0; i < 8; ++i) page[4 + i] = static_cast<std::uint8_t>(identity >> (8 * i));
  const std::uint16_t crc = wire::crc16(page, kSize - 2);
  page[kSize - 2] = static_cast<std::uint8_t>(crc >> 8), page[kSize - 1] = static_cast<std::uint8_t>(crc & 0xFF);
  flash::erase(kPlace, flash::kSector);
  flash::program(kPlace, page, sizeof page);
  return identity;
}

Shelf shelf() noexcept {
  Shelf flash_shelf;
  flash_shelf.bytes = flash::bytes(kShelf);
  flash_shelf.capacity = kShelfSize;
  // Sector by sector from the front: a show whose erasing was cut short has lost its head, and is none.
  flash_shelf.erase = [](void*, std::uint32_t size) {
    pages.forget();
    return flash::erase(kShelf, (size + flash::kSector - 1) / flash::kSector * flash::kSector);
  };
  flash_shelf.write = [](void*, std::uint32_t offset, const std::uint8_t* bytes, std::uint32_t count) { return pages.put(offset, bytes, count); };
  flash_shelf.finish = [](void*) { return pages.write(); };
  flash_shelf.patience = [](void*) { feed_watchdog(kWatchdog_us); };
  return flash_shelf;
}

}  // namespace mien::board::rp2040
