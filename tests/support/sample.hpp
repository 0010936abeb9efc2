// Random rigs and shows that validate() has nothing to say against, for property tests. The same seed gives the same values.
#pragma once
#include <algorithm>
#include <memory>
#include <random>
#include <set>
#include <string>
#include <tuple>

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

/// A response over the actuator's travel that closes, turns nowhere and puts the skin's x = 0 at rest; straight where the travel is too wide.
inline show::Response bent(Random& random, const show::Actuator& a) {
  const double middle = 0.5 * (a.min_deg + a.max_deg), span = a.max_deg - a.min_deg;
  if (chance(random, 0.3)) return show::Measured{{{real(random, -30, -10), a.min_deg}, {0, a.rest_deg}, {real(random, 10, 30), a.max_deg}}};
  if (span < 60 && chance(random, 0.5))
    return show::FourBar{real(random, 19, 21), real(random, 59, 61), real(random, 49, 51), real(random, 69, 71), false, 82 - middle};
  if (span > 120) return show::Straight{};
  const double horn = real(random, 5, 20);
  return show::SliderCrank{horn, horn * real(random, 3, 5), horn * real(random, -0.3, 0.3), chance(random, 0.5), (chance(random, 0.5) ? 90 : -90) - middle};
}

/// The mapping with a two-rod plate that is near level where its servos rest, asked for no more than it has.
inline show::Mapping plate(show::Mapping mapping, const show::TwoRodPlate& plate) {
  for (show::Axis& axis : mapping.axes) {
    for (show::Term& term : axis.terms) term.weight *= 0.03;
    if (axis.closing) axis.closing->value *= 0.4;
  }
  mapping.response = plate;
  return mapping;
}

/// Up to `actuators` servos on as many boards as they need, one control for each, now and then with a second that joins in, a blink or
/// an eye; now and then through a linkage, and with constraints that the rest pose keeps. perform::check_rig() has no error for it.
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
  rig.controls.push_back({"blink", rig.groups[0].name, "1", 0, 1, 0});
  if (chance(random, 0.5)) {
    for (const auto& [control, low, high] : {std::tuple{"yaw", -40.0, 40.0}, {"pitch", -30.0, 30.0}, {"far", 150.0, 5000.0}})
      rig.controls.push_back({control, rig.groups[0].name, low < 0 ? "deg" : "mm", low, high, low < 0 ? 0 : 2000.0});
    rig.gaze = show::Gaze{"yaw", "pitch", "far", real(random, 40, 80), name(random, "eye", 0), name(random, "eye", 1)};
  }
  for (int i = 0; i < actuators; ++i) {
    const double min = real(random, -90, -5), max = real(random, 5, 90), rest = real(random, 0.8 * min, 0.8 * max);
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
    show::Mapping mapping{{}, chance(random, 0.5) ? bent(random, actuator) : show::Straight{}, {actuator.name}};
    show::Axis axis{"", std::holds_alternative<show::Straight>(mapping.response) ? rest : 0, {{rig.controls.back().name, real(random, -2, 2)}}};
    if (i > 0 && chance(random, 0.3)) axis.terms.push_back({rig.controls.front().name, real(random, -2, 2)});
    if (rig.gaze && chance(random, 0.2)) axis.terms.push_back({chance(random, 0.5) ? rig.gaze->left : rig.gaze->right, real(random, -0.2, 0.2)});
    if (chance(random, 0.3)) axis.closing = show::Closing{"blink", real(random, -5, 5)};
    const bool couple = i > 0 && chance(random, 0.2) && rig.mappings.back().axes.size() == 1;
    if (couple) {
      show::Mapping& pair = rig.mappings.back();
      const double pitch = real(random, 0.5, 2), roll = real(random, -2, -0.5), other = rig.actuators[rig.actuators.size() - 2].rest_deg;
      pair.response = show::Differential{pitch, roll};
      axis.offset = pair.axes[0].offset = 0;
      pair.axes.push_back(axis), pair.actuators.push_back(actuator.name);
      if (std::abs(rest - other) < 10) pair = plate(std::move(pair), {-20 * roll, 20 * pitch, 20, 80, roll < -1, -0.5 * (rest + other)});
    } else {
      mapping.axes = {axis};
      rig.mappings.push_back(mapping);
    }
  }
  for (int c = whole(random, 0, actuators / 3); c > 0; --c) {
    show::Constraint constraint{name(random, "constraint", c), {}, real(random, -20, -1)};
    for (int i = whole(random, 0, 2); i < actuators && constraint.terms.size() < 3; i += whole(random, 1, 1 + actuators / 3)) {
      const show::Actuator& a = rig.actuators[static_cast<std::size_t>(i)];
      constraint.terms.push_back({a.name, chance(random, 0.5) ? 1 : real(random, -2, -0.5)});
      constraint.at_least_deg += constraint.terms.back().weight * a.rest_deg;
    }
    if (!constraint.terms.empty()) rig.constraints.push_back(constraint);
  }
  return rig;
}

/// Gives a rig kinds of servo, and its rails a supply and wires. validate() has nothing to say against it either.
inline void electrify(Random& random, show::Rig& rig) {
  for (int k = 0; k < 3; ++k) {
    show::ServoFigures f;
    f.voltage_v = real(random, 4, 8), f.no_load_deg_s = real(random, 200, 1000), f.stall_torque_n_m = real(random, 0.1, 2);
    f.stall_current_a = real(random, 0.3, 4), f.idle_current_a = real(random, 0, 0.02);
    f.friction_n_m = real(random, 0, 0.1) * f.stall_torque_n_m, f.inertia_kg_m2 = real(random, 0.3, 3) * 1e-3 * f.stall_torque_n_m;
    f.full_drive_error_deg = real(random, 2, 15), f.dead_band_deg = real(random, 0, 1);
    rig.servos.push_back({name(random, "kind", k), f});
  }
  for (show::Actuator& a : rig.actuators) {
    const show::ServoKind& kind = rig.servos[static_cast<std::size_t>(whole(random, 0, 2))];
    a.servo = kind.name;
    if (chance(random, 0.5)) a.skin_n_m_per_deg = real(random, 0, 0.01) * kind.figures.stall_torque_n_m;
    if (chance(random, 0.5)) a.load_kg_m2 = real(random, 0, 1e-4);
  }
  for (show::Board& board : rig.boards) {
    for (show::Rail& rail : board.rails) {
      rail.voltage_v = real(random, 4, 8), rail.connector_a = real(random, 1, 20), rail.fuse_a = real(random, 1, 20);
      const bool gauge = chance(random, 0.5);
      rail.wire = show::Wire{gauge ? whole(random, 1, 40) : 0, gauge ? 0 : real(random, 0.1, 4), real(random, 0.1, 3), real(random, 0, 60)};
    }
  }
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
