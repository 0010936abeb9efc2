// The cue board: a large pad for each cue, with what it is up to. A press starts it, another releases it.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "editor/action.hpp"
#include "editor/draw.hpp"
#include "editor/keys.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kPadWidth = 176, kLowestPad = 60, kHighestPad = 96, kPadGap = 8;

using perform::CuePhase;

std::string word_of_cue(const perform::CueNow& now, const show::Show& show) {
  std::string word = perform::name(now.phase);
  if (now.phase == CuePhase::playing && now.chosen >= 0 && static_cast<std::size_t>(now.chosen) < show.cues.size()) word += ": " + show.cues[static_cast<std::size_t>(now.chosen)].name;
  if (now.phase == CuePhase::pausing && now.wanted) word += ", then again";
  return word;
}

// State by shape: running pads are filled and have a bar at their left, one that fades is framed, one that pauses or waits has a thin frame.
void pad(const Scene& scene, int n, float width, float height, Commands& out) {
  const Look& look = scene.look;
  const show::Cue& cue = scene.document.whole().cues[static_cast<std::size_t>(n)];
  const perform::CueNow now = n < scene.report.cues.count ? scene.report.cues.cue[static_cast<std::size_t>(n)] : perform::CueNow{};
  const float air = look.px(12), title = std::round(height * 0.3f), word = std::round(height * 0.64f);
  const ImVec2 p = ImGui::GetCursorScreenPos();
  ImGui::PushID(n);
  if (ImGui::InvisibleButton("pad", {width, height})) out.push_back(CueAct{CueAct::Do::press, n});
  ImGui::PopID();
  mark(("cue/" + cue.name).c_str());
  const bool over = ImGui::IsItemHovered(), runs = now.phase == CuePhase::playing || now.phase == CuePhase::holding;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  fill(list, p.x, p.y, p.x + width, p.y + height, runs ? look.theme.raised_active : over ? look.theme.raised_hover : look.theme.raised);
  if (runs) fill(list, p.x, p.y, p.x + look.px(6), p.y + height, look.theme.accent);
  else if (now.phase == CuePhase::leaving) list.AddRect({p.x, p.y}, {p.x + width, p.y + height}, look.theme.accent, 0, 0, look.px(2));
  else if (now.phase != CuePhase::ready) list.AddRect({p.x, p.y}, {p.x + width, p.y + height}, look.theme.quiet, 0, 0, look.px(1));
  const float left = p.x + air, room = width - 2 * air;
  const float key = cue.key.empty() ? 0 : width_of(look.fonts.strong, cue.key) + look.px(16);
  words(list, look.fonts.large_strong, left, p.y + title, look.theme.text, cue.name, room - key);
  if (!cue.key.empty()) {
    const float x = p.x + width - air - key + look.px(8), y = p.y + title, half = look.px(12);
    list.AddRect({x - look.px(8), y - half}, {x - look.px(8) + key, y + half}, look.theme.quiet, 0, 0, std::max(1.0f, look.px(1)));
    words(list, look.fonts.strong, x, y, look.theme.text, cue.key);
  }
  words(list, look.fonts.body, left, p.y + word, runs ? look.theme.text : look.theme.quiet, word_of_cue(now, scene.document.whole()), room);
  const float y = p.y + height - look.px(8);
  if (now.phase != CuePhase::ready && now.share > 0) {
    fill(list, left, y, left + room, y + look.px(3), look.theme.line);
    fill(list, left, y, left + room * std::min(1.0f, now.share), y + look.px(3), runs || now.phase == CuePhase::leaving ? look.theme.accent : look.theme.quiet);
  }
  if (over) beside_pointer(look, show::to_text(cue.deed));
}

}  // namespace

Commands cue_board(const Scene& scene, const Studio& studio) {
  const Look& look = scene.look;
  Commands out;
  const auto& cues = scene.document.whole().cues;
  const ImVec2 top = ImGui::GetCursorScreenPos();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float middle = top.y + look.px(16), named = words(list, look.fonts.strong, top.x, middle, look.theme.text, "Cue board") + look.px(16);
  const auto wide = [&](const char* action, const char* label) { return width_of(look.fonts.strong, label) + width_of(look.fonts.body, to_text(studio.keys().of(*find_action(action)))) + look.px(32 + 8); };
  const float orders = wide("cues_release", "Release all") + wide("cue_board", "Close"), whole = ImGui::GetContentRegionAvail().x;
  // Where it moves the head, as far as there is room: the safety column says it, too.
  const std::string_view where = scene.link.state == link::State::armed ? "the head does this" : "on screen only";
  float said = width_of(look.fonts.body, where) + look.px(16);
  if (named + said + orders > whole) said = 0;
  else words(list, look.fonts.body, top.x + named, middle, look.theme.quiet, where);
  ImGui::SetCursorScreenPos(named + orders > whole ? ImVec2{top.x, top.y + look.px(36)} : ImVec2{top.x + named + said, top.y});
  action_row(look, studio, {{"cues_release", "Release all"}, {"cue_board", "Close"}}, out);
  ImGui::BeginChild("pads", {0, 0}, false);
  if (cues.empty()) {
    paragraph(look.fonts.body, look.theme.quiet, "A cue is something that the head can be asked for at any moment: a clip, a pose, a stretch of the show. Add one in the list of cues, and it has a pad here.");
    action_button(look, studio, "cue_add", "Add a cue", false, out);
  }
  const float gap = look.px(kPadGap), room = ImGui::GetContentRegionAvail().x;
  const int across = std::max(1, static_cast<int>(std::floor((room + gap) / (look.px(kPadWidth) + gap))));
  const float width = std::floor((room + gap) / static_cast<float>(across)) - gap;
  // As high as lets all be seen, where that is high enough.
  const auto rows = static_cast<float>(std::max<std::size_t>(1, (cues.size() + static_cast<std::size_t>(across) - 1) / static_cast<std::size_t>(across)));
  const float height = std::clamp(std::floor((ImGui::GetContentRegionAvail().y + gap) / rows) - gap, look.px(kLowestPad), look.px(kHighestPad));
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {gap, gap});
  for (std::size_t n = 0; n < std::min(cues.size(), show::kMaxCues); ++n) {
    if (n % static_cast<std::size_t>(across)) ImGui::SameLine();
    pad(scene, static_cast<int>(n), width, height, out);
  }
  ImGui::PopStyleVar();
  ImGui::EndChild();
  return out;
}

}  // namespace mien::editor
