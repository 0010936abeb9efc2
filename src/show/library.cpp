#include "show/library.hpp"

#include <algorithm>

#include "show/layer_edit.hpp"
#include "show/report.hpp"

namespace mien::show {
namespace {

bool wanted(std::span<const std::string> names, const std::string& name) {
  return names.empty() || std::find(names.begin(), names.end(), name) != names.end();
}

const std::string& control_of(const Pose::Value& value) noexcept { return value.control; }
const std::string& control_of(const ChannelPtr& channel) noexcept { return channel->control; }

// The first control that the rig has not; empty where it has them all.
template <class Parts>
std::string missing(const Parts& parts, const std::vector<std::string>& known) {
  for (const auto& part : parts)
    if (std::find(known.begin(), known.end(), control_of(part)) == known.end()) return control_of(part);
  return {};
}

}  // namespace

Library library_of(const Show& show, std::string name, std::span<const std::string> poses, std::span<const std::string> clips) {
  Library library{std::move(name), {}, {}};
  const bool all = poses.empty() && clips.empty();
  for (const PosePtr& pose : show.poses)
    if (all || (!poses.empty() && wanted(poses, pose->name))) library.poses.push_back(pose);
  for (const ClipPtr& clip : show.clips)
    if (all || (!clips.empty() && wanted(clips, clip->name))) library.clips.push_back(clip);
  return library;
}

Imported with_library(const Show& show, const Rig& rig, const Library& library, bool replace, const std::string& file) {
  Imported result{show, {}, 0, 0};
  Report report(file);
  const auto known = names_of(rig.controls);
  const auto take = [&](const std::string& kind, const auto& part, const auto& parts, const auto& there, int& count) {
    const std::string place = kind + " " + quoted(part->name);
    if (const std::string control = missing(parts, known); !control.empty()) {
      report.warning(place, "is left out, since the rig has no control " + quoted(control), cure_for_unknown(control, known, "Add the control to the rig."));
      return false;
    }
    if (there && *there == *part) return false;
    if (there && !replace) {
      report.warning(place, "is left out, since the show has another of this name", "Rename one of them, or replace the show's.");
      return false;
    }
    return ++count, true;
  };
  for (const PosePtr& pose : library.poses)
    if (take("pose", pose, pose->values, find_pose(result.show, pose->name), result.poses)) result.show = with_pose(result.show, *pose);
  for (const ClipPtr& clip : library.clips)
    if (take("clip", clip, clip->channels, find_clip(result.show, clip->name), result.clips)) result.show = with_clip(result.show, *clip);
  result.findings = std::move(report).take();
  return result;
}

}  // namespace mien::show
