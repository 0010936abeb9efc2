// Brows, neck, lids and eyes of a rig, for the manner in which it speaks.
#include <algorithm>
#include <cmath>

#include "perform/idle.hpp"
#include "perform/rig_map.hpp"
#include "perform/speaking.hpp"
#include "perform/sync.hpp"

namespace mien::perform {
namespace {

constexpr double kShare = 0.5;  // of a servo's limits: what the show itself asks of it wants the other half

}  // namespace

speech::Face face_to_speak(const show::Rig& rig) {
  const auto map = map_of(rig);
  const Idle idle = idle_of(rig, {}, &map);
  const double middle_ms = show::to_seconds(motion_lead(rig)) * 1e3 - rig.link_latency_ms;
  const auto movers = [&](const std::vector<Idle::Moved>& parts) {
    std::vector<speech::Mover> all;
    for (const auto& part : parts) {
      const int c = idle.controls[static_cast<std::size_t>(part.slot)];
      speech::Mover mover{rig.controls[static_cast<std::size_t>(c)].name, part.rest, part.per_unit, 1e9, 1e12, show::Time{0}};
      double slowest_ms = -1e9;
      for (const auto& i : map.influences) {
        const double gain = std::abs(i.deg_per_unit * part.per_unit);
        if (i.control != c || !(gain > 0)) continue;
        const auto& actuator = rig.actuators[static_cast<std::size_t>(i.actuator)];
        mover.per_s = std::min(mover.per_s, kShare * actuator.velocity_deg_s / gain);
        mover.per_s2 = std::min(mover.per_s2, kShare * actuator.acceleration_deg_s2 / gain);
        slowest_ms = std::max(slowest_ms, actuator.servo_response_ms);
      }
      if (slowest_ms > -1e9) mover.lead = show::from_seconds((slowest_ms - middle_ms) * 1e-3);
      all.push_back(std::move(mover));
    }
    return all;
  };
  return {movers(idle.brows), movers(idle.neck_pitch), movers(idle.lids), movers(idle.yaw), movers(idle.pitch), idle.most_yaw_deg, idle.most_pitch_deg};
}

}  // namespace mien::perform
