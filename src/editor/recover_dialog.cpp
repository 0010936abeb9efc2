// What a crash left, with what it holds.
#include <imgui.h>

#include <array>
#include <ctime>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

std::string when_text(std::int64_t time_s) {
  const std::time_t time = time_s;
  std::tm local{};
  std::array<char, 64> text{};
  if (!::localtime_r(&time, &local) || std::strftime(text.data(), text.size(), "%Y-%m-%d %H:%M:%S", &local) == 0) return "at an unknown time";
  return text.data();
}

std::string held_text(const store::Left& left) {
  return when_text(left.time_s) + ", " + std::to_string(left.edits) + (left.edits == 1 ? " edit" : " edits") + " not saved";
}

}  // namespace

Commands recover_dialog(const Scene& scene, const Studio& studio, RecoverState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Work that was not saved", 640)) return out;
  paragraph(look.fonts.body, look.theme.quiet, "Mien ended before this was saved. The files of the shows are as they were last saved.");
  for (std::size_t i = 0; i < studio.left().size(); ++i) {
    const store::Left& left = studio.left()[i];
    ImGui::PushID(static_cast<int>(i));
    ImGui::Dummy({0, look.px(4)});
    line(look.fonts.strong, look.theme.text, left.name);
    paragraph(look.fonts.body, look.theme.text, held_text(left));
    paragraph(look.fonts.body, look.theme.quiet, left.file.empty() ? "A show that was never saved" : left.file.string());
    const std::string number = i == 0 ? "" : "##" + std::to_string(i);
    if (button(look, ("Bring it back" + number).c_str(), {0, look.px(32)}, i == 0 ? Weight::strong : Weight::plain)) out.push_back(Recover{i});
    ImGui::SameLine();
    const bool sure = state.sure == static_cast<int>(i);
    if (button(look, ((sure ? "Yes, throw it away" : "Throw away\u2026") + number).c_str(), {look.px(168), look.px(32)})) {
      if (sure) out.push_back(Recover{i, true});
      else state.sure = static_cast<int>(i);
    }
    ImGui::PopID();
  }
  ImGui::Dummy({0, look.px(8)});
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x - look.px(112));
  if (button(look, "Later", {look.px(112), look.px(36)})) out.push_back(Ask{Dialog::none});
  end_dialog();
  return out;
}

}  // namespace mien::editor
