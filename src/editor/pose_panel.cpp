// Poses beside the lanes: a picture of each, captured from the playhead, keyed at it by weight and group.
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "editor/compose_actions.hpp"
#include "editor/draw.hpp"
#include "editor/fields.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"
#include "perform/tick.hpp"
#include "show/facs.hpp"

namespace mien::editor {
namespace {

constexpr float kPoseTile = 96, kCaption = 24;  ///< about as wide, so that a row is full

// What the face looks like in a pose, the rest of it at rest, were servos to take it at once.
show::FacePose face_of(const perform::RigMap& map, const show::Rig& rig, const show::Pose& pose) {
  auto tick = std::make_unique<perform::Tick>();
  for (std::size_t c = 0; c < rig.controls.size(); ++c) tick->control[c] = rig.controls[c].rest;
  for (const auto& v : pose.values)
    if (const int c = perform::control_index(rig, v.control); c >= 0) tick->control[static_cast<std::size_t>(c)] = v.value;
  perform::aim(map, *tick);
  for (std::size_t a = 0; a < rig.actuators.size(); ++a) tick->target_deg[a] = std::clamp(tick->target_deg[a], rig.actuators[a].min_deg, rig.actuators[a].max_deg);
  return perform::face_of(map, tick->target_deg.data());
}

struct PosePanel {
  const Scene& scene;
  const Studio& studio;
  const DrawFace& draw;
  Fields fields;
  Commands out{};
  const Look& look = scene.look;
  const show::Show& show = scene.document.whole();

  void tile(const show::Pose& pose, float size) {
    const ImVec2 p = ImGui::GetCursorScreenPos();
    const float whole = size + look.px(kCaption);
    const bool chosen = scene.view.pose == pose.name;
    ImGui::PushID(pose.name.c_str());
    if (ImGui::InvisibleButton("pose", {size, whole})) out.push_back(ChoosePose{pose.name});
    ImGui::SetItemAllowOverlap();
    mark(("pose/" + pose.name).c_str());
    const bool over = ImGui::IsItemHovered();
    if (over && ImGui::IsMouseDoubleClicked(0)) out.push_back(ChoosePose{pose.name}), out.push_back(Act{"pose_key"});
    ImGui::PopID();
    ImDrawList& list = *ImGui::GetWindowDrawList();
    fill(list, p.x, p.y, p.x + size, p.y + size, look.theme.lane);
    if (draw && scene.setpoints && ImGui::IsItemVisible()) draw(scene, face_of(*scene.setpoints->map, scene.document.rig(), pose), p.x, p.y, size, size);
    if (chosen || over) list.AddRect({p.x, p.y}, {p.x + size, p.y + size}, chosen ? look.theme.accent : look.theme.quiet, 0, 0, look.px(chosen ? 2 : 1));
    ImFont* font = chosen ? look.fonts.strong : look.fonts.body;
    words(list, font, p.x + look.px(2), p.y + size + look.px(kCaption * 0.5f), chosen || over ? look.theme.text : look.theme.quiet, pose.name, size - look.px(4));
    if (over && !pose.action_units.empty()) beside_pointer(look, show::action_units_text(pose.action_units));
  }

  void tiles() {
    if (show.poses.empty()) {
      paragraph(look.fonts.body, look.theme.quiet, "A pose is a look of the face to key again and again. Capture the one at the playhead, or take those of a library.");
      return;
    }
    const float gap = look.px(4), room = ImGui::GetContentRegionAvail().x;
    const auto across = std::max(1, static_cast<int>(std::lround((room + gap) / (look.px(kPoseTile) + gap))));
    const float size = std::floor((room + gap) / static_cast<float>(across)) - gap;
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {gap, gap});
    int column = 0;
    for (const auto& pose : show.poses) {
      if (column++ % across) ImGui::SameLine();
      tile(*pose, size);
    }
    ImGui::PopStyleVar();
  }

  void use() {
    const float right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
    fields.label("Group");
    const float left = ImGui::GetCursorPosX();
    if (fields.chip("All##pose", scene.view.pose_group.empty())) out.push_back(UsePose{"", scene.view.pose_weight});
    for (const show::Group& group : scene.document.rig().groups) {
      if (ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, group.name) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
      else ImGui::SetCursorPosX(left);
      if (fields.chip((group.name + "##pose").c_str(), scene.view.pose_group == group.name)) out.push_back(UsePose{group.name, scene.view.pose_weight});
    }
    if (const auto v = fields.number("Weight, %", "pose_weight", scene.view.pose_weight * 100, "%.0f")) out.push_back(UsePose{scene.view.pose_group, std::clamp(*v / 100, -1.0, 2.0)});
    if (ImGui::GetItemRectMax().x + look.px(16) + width_of(look.fonts.strong, "Key at the playhead") + width_of(look.fonts.body, to_text(studio.keys().of(*find_action("pose_key")))) + look.px(32) <= right) {
      ImGui::SameLine(0, look.px(16));
      ImGui::SetCursorPosY(ImGui::GetCursorPosY() - look.px(2));  // it is higher than the field, and centred on it
    }
    action_button(look, studio, "pose_key", "Key at the playhead", false, out);
  }

  void chosen(const show::Pose& pose) {
    fields.heading(("Pose " + pose.name).c_str());
    if (!pose.action_units.empty()) paragraph(look.fonts.body, look.theme.quiet, show::action_units_text(pose.action_units));
    if (const auto name = fields.name("Name", "pose_name", pose.name)) {
      out.push_back(Change{Composition{RenamePose{pose.name, *name}}});
      if (!show::find_pose(show, *name)) out.push_back(ChoosePose{*name});
    }
    action_row(look, studio, {{"pose_recapture", "Capture anew"}, {"pose_mirror", "Mirror"}, {"pose_remove", "Remove"}}, out);
  }
};

}  // namespace

Commands pose_panel(const Scene& scene, const Studio& studio, ComposeState& state, const DrawFace& draw) {
  const Look& look = scene.look;
  PosePanel panel{scene, studio, draw, Fields(look, state)};
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(12), look.px(8)});
  ImGui::BeginChild("poses inside", {0, 0}, false, ImGuiWindowFlags_AlwaysUseWindowPadding);
  ImGui::PopStyleVar();
  panel.use();
  ImGui::Dummy({0, 0});
  panel.tiles();
  if (const auto pose = show::find_pose(scene.document.whole(), scene.view.pose)) panel.chosen(*pose);
  ImGui::Dummy({0, 0});
  action_row(look, studio, {{"pose_capture", "Capture at the playhead"}, {"library_import", "From a library\u2026"}}, panel.out);
  ImGui::EndChild();
  return std::move(panel.out);
}

}  // namespace mien::editor
