#include "board/storage.hpp"

#include "wire/crc16.hpp"

namespace mien::board {
namespace {

constexpr Verdict kFailed{wire::Reason::store_failed};

}  // namespace

Verdict Storage::begin(std::uint32_t size) noexcept {
  size_ = written_ = 0;
  if (size > shelf_.capacity || shelf_.erase == nullptr || shelf_.write == nullptr) return {wire::Reason::no_room};
  // Even an empty show takes the place of the one before.
  if (!shelf_.erase(shelf_.context, size > 0 ? size : 1)) return kFailed;
  size_ = size;
  return {};
}

Verdict Storage::add(const wire::StoreChunk& chunk) noexcept {
  if (written_ >= chunk.count && chunk.offset == written_ - chunk.count) return {};
  if (chunk.offset != written_ || chunk.offset % wire::kMaxChunk != 0 || chunk.count > size_ - written_) return kFailed;
  if (!shelf_.write(shelf_.context, chunk.offset, chunk.bytes, chunk.count)) return kFailed;
  written_ += chunk.count;
  return {};
}

Verdict Storage::commit(std::uint16_t crc) const noexcept {
  return written_ == size_ && wire::crc16(shelf_.bytes, size_) == crc ? Verdict{} : kFailed;
}

}  // namespace mien::board
