#include "show/show.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "show/text.hpp"

namespace mien::show {
namespace {

constexpr std::array<std::pair<std::string_view, Easing>, 7> kNamed{{{"hold", kHold},
                                                                     {"linear", kLinear},
                                                                     {"smooth", kSmooth},
                                                                     {"ease", kEase},
                                                                     {"ease-in", kEaseIn},
                                                                     {"ease-out", kEaseOut},
                                                                     {"ease-in-out", kEaseInOut}}};

bool same_channel(const ChannelPtr& a, const ChannelPtr& b) noexcept { return a == b || *a == *b; }

}  // namespace

bool same(const Show& a, const Show& b) noexcept {
  return a.name == b.name && a.rig_file == b.rig_file && a.length == b.length && a.loop == b.loop &&
         a.sounds == b.sounds && a.markers == b.markers &&
         std::equal(a.channels.begin(), a.channels.end(), b.channels.begin(), b.channels.end(), same_channel);
}

const Channel* find_channel(const Show& show, std::string_view control) noexcept {
  for (const ChannelPtr& channel : show.channels) {
    if (channel->control == control) return channel.get();
  }
  return nullptr;
}

std::string to_text(const Easing& easing) {
  for (const auto& [name, named] : kNamed) {
    if (easing == named) return std::string(name);
  }
  char text[16 + 4 * kNumberRoom] = "bezier(";
  char* end = text + 7;
  for (const float number : {easing.x1, easing.y1, easing.x2, easing.y2}) {
    end = put_number(end, number);
    *end++ = ' ';
  }
  end[-1] = ')';
  return {text, end};
}

std::optional<Easing> parse_easing(std::string_view text) {
  for (const auto& [name, named] : kNamed) {
    if (text == name) return named;
  }
  constexpr std::string_view kOpening = "bezier(";
  if (!text.starts_with(kOpening) || !text.ends_with(')')) return std::nullopt;
  const char* at = text.data() + kOpening.size();
  const char* end = text.data() + text.size() - 1;
  Easing easing{Easing::Kind::bezier};
  for (float* number : {&easing.x1, &easing.y1, &easing.x2, &easing.y2}) {
    while (at != end && *at == ' ') ++at;
    const auto [stop, error] = std::from_chars(at, end, *number);
    if (error != std::errc{} || !std::isfinite(*number) || (stop != end && *stop != ' ')) return std::nullopt;
    at = stop;
  }
  while (at != end && *at == ' ') ++at;
  const auto in_unit = [](float x) { return x >= 0 && x <= 1; };
  if (at != end || !in_unit(easing.x1) || !in_unit(easing.x2)) return std::nullopt;
  return easing;
}

}  // namespace mien::show
