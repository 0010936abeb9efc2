// A small head for the tests of the tick: three servos, three controls, one of which moves two servos.
#pragma once
#include <memory>

#include "perform/plan.hpp"

namespace mien::perform::testing {

constexpr int kBlink = 0, kOpen = 1, kSmile = 2;  ///< the controls of small_rig()

inline std::shared_ptr<show::Rig> small_rig() {
  auto rig = std::make_shared<show::Rig>();
  rig->name = "bench";
  rig->groups = {{"eyes"}, {"mouth"}};
  rig->boards = {{"one", 0, 4, {{"servos", 5}}}};
  for (const char* name : {"lid", "jaw", "lip"}) {
    show::Actuator a;
    a.name = name, a.group = a.name == "lid" ? "eyes" : "mouth", a.board = "one", a.rail = "servos";
    a.output = static_cast<int>(rig->actuators.size());
    a.min_deg = -40, a.max_deg = 40, a.rest_deg = a.name == "lid" ? 20 : 0;
    a.reversed = a.name == "jaw";
    rig->actuators.push_back(a);
  }
  rig->controls = {{"blink", "eyes", "1", 0, 1, 0}, {"open", "mouth", "1", 0, 1, 0}, {"smile", "mouth", "1", -1, 1, 0}};
  rig->mappings = {{{{"lid_upper", 20, {{"blink", -50}}}}, show::Straight{}, {"lid"}},
                   {{{"jaw_open", 0, {{"open", 30}}}}, show::Straight{}, {"jaw"}},
                   {{{"lip_lower_centre", 0, {{"open", 10}, {"smile", -5}}}}, show::Straight{}, {"lip"}}};
  return rig;
}

/// Its jaw moves 60 deg from end to end; all servos have 300 deg/s and 4000 deg/s^2.
inline std::shared_ptr<show::Rig> wide_rig() {
  auto rig = small_rig();
  rig->mappings[1].axes[0] = {"jaw_open", -30, {{"open", 60}}};
  rig->actuators[1].rest_deg = -30;
  rig->mappings[2].axes[0].terms = {{"smile", -5}};
  return rig;
}

inline std::shared_ptr<show::Show> empty_show(show::Time length = std::chrono::seconds(4)) {
  auto show = std::make_shared<show::Show>();
  show->name = "bench";
  show->length = length;
  return show;
}

inline void add_channel(show::Show& show, const char* control, std::vector<show::Keyframe> keys) {
  show.channels.push_back(std::make_shared<show::Channel>(show::Channel{control, std::move(keys)}));
}

}  // namespace mien::perform::testing
