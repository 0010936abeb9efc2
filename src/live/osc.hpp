// Open Sound Control as bytes: packets in, messages out, and back. Pure functions; no socket, no clock.
//
// Source: The Open Sound Control 1.0 Specification (M. Wright, 2002). Besides its four standard types (i f s b) the others that it lists are understood: h t d S c r m T F N I;
// arrays ([ ]) are not.
#pragma once
#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <variant>
#include <vector>

namespace mien::live {

inline constexpr std::size_t kMostOscArguments = 16, kMostOscMessages = 256;
inline constexpr int kDeepestOscBundle = 8;
inline constexpr std::uint64_t kOscAtOnce = 1;  ///< the time tag that stands for "immediately"
inline constexpr std::string_view kOscOwn = "/mien/";  ///< what addresses of Mien's own begin with

struct OscArgument {
  char type = 'N';           ///< its type tag
  double number = 0;         ///< i h f d, T as 1, F as 0; c as its code; 0 for all others
  std::string_view text{};   ///< s S; the bytes of a blob
  bool is_number() const noexcept { return type == 'i' || type == 'h' || type == 'f' || type == 'd' || type == 'T' || type == 'F'; }
  bool is_text() const noexcept { return type == 's' || type == 'S'; }
};

/// Views into the packet that it was read from.
struct OscMessage {
  std::string_view address;  ///< may be a pattern
  std::uint64_t time_tag = kOscAtOnce;  ///< of the innermost bundle around it
  std::size_t count = 0;
  std::array<OscArgument, kMostOscArguments> argument{};
  std::span<const std::uint8_t> bytes{};  ///< the message itself, a packet of its own
};

/// All messages of a packet, in its order. False, and `out` empty, where anything about it is not as the standard has it, or there is more than the bounds above allow: nothing
/// of a broken packet is obeyed.
bool read_osc(std::span<const std::uint8_t> packet, std::vector<OscMessage>& out);

/// Whether an address pattern, with ? * [a-z] [!a-z] {one,two}, meets an address; none of them crosses a '/'. A pattern that takes absurdly long meets nothing.
bool osc_match(std::string_view pattern, std::string_view address) noexcept;

/// A time tag (seconds since 1900 and 2^-32 s, as in NTP) as nanoseconds since 1970, and back. Precondition: not kOscAtOnce, for that is no time.
std::int64_t unix_ns_of(std::uint64_t time_tag) noexcept;
std::uint64_t time_tag_of(std::int64_t unix_ns) noexcept;

using OscValue = std::variant<std::int32_t, float, std::string_view>;
/// A message as a packet.
std::vector<std::uint8_t> write_osc(std::string_view address, std::span<const OscValue> arguments);
/// Packets, which may be bundles themselves, in a bundle.
std::vector<std::uint8_t> write_osc_bundle(std::uint64_t time_tag, std::span<const std::vector<std::uint8_t>> packets);

}  // namespace mien::live
