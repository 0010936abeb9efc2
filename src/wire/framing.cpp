#include "wire/framing.hpp"

#include "wire/cobs.hpp"
#include "wire/crc16.hpp"

namespace mien::wire {

std::size_t seal(Bytes packet, std::uint8_t* out, std::size_t capacity) noexcept {
  if (packet.size < kMinPacket || packet.size > kMaxPacket || capacity == 0) return 0;
  std::uint8_t body[kMaxPacket + kCrcSize];
  for (std::size_t i = 0; i < packet.size; ++i) body[i] = packet.data[i];
  const std::uint16_t crc = crc16(packet.data, packet.size);
  body[packet.size] = static_cast<std::uint8_t>(crc >> 8);
  body[packet.size + 1] = static_cast<std::uint8_t>(crc & 0xFF);
  const std::size_t stuffed = cobs_encode(body, packet.size + kCrcSize, out, capacity - 1);
  if (stuffed == 0) return 0;
  out[stuffed] = kDelimiter;
  return stuffed + 1;
}

bool Deframer::push(std::uint8_t byte) noexcept {
  packet_size_ = 0;
  if (byte == kDelimiter) return finish();
  if (filled_ == kRoom) overlong_ = true;
  else buffer_[filled_++] = byte;
  return false;
}

bool Deframer::finish() noexcept {
  const std::size_t size = filled_;
  const bool overlong = overlong_;
  filled_ = 0;
  overlong_ = false;
  if (size == 0) return false;
  std::size_t decoded = 0;
  const bool given_up = buffer_[size - 1] == kGiveUp;  // before decoding in place writes over it
  if (overlong) {
    ++counters_.overlong;
  } else if (!cobs_decode(buffer_, size, buffer_, kRoom, decoded) || decoded < kMinPacket + kCrcSize) {
    ++(given_up ? counters_.given_up : counters_.malformed);
  } else if (crc16(buffer_, decoded) != 0) {
    ++counters_.bad_crc;
  } else {
    ++counters_.packets;
    packet_size_ = decoded - kCrcSize;
  }
  return packet_size_ != 0;
}

}  // namespace mien::wire
