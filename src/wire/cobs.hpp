// Consistent Overhead Byte Stuffing (Cheshire & Baker, IEEE/ACM Transactions on Networking 7(2), 1999): rewrites any bytes
// without a zero, so that a zero on the line can only be the end of a packet. Neither function reads or writes a delimiter.
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::wire {

/// The most bytes that `size` bytes can grow to.
constexpr std::size_t cobs_bound(std::size_t size) noexcept { return size + size / 254 + 1; }

/// Encodes into `out` and returns the size, at least 1 (nothing becomes one byte 01); 0 where `capacity` doesn't hold it.
/// A full block of 254 bytes at the very end is not followed by an empty one.
std::size_t cobs_encode(const std::uint8_t* in, std::size_t size, std::uint8_t* out, std::size_t capacity) noexcept;

/// Decodes into `out`, which may be `in` itself; with and without an empty block after a full one at the end. False, with
/// `out_size` 0, for bytes that no encoder makes: none at all, a zero among them, a block that reaches past the end; and
/// where `capacity` doesn't hold the answer.
bool cobs_decode(const std::uint8_t* in, std::size_t size, std::uint8_t* out, std::size_t capacity,
                 std::size_t& out_size) noexcept;

}  // namespace mien::wire
