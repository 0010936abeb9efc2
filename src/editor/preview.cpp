#include "editor/preview.hpp"

#include <imgui.h>

#include <array>

#include "editor/draw.hpp"
#include "editor/probe.hpp"

namespace mien::editor {

Preview::Preview() { view_.init(&problem_); }

const HeadStyle& Preview::style(const Scene& scene) {
  const auto rig = scene.document.shared_rig();
  if (rig != rig_ || dark_ != scene.look.theme.dark) style_ = head_style(scene.look.theme, *rig);
  rig_ = rig, dark_ = scene.look.theme.dark;
  return style_;
}

void Preview::draw_face(const Scene& scene, const show::FacePose& face, float x, float y, float width, float height) {
  const auto place = problem_.empty() ? pictures_.find(face, style(scene)) : std::nullopt;
  if (!place) {
    pictures_pending_ = problem_.empty();
    return;
  }
  ImGui::GetWindowDrawList()->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(pictures_.texture())), {x, y}, {x + width, y + height}, {place->u0, place->v1}, {place->u1, place->v0});
}

void Preview::draw(const Scene& scene, float x, float y, float width, float height) {
  const Look& look = scene.look;
  if (width < 8 || height < 8) return;
  if (!problem_.empty()) {
    ImGui::SetCursorScreenPos({x + look.px(12), y + look.px(40)});
    paragraph(look.fonts.body, look.theme.warning, problem_);
    return;
  }
  ImGui::SetCursorScreenPos({x, y});
  ImGui::InvisibleButton("head", {width, height});
  ImGui::SetItemAllowOverlap();
  mark("head");
  ImGuiIO& io = ImGui::GetIO();
  if (ImGui::IsItemActive()) orbit(camera_, io.MouseDelta.x / look.scale, io.MouseDelta.y / look.scale);
  if (ImGui::IsItemHovered()) zoom(camera_, io.MouseWheel);
  view_.render(scene.report.face, scene.as_built, camera_, style(scene), static_cast<int>(width), static_cast<int>(height));
  // The texture's first row is the picture's lowest.
  ImGui::GetWindowDrawList()->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(view_.texture())), {x, y}, {x + width, y + height}, {0, 1}, {1, 0});

  struct From { const char* name; Camera camera; };
  const std::array<From, 3> sides{{{"Front", kFrontView}, {"Three-quarter", kThreeQuarterView}, {"Side", kSideView}}};
  float right = x + width - look.px(8);
  for (auto side = sides.rbegin(); side != sides.rend(); ++side) {
    const float w = width_of(look.fonts.body, side->name) + look.px(16);
    right -= w;
    ImGui::SetCursorScreenPos({right, y + look.px(4)});
    if (ImGui::InvisibleButton(side->name, {w, look.px(28)})) camera_ = side->camera;
    const bool on = camera_ == side->camera, over = ImGui::IsItemHovered();
    words(*ImGui::GetWindowDrawList(), on ? look.fonts.strong : look.fonts.body, right + look.px(8), y + look.px(18), on || over ? look.theme.text : look.theme.quiet, side->name);
  }
}

}  // namespace mien::editor
