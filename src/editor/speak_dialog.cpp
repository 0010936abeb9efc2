// A recording and a text to a talking head.
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <filesystem>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"
#include "speech/delivery.hpp"

namespace mien::editor {
namespace {

void speak_label(const Look& look, const char* text) {
  const ImVec2 p = ImGui::GetCursorScreenPos();
  words(*ImGui::GetWindowDrawList(), look.fonts.body, p.x, p.y + look.px(14), look.theme.quiet, text);
  ImGui::Dummy({look.px(120), look.px(28)});
  ImGui::SameLine(0, 0);
}

void slider(const Look& look, const char* name, const char* id, float& value, float most, const char* what) {
  speak_label(look, name);
  ImGui::SetNextItemWidth(look.px(160));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(6)});
  ImGui::SliderFloat((std::string("##") + id).c_str(), &value, 0, most, "%.2f", ImGuiSliderFlags_AlwaysClamp);
  ImGui::PopStyleVar();
  mark((std::string("field/") + id).c_str());
  ImGui::SameLine(0, look.px(12));
  const ImVec2 p = ImGui::GetCursorScreenPos();
  words(*ImGui::GetWindowDrawList(), look.fonts.body, p.x, p.y + look.px(14), look.theme.quiet, what);
  ImGui::NewLine();
}

// The text's field has no lines of its own making: a paragraph from elsewhere is broken between words. It says the same.
std::string wrapped(std::string text) {
  constexpr std::size_t kMost = 92;
  std::size_t begin = 0, space = std::string::npos;
  for (std::size_t n = 0; n < text.size(); ++n) {
    if (text[n] == '\n') begin = n + 1, space = std::string::npos;
    if (text[n] == ' ') space = n;
    if (n - begin >= kMost && space != std::string::npos) text[space] = '\n', begin = space + 1, space = std::string::npos;
  }
  return text;
}

void which_sound(const Scene& scene, SpeakState& state, Commands& out) {
  const Look& look = scene.look;
  const auto& sounds = scene.document.whole().sounds;
  speak_label(look, "Recording");
  for (std::size_t n = 0; n < sounds.size(); ++n) {
    if (n > 0) ImGui::SameLine(0, look.px(4));
    const std::string name = std::filesystem::path(sounds[n].file).filename().string();
    if (button(look, (name + "##sound" + std::to_string(n)).c_str(), {0, 0}, state.sound == n ? Weight::strong : Weight::plain)) state.sound = n;
  }
  ImGui::SameLine(0, look.px(4));
  if (button(look, "Another\u2026")) out.push_back(Ask{Dialog::add_sound});
}

}  // namespace

Commands speak_dialog(const Scene& scene, SpeakState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Make the head speak", 720)) return out;
  const bool running = scene.speaking.running;
  ImGui::BeginDisabled(running);
  which_sound(scene, state, out);
  line(look.fonts.body, look.theme.quiet, "What is said, typed or pasted. With none, the mouth follows the sound alone.");
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(8)});
  ImGui::InputTextMultiline("##said", &state.text, {ImGui::GetContentRegionAvail().x, look.px(120)});
  ImGui::PopStyleVar();
  mark("field/said");
  if (!ImGui::IsItemActive()) state.text = wrapped(state.text);
  slider(look, "Mouth", "say_amount", state.amount, 2, "how far it moves; lips close all the same");
  slider(look, "Brows", "say_brows", state.brows, static_cast<float>(speech::kMostDelivery), "rise on stressed words");
  slider(look, "Head", "say_head", state.head, static_cast<float>(speech::kMostDelivery), "nods on stressed words");
  slider(look, "Blinks", "say_blinks", state.blinks, 1, "share of the phrases that end in one");
  slider(look, "Gaze", "say_gaze", state.gaze, static_cast<float>(speech::kMostDelivery), "turns away in pauses");
  speak_label(look, "Seed");
  ImGui::SetNextItemWidth(look.px(96));
  ImGui::InputInt("##say_seed", &state.seed);
  mark("field/say_seed");
  ImGui::SameLine(0, look.px(24));
  speak_label(look, "Language");
  ImGui::SetNextItemWidth(look.px(72));
  ImGui::InputText("##say_language", &state.language);
  mark("field/say_language");
  ImGui::EndDisabled();
  ImGui::Dummy({0, look.px(4)});
  if (running) line(look.fonts.strong, look.theme.text, "Listening: " + percent_text(scene.speaking.share));
  else if (!scene.speaking.word.empty()) paragraph(look.fonts.strong, scene.speaking.failed ? look.theme.warning : look.theme.quiet, scene.speaking.word);
  const float width = look.px(144), height = look.px(36);
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x - 2 * width - ImGui::GetStyle().ItemSpacing.x);
  if (button(look, running ? "Cancel##say" : "Close##say", {width, height})) {
    if (running) out.push_back(Say{Say::Do::stop});
    else out.push_back(Ask{Dialog::none});
  }
  ImGui::SameLine();
  ImGui::BeginDisabled(running);
  if (button(look, "Make it speak", {width, height}, Weight::strong)) {
    Say say;
    say.sound = state.sound, say.text = state.text;
    out.push_back(say);
  }
  ImGui::EndDisabled();
  end_dialog();
  return out;
}

}  // namespace mien::editor
