#include "board/storage.hpp"

#include "wire/crc16.hpp"

namespace mien::board {
namespace {

constexpr Verdict kFailed{wire::Reason::store_failed};
constexpr std::uint32_t kAtOnce = 4096;

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
  if (written_ < size_ || shelf_.finish == nullptr || shelf_.finish(shelf_.context)) return {};
  size_ = written_ = 0;
  return kFailed;
}

Verdict Storage::commit(std::uint16_t crc) const noexcept {
  if (written_ != size_) return kFailed;
  std::uint16_t stored = wire::kCrcStart;
  for (std::uint32_t at = 0; at < size_; at += kAtOnce) {
    be_patient();
    stored = wire::crc16(shelf_.bytes + at, size_ - at < kAtOnce ? size_ - at : kAtOnce, stored);
  }
  return stored == crc ? Verdict{} : kFailed;
}

BakeFault Storage::inspect(Baked& out) const noexcept {
  const BakeFault head = read(stored(), out);
  if (head != BakeFault::none) return head;
  Check body;
  for (body.start(out); !body.over(); body.go_on(kAtOnce)) be_patient();
  return body.fault();
}

void Storage::be_patient() const noexcept {
  if (shelf_.patience != nullptr) shelf_.patience(shelf_.context);
}

}  // namespace mien::board
