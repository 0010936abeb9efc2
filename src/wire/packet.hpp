// What every packet begins with, out and in. For the codecs alone.
#pragma once
#include "wire/fields.hpp"
#include "wire/messages.hpp"

namespace mien::wire {

/// A packet under construction: head first, then the fields, then seal().
struct Packet {
  std::uint8_t room[kMaxPacket] = {};
  Writer to{room, kMaxPacket};

  explicit Packet(Type type) noexcept { to.u8(kVersion), to.u8(static_cast<unsigned>(type)); }
  Packet(Type type, std::uint8_t address, std::uint8_t token) noexcept : Packet(type) { to.u8(address), to.u8(token); }

  std::size_t seal(std::uint8_t* out, std::size_t capacity) const noexcept {
    return to.ok() ? wire::seal(to.bytes(), out, capacity) : 0;
  }
};

/// Reads past the head of a message with an address; false, and the reader bad, for another type or version.
template <class Message>
bool open(Reader& from, Type type, Message& out) noexcept {
  if (from.u8() != kVersion || from.u8() != static_cast<std::uint8_t>(type)) from.fail();
  out.address = from.u8();
  out.token = from.u8();
  return from.ok();
}

}  // namespace mien::wire
