#include <algorithm>
#include <cmath>

#include "show/channel_check.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

class ShowCheck {
 public:
  ShowCheck(const Show& show, const Rig& rig, const std::string& file) : show_(show), rig_(rig), report_(file) {}

  Findings findings() && {
    if (show_.name.empty()) report_.warning("name", "the show has no name", "Give it one.");
    if (show_.length <= Time{0})
      report_.error("length", "is " + seconds_text(show_.length) + " s", "Give the show a length above zero.");
    loop();
    markers();
    for (std::size_t i = 0; i < show_.sounds.size(); ++i) sound(show_.sounds[i], i);
    ChannelCheck channels(rig_, report_);
    channels.check_all(show_.channels, "", show_.length, "the show");
    validate_inputs(show_, rig_, report_);
    validate_layers(show_, rig_, channels, report_);
    validate_cues(show_, rig_, report_);
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
    if (sound.trim_end < Time{0})
      report_.error(place + ", trim_end", "is " + seconds_text(sound.trim_end) + " s", "Give zero or more: how much of the file's ending is left out.");
    if (!(std::abs(sound.gain_db) <= 100))
      report_.error(place + ", gain_db", "is " + number_text(sound.gain_db) + " dB",
                    "Give -100 to 100 dB; 0 leaves the sound as it is.");
  }

  const Show& show_;
  const Rig& rig_;
  Report report_;
};

}  // namespace

Findings validate(const Show& show, const Rig& rig, const std::string& file) {
  return ShowCheck(show, rig, file).findings();
}

}  // namespace mien::show
