#include "editor/hands.hpp"

#include <GLFW/glfw3.h>
#include <gtest/gtest.h>
#include <stdlib.h>

#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
using editor::InputEvent;

show::Rig small_rig() {
  show::Rig rig;
  rig.name = "Pip";
  rig.groups = {{"eyes"}, {"mouth"}};
  rig.boards = {{"face", 0, 16, {{"servos", 5}}}};
  rig.actuators = {{"lids", "eyes", "face", "servos", 0}, {"gaze", "eyes", "face", "servos", 1}, {"corners", "mouth", "face", "servos", 2}};
  rig.controls = {{"blink", "eyes", "1", 0, 1, 0}, {"yaw", "eyes", "deg", -30, 30, 0}, {"smile", "mouth", "1", 0, 1, 0}};
  rig.mappings = {{{{"lid_upper", 0, {{"blink", -40}}}}, show::Straight{}, {"lids"}},
                  {{{"eye_yaw_left", 0, {{"yaw", 1}}}}, show::Straight{}, {"gaze"}},
                  {{{"lip_corner_up_left", 0, {{"smile", 30}}}}, show::Straight{}, {"corners"}}};
  return rig;
}

show::Show small_show() {
  using show::from_seconds;
  show::Show show;
  show.name = "Hello";
  show.rig_file = "pip.rig.json";
  show.length = from_seconds(4);
  show.channels = {
      std::make_shared<const show::Channel>(show::Channel{"blink", {{from_seconds(0.5), 0}, {from_seconds(1), 1}, {from_seconds(1.5), 0}}}),
      std::make_shared<const show::Channel>(show::Channel{"yaw", {{from_seconds(2), 10}}}),
  };
  return show;
}

Hands::Hands(show::Rig rig, show::Show show, ImVec2 screen) {
  // What the desktop of whoever runs this wants is not what is tested.
  for (const char* name : {"GTK_THEME", "DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;
  io.DisplaySize = screen;
  io.DeltaTime = 1.0f / 60;
  editor::name_keys(io);
  editor::Look look;
  look.fonts = editor::load_fonts(*io.Fonts, 1);
  io.FontDefault = look.fonts.body;
  editor::dress(look.theme, 1);
  unsigned char* pixels = nullptr;
  int width = 0, height = 0;
  io.Fonts->GetTexDataAsRGBA32(&pixels, &width, &height);
  studio = std::make_unique<editor::Studio>(stage, look);
  studio->take_document(editor::Document(std::make_shared<const show::Rig>(std::move(rig)), std::make_shared<const show::Show>(std::move(show)), {}, false), {});
  editor::listening_probe = &probe;
  settle();
}

Hands::~Hands() {
  studio.reset();
  editor::listening_probe = nullptr;
  ImGui::DestroyContext();
}

const std::vector<show::Keyframe>& Hands::keys(const std::string& control) const {
  static const std::vector<show::Keyframe> none;
  const show::Channel* channel = show::find_channel(show(), control);
  return channel ? channel->keys : none;
}

void Hands::frame() {
  const auto presses = queue_.feed(ImGui::GetIO());
  ImGui::NewFrame();
  probe.boxes.clear();
  studio->frame(presses);
  ImGui::Render();
  vertices = ImGui::GetDrawData()->TotalVtxCount;
}

void Hands::settle() {
  do frame();
  while (!queue_.empty());
  for (int i = 0; i < 3; ++i) frame();
}

ImVec2 Hands::middle(const std::string& name) {
  const auto found = probe.boxes.find(name);
  if (found == probe.boxes.end()) {
    ADD_FAILURE() << "the window shows no " << name;
    return {-100, -100};
  }
  return {(found->second.min.x + found->second.max.x) / 2, (found->second.min.y + found->second.max.y) / 2};
}

ImVec2 Hands::at(const std::string& lane, double seconds) {
  const ImVec2 centre = middle("lane/" + lane);
  const auto box = probe.boxes["lane/" + lane];
  const editor::TimeAxis axis{studio->view().visible, box.min.x, box.max.x - box.min.x};
  return {axis.x(show::from_seconds(seconds)), centre.y};
}

void Hands::push(const InputEvent& e) {
  // As the program does: Stop looks at every event first.
  if (e.kind == InputEvent::Kind::key && e.code == GLFW_KEY_ESCAPE && e.down) studio->stop_now();
  queue_.push(e);
}

void Hands::click(ImVec2 where, int mods) {
  for (int i = 0; i < 30; ++i) frame();  // apart from the click before, so that no two make a double click
  if (mods) push(InputEvent::key(GLFW_KEY_LEFT_SHIFT, true, mods));
  move(where);
  push(InputEvent::button(0, true));
  push(InputEvent::button(0, false));
  if (mods) push(InputEvent::key(GLFW_KEY_LEFT_SHIFT, false, 0));
  settle();
}

void Hands::choose(const std::string& label) {
  for (const editor::Action& a : editor::actions()) {
    if (a.name != label) continue;
    click("menu/" + std::string(a.menu));
    return click("item/" + std::string(a.id));
  }
  ADD_FAILURE() << "no action is called " << label;
}

void Hands::double_click(ImVec2 where) {
  for (int i = 0; i < 30; ++i) frame();
  move(where);
  for (int i = 0; i < 2; ++i) push(InputEvent::button(0, true)), push(InputEvent::button(0, false));
  settle();
}

void Hands::drag(ImVec2 from, ImVec2 to, int mods, bool release) {
  for (int i = 0; i < 30; ++i) frame();
  if (mods & ~editor::kShift) push(InputEvent::key(GLFW_KEY_LEFT_ALT, true, mods));
  move(from);
  push(InputEvent::button(0, true));
  frame();
  frame();
  frame();
  // Shift while pressing would add to the choice; while dragging it constrains.
  if (mods & editor::kShift) push(InputEvent::key(GLFW_KEY_LEFT_SHIFT, true, mods));
  move({(from.x + to.x) / 2, (from.y + to.y) / 2});
  frame();
  move(to);
  settle();
  if (!release) return;
  push(InputEvent::button(0, false));
  settle();
  if (mods) push(InputEvent::key(GLFW_KEY_LEFT_SHIFT, false, 0));
  settle();
}

void Hands::press(int key, int mods) {
  push(InputEvent::key(key, true, mods));
  push(InputEvent::key(key, false, 0));
  settle();
}

void Hands::type(const std::string& text) {
  for (const char c : text) {
    push(InputEvent::text(static_cast<unsigned char>(c)));
    frame();
  }
  settle();
}

}  // namespace mien::tests
