#include "live/osc.hpp"

#include <bit>
#include <optional>

namespace mien::live {
namespace {

using Bytes = std::span<const std::uint8_t>;
using std::string_view_literals::operator""sv;

constexpr auto kBundle = "#bundle\0"sv;
constexpr std::int64_t kFrom1900To1970_s = 2'208'988'800;
constexpr int kMostSteps = 20'000;

std::string_view text_of(Bytes bytes) noexcept { return {reinterpret_cast<const char*>(bytes.data()), bytes.size()}; }

// Takes from the front what is asked for; once something is not there it is broken for good.
class Cursor {
 public:
  explicit Cursor(Bytes bytes) noexcept : rest_(bytes) {}
  bool ok() const noexcept { return ok_; }
  bool done() const noexcept { return rest_.empty(); }

  Bytes take(std::size_t count) noexcept {
    if (count > rest_.size()) return ok_ = false, Bytes{};
    const Bytes taken = rest_.first(count);
    rest_ = rest_.subspan(count);
    return taken;
  }
  std::uint32_t u32() noexcept {
    std::uint32_t value = 0;
    for (const auto byte : take(4)) value = value << 8 | byte;
    return value;
  }
  std::uint64_t u64() noexcept {
    const std::uint64_t high = u32();
    return high << 32 | u32();
  }
  // A text ends with one to four zeros, so that the next thing begins at a multiple of four.
  std::string_view text() noexcept {
    const auto end = text_of(rest_).find('\0');
    if (end == std::string_view::npos) return ok_ = false, std::string_view{};
    const Bytes taken = take(padded(end + 1));
    for (std::size_t n = end; n < taken.size(); ++n) ok_ &= taken[n] == 0;
    return text_of(taken).substr(0, taken.empty() ? 0 : end);
  }
  std::string_view blob() noexcept {
    const std::uint32_t size = u32();
    if (size > rest_.size()) return ok_ = false, std::string_view{};
    return text_of(take(padded(size))).substr(0, size);
  }

