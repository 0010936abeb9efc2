// mien pose: named looks of the face.
#include <cstdio>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "perform/tick.hpp"
#include "show/facs.hpp"
#include "show/mirror.hpp"
#include "show/text.hpp"

namespace mien::app {
namespace {

show::Finding no_pose(const show::Show& show, const std::string& file, const std::string& name) {
  std::vector<std::string> known;
  for (const auto& pose : show.poses) known.push_back(pose->name);
  const std::string hint = show::suggestion(name, known);
  return refused(file, "", "the show has no pose '" + name + "'", hint.empty() ? "Import a library, or capture one with 'mien pose capture'." : hint);
}

void print_poses(const std::vector<show::PosePtr>& poses, bool as_json) {
  Json json;
  json.open_array();
  Table table{{"pose", "group", "values", "action units"}};
  for (const auto& pose : poses) {
    table.push_back({pose->name, pose->group.empty() ? "-" : pose->group, std::to_string(pose->values.size()), show::action_units_text(pose->action_units)});
    json.open_object().member("pose", pose->name).member("group", pose->group).open_array("action_units");
    for (const int unit : pose->action_units) json.member("", double(unit));
    json.close().open_object("values");
    for (const auto& value : pose->values) json.member(value.control, value.value);
    json.close().close();
  }
  if (as_json) std::printf("%s\n", json.close().text().c_str());
  else std::printf("%s", aligned(table).c_str());
}

}  // namespace

int run_pose_list(const PoseWords& words) {
  const auto library = library_in(words.show);
  if (!library) return tell(library.problem());
  const int code = tell(library->notes);
  print_poses(library->library.poses, words.json);
  return code;
}

int run_pose_capture(const PoseWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto at = time_of(words.at, "--at");
    if (!at) return at.problem();
    const auto plan = perform::compile(e.rig, std::make_shared<const show::Show>(e.show));
    const auto head = std::make_unique<perform::Head>();
    perform::Tick out;
    perform::load(*head, *plan);
    perform::aim(*plan, *head, *at, out);
    auto pose = show::captured(*e.rig, std::span(out.control).first(static_cast<std::size_t>(plan->controls())), words.name, words.group);
    if (pose.values.empty()) return refused(words.show, "", "at " + words.at + " s every control of the pose is at rest", "Choose another time, or another group.");
    pose.action_units = words.units;
    const std::size_t count = pose.values.size();
    e.show = show::with_pose(e.show, std::move(pose));
    return "pose '" + words.name + "' of " + std::to_string(count) + " controls";
  });
}

int run_pose_key(const PoseWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto at = time_of(words.at, "--at");
    if (!at) return at.problem();
    const auto pose = show::find_pose(e.show, words.name);
    if (!pose) return no_pose(e.show, words.show, words.name);
    if (!words.layer.empty() && !show::find_layer(e.show, words.layer)) return refused(words.show, "", "the show has no layer '" + words.layer + "'", "Add it with 'mien layer add'.");
    std::vector<show::KeyRef> keyed;
    e.show = show::with_pose_keyed(e.show, *e.rig, *pose, {*at, words.weight, words.group, words.layer}, &keyed);
    if (keyed.empty()) return refused(words.show, "", "the pose has no control in group '" + words.group + "'", "Name another group, or none.");
    return std::to_string(keyed.size()) + " keys at " + show::seconds_text(*at) + " s";
  });
}

int run_pose_mirror(const PoseWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto pose = show::find_pose(e.show, words.name);
    if (!pose) return no_pose(e.show, words.show, words.name);
    show::Pose seen = show::mirrored(*pose, *e.rig);
    seen.name = words.to;
    e.show = show::with_pose(e.show, std::move(seen));
    return "pose '" + words.to + "'";
  });
}

}  // namespace mien::app
