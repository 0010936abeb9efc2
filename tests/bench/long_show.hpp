// A show of a million keys on a rig of as many servos as there may be, the same for every measurement that has one.
#pragma once
#include <algorithm>
#include <chrono>
#include <cmath>

#include "support/sample.hpp"

namespace mien::tests {

/// 1 h; 15,625 keys in each of 64 channels, as an editor makes them: times on the millisecond, values of four digits, few easings of one's own.
struct LongShow {
  LongShow() {
    support::Random random(1);
    rig = support::rig(random, show::kMaxActuators);
    rig.tick_hz = 100;
    show.name = "long";
    show.rig_file = "long.rig.json";
    show.length = std::chrono::hours(1);
    for (const auto& control : rig.controls) {
      if (show.channels.size() < 64) show.channels.push_back(rounded(random, *support::channel(random, control, show.length, 15'700)));
    }
  }
  std::size_t keys() const {
    std::size_t sum = 0;
    for (const auto& c : show.channels) sum += c->keys.size();
    return sum;
  }
  show::Rig rig;
  show::Show show;

 private:
  static show::ChannelPtr rounded(support::Random& random, const show::Channel& channel) {
    show::Channel rounded{channel.control, {}};
    for (show::Keyframe key : channel.keys) {
      key.time = std::chrono::duration_cast<std::chrono::milliseconds>(key.time);
      key.value = std::clamp(std::round(key.value * 1e4) / 1e4, -50.0, 50.0);
      if (key.easing.kind == show::Easing::Kind::bezier && support::chance(random, 0.9)) key.easing = show::kSmooth;
      if ((rounded.keys.empty() || key.time > rounded.keys.back().time) && rounded.keys.size() < 15'625) rounded.keys.push_back(key);
    }
    return std::make_shared<const show::Channel>(std::move(rounded));
  }
};

}  // namespace mien::tests
