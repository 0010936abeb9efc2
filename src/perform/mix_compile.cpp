// A show's layers, compiled into levels.
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include "perform/mix.hpp"
#include "perform/rig_map.hpp"

namespace mien::perform {
namespace {

int count_of(std::size_t n) noexcept { return static_cast<int>(n); }

class MixCompiler {
 public:
  MixCompiler(const show::Rig& rig, const show::Show& show, const RigMap& map) : rig_(rig), show_(show), map_(map) {
    const auto controls = std::min<std::size_t>(rig.controls.size(), show::kMaxControls);
    for (std::size_t c = 0; c < controls; ++c) {
      index_.emplace(rig.controls[c].name, count_of(c));
      mix_.stepped.push_back(!rig.controls[c].states.empty());
    }
    for (const auto& clip : show.clips) clips_.emplace(clip->name, clip.get());
  }

  std::shared_ptr<const Mix> run() {
    for (std::size_t i = 0; i < std::min(show_.layers.size(), show::kMaxLayers); ++i)
      if (!show_.layers[i]->muted) add(*show_.layers[i], count_of(i));
    if (mix_.levels.empty()) return nullptr;
    return std::make_shared<const Mix>(std::move(mix_));
  }

 private:
  void add(const show::Layer& layer, int index) {
    if (layer.weight_curve.empty() && !(layer.weight > 0)) return;
    mask_ = std::set<std::string>(layer.mask.begin(), layer.mask.end());
    touched_.clear();
    Mix::Level level{};
    level.layer = index;
    level.adds = layer.blend == show::Layer::Blend::add;
    level.weight = layer.weight;
    level.weight_curve.keys = layer.weight_curve;
    level.weight_cursor = mix_.cursors++;
    level.first_own = count_of(mix_.strands.size());
    add_strands(layer.channels);
    level.end_own = count_of(mix_.strands.size());
    level.own_cursor = mix_.cursors;
    mix_.cursors += level.end_own - level.first_own;
    level.first_lane = count_of(mix_.lanes.size());
    add_lanes(layer);
    level.end_lane = count_of(mix_.lanes.size());
    if (layer.idle) add_idle(*layer.idle, level);
    level.controls.assign(touched_.begin(), touched_.end());
    if (!level.controls.empty()) mix_.levels.push_back(std::move(level));
  }

  // -1 where there is no such control, or the layer may not touch it.
  int allowed(const std::string& control) const {
    const auto found = index_.find(control);
    if (found == index_.end()) return -1;
    const auto& group = rig_.controls[static_cast<std::size_t>(found->second)].group;
    return mask_.empty() || mask_.contains(control) || mask_.contains(group) ? found->second : -1;
  }

  void add_strands(const std::vector<show::ChannelPtr>& channels) {
    for (const auto& channel : channels) {
      const int c = allowed(channel->control);
      if (c < 0 || channel->keys.empty()) continue;
      mix_.strands.push_back({c, channel.get()});
      touched_.insert(c);
    }
  }

  void add_lanes(const show::Layer& layer) {
    std::vector<Mix::Placed> all;
    std::map<const show::Clip*, std::pair<int, int>> strands;  // of the clips that this layer places
    for (const auto& p : layer.placements) {
      const auto found = clips_.find(p.clip);
      if (found == clips_.end() || !(p.weight > 0) || p.offset < show::Time{0}) continue;
      const show::Clip& clip = *found->second;
      const show::Time length = show::duration(p, clip.length);
      if (length <= show::Time{0}) continue;
      const auto [known, fresh] = strands.try_emplace(&clip);
      if (fresh) {
        known->second.first = count_of(mix_.strands.size());
        add_strands(clip.channels);
        known->second.second = count_of(mix_.strands.size());
      }
      if (known->second.first == known->second.second) continue;
      constexpr double kLongest_ns = 4.5e18;
      const double total_ns = std::min(static_cast<double>(clip.length.count()) * p.repeats, kLongest_ns);
      all.push_back({p.start, p.start + length, p.offset, clip.length, static_cast<std::int64_t>(total_ns), p.rate, p.weight, envelope(p, length), known->second.first, known->second.second});
    }
    std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.begin < b.begin; });
    put_into_lanes(all);
  }

  void put_into_lanes(const std::vector<Mix::Placed>& all) {
    std::vector<std::vector<Mix::Placed>> lanes;
    for (const auto& p : all) {
      const auto free = std::find_if(lanes.begin(), lanes.end(), [&](const auto& lane) { return lane.back().end <= p.begin; });
      if (free == lanes.end()) lanes.push_back({p});
      else free->push_back(p);
    }
    for (const auto& lane : lanes) {
      int widest = 0;
      for (const auto& p : lane) widest = std::max(widest, p.end_strand - p.first_strand);
      mix_.lanes.push_back({count_of(mix_.placed.size()), count_of(mix_.placed.size() + lane.size()), mix_.cursors});
      mix_.cursors += 1 + widest;  // the envelope's first
      mix_.placed.insert(mix_.placed.end(), lane.begin(), lane.end());
    }
  }

  const show::Channel* envelope(const show::Placement& p, show::Time length) {
    show::Time in = std::max(p.fade_in, show::Time{0}), out = std::max(p.fade_out, show::Time{0});
    if (in + out == show::Time{0}) return nullptr;
    if (in > length || out > length - in) {
      const double share = show::to_seconds(in) / (show::to_seconds(in) + show::to_seconds(out));
      in = std::min(length, show::from_seconds(share * show::to_seconds(length)));
      out = length - in;
    }
    const show::Time end = p.start + length;
    std::vector<show::Keyframe> keys;
    if (in > show::Time{0}) keys.push_back({p.start, 0, p.fade_in_easing});
    if (in + out < length || out == show::Time{0}) keys.push_back({p.start + in, 1, show::kHold});
    if (out > show::Time{0}) keys.push_back({end - out, 1, p.fade_out_easing}), keys.push_back({end, 0, show::kHold});
    mix_.envelopes.push_back(std::make_shared<const show::Channel>(show::Channel{"", std::move(keys)}));
    return mix_.envelopes.back().get();
  }

  void add_idle(const show::IdleLife& life, Mix::Level& level) {
    level.idle = idle_of(rig_, life, &map_);
    level.idle_state = mix_.idles++;
    for (const int control : level.idle->controls) {
      const int c = allowed(rig_.controls[static_cast<std::size_t>(control)].name);
      level.idle_control.push_back(c);
      if (c >= 0) touched_.insert(c);
    }
  }

  const show::Rig& rig_;
  const show::Show& show_;
  const RigMap& map_;
  std::map<std::string, int> index_;
  std::map<std::string, const show::Clip*> clips_;
  std::set<std::string> mask_;
  std::set<int> touched_;
  Mix mix_;
};

}  // namespace

std::shared_ptr<const Mix> mix_of(const show::Rig& rig, const show::Show& show, const RigMap& map) {
  return show.layers.empty() ? nullptr : MixCompiler(rig, show, map).run();
}

}  // namespace mien::perform
