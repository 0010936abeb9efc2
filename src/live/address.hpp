// IPv4 addresses, and lists of those that may be heard, as text and as numbers.
#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"

namespace mien::live {

inline constexpr std::uint32_t kLoopback = 0x7F00'0001;  ///< 127.0.0.1: this machine, from this machine

/// Where a packet came from or goes to; the most significant byte of `ip` is the address's first.
struct NetAddress {
  std::uint32_t ip = 0;
  std::uint16_t port = 0;
  friend bool operator==(const NetAddress&, const NetAddress&) = default;
};
std::string to_text(const NetAddress& address);  ///< "10.0.0.7:9000"
std::string ip_text(std::uint32_t ip);
std::optional<std::uint32_t> parse_ip(std::string_view text) noexcept;  ///< four numbers from 0 to 255 with dots, nothing else
bool is_loopback(std::uint32_t ip) noexcept;                            ///< 127.0.0.0/8

/// All addresses whose first `bits` bits are those of `ip`.
struct AddressRange {
  std::uint32_t ip = 0;
  int bits = 32;
  bool contains(std::uint32_t address) const noexcept;
  friend bool operator==(const AddressRange&, const AddressRange&) = default;
};
/// "10.0.0.7, 192.168.1.0/24": a list of any length; empty text is an empty list. `place` names it in the finding.
show::Result<std::vector<AddressRange>> parse_ranges(std::string_view text, const std::string& place);
/// Whether an address is in one of them; an empty list has all.
bool allowed(const std::vector<AddressRange>& ranges, std::uint32_t ip) noexcept;

}  // namespace mien::live
