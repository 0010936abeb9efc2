#include "perform/plan.hpp"

#include <algorithm>
#include <cmath>

#include "link/session.hpp"
#include "perform/rig_check.hpp"
#include "perform/sync.hpp"

namespace mien::perform {
namespace {

template <class Part>
bool is_in(const std::vector<Part>& parts, const Part& part) { return std::find(parts.begin(), parts.end(), part) != parts.end(); }

// The channels that `before` did not have, wherever they stand. Clips and layers that both share are passed over whole.
std::vector<const show::Channel*> fresh_channels(const show::Show& show, const show::Show& before) {
  std::vector<const show::Channel*> fresh;
  const auto add = [&](const auto& channels, const std::vector<show::ChannelPtr>& old) {
    for (const auto& channel : channels)
      if (!is_in(old, channel)) fresh.push_back(channel.get());
  };
  add(show.channels, before.channels);
  for (const auto& clip : show.clips)
    if (!is_in(before.clips, clip)) add(clip->channels, {});
  for (const auto& layer : show.layers)
    if (!is_in(before.layers, layer)) add(layer->channels, {});
  return fresh;
}

// Weights and fades have easings, too; there are few, and most are alike.
std::vector<const show::Channel*> curves_of(const Mix& mix) {
  std::vector<const show::Channel*> curves;
  for (const auto& level : mix.levels) curves.push_back(&level.weight_curve);
  for (const auto& envelope : mix.envelopes) curves.push_back(envelope.get());
  return curves;
}

bool knows(const motion::Shapes& shapes, const show::Channel& channel) noexcept {
  return std::all_of(channel.keys.begin(), channel.keys.end(), [&](const auto& key) { return key.easing.kind != show::Easing::Kind::bezier || shapes.find(key.easing); });
}

// Shapes only ever grow while a show is edited: a new snapshot needs new ones only for the channels that it does not share with the
// last, and the set starts afresh once it is full, with those of the last that are still in use.
std::shared_ptr<const motion::Shapes> shapes_of(const show::Show& show, const Mix* mix, const Plan* before) {
  const bool keep = before && before->shapes->size() < motion::Shapes::kMost;
  auto wanted = fresh_channels(show, keep ? *before->show : show::Show{});
  if (mix)
    for (const auto* curve : curves_of(*mix))
      if (!keep || !knows(*before->shapes, *curve)) wanted.push_back(curve);
  if (keep && wanted.empty()) return before->shapes;
  auto shapes = keep ? std::make_shared<motion::Shapes>(*before->shapes) : std::make_shared<motion::Shapes>();
  for (const auto* channel : wanted) shapes->add(*channel, before ? before->shapes.get() : nullptr);
  return shapes;
}

std::shared_ptr<const RigMap> map_for(const std::shared_ptr<const show::Rig>& rig, const Plan* before) {
  if (before && before->rig == rig) return before->map;
  return std::make_shared<const RigMap>(show::has_errors(check_rig(*rig, "")) ? resting(*rig) : map_of(*rig));
}

}  // namespace

PlanPtr compile(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, const Plan* before, live::HandProgramPtr hands) {
  auto plan = std::make_shared<Plan>();
  plan->rig = std::move(rig);
  plan->show = std::move(show);
  plan->tick = show::Time{1'000'000'000 / plan->rig->tick_hz};
  plan->lead = motion_lead(*plan->rig);
  plan->map = map_for(plan->rig, before);
  plan->hands = std::move(hands);
  plan->mix = mix_of(*plan->rig, *plan->show, *plan->map);
  plan->cues = cues_of(plan->rig, plan->show);
  plan->shapes = shapes_of(*plan->show, plan->mix.get(), before);

  const auto controls = std::min<std::size_t>(plan->rig->controls.size(), show::kMaxControls);
  for (std::size_t c = 0; c < controls; ++c) {
    const auto& control = plan->rig->controls[c];
    plan->channel_of.push_back(show::find_channel(*plan->show, control.name));
    plan->control_rest.push_back(control.rest);
    plan->control_min.push_back(control.min);
    plan->control_max.push_back(control.max);
    plan->stepped.push_back(!control.states.empty());
  }

  const auto actuators = std::min<std::size_t>(plan->rig->actuators.size(), show::kMaxActuators);
  const bool known = before && before->rig == plan->rig;
  if (known) plan->servos = before->servos, plan->governed = before->governed;
  plan->limits = motion::limits_of(plan->rig->actuators, show::to_seconds(plan->tick));
  for (std::size_t i = 0; i < actuators; ++i) {
    const auto& a = plan->rig->actuators[i];
    plan->rest_deg.push_back(a.rest_deg);
    if (!known) plan->servos.emplace_back(motion::figures_of(*plan->rig, a), a.rest_deg, show::to_seconds(plan->tick));
    const double at_zero = show::pulse_us(a, 0) * link::kPulseUnitsPerUs;
    plan->pulse_base.push_back(at_zero);
    plan->pulse_per_deg.push_back(show::pulse_us(a, 1) * link::kPulseUnitsPerUs - at_zero);
  }
  for (const auto& auxiliary : plan->rig->auxiliaries) {
    const auto& all = plan->rig->controls;
    const auto found = std::find_if(all.begin(), all.end(), [&](const show::Control& c) { return c.name == auxiliary.control; });
    const auto index = found - all.begin();
    plan->auxiliary_control.push_back(found == all.end() || index >= show::kMaxControls ? -1 : static_cast<int>(index));
    if (plan->auxiliary_control.size() == show::kMaxAuxiliaries) break;
  }
  if (!known) plan->governed = governed_rails(*plan->rig, plan->limits);
  return plan;
}

std::uint8_t auxiliary_of(const Plan& plan, int auxiliary, std::span<const double> control) noexcept {
  const auto i = static_cast<std::size_t>(auxiliary);
  const int index = plan.auxiliary_control[i];
  if (index < 0) return 0;
  const auto c = static_cast<std::size_t>(index);
  return show::auxiliary_value(plan.rig->auxiliaries[i], plan.rig->controls[c], control[c]);
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
