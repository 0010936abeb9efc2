#include <algorithm>
#include <cmath>

#include "live/hand_map.hpp"
#include "show/text.hpp"

namespace mien::live {
namespace {

using show::Findings;
using show::Severity;
using Kind = Source::Kind;

class Check {
 public:
  Check(const HandMap& map, const show::Rig& rig, const std::string& file) : map_(map), rig_(rig), file_(file) {
    for (const auto& control : rig.controls) controls_.push_back(control.name);
  }

  Findings run() {
    counted("", "knobs", map_.knobs.size(), kMostKnobs);
    counted("", "triggers", map_.triggers.size(), kMostTriggers);
    counted("", "banks", map_.banks.size(), kMostBanks);
    within("", "fade_s", map_.fade_s, 0, kMostFade_s);
    for (std::size_t n = 0; n < map_.banks.size(); ++n) bank_name(n);
    for (const Knob& knob : map_.knobs) check(knob);
    for (const Trigger& trigger : map_.triggers) check(trigger);
    return std::move(findings_);
  }

 private:
  void say(const std::string& place, std::string what, std::string cure) {
    findings_.push_back({Severity::error, file_, place, std::move(what), std::move(cure)});
  }
  void counted(const std::string& place, const char* of, std::size_t count, std::size_t most) {
    if (count > most) say(place, "has " + std::to_string(count) + " " + of, "At most " + std::to_string(most) + " are allowed: remove some.");
  }
  void within(const std::string& place, const char* field, double value, double low, double high) {
    if (value >= low && value <= high) return;  // not so for NaN
    say(place + (place.empty() ? "" : ", ") + field, "is " + show::number_text(value),
        "Choose a value from " + show::number_text(low) + " to " + show::number_text(high) + ".");
  }
  void bank_name(std::size_t n) {
    const auto& banks = map_.banks;
    if (banks[n].empty()) say("bank " + std::to_string(n + 1), "has no name", "Give it one.");
    else if (std::find(banks.begin(), banks.begin() + std::ptrdiff_t(n), banks[n]) != banks.begin() + std::ptrdiff_t(n))
      say("bank '" + banks[n] + "'", "is there twice", "Rename one of them.");
  }
  void bank(const std::string& place, int bank) {
    if (bank < 0 || bank > static_cast<int>(map_.banks.size()))
      say(place + ", bank", "is " + std::to_string(bank) + ", but the map has " + std::to_string(map_.banks.size()) + " banks", "Use 0 for all banks, or add one.");
  }
  void source(const std::string& place, const Source& s) {
    const bool pad = s.kind == Kind::axis || s.kind == Kind::button, net = s.kind == Kind::osc || s.kind == Kind::slot;
    if (s.channel < 0 || s.channel > 16 || ((pad || net) && s.channel != 0))
      say(place + ", channel", "is " + std::to_string(s.channel), pad ? "A gamepad has no channels: use 0." : net ? "A network has no channels: use 0." : "MIDI has channels 1 to 16; 0 stands for any.");
    if (s.kind == Kind::osc && !usable_address(s.address))
      say(place + ", source", "is no address of yours", "Write one that begins with '/', but not with '/mien/', without spaces and # * , ? [ ] { }, as in \"osc /desk/fader/1\".");
    if (s.kind == Kind::slot) {
      if (s.number < 1 || s.number > 512) say(place + ", source", "has the number " + std::to_string(s.number), "A universe has the slots 1 to 512.");
      return;
    }
    const int most = s.kind == Kind::axis ? 5 : s.kind == Kind::button ? 14 : s.kind == Kind::controller_14 ? 31 : s.kind == Kind::bend || s.kind == Kind::pressure || s.kind == Kind::osc ? 0 : 127;
    if (s.number < 0 || s.number > most) say(place + ", source", "has the number " + std::to_string(s.number), "Use 0 to " + std::to_string(most) + ".");
  }
  void check(const Knob& k) {
    const std::string place = "knob " + to_text(k.source);
    source(place, k.source);
    bank(place, k.bank);
    if (k.source.kind == Kind::note || k.source.kind == Kind::button) say(place + ", source", "is on or off, and a knob needs an amount", "Make it a trigger, or use a controller.");
    within(place, "curve", k.curve, kLeastCurve, kMostCurve);
    within(place, "dead_zone", k.dead_zone, 0, kMostDeadZone);
    within(place, "smoothing_ms", k.smoothing_ms, 0, kMostSmoothing_ms);
    within(place, "spring_back_s", k.spring_back_s, 0, kMostFade_s);
    const auto control = std::find_if(rig_.controls.begin(), rig_.controls.end(), [&](const auto& c) { return c.name == k.control; });
    if (control == rig_.controls.end()) return say(place + ", control", "'" + k.control + "' is not on the rig '" + rig_.name + "'", show::suggestion(k.control, controls_, "The rig has no controls: give it one of this name."));
    within(place, "low", k.low, control->min, control->max);
    within(place, "high", k.high, control->min, control->max);
    if (k.low == k.high) say(place, "leads from " + show::number_text(k.low) + " to the same", "Give low and high different values, or remove the knob.");
  }
  void check(const Trigger& t) {
    const std::string place = "trigger " + to_text(t.source);
    source(place, t.source);
    bank(place, t.bank);
    if (t.source.kind != Kind::note && t.source.kind != Kind::button && t.source.kind != Kind::controller && t.source.kind != Kind::osc && t.source.kind != Kind::slot)
      say(place + ", source", "is not pressed and let go", "Use a note, a button, an address, a slot, or a controller that a switch sends.");
    within(place, "curve", t.curve, kLeastCurve, kMostCurve);
    within(place, "fade_in_s", t.fade_in_s, 0, kMostFade_s);
    within(place, "fade_out_s", t.fade_out_s, 0, kMostFade_s);
    if (t.what == Trigger::What::bank && std::find(map_.banks.begin(), map_.banks.end(), t.name) == map_.banks.end())
      say(place + ", name", "'" + t.name + "' is no bank of this map", show::suggestion(t.name, map_.banks, "The map has no banks: give it one of this name, or remove the trigger."));
    if ((t.what == Trigger::What::pose || t.what == Trigger::What::clip || t.what == Trigger::What::cue) && t.name.empty()) say(place + ", name", "is empty", "Name a pose, clip or cue.");
  }

