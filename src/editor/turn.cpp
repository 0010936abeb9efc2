#include "editor/turn.hpp"

#include <imgui.h>

namespace mien::editor {

Look make_look(const Window& window, bool dark, float text) {
  Look look;
  look.theme = theme(dark);
  look.scale = window.scale() * text;
  look.fonts = load_fonts(*ImGui::GetIO().Fonts, look.scale);
  ImGui::GetIO().FontDefault = look.fonts.body;
  dress(look.theme, look.scale);
  return look;
}

Turn::Turn(Window& window, Studio& studio, Preview& preview) : window_(window), studio_(studio), preview_(preview) {
  studio_.set_draw_head([&preview](const Scene& scene, float x, float y, float w, float h) { preview.draw(scene, x, y, w, h); });
  studio_.set_draw_face([&preview](const Scene& scene, const show::FacePose& face, float x, float y, float w, float h) { preview.draw_face(scene, face, x, y, w, h); });
}

void Turn::take() {
  if (window_.scale_changed() || text_ != store::share_of(studio_.settings().text)) {
    text_ = store::share_of(studio_.settings().text);
    studio_.set_look(make_look(window_, studio_.look().theme.dark, text_));
    window_.upload_letters();
  }
  const std::vector<KeyPress> presses = window_.begin_frame();
  preview_.begin_frame();
  studio_.frame(presses);
  window_.end_frame(studio_.look().theme.panel);
  window_.set_title(studio_.title());
}

}  // namespace mien::editor
