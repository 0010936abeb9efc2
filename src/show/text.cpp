#include "show/text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <vector>

namespace mien::show {
namespace {

constexpr std::int64_t kSecond = 1'000'000'000;
constexpr std::int64_t kFarthestSeconds = 9'000'000'000;  // the reach of from_seconds()
constexpr std::size_t kLongestCompared = 64;              // longer names are not worth a quadratic comparison

char lower(char c) noexcept { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }

// Optimal string alignment: edits and swaps of neighbours, none touching the same letters twice.
std::size_t distance(std::string_view a, std::string_view b) {
  const std::size_t width = b.size() + 1;
  std::vector<std::size_t> rows(3 * width);
  auto at = [&](std::size_t i, std::size_t j) -> std::size_t& { return rows[(i % 3) * width + j]; };
  for (std::size_t j = 0; j <= b.size(); ++j) at(0, j) = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    at(i, 0) = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = lower(a[i - 1]) == lower(b[j - 1]) ? 0 : 1;
      at(i, j) = std::min({at(i - 1, j) + 1, at(i, j - 1) + 1, at(i - 1, j - 1) + change});
      const bool swapped = i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]);
      if (swapped) at(i, j) = std::min(at(i, j), at(i - 2, j - 2) + 1);
    }
  }
  return at(a.size(), b.size());
}

// Plain decimals with at most nine places, the form that put_seconds writes; anything else is left to the caller.
std::optional<Time> parse_plain_seconds(std::string_view text) noexcept {
  const bool negative = !text.empty() && text[0] == '-';
  std::size_t i = negative ? 1 : 0;
  const std::size_t first = i;
  std::int64_t seconds = 0;
  for (; i < text.size() && is_digit(text[i]); ++i) {
    seconds = seconds * 10 + (text[i] - '0');
    if (seconds >= kFarthestSeconds) return std::nullopt;
  }
  if (i == first) return std::nullopt;
  std::int64_t ns = seconds * kSecond;
  if (i < text.size()) {
    if (text[i++] != '.' || i == text.size()) return std::nullopt;
    for (std::int64_t unit = kSecond; i < text.size() && is_digit(text[i]) && unit > 1; ++i)
      ns += (text[i] - '0') * (unit /= 10);
    if (i < text.size()) return std::nullopt;
  }
  return Time{negative ? -ns : ns};
}

}  // namespace

char* put_number(char* out, double value) noexcept { return std::to_chars(out, out + kNumberRoom, value).ptr; }
char* put_number(char* out, float value) noexcept { return std::to_chars(out, out + kNumberRoom, value).ptr; }

char* put_seconds(char* out, Time time) noexcept {
  const std::int64_t ns = time.count();
  // Negated as unsigned, so that the most negative time has a magnitude too.
  const std::uint64_t magnitude = ns < 0 ? 0 - static_cast<std::uint64_t>(ns) : static_cast<std::uint64_t>(ns);
  if (ns < 0) *out++ = '-';
  out = std::to_chars(out, out + kNumberRoom, magnitude / kSecond).ptr;
  std::uint64_t rest = magnitude % kSecond;
  if (rest == 0) return out;
  *out++ = '.';
  for (std::uint64_t unit = kSecond / 10; rest > 0; unit /= 10) {
    *out++ = static_cast<char>('0' + rest / unit);
    rest %= unit;
  }
  return out;
}

std::string number_text(double value) {
  char text[kNumberRoom];
  return {text, put_number(text, value)};
}

std::string seconds_text(Time time) {
  char text[kNumberRoom];
  return {text, put_seconds(text, time)};
}

std::string small_letters(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

std::optional<double> parse_number(std::string_view text) noexcept {
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc{} || stop != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::optional<Time> parse_seconds(std::string_view text) noexcept {
  if (const auto plain = parse_plain_seconds(text)) return plain;
  const auto seconds = parse_number(text);
  if (!seconds || std::abs(*seconds) > static_cast<double>(kFarthestSeconds)) return std::nullopt;
  return from_seconds(*seconds);
}

std::string suggestion(std::string_view name, std::span<const std::string> candidates, const char* where_none) {
  if (candidates.empty()) return where_none;
  const std::string* best = nullptr;
  std::size_t best_distance = std::max<std::size_t>(1, name.size() / 3) + 1;
  for (const std::string& candidate : candidates) {
    if (name.size() > kLongestCompared || candidate.size() > kLongestCompared) continue;
    const std::size_t d = distance(name, candidate);
    if (d < best_distance) best = &candidate, best_distance = d;
  }
  if (best) return "Did you mean '" + *best + "'?";
  constexpr std::size_t kListed = 8;
  std::string text = "Known:";
  for (std::size_t i = 0; i < std::min(kListed, candidates.size()); ++i)
    text += (i ? ", '" : " '") + candidates[i] + "'";
  return text + (candidates.size() > kListed ? ", ..." : "");
}

}  // namespace mien::show
