#include "perform/sync.hpp"

#include <algorithm>
#include <cmath>

namespace mien::perform {
namespace {

using show::Role;

// Which way x goes when the part closes; 0 for roles that close nothing (show/roles.hpp says which way is positive).
int closing(Role role) noexcept {
  const bool lid = role >= Role::lid_upper_left && role <= Role::lid_upper;
  const bool lip = role >= Role::lip_upper_left && role <= Role::lip_lower_right;
  return lid || lip ? -1 : 0;
}

struct Closer {
  int control, actuator;
  double value;  // the end of the control's range at which the part is shut
};

// What closes a lid or a lip is its axis's closing; where it has none, of the controls that move it the one with the longest way toward shut.
std::vector<Closer> closers_of(const Plan& plan) {
  std::vector<Closer> closers;
  for (const auto& mapping : plan.rig->mappings)
    for (std::size_t n = 0; n < std::min(mapping.axes.size(), mapping.actuators.size()); ++n) {
      const auto role = show::parse_role(mapping.axes[n].role);
      const int actuator = actuator_index(*plan.rig, mapping.actuators[n]);
      if (!role || !closing(*role) || actuator < 0 || actuator >= plan.actuators()) continue;
      Closer closer{-1, actuator, 0};
      double longest = 0;
      if (const auto& blink = mapping.axes[n].closing) {
        if (const int control = control_index(*plan.rig, blink->control); control >= 0) closers.push_back({control, actuator, 1});
        continue;
      }
      for (const auto& term : mapping.axes[n].terms) {
        const int control = control_index(*plan.rig, term.control);
        if (control < 0 || control >= plan.controls()) continue;
        const auto c = static_cast<std::size_t>(control);
        for (const double end : {plan.control_min[c], plan.control_max[c]}) {
          const double way = closing(*role) * term.weight * (end - plan.control_rest[c]);
          if (way > longest) longest = way, closer.control = control, closer.value = end;
        }
      }
      if (closer.control >= 0) closers.push_back(closer);
    }
  return closers;
}

// How long after the key the actuator stands; nothing where it never does.
std::optional<double> late_ms(const Study& study, const Closer& closer, show::Time key) noexcept {
  for (const auto& s : study.shortfalls) {
    if (s.actuator != closer.actuator || s.cause == Cause::clipped || s.cause == Cause::out_of_sync || !s.range.contains(key)) continue;
    if (s.short_deg > 0) return {};
    return std::max(0.0, s.late_ms + show::to_seconds(s.key - key) * 1e3);
  }
  return 0;
}

}  // namespace

show::Time motion_lead(const show::Rig& rig) noexcept {
  if (rig.actuators.empty()) return show::from_seconds(rig.link_latency_ms * 1e-3);
  const auto [least, most] = std::minmax_element(rig.actuators.begin(), rig.actuators.end(),
                                                 [](const auto& a, const auto& b) { return a.servo_response_ms < b.servo_response_ms; });
  return show::from_seconds((rig.link_latency_ms + (least->servo_response_ms + most->servo_response_ms) / 2) * 1e-3);
}

void add_out_of_sync(const Plan& plan, show::Range part, Study& study) {
  const double lead_ms = show::to_seconds(plan.lead) * 1e3;
  std::vector<Shortfall> found;
  const auto closers = closers_of(plan);
  for (const auto& closer : closers) {
    const auto* channel = plan.channel_of[static_cast<std::size_t>(closer.control)];
    if (!channel) continue;
    for (std::size_t k = 1; k < channel->keys.size(); ++k) {
      const auto& key = channel->keys[k];
      if (key.value != closer.value || channel->keys[k - 1].value == closer.value || key.time < part.begin || key.time > part.end) continue;
      const auto late = late_ms(study, closer, key.time);
      if (!late) continue;
      const auto& actuator = plan.rig->actuators[static_cast<std::size_t>(closer.actuator)];
      const double seen_late_ms = *late + actuator.servo_response_ms + plan.rig->link_latency_ms - lead_ms;
      if (seen_late_ms <= kNoticedEarly_ms && seen_late_ms >= -kNoticedLate_ms) continue;
      Shortfall s;
      s.cause = Cause::out_of_sync, s.control = closer.control, s.actuator = closer.actuator, s.key = key.time, s.late_ms = seen_late_ms;
      s.range = {key.time, key.time + plan.tick}, s.given = key.time - channel->keys[k - 1].time;
      const auto same = std::find_if(found.begin(), found.end(), [&](const auto& other) { return other.control == s.control && other.key == s.key; });
      if (same == found.end()) found.push_back(s);
      else if (std::abs(same->late_ms) < std::abs(s.late_ms)) *same = s;
    }
  }
  study.shortfalls.insert(study.shortfalls.end(), found.begin(), found.end());
}

}  // namespace mien::perform
