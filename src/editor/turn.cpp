#include "editor/turn.hpp"

#include <imgui.h>

#include <chrono>
#include <utility>

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

// The library counts whoever asks it for memory in a plain number, which only its own debugging window shows; nothing else of it is shared between two atlases.
struct Letters {
  explicit Letters(float scale) : size(scale), atlas(IM_NEW(ImFontAtlas)()), fonts(load_fonts(*atlas, scale)) {
    unsigned char* pixels = nullptr;
    int width = 0, height = 0;
    atlas->GetTexDataAsRGBA32(&pixels, &width, &height);  // as the window's thread is going to ask for them
  }
  ~Letters() { IM_DELETE(atlas); }
  Letters(const Letters&) = delete;
  Letters& operator=(const Letters&) = delete;
  float size;
  ImFontAtlas* atlas;  // as the library's own context makes and deletes them
  Fonts fonts;
};

Turn::Turn(Window& window, Studio& studio, Preview& preview) : window_(window), studio_(studio), preview_(preview), size_(studio.look().scale) {
  studio_.set_draw_head([&preview](const Scene& scene, float x, float y, float w, float h) { preview.draw(scene, x, y, w, h); });
  studio_.set_draw_face([&preview](const Scene& scene, const show::FacePose& face, float x, float y, float w, float h) { preview.draw_face(scene, face, x, y, w, h); });
}

Turn::~Turn() = default;

void Turn::follow_size() {
  const float wanted = window_.scale() * store::share_of(studio_.settings().text);
  if (coming_.valid() && coming_.wait_for(std::chrono::seconds(0)) == std::future_status::ready) {
    const std::unique_ptr<Letters> letters = coming_.get();
    if (letters->size == wanted) {
      ImGuiIO& io = ImGui::GetIO();
      std::swap(io.Fonts, letters->atlas);  // what was there goes with the letters
      Look look = studio_.look();
      look.scale = size_ = wanted;
      look.fonts = letters->fonts;
      io.FontDefault = look.fonts.body;
      dress(look.theme, look.scale);
      studio_.set_look(std::move(look));
      window_.upload_letters();
    }
  }
  if (size_ != wanted && !shown_) {  // nobody waits for a frame yet, and the first shall not jump
    size_ = wanted;
    studio_.set_look(make_look(window_, studio_.look().theme.dark, store::share_of(studio_.settings().text)));
    window_.upload_letters();
  }
  if (size_ != wanted && !coming_.valid()) coming_ = std::async(std::launch::async, [wanted] { return std::make_unique<Letters>(wanted); });
}

void Turn::take() {
  follow_size();
  shown_ = true;
  const std::vector<KeyPress> presses = window_.begin_frame();
  preview_.begin_frame();
  studio_.frame(presses);
  window_.end_frame(studio_.look().theme.panel);
  window_.set_title(studio_.title());
}

}  // namespace mien::editor
