#include <algorithm>

#include "live/hands.hpp"

namespace mien::live {
namespace {

constexpr int kAny = -1, kUnknown = -2;

class Compiler {
 public:
  Compiler(const HandMap& map, std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::span<const std::string> devices, std::span<const std::string> addresses)
      : map_(map), devices_(devices), addresses_(addresses), made_(std::make_shared<HandProgram>()) {
    made_->rig = std::move(rig), made_->show = std::move(show);
  }

  HandProgramPtr run() {
    compile_lines();
    auto& reach = made_->reach;
    for (const auto& k : made_->knobs) reach.push_back(k.control);
    for (const auto& v : made_->values) reach.push_back(v.control);
    for (const auto& s : made_->strands) reach.push_back(s.control);
    for (const int c : made_->direct)
      if (c >= 0) reach.push_back(c);
    std::sort(reach.begin(), reach.end());
    reach.erase(std::unique(reach.begin(), reach.end()), reach.end());
    std::uint32_t mark = 2166136261u;  // FNV-1a
    for (const int c : reach) mark = (mark ^ static_cast<std::uint32_t>(c)) * 16777619u;
    made_->reach_mark = mark | 1;
    return made_;
  }

 private:
  void compile_lines() {
    describe_controls();
    made_->banks = static_cast<int>(map_.banks.size());
    made_->fade_s = map_.fade_s;
    made_->direct.assign(addresses_.size(), -1);
    for (std::size_t c = 0; c < made_->rig->controls.size(); ++c) {
      const auto found = std::find(addresses_.begin(), addresses_.end(), control_address(made_->rig->controls[c].name));
      if (found != addresses_.end() && made_->direct[static_cast<std::size_t>(found - addresses_.begin())] < 0) made_->direct[static_cast<std::size_t>(found - addresses_.begin())] = static_cast<int>(c);
    }
    for (std::size_t n = 0; n < map_.knobs.size(); ++n) add(map_.knobs[n], static_cast<int>(n));
    for (std::size_t n = 0; n < map_.triggers.size(); ++n) add(map_.triggers[n], static_cast<int>(n));
  }

  void describe_controls() {
    const auto& groups = made_->rig->groups;
    made_->groups = static_cast<int>(groups.size());
    for (const auto& c : made_->rig->controls) {
      made_->rest.push_back(c.rest), made_->min.push_back(c.min), made_->max.push_back(c.max);
      made_->stepped.push_back(!c.states.empty());
      const auto group = std::find_if(groups.begin(), groups.end(), [&](const auto& g) { return g.name == c.group; });
      made_->group.push_back(group == groups.end() ? -1 : static_cast<int>(group - groups.begin()));
    }
  }

  int control(const std::string& name) const {
    const auto& controls = made_->rig->controls;
    const auto found = std::find_if(controls.begin(), controls.end(), [&](const auto& c) { return c.name == name; });
    return found == controls.end() ? -1 : static_cast<int>(found - controls.begin());
  }

  HandProgram::Ear ear(const Source& s, int bank) const {
    const auto found = std::find(devices_.begin(), devices_.end(), s.device);
    const int device = s.device.empty() ? kAny : found == devices_.end() ? kUnknown : static_cast<int>(found - devices_.begin());
    int number = s.number;
    if (s.kind == Source::Kind::osc) {
      const auto known = std::find(addresses_.begin(), addresses_.end(), s.address);
      number = known == addresses_.end() ? kUnknown : static_cast<int>(known - addresses_.begin());
    }
    return {device, s.channel ? s.channel - 1 : kAny, s.kind, number, bank};
  }

  void add(const Knob& k, int line) {
    const int c = control(k.control);
    if (c < 0) return;
    made_->knobs.push_back({ear(k.source, k.bank), c, k.inverted ? k.high : k.low, k.inverted ? k.low : k.high, k.curve, k.dead_zone, k.smoothing_ms * 1e-3,
                            k.spring_back_s, k.takeover, rests_in_the_middle(k.source)});
    made_->knob_line.push_back(line);
  }

