#include "perform/sync.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "perform/tick.hpp"

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

// A key that asks for a closure, the one before it, and whose it is: -1 the show's own, else the layer's.
struct Meeting {
  show::Time key, before;
  int layer;
};

constexpr std::int64_t kMostRounds = 10'000;  // of a placed clip that are judged

// Keys of a control at which its value comes to `value`, as they stand in the show's own channel and in each layer, clips where they are placed.
std::vector<Meeting> meetings_of(const Plan& plan, int control, double value) {
  std::vector<Meeting> meetings;
  const auto add = [&](const show::Channel& channel, int layer, auto when) {
    for (std::size_t k = 1; k < channel.keys.size(); ++k)
      if (channel.keys[k].value == value && channel.keys[k - 1].value != value) when(channel.keys[k - 1].time, channel.keys[k].time, layer);
  };
  const auto as_is = [&](show::Time before, show::Time key, int layer) { meetings.push_back({key, before, layer}); };
  if (const auto* own = plan.channel_of[static_cast<std::size_t>(control)]) add(*own, -1, as_is);
  if (!plan.mix) return meetings;
  const auto& mix = *plan.mix;
  for (const auto& level : mix.levels) {
    for (int n = level.first_own; n < level.end_own; ++n)
      if (const auto& strand = mix.strands[static_cast<std::size_t>(n)]; strand.control == control) add(*strand.channel, level.layer, as_is);
    for (int l = level.first_lane; l < level.end_lane; ++l)
      for (int p = mix.lanes[static_cast<std::size_t>(l)].first; p < mix.lanes[static_cast<std::size_t>(l)].end; ++p) {
        const auto& placed = mix.placed[static_cast<std::size_t>(p)];
        const auto shown = [&](show::Time in_clip) { return placed.begin + show::from_seconds(show::to_seconds(in_clip - placed.offset) / placed.rate); };
        for (int n = placed.first_strand; n < placed.end_strand; ++n) {
          const auto& strand = mix.strands[static_cast<std::size_t>(n)];
          if (strand.control != control) continue;
          add(*strand.channel, level.layer, [&](show::Time before, show::Time key, int layer) {
            for (std::int64_t round = 0; round < kMostRounds; ++round) {
              const show::Time at = shown(key + round * placed.clip_length);
              if (at >= placed.end) break;
              if (at >= placed.begin) meetings.push_back({at, shown(before + round * placed.clip_length), layer});
            }
          });
        }
      }
  }
  return meetings;
}

// What the layers leave of a control, at any time.
class MixedValues {
 public:
  explicit MixedValues(const Plan& plan) : plan_(plan) {}
  double at(int control, show::Time t) {
    if (!head_) head_ = std::make_unique<Head>(), load(*head_, plan_);
    aim(plan_, *head_, t, tick_);
    return tick_.control[static_cast<std::size_t>(control)];
  }
  /// Whether the part is shut at the key and not before, with all that lies on it and under it.
  bool meets(const Closer& closer, const Meeting& meeting) {
    if (!plan_.mix) return true;
    const auto c = static_cast<std::size_t>(closer.control);
    const double near = 1e-6 * (plan_.control_max[c] - plan_.control_min[c]);
    return std::abs(at(closer.control, meeting.key) - closer.value) <= near && std::abs(at(closer.control, meeting.before) - closer.value) > near;
  }

 private:
  const Plan& plan_;
  std::unique_ptr<Head> head_;
  Tick tick_;
};

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
  MixedValues mixed(plan);
  for (const auto& closer : closers)
    for (const auto& meeting : meetings_of(plan, closer.control, closer.value)) {
      if (meeting.key < part.begin || meeting.key > part.end || !mixed.meets(closer, meeting)) continue;
      const auto late = late_ms(study, closer, meeting.key);
      if (!late) continue;
      const auto& actuator = plan.rig->actuators[static_cast<std::size_t>(closer.actuator)];
      const double seen_late_ms = *late + actuator.servo_response_ms + plan.rig->link_latency_ms - lead_ms;
      if (seen_late_ms <= kNoticedEarly_ms && seen_late_ms >= -kNoticedLate_ms) continue;
      Shortfall s;
      s.cause = Cause::out_of_sync, s.actuator = closer.actuator, s.key = meeting.key, s.late_ms = seen_late_ms;
      if (meeting.layer < 0) s.control = closer.control;
      else s.layer = meeting.layer;
      s.range = {meeting.key, meeting.key + plan.tick}, s.given = meeting.key - meeting.before;
      const auto same = std::find_if(found.begin(), found.end(), [&](const auto& other) {
        return other.control == s.control && other.layer == s.layer && other.key == s.key && (s.layer < 0 || other.actuator == s.actuator);
      });
      if (same == found.end()) found.push_back(s);
      else if (std::abs(same->late_ms) < std::abs(s.late_ms)) *same = s;
    }
  study.shortfalls.insert(study.shortfalls.end(), found.begin(), found.end());
}

}  // namespace mien::perform
