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

template <class Part>
bool same_parts(const std::vector<std::shared_ptr<const Part>>& a, const std::vector<std::shared_ptr<const Part>>& b) noexcept {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const auto& x, const auto& y) { return x == y || *x == *y; });
}

template <class Part>
std::shared_ptr<const Part> find(const std::vector<std::shared_ptr<const Part>>& parts, std::string_view name) noexcept {
  for (const auto& part : parts)
    if (part->name == name) return part;
  return nullptr;
}

}  // namespace

Range heard_of(const Sound& sound, Time length) noexcept {
  const Time begin = std::clamp(sound.trim, Time{0}, std::max(length, Time{0})), left_out = std::clamp(sound.trim_end, Time{0}, std::max(length, Time{0}));
  return {begin, std::max(begin, length - left_out)};
}

bool same(const Show& a, const Show& b) noexcept {
  return a.name == b.name && a.rig_file == b.rig_file && a.length == b.length && a.loop == b.loop &&
         a.sounds == b.sounds && a.markers == b.markers &&
         same_parts(a.channels, b.channels) && same_parts(a.poses, b.poses) && same_parts(a.clips, b.clips) && same_parts(a.layers, b.layers) && a.cues == b.cues;
}

bool operator==(const Clip& a, const Clip& b) noexcept {
  return a.name == b.name && a.length == b.length && same_parts(a.channels, b.channels);
}

bool operator==(const Layer& a, const Layer& b) noexcept {
  return a.name == b.name && a.blend == b.blend && a.muted == b.muted && a.weight == b.weight && a.weight_curve == b.weight_curve && a.mask == b.mask &&
         a.placements == b.placements && a.idle == b.idle && same_parts(a.channels, b.channels);
}

PosePtr find_pose(const Show& show, std::string_view name) noexcept { return find(show.poses, name); }
ClipPtr find_clip(const Show& show, std::string_view name) noexcept { return find(show.clips, name); }
LayerPtr find_layer(const Show& show, std::string_view name) noexcept { return find(show.layers, name); }

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
