// A baked show's way into the board's memory, piece by piece.
#pragma once
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
  std::uint32_t capacity() const noexcept { return shelf_.capacity; }

 private:
  Shelf shelf_;
  std::uint32_t size_ = 0, written_ = 0;  // of what is being stored
};

}  // namespace mien::board
