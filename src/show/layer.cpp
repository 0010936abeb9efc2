#include "show/layer.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace mien::show {
namespace {

constexpr std::array kBlends{"over", "add"};
constexpr std::array kManners{"resting", "listening", "speaking", "reading"};

template <class Kind, std::size_t n>
std::optional<Kind> parse(const std::array<const char*, n>& names, std::string_view text) noexcept {
  for (std::size_t i = 0; i < n; ++i)
    if (text == names[i]) return static_cast<Kind>(i);
  return std::nullopt;
}

}  // namespace

Time duration(const Placement& p, Time clip_length) noexcept {
  if (clip_length <= Time{0} || p.repeats < 1 || !(p.rate > 0) || !std::isfinite(p.rate)) return Time{0};
  constexpr double kLongest_ns = 4.5e18;  // half of what a time holds, so that a start and a duration still add up
  const double clip_ns = std::min(static_cast<double>(clip_length.count()) * p.repeats, kLongest_ns) - static_cast<double>(p.offset.count());
  return Time{static_cast<std::int64_t>(std::clamp(std::round(clip_ns / p.rate), 0.0, kLongest_ns))};
}

const char* name(Layer::Blend blend) noexcept { return kBlends[static_cast<std::size_t>(blend) % kBlends.size()]; }
std::optional<Layer::Blend> parse_blend(std::string_view text) noexcept { return parse<Layer::Blend>(kBlends, text); }
const char* name(IdleLife::Manner manner) noexcept { return kManners[static_cast<std::size_t>(manner) % kManners.size()]; }
std::optional<IdleLife::Manner> parse_manner(std::string_view text) noexcept { return parse<IdleLife::Manner>(kManners, text); }

}  // namespace mien::show
