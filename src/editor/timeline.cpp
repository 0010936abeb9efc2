#include <GLFW/glfw3.h>
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/speech_lane.hpp"
#include "editor/timeline_parts.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kNamesWidth = 208, kLoopBand = 14, kRuler = 28, kMarkers = 20, kWave = 48, kSpeech = 44, kLane = 24;

// Scrolls the lane into view where it is not, to the middle.
void reveal(const TimelineLayout& at, float room, TimelineState& state) {
  const auto lane = std::find_if(at.lanes.begin(), at.lanes.end(), [&](const Lane& l) { return l.kind == Lane::Kind::control && l.name == state.reveal; });
  state.reveal.clear();
  if (lane == at.lanes.end()) return;
  const float top = static_cast<float>(lane - at.lanes.begin()) * at.lane_height;
  if (top < state.scroll || top + at.lane_height > state.scroll + room) state.scroll = top - (room - at.lane_height) * 0.5f;
}

TimelineLayout layout(const Scene& scene, TimelineState& state) {
  const Look& look = scene.look;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  TimelineLayout at;
  at.left = pos.x, at.top = pos.y, at.right = pos.x + size.x, at.bottom = pos.y + size.y;
  at.split = at.left + look.px(kNamesWidth);
  at.loop_bottom = at.top + look.px(kLoopBand);
  at.ruler_bottom = at.loop_bottom + look.px(kRuler);
  at.marker_bottom = at.ruler_bottom + (scene.document.show().markers.empty() ? 0 : look.px(kMarkers));
  at.sound_bottom = at.marker_bottom + (scene.document.show().sounds.empty() ? 0 : look.px(scene.view.spectrogram ? 2 * kWave : kWave));
  at.wave_bottom = at.sound_bottom + (scene.speech.empty() || scene.document.show().sounds.empty() ? 0 : look.px(kSpeech));
  at.lane_height = look.px(kLane);
  at.axis = {scene.view.visible, at.split, std::max(1.0f, at.right - at.split)};
  at.lanes = gather_lanes(scene.document.rig(), scene.document.show(), scene.view.folded, scene.document.keys_of().kind != KeysOf::Kind::clip);
  const float room = std::max(0.0f, at.bottom - at.wave_bottom);
  if (!state.reveal.empty()) reveal(at, room, state);
  state.scroll = std::clamp(state.scroll, 0.0f, std::max(0.0f, at.content_height() - room));
  at.scroll = state.scroll;
  return at;
}

void mark_parts(const TimelineLayout& at) {
  if (!listening_probe) return;
  mark("timeline/ruler", {at.split, at.loop_bottom}, {at.right, at.ruler_bottom});
  mark("timeline/loop", {at.split, at.top}, {at.right, at.loop_bottom});
  mark("timeline/markers", {at.split, at.ruler_bottom}, {at.right, at.marker_bottom});
  for (std::size_t i = 0; i < at.lanes.size(); ++i) {
    const float y = at.lane_top(i);
    if (y < at.wave_bottom || y + at.lane_height > at.bottom) continue;
    const std::string kind = at.lanes[i].kind == Lane::Kind::group ? "group/" : at.lanes[i].layer ? "layer/" : "lane/";
    mark((kind + at.lanes[i].name).c_str(), {at.split, y}, {at.right, y + at.lane_height});
    mark((kind + at.lanes[i].name + "/name").c_str(), {at.left, y}, {at.split, y + at.lane_height});
  }
}

void draw_scrollbar(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const float room = at.bottom - at.wave_bottom, content = at.content_height();
  if (content <= room || room <= 0) return;
  const float width = scene.look.px(4), top = at.wave_bottom + at.scroll / content * room;
  fill(list, at.split - width - scene.look.px(2), top, at.split - scene.look.px(2), top + room * room / content, scene.look.theme.raised_active);
}

// Where a marker gets another name, or goes.
void marker_popup(const Scene& scene, TimelineState& state, Commands& out) {
  const Look& look = scene.look;
  if (!state.marker) return;
  if (state.marker_fresh) ImGui::OpenPopup("marker");
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(12), look.px(12)});
  const bool shown = ImGui::BeginPopup("marker", ImGuiWindowFlags_NoMove);
  ImGui::PopStyleVar();
  if (!shown) return state.marker.reset();
  line(look.fonts.body, look.theme.quiet, "Marker at " + time_text(scene.view, state.marker->time));
  if (state.marker_fresh) ImGui::SetKeyboardFocusHere();
  state.marker_fresh = false;
  ImGui::SetNextItemWidth(look.px(240));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(6)});
  bool named = ImGui::InputText("##marker", &state.marker_name, ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
  ImGui::PopStyleVar();
  mark("field/marker");
  ImGui::SameLine();
  named |= button(look, "Rename");
  ImGui::SameLine();
  const bool gone = button(look, "Delete");
  if (named && !state.marker_name.empty()) out.push_back(Change{SetMarker{*state.marker, {state.marker->time, state.marker_name}}});
  if (gone) out.push_back(Change{DeleteMarker{*state.marker}});
  if (named || gone || ImGui::IsKeyPressed(GLFW_KEY_ESCAPE, false)) ImGui::CloseCurrentPopup();
  ImGui::EndPopup();
}

}  // namespace

std::size_t TimelineLayout::lane_at(float y) const noexcept {
  if (y < wave_bottom || y >= bottom) return lanes.size();
  const auto index = static_cast<std::size_t>((y - wave_bottom + scroll) / lane_height);
  return std::min(index, lanes.size());
}

Commands timeline(const Scene& scene, TimelineState& state) {
  const TimelineLayout at = layout(scene, state);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  draw_lanes(list, scene, at);
  if (const auto box = box_of(scene, at)) {
    list.PushClipRect({at.split, at.wave_bottom}, {at.right, at.bottom}, true);
    draw_box(list, scene, *box);
    list.PopClipRect();
  }
  draw_waves(list, scene, at);
  draw_speech(list, scene, at);
  draw_ruler(list, scene, at);
  draw_playhead(list, scene, at);
  draw_scrollbar(list, scene, at);
  mark_parts(at);

  ImGui::SetCursorScreenPos({at.left, at.top});
  ImGui::InvisibleButton("timeline", {at.right - at.left, at.bottom - at.top});
  Commands out = timeline_hands(scene, at, state, ImGui::IsItemHovered());
  marker_popup(scene, state, out);
  word_popup(scene, state, out);
  return out;
}

}  // namespace mien::editor