 private:
  static std::size_t padded(std::size_t size) noexcept { return (size + 3) / 4 * 4; }
  Bytes rest_;
  bool ok_ = true;
};

bool read_argument(Cursor& in, OscArgument& a) noexcept {
  switch (a.type) {
    case 'i': a.number = static_cast<std::int32_t>(in.u32()); break;
    case 'f': a.number = std::bit_cast<float>(in.u32()); break;
    case 'h': a.number = static_cast<double>(static_cast<std::int64_t>(in.u64())); break;
    case 'd': a.number = std::bit_cast<double>(in.u64()); break;
    case 's': case 'S': a.text = in.text(); break;
    case 'b': a.text = in.blob(); break;
    case 'c': a.number = in.u32(); break;
    case 't': in.u64(); break;
    case 'r': case 'm': in.u32(); break;
    case 'T': a.number = 1; break;
    case 'F': case 'N': case 'I': break;
    default: return false;  // how long it is can't be known
  }
  return in.ok();
}

bool read_message(Bytes bytes, std::uint64_t time_tag, std::vector<OscMessage>& out) {
  if (out.size() == kMostOscMessages) return false;
  Cursor in(bytes);
  OscMessage message;
  message.address = in.text();
  message.time_tag = time_tag;
  message.bytes = bytes;
  if (!in.ok() || !message.address.starts_with('/')) return false;
  // The standard asks to bear with old senders that leave the type tags out: their arguments are not known, so there are none.
  if (in.done()) return out.push_back(message), true;
  const std::string_view tags = in.text();
  if (!in.ok()) return false;
  if (!tags.starts_with(',')) return out.push_back(message), true;
  for (const char tag : tags.substr(1)) {
    if (message.count == kMostOscArguments) return false;
    OscArgument& a = message.argument[message.count++];
    a.type = tag;
    if (!read_argument(in, a)) return false;
  }
  if (!in.done()) return false;
  return out.push_back(message), true;
}

bool read_packet(Bytes bytes, std::uint64_t time_tag, int depth, std::vector<OscMessage>& out) {
  if (bytes.empty() || bytes.size() % 4 != 0) return false;
  if (!text_of(bytes).starts_with(kBundle)) return read_message(bytes, time_tag, out);
  if (depth == kDeepestOscBundle) return false;
  Cursor in(bytes.subspan(kBundle.size()));
  const std::uint64_t tag = in.u64();
  while (in.ok() && !in.done()) {
    const Bytes element = in.take(in.u32());
    if (!in.ok() || !read_packet(element, tag, depth + 1, out)) return false;
  }
  return in.ok();
}

// A pattern's "[...]" against a character; `pattern` loses it. Nothing where it has no end.
std::optional<bool> takes_class(std::string_view& pattern, char c) noexcept {
  const auto end = pattern.find(']', 1);
  if (end == std::string_view::npos) return std::nullopt;
  std::string_view set = pattern.substr(1, end - 1);
  pattern.remove_prefix(end + 1);
  const bool inverted = set.starts_with('!');
  if (inverted) set.remove_prefix(1);
  bool in = false;
  for (std::size_t n = 0; n < set.size(); ++n) {
    if (n + 2 < set.size() && set[n + 1] == '-') in |= set[n] <= c && c <= set[n + 2], n += 2;
    else in |= set[n] == c;
  }
  return in != inverted;
}

bool match(std::string_view pattern, std::string_view address, int& steps) noexcept {
  while (!pattern.empty()) {
    if (--steps < 0) return false;
    const char p = pattern.front();
    if (p == '*') {
      while (pattern.starts_with('*')) pattern.remove_prefix(1);
      for (std::size_t n = 0;; ++n) {
        if (match(pattern, address.substr(n), steps)) return true;
        if (n == address.size() || address[n] == '/' || steps < 0) return false;
      }
    }
    if (p == '{') {
      const auto end = pattern.find('}');
      if (end == std::string_view::npos) return false;
      std::string_view words = pattern.substr(1, end - 1);
      const std::string_view rest = pattern.substr(end + 1);
      for (;;) {
        const std::string_view word = words.substr(0, words.find(','));
        if (address.starts_with(word) && match(rest, address.substr(word.size()), steps)) return true;
        if (word.size() == words.size() || steps < 0) return false;
        words.remove_prefix(word.size() + 1);
      }
    }
    if (address.empty()) return false;
    const char c = address.front();
    address.remove_prefix(1);
    if (p == '[') {
      const auto in = takes_class(pattern, c);
      if (!in || !*in || c == '/') return false;
      continue;
    }
    if (p == '?' ? c == '/' : p != c) return false;
    pattern.remove_prefix(1);
  }
  return address.empty();
}

void put(std::vector<std::uint8_t>& out, std::uint32_t value) {
  for (int shift = 24; shift >= 0; shift -= 8) out.push_back(static_cast<std::uint8_t>(value >> shift));
}
void put(std::vector<std::uint8_t>& out, std::string_view text) {
  out.insert(out.end(), text.begin(), text.end());
  do out.push_back(0);
  while (out.size() % 4 != 0);
}

}  // namespace

bool read_osc(std::span<const std::uint8_t> packet, std::vector<OscMessage>& out) {
  out.clear();
  if (read_packet(packet, kOscAtOnce, 0, out)) return true;
  out.clear();
  return false;
}

bool osc_match(std::string_view pattern, std::string_view address) noexcept {
  int steps = kMostSteps;
  return match(pattern, address, steps);
}

std::int64_t unix_ns_of(std::uint64_t tag) noexcept {
  const std::int64_t seconds = static_cast<std::int64_t>(tag >> 32) - kFrom1900To1970_s;
  return seconds * 1'000'000'000 + static_cast<std::int64_t>(((tag & 0xFFFF'FFFF) * 1'000'000'000 + (1ull << 31)) >> 32);
}

std::uint64_t time_tag_of(std::int64_t unix_ns) noexcept {
  const std::int64_t seconds = unix_ns / 1'000'000'000, rest = unix_ns % 1'000'000'000;
  return static_cast<std::uint64_t>(seconds + kFrom1900To1970_s) << 32 | ((static_cast<std::uint64_t>(rest) << 32) + 500'000'000) / 1'000'000'000;
}

std::vector<std::uint8_t> write_osc(std::string_view address, std::span<const OscValue> arguments) {
  std::vector<std::uint8_t> out;
  put(out, address);
  std::vector<std::uint8_t> tags{','};
  for (const auto& a : arguments) tags.push_back(static_cast<std::uint8_t>("ifs"[a.index()]));
  put(out, text_of(tags));
  for (const auto& a : arguments) {
    if (const auto* i = std::get_if<std::int32_t>(&a)) put(out, static_cast<std::uint32_t>(*i));
    if (const auto* f = std::get_if<float>(&a)) put(out, std::bit_cast<std::uint32_t>(*f));
    if (const auto* s = std::get_if<std::string_view>(&a)) put(out, *s);
  }
  return out;
}

std::vector<std::uint8_t> write_osc_bundle(std::uint64_t tag, std::span<const std::vector<std::uint8_t>> packets) {
  std::vector<std::uint8_t> out(kBundle.begin(), kBundle.end());
  put(out, static_cast<std::uint32_t>(tag >> 32));
  put(out, static_cast<std::uint32_t>(tag));
  for (const auto& packet : packets) {
    put(out, static_cast<std::uint32_t>(packet.size()));
    out.insert(out.end(), packet.begin(), packet.end());
  }
  return out;
}

}  // namespace mien::live
