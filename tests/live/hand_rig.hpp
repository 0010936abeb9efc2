// A head with four controls, a show with two poses and a clip, and hands on it: what the tests of the map share. Invented.
#pragma once
#include <memory>

#include "live/hands.hpp"

namespace mien::live {

inline std::shared_ptr<const show::Rig> hand_rig() {
  show::Rig rig;
  rig.name = "Pebble";
  rig.groups = {{"eyes"}, {"mouth"}};
  rig.controls = {{"gaze_yaw", "eyes", "deg", -30, 30, 0}, {"jaw", "mouth", "1", 0, 1, 0}, {"smile", "mouth", "1", 0, 1, 0}, {"tongue", "mouth", "1", 0, 2, 0, {"in", "out", "left"}}};
  return std::make_shared<const show::Rig>(rig);
}

enum HandControl { kYaw, kJaw, kSmile, kTongue };

inline show::ShowPtr hand_show() {
  show::Show show;
  show.name = "Waking";
  show.length = show::Time{10'000'000'000};
  show.poses = {std::make_shared<const show::Pose>(show::Pose{"glad", {6, 12}, "", {{"smile", 1}, {"jaw", 0.5}}}),
                std::make_shared<const show::Pose>(show::Pose{"shut", {}, "", {{"jaw", 0}}})};
  show::Clip nod{"glance", show::Time{1'000'000'000}, {std::make_shared<const show::Channel>(show::Channel{"gaze_yaw", {{show::Time{0}, 0, show::kLinear}, {show::Time{1'000'000'000}, 20, show::kLinear}}})}};
  show.clips = {std::make_shared<const show::Clip>(nod)};
  return std::make_shared<const show::Show>(show);
}

inline Touch midi(MidiMessage::Kind kind, int channel, int number, int value, int device = 0) {
  Touch touch;
  touch.device = static_cast<std::uint8_t>(device);
  touch.midi = {kind, static_cast<std::uint8_t>(channel), static_cast<std::uint8_t>(number), static_cast<std::uint16_t>(value), {}};
  return touch;
}
inline Touch controller(int number, int value, int channel = 0) { return midi(MidiMessage::Kind::controller, channel, number, value); }
inline Touch note(int number, int velocity) { return midi(velocity ? MidiMessage::Kind::note_on : MidiMessage::Kind::note_off, 0, number, velocity); }
inline Touch bend(int value) { return midi(MidiMessage::Kind::bend, 0, 0, value); }

/// A map under the hands of a test: ticks of 10 ms over a show whose controls stand at `below`.
struct Desk {
  explicit Desk(const HandMap& m, const std::vector<std::string>& devices = {"keys", "pad"}) : program(compile(m, hand_rig(), hand_show(), devices)) { load(state, program.get()); }
  void say(const Touch& touch) { hear(*program, state, touch); }
  double tick(int control, int ticks = 1) {
    for (int n = 0; n < ticks; ++n) {
      now = below;
      play(*program, state, 0.01, now);
    }
    return now[static_cast<std::size_t>(control)];
  }
  HandProgramPtr program;
  HandState state;
  std::vector<double> below{0, 0, 0, 0}, now{0, 0, 0, 0};
};

}  // namespace mien::live
