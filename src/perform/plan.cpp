#include "perform/plan.hpp"

#include <algorithm>
#include <cmath>

#include "link/session.hpp"
#include "perform/sync.hpp"

namespace mien::perform {
namespace {

template <class Parts>
int index_of(const Parts& parts, const std::string& name) noexcept {
  const auto found = std::find_if(parts.begin(), parts.end(), [&](const auto& part) { return part.name == name; });
  return found == parts.end() ? -1 : static_cast<int>(found - parts.begin());
}

// Shapes only ever grow while a show is edited: a new snapshot needs new ones only for the channels that it does not share with the
// last, and the set starts afresh once it is full.
std::shared_ptr<const motion::Shapes> shapes_of(const show::Show& show, const Plan* before) {
  std::vector<show::ChannelPtr> fresh;
  for (const auto& channel : show.channels) {
    const auto& old = before ? before->show->channels : std::vector<show::ChannelPtr>{};
    if (std::find(old.begin(), old.end(), channel) == old.end()) fresh.push_back(channel);
  }
  const bool keep = before && before->shapes->size() < motion::Shapes::kMost;
  if (keep && fresh.empty()) return before->shapes;
  auto shapes = keep ? std::make_shared<motion::Shapes>(*before->shapes) : std::make_shared<motion::Shapes>();
  for (const auto& channel : keep ? fresh : show.channels) shapes->add(*channel);
  return shapes;
}

void add_mapping(Plan& plan, std::vector<std::vector<Plan::Term>>& rows, const show::Mapping& mapping) {
  const std::size_t pairs = std::min(mapping.axes.size(), mapping.actuators.size());
  for (std::size_t n = 0; n < pairs; ++n) {
    const int actuator = actuator_index(*plan.rig, mapping.actuators[n]);
    if (actuator < 0 || actuator >= plan.actuators()) continue;
    const auto a = static_cast<std::size_t>(actuator);
    plan.offset_deg[a] = mapping.axes[n].offset;
    for (const auto& term : mapping.axes[n].terms) {
      const int control = control_index(*plan.rig, term.control);
      if (control >= 0 && control < plan.controls()) rows[a].push_back({control, term.weight});
    }
    if (const auto role = show::parse_role(mapping.axes[n].role)) {
      const auto& part = plan.rig->actuators[a];
      plan.face.push_back({*role, actuator, part.rest_deg, part.min_deg, part.max_deg});
    }
  }
}

}  // namespace

int actuator_index(const show::Rig& rig, const std::string& name) noexcept { return index_of(rig.actuators, name); }
int control_index(const show::Rig& rig, const std::string& name) noexcept { return index_of(rig.controls, name); }

PlanPtr compile(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, const Plan* before) {
  auto plan = std::make_shared<Plan>();
  plan->rig = std::move(rig);
  plan->show = std::move(show);
  plan->tick = show::Time{1'000'000'000 / plan->rig->tick_hz};
  plan->lead = motion_lead(*plan->rig);
  plan->shapes = shapes_of(*plan->show, before);

  const auto controls = std::min<std::size_t>(plan->rig->controls.size(), show::kMaxControls);
  for (std::size_t c = 0; c < controls; ++c) {
    const auto& control = plan->rig->controls[c];
    plan->channel_of.push_back(show::find_channel(*plan->show, control.name));
    plan->control_rest.push_back(control.rest);
    plan->control_min.push_back(control.min);
    plan->control_max.push_back(control.max);
  }

  const auto actuators = std::min<std::size_t>(plan->rig->actuators.size(), show::kMaxActuators);
  plan->limits = motion::limits_of(plan->rig->actuators, show::to_seconds(plan->tick));
  for (std::size_t i = 0; i < actuators; ++i) {
    const auto& a = plan->rig->actuators[i];
    plan->rest_deg.push_back(a.rest_deg);
    plan->offset_deg.push_back(a.rest_deg);  // an actuator that nothing moves stays at rest
    const double at_zero = show::pulse_us(a, 0) * link::kPulseUnitsPerUs;
    plan->pulse_base.push_back(at_zero);
    plan->pulse_per_deg.push_back(show::pulse_us(a, 1) * link::kPulseUnitsPerUs - at_zero);
  }

  std::vector<std::vector<Plan::Term>> rows(actuators);
  for (const auto& mapping : plan->rig->mappings) add_mapping(*plan, rows, mapping);
  plan->first_term.push_back(0);
  for (const auto& row : rows) {
    plan->terms.insert(plan->terms.end(), row.begin(), row.end());
    plan->first_term.push_back(static_cast<int>(plan->terms.size()));
  }
  return plan;
}

show::FacePose face_of(const Plan& plan, const double* angle_deg) noexcept {
  show::FacePose pose;
  for (const auto& part : plan.face) {
    const double away = angle_deg[part.actuator] - part.rest_deg;
    const double room = away >= 0 ? part.max_deg - part.rest_deg : part.rest_deg - part.min_deg;
    pose[part.role] = {true, room > 0 ? away / room : 0, angle_deg[part.actuator]};
  }
  return pose;
}

std::uint16_t pulse_of(const Plan& plan, int actuator, double angle_deg) noexcept {
  const auto a = static_cast<std::size_t>(actuator);
  return static_cast<std::uint16_t>(std::lround(plan.pulse_base[a] + angle_deg * plan.pulse_per_deg[a]));
}

double angle_of(const Plan& plan, int actuator, std::uint16_t pulse) noexcept {
  const auto a = static_cast<std::size_t>(actuator);
  return (pulse - plan.pulse_base[a]) / plan.pulse_per_deg[a];
}

}  // namespace mien::perform
