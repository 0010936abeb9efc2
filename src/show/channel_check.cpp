#include "show/channel_check.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace mien::show {
namespace {

constexpr double kMarginShare = 1e-9;  // of the control's range: sums of moved values may miss the end by rounding

}  // namespace

bool sound_easing(const Easing& e) noexcept {
  const auto in_unit = [](float x) { return x >= 0 && x <= 1; };
  return e.kind <= Easing::Kind::linear ||
         (in_unit(e.x1) && in_unit(e.x2) && std::isfinite(e.y1) && std::isfinite(e.y2));
}

std::string at(Time time) { return " at " + seconds_text(time) + " s"; }

ChannelCheck::ChannelCheck(const Rig& rig, Report& report) : names_(names_of(rig.controls)), report_(report) {
  for (const Control& control : rig.controls) controls_.emplace(control.name, &control);
}

void ChannelCheck::check(const Channel& channel, const std::string& title, Time length, const std::string& whole) {
  keys(channel, title, length, whole);
  values(channel, title);
}

void ChannelCheck::check_all(const std::vector<ChannelPtr>& channels, const std::string& before, Time length, const std::string& whole) {
  std::set<std::string> seen;
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const std::string title = before + titled("channel", channels[i]->control, i);
    if (!seen.insert(channels[i]->control).second)
      report_.error(title, "there is more than one channel for this control", "Keep one of them.");
    check(*channels[i], title, length, whole);
  }
}

const Control* ChannelCheck::known(const std::string& control, const std::string& title) {
  const auto found = controls_.find(control);
  if (found != controls_.end()) return found->second;
  report_.error(title, "the rig has no control " + quoted(control), cure_for_unknown(control, names_, "Add the control to the rig."));
  return nullptr;
}

// One finding of a kind for a channel, naming the first place and how many there are: a broken file must not bury the reader.
void ChannelCheck::keys(const Channel& channel, const std::string& title, Time length, const std::string& whole) {
  std::size_t disordered = 0, doubled = 0, outside = 0, badly_eased = 0;
  Time first_disordered{0}, first_doubled{0}, first_outside{0}, first_badly_eased{0};
  const auto note = [](std::size_t& count, Time& first, Time time) {
    if (count++ == 0) first = time;
  };
  const Keyframe* before = nullptr;
  for (const Keyframe& key : channel.keys) {
    if (before && key.time < before->time) note(disordered, first_disordered, key.time);
    if (before && key.time == before->time) note(doubled, first_doubled, key.time);
    if (key.time < Time{0} || key.time > length) note(outside, first_outside, key.time);
    if (!sound_easing(key.easing)) note(badly_eased, first_badly_eased, key.time);
    before = &key;
  }
  if (disordered)
    report_.error(title + at(first_disordered),
                  counted(disordered, "key stands", "keys stand") + " after a key of a later time",
                  "List keys in rising time.");
  if (doubled)
    report_.error(title + at(first_doubled), counted(doubled, "key has", "keys have") + " the time of the key before",
                  "Keep one key at a time.");
  if (outside) {
    report_.warning(title + at(first_outside),
                    counted(outside, "key lies", "keys lie") + " outside " + whole + ", which is " +
                        seconds_text(length) + " s long",
                    "Move them in, or lengthen " + whole + ".");
  }
  if (badly_eased)
    report_.error(title + at(first_badly_eased),
                  counted(badly_eased, "key has", "keys have") + " an easing that can't be",
                  "Give bezier(x1 y1 x2 y2) with x1 and x2 between 0 and 1.");
}

void ChannelCheck::values(const Channel& channel, const std::string& title) {
  const auto bad = [](const Keyframe& key) { return !std::isfinite(key.value); };
  if (const auto count = std::count_if(channel.keys.begin(), channel.keys.end(), bad)) {
    const Keyframe& first = *std::find_if(channel.keys.begin(), channel.keys.end(), bad);
    report_.error(title + at(first.time),
                  counted(static_cast<std::size_t>(count), "value is", "values are") + " not a finite number",
                  "Give the value again, or delete the key.");
  }
  if (const Control* control = known(channel.control, title)) range(channel, *control, title);
}

// Between two states there is none.
void ChannelCheck::states(const Channel& channel, const std::string& title) {
  const auto bad = [](const Keyframe& key) { return key.value != std::round(key.value) || key.easing.kind != Easing::Kind::hold; };
  const auto first = std::find_if(channel.keys.begin(), channel.keys.end(), bad);
  if (first == channel.keys.end()) return;
  report_.warning(title + at(first->time), "a key lies between two states or glides to the next",
                  "Give keys of states whole numbers and the easing 'hold'; until then the nearest state is shown.");
}

void ChannelCheck::range(const Channel& channel, const Control& control, const std::string& title) {
  if (!control.states.empty()) states(channel, title);
  const double margin = kMarginShare * (control.max - control.min);
  std::size_t beyond = 0;
  const Keyframe* farthest = nullptr;
  double farthest_by = margin;
  for (const Keyframe& key : channel.keys) {
    const double by = std::max(control.min - key.value, key.value - control.max);
    if (by > margin && std::isfinite(by)) ++beyond;
    if (by > farthest_by && std::isfinite(by)) farthest = &key, farthest_by = by;
  }
  if (!farthest) return;
  report_.warning(title + at(farthest->time),
                  counted(beyond, "key goes", "keys go") + " beyond the control's range " + number_text(control.min) +
                      " to " + number_text(control.max) + "; this one is " + number_text(farthest->value) + ", " +
                      number_text(farthest_by) + " too " + (farthest->value > control.max ? "high" : "low"),
                  "Bring the value into the range, or widen the control in the rig.");
}

}  // namespace mien::show