  void add(const Trigger& t, int line) {
    HandProgram::Trigger made{ear(t.source, t.bank), t.what, t.hold, t.curve, t.fade_in_s, t.fade_out_s, 0, 0, 0, 0, -1};
    switch (t.what) {
      case Trigger::What::pose: {
        const auto pose = find_pose(*made_->show, t.name);
        if (!pose) return;
        made.first = static_cast<int>(made_->values.size());
        for (const auto& v : pose->values)
          if (const int c = control(v.control); c >= 0) made_->values.push_back({c, v.value});
        made.end = static_cast<int>(made_->values.size());
        break;
      }
      case Trigger::What::clip: {
        const auto clip = find_clip(*made_->show, t.name);
        if (!clip || clip->length.count() <= 0) return;
        made.length_ns = clip->length.count();
        made.first = static_cast<int>(made_->strands.size());
        for (const auto& channel : clip->channels)
          if (const int c = control(channel->control); c >= 0) made_->strands.push_back({c, channel.get()});
        made.end = static_cast<int>(made_->strands.size());
        break;
      }
      case Trigger::What::bank: made.to_bank = static_cast<int>(std::find(map_.banks.begin(), map_.banks.end(), t.name) - map_.banks.begin()) + 1; break;
      case Trigger::What::panic: break;
      case Trigger::What::cue:
        made.cue = show::cue_index(made_->show->cues, t.name);
        if (made.cue < 0) return;
        break;
    }
    made_->triggers.push_back(made);
    made_->trigger_line.push_back(line);
  }

  const HandMap& map_;
  std::span<const std::string> devices_, addresses_;
  std::shared_ptr<HandProgram> made_;
};

}  // namespace

HandProgramPtr compile(const HandMap& map, std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::span<const std::string> devices, std::span<const std::string> addresses) {
  return Compiler(map, std::move(rig), std::move(show), devices, addresses).run();
}

std::string control_address(std::string_view control) {
  std::string address = "/mien/control/";
  for (const char c : control) address += c > ' ' && c <= '~' && std::string_view("#*,/?[]{}").find(c) == std::string_view::npos ? c : '_';
  return address;
}

void know_controls(const show::Rig& rig, std::vector<std::string>& known) {
  for (const auto& control : rig.controls)
    if (const auto address = control_address(control.name); std::find(known.begin(), known.end(), address) == known.end()) known.push_back(address);
}

void load(HandState& state, const HandProgram* program) {
  state = {};
  if (!program) return;
  const auto controls = program->rest.size();
  state.knobs.resize(program->knobs.size());
  state.triggers.resize(program->triggers.size());
  for (const auto& strand : program->strands) state.cursors.emplace_back(strand.channel, nullptr, program->rest[static_cast<std::size_t>(strand.control)]);
  state.direct.resize(controls);
  state.held = program->rest;
  state.weight.assign(controls, 0);
  state.owner.assign(controls, -1);
  state.touched.assign(controls, 0);
  state.group_weight.assign(static_cast<std::size_t>(program->groups), 1);
  state.group_on.assign(static_cast<std::size_t>(program->groups), 1);
  state.pairs.resize(kMostDevices);
}

void carry_over(HandState& to, const HandProgram& program, const HandState& from, const HandProgram& before) noexcept {
  to.heard = from.heard, to.last = from.last, to.bank = std::min(from.bank, std::max(1, program.banks));
  if (from.pairs.size() == to.pairs.size()) std::copy(from.pairs.begin(), from.pairs.end(), to.pairs.begin());
  const auto same = [](const auto& a, const auto& b, auto what) { return std::equal(a.begin(), a.end(), b.begin(), b.end(), what); };
  const bool same_rig = program.rig == before.rig;
  if (same_rig) {
    std::copy(from.held.begin(), from.held.end(), to.held.begin());
    std::copy(from.direct.begin(), from.direct.end(), to.direct.begin());
    std::copy(from.weight.begin(), from.weight.end(), to.weight.begin());
    std::copy(from.group_weight.begin(), from.group_weight.end(), to.group_weight.begin());
    std::copy(from.group_on.begin(), from.group_on.end(), to.group_on.begin());
  }
  const auto same_knob = [](const HandProgram::Knob& a, const HandProgram::Knob& b) { return a.control == b.control && a.ear.kind == b.ear.kind && a.ear.number == b.ear.number; };
  if (same_rig && same(program.knobs, before.knobs, same_knob)) {
    std::copy(from.knobs.begin(), from.knobs.end(), to.knobs.begin());
    std::copy(from.owner.begin(), from.owner.end(), to.owner.begin());
  }
  const auto same_trigger = [](const HandProgram::Trigger& a, const HandProgram::Trigger& b) {
    return a.what == b.what && a.cue == b.cue && a.ear.kind == b.ear.kind && a.ear.number == b.ear.number && a.end - a.first == b.end - b.first;
  };
  if (same_rig && same(program.triggers, before.triggers, same_trigger)) std::copy(from.triggers.begin(), from.triggers.end(), to.triggers.begin());
}

}  // namespace mien::live
