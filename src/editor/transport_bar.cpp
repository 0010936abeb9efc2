#include <imgui.h>

#include "editor/draw.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {

Commands transport_bar(const Scene& scene, const Studio& studio) {
  const Look& look = scene.look;
  Commands out;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  const float middle = pos.y + size.y * 0.5f;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  words(list, look.fonts.large_strong, pos.x + look.px(12), middle, look.theme.text, clock_text(scene.report.time));

  ImGui::SetCursorScreenPos({pos.x + look.px(160), middle - look.px(16)});
  const bool playing = scene.report.playing;
  action_button(look, studio, "play", playing ? "Pause" : "Play", playing, out);
  ImGui::SameLine();
  action_button(look, studio, "to_start", "To start", false, out);
  ImGui::SameLine();
  action_button(look, studio, "loop", "Loop", scene.document.open() && scene.document.show().loop.has_value(), out);
  ImGui::SameLine();
  action_button(look, studio, "fit", "Fit", false, out);
  const float buttons_end = ImGui::GetItemRectMax().x;

  std::string text;
  if (scene.document.open()) {
    const std::size_t chosen = scene.document.selection().size();
    text = chosen == 0 ? "" : chosen == 1 ? "1 key chosen" : std::to_string(chosen) + " keys chosen";
    text += (text.empty() ? "" : ", ") + std::string("show is ") + seconds_text(scene.document.show().length);
  }
  const float width = width_of(look.fonts.body, text), x = pos.x + size.x - look.px(12) - width;
  if (x > buttons_end + look.px(16)) words(list, look.fonts.body, x, middle, look.theme.quiet, text);
  return out;
}

}  // namespace mien::editor
