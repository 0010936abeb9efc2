#include "editor/view.hpp"

#include <algorithm>
#include <cstdio>

namespace mien::editor {
namespace {
using std::int64_t;
constexpr int64_t kLeastView = 50'000'000;
constexpr int64_t kLeastLength = 1'000'000'000;
}  // namespace

show::Range sane_view(show::Range wanted, show::Time length) noexcept {
  const int64_t whole = std::max<int64_t>(length.count(), kLeastLength);
  const int64_t span = std::clamp<int64_t>((wanted.end - wanted.begin).count(), kLeastView, 4 * whole);
  const int64_t begin = std::clamp<int64_t>(wanted.begin.count(), -span / 2, whole - span / 2);
  return {show::Time{begin}, show::Time{begin + span}};
}

show::Range zoomed(show::Range range, show::Time about, double factor, show::Time length) noexcept {
  const int64_t whole = std::max<int64_t>(length.count(), kLeastLength);
  const double before = static_cast<double>(range.length().count());
  const double after = std::clamp(before * factor, static_cast<double>(kLeastView), 4.0 * static_cast<double>(whole));
  const double share = static_cast<double>((about - range.begin).count()) / before;
  const auto begin = about.count() - static_cast<int64_t>(std::llround(share * after));
  return sane_view({show::Time{begin}, show::Time{begin + static_cast<int64_t>(std::llround(after))}}, length);
}

show::Range panned(show::Range range, show::Time by, show::Time length) noexcept {
  return sane_view({range.begin + by, range.end + by}, length);
}

show::Range fitted(show::Time length) noexcept {
  const show::Time whole = std::max(length, show::Time{kLeastLength});
  const show::Time air = whole / 50;
  return {-air, whole + air};
}

show::Time snapped(show::Time time, show::Time step) noexcept {
  if (step.count() <= 0) return time;
  const int64_t half = step.count() / 2;
  const int64_t n = time.count() >= 0 ? (time.count() + half) / step.count() : -((-time.count() + half) / step.count());
  return show::Time{n * step.count()};
}

std::string clock_text(show::Time time) {
  const int64_t ms = (time.count() + (time.count() < 0 ? -500'000 : 500'000)) / 1'000'000;
  const int64_t at = ms < 0 ? -ms : ms;
  char text[48];
  std::snprintf(text, sizeof text, "%s%lld:%02lld.%03lld", ms < 0 ? "-" : "", static_cast<long long>(at / 60'000),
                static_cast<long long>(at / 1000 % 60), static_cast<long long>(at % 1000));
  return text;
}

std::string percent_text(double share) { return std::to_string(std::llround(share * 100)) + " %"; }

std::string time_text(const View& view, show::Time time) { return view.timecode ? show::timecode(view.rate, show::frame_at(view.rate, time)) : seconds_text(time); }

std::string seconds_text(show::Time time) {
  char text[48];
  std::snprintf(text, sizeof text, "%.3f s", show::to_seconds(time));
  return text;
}

std::string value_text(double value, const std::string& unit, double range) {
  const int decimals = range >= 50 ? 1 : range >= 5 ? 2 : 3;
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value == 0 ? 0.0 : value);
  return unit.empty() || unit == "1" ? text : std::string(text) + " " + unit;
}

}  // namespace mien::editor
