#include <algorithm>
#include <set>

#include "show/cue_value.hpp"
#include "show/report.hpp"

namespace mien::show {
namespace {

class CueCheck {
 public:
  CueCheck(const Show& show, const Rig& rig, Report& report)
      : show_(show), rig_(rig), report_(report), cues_(names_of(show.cues)), markers_(names_of(show.markers)), auxiliaries_(names_of(rig.auxiliaries)) {
    for (const auto& pose : show.poses) poses_.push_back(pose->name);
    for (const auto& clip : show.clips) clips_.push_back(clip->name);
  }

  void run() {
    if (show_.cues.size() > kMaxCues) report_.error("cues", "there are " + std::to_string(show_.cues.size()), "Keep to " + std::to_string(kMaxCues) + ".");
    for (std::size_t i = 0; i < show_.cues.size(); ++i) cue(show_.cues[i], titled("cue", show_.cues[i].name, i));
  }

 private:
  void cue(const Cue& c, const std::string& place) {
    if (c.name.empty() || has_control_character(c.name)) report_.error(place, c.name.empty() ? "has no name" : "has a name that is not all printable", "Give it one.");
    else if (!names_.insert(c.name).second) report_.error(place, "there is more than one cue of this name", "Rename one of them.");
    span(place + ", fade_in", c.fade_in, kLongestFade), span(place + ", fade_out", c.fade_out, kLongestFade);
    span(place + ", hold", c.hold, kLongestWait), span(place + ", pause", c.pause, kLongestWait);
    if (c.priority < 0 || c.priority > kMostPriority) report_.error(place + ", priority", "is " + std::to_string(c.priority), "Give 0 to " + std::to_string(kMostPriority) + ".");
    if (!c.follow.empty()) report_.must_be_known(cues_, "cue", c.follow, place + ", follow", "Leave it empty for none.");
    key(c, place);
    if (c.at_time && (*c.at_time < Time{0} || *c.at_time > show_.length))
      report_.warning(place + ", at_time", "is " + seconds_text(*c.at_time) + " s, outside the show", "Give a time that the show plays past.");
    if (c.at_clock && (*c.at_clock < Time{0} || *c.at_clock >= kDay)) report_.error(place + ", at_clock", "is no time of day", "Give 00:00:00 to 23:59:59.");
    std::visit([&](const auto& d) { deed(d, place); }, c.deed);
  }

  void span(const std::string& place, Time time, Time most) {
    if (time < Time{0} || time > most) report_.error(place, "is " + seconds_text(time) + " s", "Give 0 to " + seconds_text(most) + " s.");
  }

  // What a show loses while it is edited, and a rig while it is built, costs the cue and not the show.
  void wanted(const std::vector<std::string>& all, const std::string& kind, const std::string& name, const std::string& place, const std::string& where_none) {
    if (std::find(all.begin(), all.end(), name) == all.end())
      report_.warning(place, "there is no " + kind + " " + quoted(name) + ", so the cue does nothing", cure_for_unknown(name, all, where_none));
  }

  void key(const Cue& c, const std::string& place) {
    if (c.key.empty()) return;
    const char k = c.key.front();
    if (c.key.size() != 1 || !((k >= 'A' && k <= 'Z') || (k >= '0' && k <= '9'))) report_.error(place + ", key", "is " + quoted(c.key), "Give a capital letter or a digit, or \"\" for none.");
    else if (!keys_.insert(c.key).second) report_.error(place + ", key", quoted(c.key) + " starts another cue, too", "Give each its own.");
  }

  void deed(const CueClip& d, const std::string& place) { wanted(clips_, "clip", d.clip, place + ", clip", "Make the clip first."); }
  void deed(const CuePose& d, const std::string& place) {
    wanted(poses_, "pose", d.pose, place + ", pose", "Capture the pose first.");
    if (!(d.weight >= 0 && d.weight <= kMostWeight)) report_.error(place + ", weight", "is " + number_text(d.weight), "Give 0 to " + number_text(kMostWeight) + ".");
  }
  void deed(const CueStretch& d, const std::string& place) {
    if (!d.from.empty()) wanted(markers_, "marker", d.from, place + ", from", "Add the marker, or leave it empty for the show's beginning.");
    if (!d.until.empty()) wanted(markers_, "marker", d.until, place + ", until", "Add the marker, or leave it empty for the show's end.");
    if (const auto range = stretch_of(d, show_); range && range->empty())
      report_.warning(place, "ends at " + seconds_text(range->end) + " s, and begins at " + seconds_text(range->begin) + " s, so the cue does nothing", "Name markers in the order in which the show comes to them.");
  }
  void deed(const CueState& d, const std::string& place) {
    wanted(auxiliaries_, "auxiliary", d.auxiliary, place + ", auxiliary", "Add it to the rig.");
    for (const Auxiliary& a : rig_.auxiliaries)
      if (a.name == d.auxiliary && !state_value(d, rig_))
        report_.warning(place + ", state", a.control.empty() ? quoted(d.auxiliary) + " has no control, so it can't be told anything" : quoted(d.state) + " is nothing that " + quoted(d.auxiliary) + " can be told",
                      "Give the name of a state of its control, \"on\", \"off\", or a value in its control's range.");
  }
  void deed(const CueChoice& d, const std::string& place) {
    if (d.cues.empty()) report_.error(place + ", cues", "has nothing to choose from", "Name some cues.");
    if (d.cues.size() > kMostChoices) report_.error(place + ", cues", "has " + std::to_string(d.cues.size()) + " to choose from", "Keep to " + std::to_string(kMostChoices) + ".");
    for (const std::string& name : d.cues) {
      report_.must_be_known(cues_, "cue", name, place + ", cues", "Add the cue first.");
      const int n = cue_index(show_.cues, name);
      if (n >= 0 && std::holds_alternative<CueChoice>(show_.cues[static_cast<std::size_t>(n)].deed))
        report_.error(place + ", cues", quoted(name) + " chooses, too", "Name cues that do something themselves.");
    }
  }
  void deed(const CueStop&, const std::string&) {}

  const Show& show_;
  const Rig& rig_;
  Report& report_;
  std::vector<std::string> cues_, markers_, auxiliaries_, poses_, clips_;
  std::set<std::string> names_, keys_;
};

}  // namespace

void validate_cues(const Show& show, const Rig& rig, Report& report) { CueCheck(show, rig, report).run(); }

}  // namespace mien::show
