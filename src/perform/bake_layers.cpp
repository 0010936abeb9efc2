#include "perform/bake_layers.hpp"

#include <algorithm>
#include <optional>

#include "motion/simplify.hpp"
#include "perform/render.hpp"
#include "show/layer_edit.hpp"

namespace mien::perform {
namespace {

struct Parted {
  show::Show below;                  // the layers that are baked, and the show's channels
  std::vector<show::LayerPtr> left;  // those that stay
};

Parted parted(const show::Show& show, std::size_t named) {
  Parted parts{show, {}};
  parts.below.layers.clear();
  for (std::size_t i = 0; i < show.layers.size(); ++i) {
    const bool baked = i == named || (i < named && !show.layers[i]->muted);
    (baked ? parts.below.layers : parts.left).push_back(show.layers[i]);
  }
  if (parts.below.layers.back()->muted) parts.below = show::with_layer_muted(parts.below, show.layers[named]->name, false);
  return parts;
}

using Samples = std::vector<std::vector<motion::Sample>>;

// By control, of those that the layers touch. Nothing where it was told to stop.
std::optional<Samples> sampled(const Plan& plan, const BakeDown& settings) {
  constexpr std::int64_t kAskEvery = 512;
  Samples samples(static_cast<std::size_t>(plan.controls()));
  const auto head = std::make_unique<Head>();
  load(*head, plan);
  Tick out;
  const std::int64_t count = tick_count(plan);
  std::vector<std::size_t> touched;
  for (std::size_t c = 0; c < samples.size(); ++c)
    if (plan.mix->touches(static_cast<int>(c))) touched.push_back(c);
  for (std::int64_t n = 0; n < count; ++n) {
    if (settings.go_on && n % kAskEvery == 0 && !settings.go_on(0.8 * static_cast<double>(n) / static_cast<double>(count))) return std::nullopt;
    const show::Time t = tick_time(plan, n);
    aim(plan, *head, t, out);
    for (const std::size_t c : touched) samples[c].push_back({t, out.control[c]});
  }
  return samples;
}

// Nothing lies between two states.
std::vector<show::Keyframe> steps(const std::vector<motion::Sample>& samples) {
  std::vector<show::Keyframe> keys;
  for (const auto& sample : samples)
    if (keys.empty() || keys.back().value != sample.value) keys.push_back({sample.time, sample.value, show::kHold});
  return keys;
}

}  // namespace

BakedDown baked_down(const std::shared_ptr<const show::Rig>& rig, const show::Show& show, const std::string& layer, const BakeDown& settings) {
  BakedDown done{show};
  const auto found = std::find_if(show.layers.begin(), show.layers.end(), [&](const auto& l) { return l->name == layer; });
  if (found == show.layers.end()) return done;
  Parted parts = parted(show, static_cast<std::size_t>(found - show.layers.begin()));
  const auto plan = compile(rig, std::make_shared<const show::Show>(parts.below));
  show::Show result = show;
  result.layers = parts.left;
  done.layers = static_cast<int>(parts.below.layers.size());
  const auto sampled_all = plan->mix ? sampled(*plan, settings) : Samples{};
  if (!sampled_all) return {show, 0, 0, 0, true};
  const Samples& samples = *sampled_all;
  for (std::size_t c = 0; c < samples.size(); ++c) {
    if (samples[c].empty()) continue;
    if (settings.go_on && !settings.go_on(0.8 + 0.2 * static_cast<double>(c) / static_cast<double>(samples.size()))) return {show, 0, 0, 0, true};
    const show::Control& control = rig->controls[c];
    auto keys = control.states.empty() ? motion::simplified(samples[c], settings.error_share * (control.max - control.min)) : steps(samples[c]);
    done.channels += 1, done.keys += keys.size();
    auto channel = std::make_shared<const show::Channel>(show::Channel{control.name, std::move(keys)});
    const auto at = std::find_if(result.channels.begin(), result.channels.end(), [&](const auto& old) { return old->control == control.name; });
    if (at == result.channels.end()) result.channels.push_back(std::move(channel));
    else *at = std::move(channel);
  }
  done.show = std::move(result);
  return done;
}

}  // namespace mien::perform
