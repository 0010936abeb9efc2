#include "live/gamepad.hpp"

#include <algorithm>
#include <cmath>

#include "show/roles.hpp"

namespace mien::live {
namespace {

using show::Role;

constexpr float kTremble = 0.01f;  // of the -1 to 1 of an axis
constexpr double kStickCurve = 1.5, kStickBack_s = 0.3, kTriggerBack_s = 0.1;

bool tells(float now, float told) noexcept {
  if (now == told) return false;
  return std::abs(now - told) >= kTremble || now == 0 || std::abs(now) == 1;
}

class PadMap {
 public:
  explicit PadMap(const show::Rig& rig) : rig_(rig) {}

  std::vector<Knob> run() {
    if (rig_.gaze) stick(0, rig_.gaze->yaw, 1), stick(1, rig_.gaze->pitch, -1);
    else stick_of(0, {Role::eye_yaw_left, Role::eye_yaw_right}, 1), stick_of(1, {Role::eye_pitch, Role::eye_pitch_left, Role::eye_pitch_right}, -1);
    stick_of(2, {Role::neck_yaw}, 1), stick_of(3, {Role::neck_pitch}, -1);
    for (const auto& mapping : rig_.mappings)
      for (const auto& axis : mapping.axes)
        if (const auto role = show::parse_role(axis.role)) trigger_of(*role, axis);
    return std::move(knobs_);
  }

 private:
  const show::Control* control(const std::string& name) const {
    const auto found = std::find_if(rig_.controls.begin(), rig_.controls.end(), [&](const auto& c) { return c.name == name; });
    return found == rig_.controls.end() || !found->states.empty() ? nullptr : &*found;
  }
  bool led(const std::string& name) const {
    return std::any_of(knobs_.begin(), knobs_.end(), [&](const Knob& k) { return k.control == name; });
  }

  void add(int number, const show::Control* c, double low, double high, double spring_back_s, bool stick) {
    if (!c || low == high || led(c->name)) return;
    Knob knob;
    knob.source.kind = Source::Kind::axis, knob.source.number = number;
    knob.control = c->name, knob.low = low, knob.high = high, knob.spring_back_s = spring_back_s;
    if (stick) knob.curve = kStickCurve, knob.dead_zone = kStickDeadZone;
    knobs_.push_back(std::move(knob));
  }

  // `way` 1: the control rises as the axis does.
  void stick(int number, const std::string& name, int way) {
    if (const auto* c = control(name)) add(number, c, way > 0 ? c->min : c->max, way > 0 ? c->max : c->min, kStickBack_s, true);
  }
  void stick_of(int number, std::initializer_list<Role> roles, int way) {
    for (const auto& mapping : rig_.mappings)
      for (const auto& axis : mapping.axes) {
        const auto role = show::parse_role(axis.role);
        if (!role || std::find(roles.begin(), roles.end(), *role) == roles.end()) continue;
        if (const auto* term = strongest(axis)) stick(number, term->control, term->weight > 0 ? way : -way);
      }
  }

  const show::Term* strongest(const show::Axis& axis) const {
    const show::Term* best = nullptr;
    double most = 0;
    for (const auto& term : axis.terms) {
      const auto* c = control(term.control);
      const double reach = c ? std::abs(term.weight) * (c->max - c->min) : 0;
      if (reach > most) most = reach, best = &term;
    }
    return best;
  }

  // From rest to where the jaw is open, the lid shut.
  void trigger_of(Role role, const show::Axis& axis) {
    const bool lid = role == Role::lid_upper || role == Role::lid_upper_left || role == Role::lid_upper_right;
    if (lid && axis.closing) {
      if (const auto* c = control(axis.closing->control)) add(4, c, c->rest, c->max, kTriggerBack_s, false);
    } else if (lid || role == Role::jaw_open) {
      const auto* term = strongest(axis);
      const auto* c = term ? control(term->control) : nullptr;
      if (c) add(lid ? 4 : 5, c, c->rest, (term->weight > 0) == lid ? c->min : c->max, kTriggerBack_s, false);
    }
  }

  const show::Rig& rig_;
  std::vector<Knob> knobs_;
};

bool of_pad(const Source& source) noexcept { return source.kind == Source::Kind::axis || source.kind == Source::Kind::button; }

}  // namespace

void Gamepad::see(const PadState& state, std::int64_t at_ns) noexcept {
  for (std::size_t n = 0; n < kPadAxes; ++n) {
    const float value = std::isfinite(state.axis[n]) ? std::clamp(state.axis[n], -1.0f, 1.0f) : told_.axis[n];
    if (!tells(value, told_.axis[n])) continue;
    // Not heard: it is said again as it moves on.
    if (inlet_.push({.at_ns = at_ns, .device = device_, .kind = Touch::Kind::axis, .number = static_cast<std::uint8_t>(n), .value = value})) told_.axis[n] = value;
  }
  for (std::size_t n = 0; n < kPadButtons; ++n) {
    if (state.button[n] == told_.button[n]) continue;
    if (inlet_.push({.at_ns = at_ns, .device = device_, .kind = Touch::Kind::button, .number = static_cast<std::uint8_t>(n), .value = state.button[n] ? 1.0f : 0.0f})) told_.button[n] = state.button[n];
  }
}

void Gamepad::gone(std::int64_t at_ns) noexcept {
  inlet_.push({.at_ns = at_ns, .device = device_, .kind = Touch::Kind::gone});
  told_ = {};
}

std::vector<Knob> pad_knobs(const show::Rig& rig) { return PadMap(rig).run(); }

HandMap with_pad(HandMap map, const show::Rig& rig) {
  for (const Knob& knob : map.knobs)
    if (of_pad(knob.source)) return map;
  for (const Trigger& trigger : map.triggers)
    if (of_pad(trigger.source)) return map;
  for (Knob& knob : pad_knobs(rig))
    if (map.knobs.size() < kMostKnobs) map.knobs.push_back(std::move(knob));
  return map;
}

}  // namespace mien::live
