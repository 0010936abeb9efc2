// A baked show's way into the board's memory, piece by piece.
#pragma once
#include "board/baked.hpp"
#include "board/verdict.hpp"
#include "wire/baked.hpp"

namespace mien::board {

/// Where a board keeps a baked show: memory that lasts, can be erased, and is then written from its beginning. `bytes` shows it in place.
struct Shelf {
  void* context = nullptr;
  const std::uint8_t* bytes = nullptr;
  std::uint32_t capacity = 0;  ///< 0: the board keeps none
  /// Makes the first `size` bytes writable; what was there is gone. False where it failed.
  bool (*erase)(void* context, std::uint32_t size) = nullptr;
  /// `offset` is a multiple of wire::kMaxChunk, `count` at most that.
  bool (*write)(void* context, std::uint32_t offset, const std::uint8_t* bytes, std::uint32_t count) = nullptr;
  /// The last byte was written: `bytes` has to show them all from now on. False where it failed; null: it always does.
  bool (*finish)(void* context) = nullptr;
  /// Called every few kilobytes while all that is stored is read at a stretch, for a watchdog's sake; null: nobody minds.
  void (*patience)(void* context) = nullptr;
};

class Storage {
 public:
  explicit Storage(const Shelf& shelf) noexcept : shelf_(shelf) {}

  Verdict begin(std::uint32_t size) noexcept;
  /// In order; the newest one again is no error and changes nothing.
  Verdict add(const wire::StoreChunk& chunk) noexcept;
  /// Whether all of it came and has this CRC.
  Verdict commit(std::uint16_t crc) const noexcept;
  wire::Bytes stored() const noexcept { return {shelf_.bytes, shelf_.capacity}; }
  /// What the board's memory says of itself: read and walked, byte by byte. `out` as from read().
  BakeFault inspect(Baked& out) const noexcept;
  std::uint32_t capacity() const noexcept { return shelf_.capacity; }

 private:
  void be_patient() const noexcept;
  Shelf shelf_;
  std::uint32_t size_ = 0, written_ = 0;  // of what is being stored
};

}  // namespace mien::board
