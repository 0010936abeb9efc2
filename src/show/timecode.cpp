#include "show/timecode.hpp"

#include <array>
#include <cstdio>

namespace mien::show {
namespace {

// A frame lasts per / frames seconds.
struct Ratio { std::int64_t frames, per; };
constexpr Ratio ratio(FrameRate rate) noexcept {
  switch (rate) {
    case FrameRate::f24: return {24, 1};
    case FrameRate::f25: return {25, 1};
    case FrameRate::f2997_drop: return {30'000, 1001};
    case FrameRate::f30: return {30, 1};
  }
  return {25, 1};
}

constexpr int labels_a_second(FrameRate rate) noexcept { return rate == FrameRate::f24 ? 24 : rate == FrameRate::f25 ? 25 : 30; }
constexpr std::int64_t kDropTenMinutes = 17'982, kDropMinute = 1'798, kMostParsed = std::int64_t{1000} * 3600 * 30;

std::int64_t floor_div(std::int64_t a, std::int64_t b) noexcept { return a / b - (a % b < 0 ? 1 : 0); }

// With drop frame, the frame's number among all labels, those left out included: two more for each minute begun that no ten divides.
std::int64_t label_number(FrameRate rate, std::int64_t frame) noexcept {
  if (rate != FrameRate::f2997_drop) return frame;
  const std::int64_t tens = frame / kDropTenMinutes, rest = frame % kDropTenMinutes;
  return frame + 18 * tens + (rest < 1800 ? 0 : 2 * ((rest - 1800) / kDropMinute + 1));
}

}  // namespace

const char* name(FrameRate rate) noexcept {
  constexpr std::array kRateNames{"24", "25", "29.97 drop", "30"};
  return kRateNames[static_cast<std::size_t>(rate)];
}

Time frame_time(FrameRate rate, std::int64_t frame) noexcept {
  const auto [frames, per] = ratio(rate);
  // Whole groups of frames first, so that the product fits for any time that a show can have.
  const std::int64_t groups = floor_div(frame, frames), rest = frame - groups * frames;
  return Time{groups * per * 1'000'000'000 + (rest * per * 1'000'000'000 + frames / 2) / frames};
}

std::int64_t frame_at(FrameRate rate, Time time) noexcept {
  const auto [frames, per] = ratio(rate);
  const std::int64_t whole = per * 1'000'000'000, groups = floor_div(time.count(), whole);
  const auto share = static_cast<double>(time.count() - groups * whole) / static_cast<double>(whole);
  std::int64_t frame = groups * frames + static_cast<std::int64_t>(share * static_cast<double>(frames));
  while (frame_time(rate, frame) > time) --frame;
  while (frame_time(rate, frame + 1) <= time) ++frame;
  return frame;
}

Time snapped_to_frame(FrameRate rate, Time time) noexcept {
  const std::int64_t frame = frame_at(rate, time);
  const Time before = frame_time(rate, frame), after = frame_time(rate, frame + 1);
  return time - before < after - time ? before : after;
}

std::string timecode(FrameRate rate, std::int64_t frame) {
  const std::int64_t label = label_number(rate, frame < 0 ? -frame : frame), a_second = labels_a_second(rate);
  const auto part = [&](std::int64_t per, std::int64_t most) { return static_cast<int>(label / per % most); };
  char text[48];
  std::snprintf(text, sizeof text, "%s%02lld:%02d:%02d%c%02d", frame < 0 ? "-" : "", static_cast<long long>(label / (3600 * a_second)), part(60 * a_second, 60), part(a_second, 60),
                rate == FrameRate::f2997_drop ? ';' : ':', part(1, a_second));
  return text;
}

std::optional<std::int64_t> parse_timecode(FrameRate rate, std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  std::array<std::int64_t, 4> parts{};  // hours to frames
  std::size_t count = 0;
  bool digits = false;
  for (const char c : text) {
    if (c == ':' || c == ';') {
      if (!digits || count == 3) return {};
      ++count, digits = false;
    } else if (c >= '0' && c <= '9') {
      parts[count] = parts[count] * 10 + (c - '0'), digits = true;
      if (parts[count] > 100'000'000) return {};
    } else {
      return {};
    }
  }
  if (!digits) return {};
  std::array<std::int64_t, 4> full{};
  for (std::size_t i = 0; i <= count; ++i) full[3 - count + i] = parts[i];
  const auto [hours, minutes, seconds, frames] = full;
  const std::int64_t a_second = labels_a_second(rate);
  if (minutes >= 60 || seconds >= 60 || frames >= a_second || hours >= 1000) return {};
  const std::int64_t label = ((hours * 60 + minutes) * 60 + seconds) * a_second + frames;
  if (rate != FrameRate::f2997_drop || label > kMostParsed) return label;
  if (frames < 2 && seconds == 0 && minutes % 10 != 0) return {};
  const std::int64_t all_minutes = hours * 60 + minutes;
  return label - 2 * (all_minutes - all_minutes / 10);
}

}  // namespace mien::show
