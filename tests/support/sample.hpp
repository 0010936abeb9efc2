// Random rigs and shows that validate() has nothing to say against, for property tests. The same seed gives the same values.
#pragma once
#include <algorithm>
#include <memory>
#include <random>
#include <set>
#include <string>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::support {

using Random = std::mt19937_64;

inline double real(Random& random, double low, double high) { return std::uniform_real_distribution(low, high)(random); }
inline int whole(Random& random, int low, int high) { return std::uniform_int_distribution(low, high)(random); }
inline bool chance(Random& random, double share) { return real(random, 0, 1) < share; }

/// Awkward on purpose: quotes, commas, letters beyond ASCII. Unique through its number.
inline std::string name(Random& random, const std::string& kind, int number) {
  static const char* const kTails[] = {"", " left", "_b", ", \"wide\"", " \xC3\xBC" "ber", " \\ /", " ;\xE2\x82\xAC"};
  return kind + std::to_string(number) + kTails[whole(random, 0, 6)];
}

/// Up to `actuators` servos on as many boards as they need, one control for each, now and then with a second that joins in.
inline show::Rig rig(Random& random, int actuators = 12) {
  show::Rig rig;
  rig.name = name(random, "head", 0);
  rig.tick_hz = whole(random, 10, 1000);
  rig.latch_lead_ms = real(random, 0, 500);
  rig.creep_share = real(random, 0.01, 1);
  rig.watchdog = {real(random, 1, 1000), real(random, 1, 9000), real(random, 1, 9000)};
  for (int g = 0; g < 4; ++g) rig.groups.push_back({name(random, "group", g)});
  const int boards = std::clamp((actuators + 7) / 8, 1, show::kMaxBoards);
  for (int b = 0; b < boards; ++b) rig.boards.push_back({name(random, "board", b), b, show::kMaxOutputsPerBoard, {{"servos", real(random, 1, 20)}}});
  for (int i = 0; i < actuators; ++i) {
    const double min = real(random, -90, -5), max = real(random, 5, 90), rest = real(random, min, max);
    const double pulse = real(random, 400, 1400);
    const std::string group = rig.groups[static_cast<std::size_t>(whole(random, 0, 3))].name;
    show::Actuator actuator{name(random, "servo", i), group, rig.boards[static_cast<std::size_t>(i % boards)].name, "servos"};
    actuator.output = i / boards;
    actuator.min_deg = min, actuator.max_deg = max, actuator.rest_deg = rest;
    actuator.pulse_min_us = pulse, actuator.pulse_max_us = real(random, pulse + 1, 2600);
    actuator.reversed = chance(random, 0.5);
    actuator.velocity_deg_s = real(random, 1, 1000), actuator.acceleration_deg_s2 = real(random, 1, 50000);
    rig.actuators.push_back(actuator);
    rig.controls.push_back({name(random, "control", i), group, chance(random, 0.5) ? "deg" : "1", real(random, -50, -1), real(random, 1, 50), 0});
    show::Axis axis{"", rest, {{rig.controls.back().name, real(random, -2, 2)}}};
    if (i > 0 && chance(random, 0.3)) axis.terms.push_back({rig.controls.front().name, real(random, -2, 2)});
    rig.mappings.push_back({{axis}, show::Straight{}, {actuator.name}});
  }
  return rig;
}

inline show::Easing easing(Random& random) {
  static const show::Easing kNamed[] = {show::kHold, show::kLinear, show::kSmooth, show::kEase, show::kEaseIn, show::kEaseOut, show::kEaseInOut};
  if (chance(random, 0.7)) return kNamed[whole(random, 0, 6)];
  const auto number = [&](double low, double high) { return static_cast<float>(real(random, low, high)); };
  return {show::Easing::Kind::bezier, number(0, 1), number(-2, 3), number(0, 1), number(-2, 3)};
}

/// Times on the nanosecond, anywhere in the show; values anywhere in the control's range.
inline show::ChannelPtr channel(Random& random, const show::Control& control, show::Time length, int keys) {
  std::set<std::int64_t> times;
  for (int k = 0; k < keys; ++k) times.insert(std::uniform_int_distribution<std::int64_t>(0, length.count())(random));
  show::Channel channel{control.name, {}};
  for (const std::int64_t t : times) channel.keys.push_back({show::Time{t}, real(random, control.min, control.max), easing(random)});
  return std::make_shared<const show::Channel>(std::move(channel));
}

/// A channel for most of the rig's controls, up to `most_keys` keys in each (now and then none).
inline show::Show show(Random& random, const show::Rig& rig, int most_keys = 40) {
  show::Show show;
  show.name = name(random, "show", 0);
  show.rig_file = "sample.rig.json";
  show.length = show::Time{std::uniform_int_distribution<std::int64_t>(1'000'000, 3'600'000'000'000)(random)};
  if (chance(random, 0.5)) show.loop = show::Range{show.length / 3, show.length / 2};
  for (int i = 0; i < 5; ++i) show.markers.push_back({show.length * i / 5, name(random, "marker", i)});
  for (const show::Control& control : rig.controls) {
    if (chance(random, 0.8)) show.channels.push_back(channel(random, control, show.length, whole(random, 0, most_keys)));
  }
  return show;
}

}  // namespace mien::support
