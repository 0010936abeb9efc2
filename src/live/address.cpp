#include "live/address.hpp"

#include <algorithm>
#include <charconv>

namespace mien::live {
namespace {

// The whole of `text` as a number from 0 to `most`.
std::optional<std::uint32_t> number(std::string_view text, std::uint32_t most) noexcept {
  std::uint32_t value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || text.size() > 3 || read.ec != std::errc{} || read.ptr != text.data() + text.size() || value > most) return std::nullopt;
  return value;
}

std::string_view trimmed(std::string_view text) noexcept {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

}  // namespace

std::string ip_text(std::uint32_t ip) {
  std::string text;
  for (int shift = 24; shift >= 0; shift -= 8) text += std::to_string(ip >> shift & 0xFF) + (shift ? "." : "");
  return text;
}

std::string to_text(const NetAddress& address) { return ip_text(address.ip) + ":" + std::to_string(address.port); }

std::optional<std::uint32_t> parse_ip(std::string_view text) noexcept {
  std::uint32_t ip = 0;
  for (int part = 0; part < 4; ++part) {
    const auto dot = text.find('.');
    if ((dot == text.npos) != (part == 3)) return std::nullopt;
    const auto byte = number(text.substr(0, dot), 255);
    if (!byte) return std::nullopt;
    ip = ip << 8 | *byte;
    text.remove_prefix(part == 3 ? text.size() : dot + 1);
  }
  return ip;
}

bool is_loopback(std::uint32_t ip) noexcept { return ip >> 24 == 127; }

bool AddressRange::contains(std::uint32_t address) const noexcept { return bits <= 0 || (ip ^ address) >> (32 - std::min(bits, 32)) == 0; }

show::Result<std::vector<AddressRange>> parse_ranges(std::string_view text, const std::string& place) {
  std::vector<AddressRange> ranges;
  if (trimmed(text).empty()) return ranges;
  for (;;) {
    const auto comma = text.find(',');
    const auto one = trimmed(text.substr(0, comma));
    const auto slash = one.find('/');
    const auto ip = parse_ip(one.substr(0, slash));
    const auto bits = slash == one.npos ? std::optional(32u) : number(one.substr(slash + 1), 32);
    if (!ip || !bits) return show::Finding{show::Severity::error, "", place, "'" + std::string(one) + "' is no address", "Write four numbers with dots, as in 10.0.0.7, or the beginning of a network and its bits, as in 10.0.0.0/24; a comma between two."};
    ranges.push_back({*ip, static_cast<int>(*bits)});
    if (comma == text.npos) return ranges;
    text.remove_prefix(comma + 1);
  }
}

bool allowed(const std::vector<AddressRange>& ranges, std::uint32_t ip) noexcept {
  return ranges.empty() || std::any_of(ranges.begin(), ranges.end(), [&](const AddressRange& r) { return r.contains(ip); });
}

}  // namespace mien::live
