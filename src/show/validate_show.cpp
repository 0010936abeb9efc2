#include <algorithm>
#include <cmath>
#include <set>
#include <unordered_map>

#include "show/report.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

constexpr double kMarginShare = 1e-9;  // of the control's range: sums of moved values may miss the end by rounding

bool sound_easing(const Easing& e) noexcept {
  const auto in_unit = [](float x) { return x >= 0 && x <= 1; };
  return e.kind <= Easing::Kind::linear ||
         (in_unit(e.x1) && in_unit(e.x2) && std::isfinite(e.y1) && std::isfinite(e.y2));
}

std::string at(Time time) { return " at " + seconds_text(time) + " s"; }

class ShowCheck {
 public:
  ShowCheck(const Show& show, const Rig& rig, const std::string& file)
      : show_(show), rig_(rig), names_(names_of(rig.controls)), report_(file) {
    for (const Control& control : rig.controls) controls_.emplace(control.name, &control);
  }

  Findings findings() && {
    if (show_.name.empty()) report_.warning("name", "the show has no name", "Give it one.");
    if (show_.length <= Time{0})
      report_.error("length", "is " + seconds_text(show_.length) + " s", "Give the show a length above zero.");
    loop();
    markers();
    for (std::size_t i = 0; i < show_.sounds.size(); ++i) sound(show_.sounds[i], i);
    std::set<std::string> seen;
    for (std::size_t i = 0; i < show_.channels.size(); ++i) {
      const Channel& channel = *show_.channels[i];
      const std::string title = titled("channel", channel.control, i);
      if (!seen.insert(channel.control).second)
        report_.error(title, "there is more than one channel for this control", "Keep one of them.");
      keys(channel, title);
      values(channel, title);
    }
    validate_inputs(show_, rig_, report_);
    return std::move(report_).take();
  }

 private:
  void loop() {
    if (!show_.loop) return;
    const Range loop = *show_.loop;
    const std::string range = seconds_text(loop.begin) + " to " + seconds_text(loop.end) + " s";
    if (loop.empty())
      report_.error("loop", "from " + range + " is empty or upside down",
                    "Make it end after it begins, or take it out.");
    else if (loop.begin < Time{0} || loop.end > show_.length) {
      report_.error("loop",
                    "from " + range + " is not inside the show, which is " + seconds_text(show_.length) + " s long",
                    "Move its ends into the show, or take it out.");
    }
  }

  void markers() {
    for (std::size_t i = 0; i < show_.markers.size(); ++i) {
      const Marker& marker = show_.markers[i];
      const std::string place = titled("marker", marker.name, i) + at(marker.time);
      if (marker.name.empty()) report_.warning(place, "has no name", "Give it one.");
      if (i > 0 && marker.time < show_.markers[i - 1].time)
        report_.error(place, "comes after a marker of a later time", "List markers in rising time.");
      if (marker.time < Time{0} || marker.time > show_.length)
        report_.warning(place, "lies outside the show", "Move it, or lengthen the show.");
    }
  }

  void sound(const Sound& sound, std::size_t index) {
    const std::string place = titled("sound", sound.file, index);
    if (sound.file.empty())
      report_.error(place, "names no file", "Name a sound file, relative to the show's folder, or take the sound out.");
    if (sound.trim < Time{0})
      report_.error(place + ", trim", "is " + seconds_text(sound.trim) + " s", "Give zero or more.");
    if (!(std::abs(sound.gain_db) <= 100))
      report_.error(place + ", gain_db", "is " + number_text(sound.gain_db) + " dB",
                    "Give -100 to 100 dB; 0 leaves the sound as it is.");
  }

  // One finding of a kind for a channel, naming the first place and how many there are: a broken file must not bury the reader.
  void keys(const Channel& channel, const std::string& title) {
    std::size_t disordered = 0, doubled = 0, outside = 0, badly_eased = 0;
    Time first_disordered{0}, first_doubled{0}, first_outside{0}, first_badly_eased{0};
    const auto note = [](std::size_t& count, Time& first, Time time) {
      if (count++ == 0) first = time;
    };
    const Keyframe* before = nullptr;
    for (const Keyframe& key : channel.keys) {
      if (before && key.time < before->time) note(disordered, first_disordered, key.time);
      if (before && key.time == before->time) note(doubled, first_doubled, key.time);
      if (key.time < Time{0} || key.time > show_.length) note(outside, first_outside, key.time);
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
                      counted(outside, "key lies", "keys lie") + " outside the show, which is " +
                          seconds_text(show_.length) + " s long",
                      "Move them in, or lengthen the show.");
    }
    if (badly_eased)
      report_.error(title + at(first_badly_eased),
                    counted(badly_eased, "key has", "keys have") + " an easing that can't be",
                    "Give bezier(x1 y1 x2 y2) with x1 and x2 between 0 and 1.");
  }

  void values(const Channel& channel, const std::string& title) {
    const auto bad = [](const Keyframe& key) { return !std::isfinite(key.value); };
    if (const auto count = std::count_if(channel.keys.begin(), channel.keys.end(), bad)) {
      const Keyframe& first = *std::find_if(channel.keys.begin(), channel.keys.end(), bad);
      report_.error(title + at(first.time),
                    counted(static_cast<std::size_t>(count), "value is", "values are") + " not a finite number",
                    "Give the value again, or delete the key.");
    }
    const auto found = controls_.find(channel.control);
    if (found != controls_.end()) return range(channel, *found->second, title);
    report_.error(title, "the rig has no control " + quoted(channel.control),
                  cure_for_unknown(channel.control, names_, "Add the control to the rig."));
  }

  // Between two states there is none.
  void states(const Channel& channel, const std::string& title) {
    const auto bad = [](const Keyframe& key) { return key.value != std::round(key.value) || key.easing.kind != Easing::Kind::hold; };
    const auto first = std::find_if(channel.keys.begin(), channel.keys.end(), bad);
    if (first == channel.keys.end()) return;
    report_.warning(title + at(first->time), "a key lies between two states or glides to the next",
                    "Give keys of states whole numbers and the easing 'hold'; until then the nearest state is shown.");
  }

  void range(const Channel& channel, const Control& control, const std::string& title) {
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

  const Show& show_;
  const Rig& rig_;
  std::vector<std::string> names_;
  std::unordered_map<std::string, const Control*> controls_;
  Report report_;
};

}  // namespace

Findings validate(const Show& show, const Rig& rig, const std::string& file) {
  return ShowCheck(show, rig, file).findings();
}

}  // namespace mien::show
