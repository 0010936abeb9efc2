// The question before a file is written over that holds what somebody else wrote.
#include <imgui.h>

#include <array>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {

Commands replaced_dialog(const Scene& scene, const ReplacedState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, state.own ? "Changed by another program" : "A file of this name is there", 560)) return out;
  paragraph(look.fonts.body, look.theme.text, state.own ? "What is on the disk is not what was opened or saved here:" : "Saving here would write over it:");
  for (const auto& file : state.files) paragraph(look.fonts.body, look.theme.quiet, file.string());
  paragraph(look.fonts.body, look.theme.text, "Under another name you keep both. Written over, what is on the disk now is gone.");
  const int pressed = answers(look, std::array{"Cancel", "Write over it", "Another name\u2026"}, Weight::strong);
  if (pressed == 0) out.push_back(Ask{Dialog::none});
  if (pressed == 1) out.push_back(Confirm{});
  if (pressed == 2) out.push_back(Ask{state.asked});
  end_dialog();
  return out;
}

}  // namespace mien::editor
