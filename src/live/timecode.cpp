#include "live/timecode.hpp"

#include <cstdio>

namespace mien::live {
namespace {

constexpr std::int64_t kDay_s = 86'400, kSecond_ns = 1'000'000'000;
constexpr int kDropped = 2;                              // labels a minute
constexpr std::int64_t kTenMinutes = 10 * 60 * 30 - 9 * kDropped;  // 17,982 frames
constexpr std::int64_t kMinute = 60 * 30 - kDropped;     // 1,798

bool drops(TimeCodeRate rate) noexcept { return rate == TimeCodeRate::fps_30_drop; }

// A frame lasts numerator / denominator seconds.
struct Frame { std::int64_t numerator, denominator; };
Frame frame(TimeCodeRate rate) noexcept { return drops(rate) ? Frame{1001, 30'000} : Frame{1, labels_per_second(rate)}; }

}  // namespace

int labels_per_second(TimeCodeRate rate) noexcept { return rate == TimeCodeRate::fps_24 ? 24 : rate == TimeCodeRate::fps_25 ? 25 : 30; }

std::int64_t frames_per_day(TimeCodeRate rate) noexcept { return drops(rate) ? kTenMinutes * 144 : kDay_s * labels_per_second(rate); }

bool valid(const TimeCode& c) noexcept {
  const auto in = [](int value, int end) { return value >= 0 && value < end; };
  if (!in(c.hours, 24) || !in(c.minutes, 60) || !in(c.seconds, 60) || !in(c.frames, labels_per_second(c.rate))) return false;
  return !(drops(c.rate) && c.seconds == 0 && c.frames < kDropped && c.minutes % 10 != 0);
}

std::int64_t frame_of(const TimeCode& c) noexcept {
  const std::int64_t minutes = c.hours * 60 + c.minutes, label = (minutes * 60 + c.seconds) * labels_per_second(c.rate) + c.frames;
  return drops(c.rate) ? label - kDropped * (minutes - minutes / 10) : label;
}

TimeCode label_of(TimeCodeRate rate, std::int64_t n) noexcept {
  const std::int64_t day = frames_per_day(rate);
  n = ((n % day) + day) % day;
  if (drops(rate)) {  // put the left-out labels back in: 18 in each ten minutes, 2 in each minute of those but the first
    const std::int64_t tens = n / kTenMinutes, into = n % kTenMinutes;
    n += 9 * kDropped * tens + (into < 1800 ? 0 : kDropped * (1 + (into - 1800) / kMinute));
  }
  const int fps = labels_per_second(rate);
  const std::int64_t s = n / fps;
  return {rate, static_cast<int>(s / 3600), static_cast<int>(s / 60 % 60), static_cast<int>(s % 60), static_cast<int>(n % fps)};
}

// Seconds and rest apart, so that nothing overflows for centuries.
show::Time time_of(TimeCodeRate rate, std::int64_t n) noexcept {
  const auto [numerator, denominator] = frame(rate);
  const std::int64_t units = n * numerator;
  std::int64_t seconds = units / denominator, rest = units % denominator;
  if (rest < 0) --seconds, rest += denominator;
  return show::Time{seconds * kSecond_ns + (rest * kSecond_ns + denominator / 2) / denominator};
}

std::int64_t frame_at(TimeCodeRate rate, show::Time time) noexcept {
  const auto [numerator, denominator] = frame(rate);
  std::int64_t seconds = time.count() / kSecond_ns, rest = time.count() % kSecond_ns;
  if (rest < 0) --seconds, rest += kSecond_ns;
  const std::int64_t units = seconds * denominator + rest * denominator / kSecond_ns;
  std::int64_t n = units >= 0 ? units / numerator : (units - numerator + 1) / numerator;
  while (time_of(rate, n + 1) <= time) ++n;  // what was rounded, at most a step
  while (time_of(rate, n) > time) --n;
  return n;
}

std::string to_text(const TimeCode& c) {
  char text[64];
  std::snprintf(text, sizeof text, "%02d:%02d:%02d%c%02d", c.hours, c.minutes, c.seconds, drops(c.rate) ? ';' : ':', c.frames);
  return text;
}

std::uint8_t quarter_frame(const TimeCode& c, int piece) noexcept {
  const int fields[4] = {c.frames, c.seconds, c.minutes, c.hours | static_cast<int>(c.rate) << 5};
  const int field = fields[(piece & 7) / 2];
  return static_cast<std::uint8_t>((piece & 7) << 4 | (piece & 1 ? field >> 4 & 0x0F : field & 0x0F));
}

std::array<std::uint8_t, 4> full_frame(const TimeCode& c) noexcept {
  return {static_cast<std::uint8_t>(static_cast<int>(c.rate) << 5 | c.hours), static_cast<std::uint8_t>(c.minutes), static_cast<std::uint8_t>(c.seconds), static_cast<std::uint8_t>(c.frames)};
}

std::optional<TimeCode> parse_full_frame(const std::array<std::uint8_t, 4>& b) noexcept {
  const TimeCode code{static_cast<TimeCodeRate>(b[0] >> 5 & 3), b[0] & 0x1F, b[1] & 0x3F, b[2] & 0x3F, b[3] & 0x1F};
  if (!valid(code)) return std::nullopt;
  return code;
}

std::optional<TimeCode> QuarterFrames::feed(std::uint8_t data) noexcept {
  const int piece = data >> 4 & 7;
  if (piece != next_) {
    next_ = 0;
    if (piece != 0) return std::nullopt;
  }
  piece_[static_cast<std::size_t>(piece)] = data & 0x0F;
  next_ = piece + 1;
  if (piece != 7) return std::nullopt;
  next_ = 0;
  const auto joined = [&](std::size_t low) { return static_cast<std::uint8_t>(piece_[low] | piece_[low + 1] << 4); };
  const auto code = parse_full_frame({joined(6), joined(4), joined(2), joined(0)});
  if (!code) return std::nullopt;
  return label_of(code->rate, frame_of(*code) + 2);
}

}  // namespace mien::live
