#include "show/mirror.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "show/roles.hpp"

namespace mien::show {
namespace {

// What a control does to each role, in the axes' own units; a closing counts as its way from the offset.
using Effect = std::array<double, kRoleCount>;

std::string swapped(std::string name) {
  for (const auto& [from, to] : {std::pair{"left", "right"}, std::pair{"right", "left"}, std::pair{"Left", "Right"}, std::pair{"Right", "Left"}}) {
    const auto at = name.find(from);
    if (at != std::string::npos) return name.replace(at, std::string(from).size(), to);
  }
  return {};
}

bool turns(Role role) noexcept {
  return role == Role::eye_yaw_left || role == Role::eye_yaw_right || role == Role::jaw_side || role == Role::neck_yaw || role == Role::neck_roll;
}

// The effect seen in a mirror.
Effect reflected(const Effect& effect) {
  Effect seen{};
  for (int r = 0; r < kRoleCount; ++r) {
    const auto role = static_cast<Role>(r);
    const auto twin = parse_role(swapped(std::string(name(role))));
    seen[static_cast<std::size_t>(twin.value_or(role))] = turns(role) ? -effect[static_cast<std::size_t>(r)] : effect[static_cast<std::size_t>(r)];
  }
  return seen;
}

// Heads are built by hand, so the two sides need not agree to the last tenth.
bool alike(const Effect& a, const Effect& b, double sign) noexcept {
  constexpr double kShare = 0.3;
  double apart = 0, size = 0;
  for (std::size_t r = 0; r < a.size(); ++r) apart += std::abs(a[r] - sign * b[r]), size += std::abs(a[r]) + std::abs(b[r]);
  return size > 0 && apart <= kShare * size;
}

Effect effect_of(const Rig& rig, const std::string& control) {
  Effect effect{};
  for (const Mapping& mapping : rig.mappings)
    for (const Axis& axis : mapping.axes) {
      const auto role = parse_role(axis.role);
      if (!role) continue;
      double& to = effect[static_cast<std::size_t>(*role)];
      for (const Term& term : axis.terms) {
        const bool by_eye = rig.gaze && control == rig.gaze->yaw && (term.control == rig.gaze->left || term.control == rig.gaze->right);
        if (term.control == control || by_eye) to += term.weight;
      }
      if (axis.closing && axis.closing->control == control) to += axis.closing->value - axis.offset;
    }
  return effect;
}

int control_at(const Rig& rig, const std::string& control) noexcept {
  for (std::size_t c = 0; c < rig.controls.size(); ++c)
    if (rig.controls[c].name == control) return static_cast<int>(c);
  return -1;
}

double carried(const Rig& rig, int from, const Mirror& mirror, double value) noexcept {
  const double away = value - rig.controls[static_cast<std::size_t>(from)].rest;
  return rig.controls[static_cast<std::size_t>(mirror.other)].rest + (mirror.turned ? -away : away);
}

Channel mirrored(const Channel& channel, const Rig& rig, const std::vector<Mirror>& mirrors) {
  const int c = control_at(rig, channel.control);
  if (c < 0) return channel;
  const Mirror& mirror = mirrors[static_cast<std::size_t>(c)];
  Channel seen{rig.controls[static_cast<std::size_t>(mirror.other)].name, channel.keys};
  for (Keyframe& key : seen.keys) key.value = carried(rig, c, mirror, key.value);
  return seen;
}

}  // namespace

std::vector<Mirror> mirrors_of(const Rig& rig) {
  std::vector<Effect> effects;
  for (const Control& control : rig.controls) effects.push_back(effect_of(rig, control.name));
  std::vector<Mirror> mirrors;
  for (std::size_t c = 0; c < rig.controls.size(); ++c) {
    const int self = static_cast<int>(c), named = control_at(rig, swapped(rig.controls[c].name));
    Mirror mirror{named >= 0 ? named : self, false};
    const Effect seen = reflected(effects[c]);
    if (named < 0 && !alike(effects[c], seen, 1)) {
      mirror.turned = alike(effects[c], seen, -1);
      for (std::size_t other = 0; other < effects.size() && !mirror.turned && mirror.other == self; ++other)
        if (other != c && alike(effects[other], seen, 1)) mirror.other = static_cast<int>(other);
    }
    mirrors.push_back(mirror);
  }
  for (std::size_t c = 0; c < mirrors.size(); ++c)  // a twin that has another twin is none
    if (mirrors[static_cast<std::size_t>(mirrors[c].other)].other != static_cast<int>(c)) mirrors[c].other = static_cast<int>(c);
  return mirrors;
}

Pose mirrored(const Pose& pose, const Rig& rig) {
  const auto mirrors = mirrors_of(rig);
  Pose seen = pose;
  for (Pose::Value& value : seen.values) {
    const int c = control_at(rig, value.control);
    if (c < 0) continue;
    const Mirror& mirror = mirrors[static_cast<std::size_t>(c)];
    value = {rig.controls[static_cast<std::size_t>(mirror.other)].name, carried(rig, c, mirror, value.value)};
  }
  return seen;
}

Clip mirrored(const Clip& clip, const Rig& rig) {
  const auto mirrors = mirrors_of(rig);
  Clip seen = clip;
  for (ChannelPtr& channel : seen.channels) channel = std::make_shared<const Channel>(mirrored(*channel, rig, mirrors));
  return seen;
}

Show with_keys_mirrored(const Show& show, const Rig& rig, std::span<const KeyRef> keys, std::vector<KeyRef>* now) {
  if (now) now->clear();
  const auto mirrors = mirrors_of(rig);
  Show result = without_keys(show, keys);
  for (const auto& key : keys) {
    const Channel* channel = find_channel(show, key.control);
    if (!channel) continue;
    const auto at = std::find_if(channel->keys.begin(), channel->keys.end(), [&](const Keyframe& k) { return k.time == key.time; });
    if (at == channel->keys.end()) continue;
    const Channel seen = mirrored(Channel{key.control, {*at}}, rig, mirrors);
    result = with_key(result, seen.control, seen.keys.front());
    if (now) now->push_back({seen.control, key.time});
  }
  return result;
}

}  // namespace mien::show