  const HandMap& map_;
  const show::Rig& rig_;
  const std::string& file_;
  std::vector<std::string> controls_;
  Findings findings_;
};

}  // namespace

Findings validate(const HandMap& map, const show::Rig& rig, const std::string& file) { return Check(map, rig, file).run(); }

Findings unmet(const HandMap& map, const show::Show& show, const std::string& file) {
  Findings findings;
  std::vector<std::string> poses, clips, cues;
  for (const auto& cue : show.cues) cues.push_back(cue.name);
  for (const auto& pose : show.poses) poses.push_back(pose->name);
  for (const auto& clip : show.clips) clips.push_back(clip->name);
  for (const Trigger& t : map.triggers) {
    const auto* all = t.what == Trigger::What::pose ? &poses : t.what == Trigger::What::clip ? &clips : t.what == Trigger::What::cue ? &cues : nullptr;
    if (!all || std::find(all->begin(), all->end(), t.name) != all->end()) continue;
    const std::string like = show::suggestion(t.name, *all);
    findings.push_back({Severity::warning, file, "trigger " + to_text(t.source), std::string("the show has no ") + name(t.what) + " '" + t.name + "', so the trigger does nothing",
                        like.empty() ? (t.what == Trigger::What::cue ? "Add it to the show's cues." : "Add it to the show, or take it in from a library of looks.") : like});
  }
  return findings;
}

}  // namespace mien::live
