#include "editor/speech_lane.hpp"

#include <GLFW/glfw3.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

using speech::Origin;

constexpr float kEdge = 5;          // within which an edge is taken hold of
constexpr double kDoubtful = 0.25;  // confidence below which a part is marked
constexpr float kLeastText = 12;    // narrower parts have no letters

struct Rows { float top, middle, bottom; };
Rows rows_of(const TimelineLayout& at) { return {at.sound_bottom, (at.sound_bottom + at.wave_bottom) * 0.5f, at.wave_bottom}; }

// Confidence is a bar at the lower edge, as long as the part is certain; doubtful ones also have a broken upper edge, so that no colour is needed to see it.
template <class Part>
void draw_part(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Part& part, const std::string& text, bool marked, show::Time start, float top, float bottom, bool strong) {
  const Look& look = scene.look;
  const float x0 = std::max(at.axis.x(start + part.range.begin), at.split), x1 = std::min(at.axis.x(start + part.range.end), at.right);
  if (x1 <= at.split || x0 >= at.right || x1 - x0 < 1) return;
  const float hair = std::max(1.0f, look.px(1)), y0 = top + look.px(1), y1 = bottom - look.px(1);
  const bool doubtful = part.confidence < kDoubtful;
  fill(list, x0, y0, x1, y1, look.theme.raised);
  fill(list, x0, y0, x0 + hair, y1, look.theme.quiet);
  fill(list, x1 - hair, y0, x1, y1, look.theme.quiet);
  fill(list, x0, y1 - look.px(3), x0 + static_cast<float>(std::clamp(part.confidence, 0.0, 1.0)) * (x1 - x0), y1, doubtful ? look.theme.warning : look.theme.good);
  if (doubtful || marked)
    for (float x = x0; x < x1; x += look.px(6)) fill(list, x, y0, std::min(x + look.px(3), x1), y0 + look.px(2), look.theme.warning);
  if (x1 - x0 < look.px(kLeastText)) return;
  const std::string shown = text + (doubtful || marked ? "?" : "");
  ImFont* font = strong ? look.fonts.strong : look.fonts.body;
  const float width = std::min(width_of(font, shown), x1 - x0 - look.px(6));
  words(list, font, (x0 + x1 - width) * 0.5f, (y0 + y1) * 0.5f - look.px(1), look.theme.text, shown, x1 - x0 - look.px(4));
}

// A word that was not found stands as a flag where it should be heard.
void draw_missing(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const speech::Word& word, show::Time start, float top, float bottom) {
  const Look& look = scene.look;
  const float x = at.axis.x(start + word.range.begin);
  if (x < at.split || x >= at.right) return;
  const float size = look.px(5);
  fill_triangle(list, {x - size, top}, {x + size, top}, {x, top + 2 * size}, look.theme.warning);
  fill(list, x - look.px(0.5f), top, x + look.px(0.5f), bottom, look.theme.warning);
  words(list, look.fonts.body, x + size, bottom - look.px(8), look.theme.warning, "not found: " + word.text, look.px(140));
}

bool missing(const speech::Word& word) { return word.range.empty(); }

bool heard(const DrawnSpeech& speech, show::Range part) { return part.begin < speech.heard.end && (part.empty() ? part.begin >= speech.heard.begin : part.end > speech.heard.begin); }

template <class Part>
std::optional<SpeechHit> hit_in(const std::vector<Part>& parts, bool word, const DrawnSpeech& speech, const TimelineLayout& at, float x, float reach) {
  std::optional<SpeechHit> inside;
  for (std::size_t n = 0; n < parts.size(); ++n) {
    const float x0 = at.axis.x(speech.start + parts[n].range.begin), x1 = at.axis.x(speech.start + parts[n].range.end);
    if (parts[n].range.empty() ? std::abs(x - x0) > reach : x < x0 - reach || x > x1 + reach) continue;
    const float near = std::min(reach, (x1 - x0) * 0.3f);
    const bool begin = !parts[n].range.empty() && std::abs(x - x0) <= near, end = !parts[n].range.empty() && std::abs(x - x1) <= near;
    if (begin || end) return SpeechHit{speech.sound, {word, n, end && !(begin && x < (x0 + x1) * 0.5f)}, true};
    if (parts[n].range.empty() || (x >= x0 && x < x1)) inside = SpeechHit{speech.sound, {word, n, false}, false};
  }
  return inside;
}

const DrawnSpeech* of_sound(const Scene& scene, std::size_t sound) {
  for (const auto& s : scene.speech)
    if (s.sound == sound) return &s;
  return nullptr;
}

}  // namespace

void draw_speech(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  if (at.wave_bottom <= at.sound_bottom) return;
  const Look& look = scene.look;
  const Rows rows = rows_of(at);
  fill(list, at.left, rows.top, at.right, rows.bottom, look.theme.panel);
  list.PushClipRect({at.split, rows.top}, {at.right, rows.bottom}, true);
  std::size_t count = 0, lost = 0;
  for (const auto& speech : scene.speech) {
    // Words that the show doesn't play are none.
    list.PushClipRect({at.axis.x(speech.start + speech.heard.begin), rows.top}, {at.axis.x(speech.start + speech.heard.end), rows.bottom}, true);
    for (const auto& word : speech.alignment->words) count += heard(speech, word.range);
    for (const auto& phone : speech.alignment->phones) draw_part(list, scene, at, phone, phone.label, false, speech.start, rows.middle, rows.bottom, false);
    for (const auto& word : speech.alignment->words)
      if (!missing(word)) draw_part(list, scene, at, word, word.text, word.origin == Origin::rules, speech.start, rows.top, rows.middle, true);
    for (const auto& word : speech.alignment->words)
      if (missing(word) && heard(speech, word.range)) ++lost, draw_missing(list, scene, at, word, speech.start, rows.top, rows.middle);
    list.PopClipRect();
  }
  list.PopClipRect();
  const float x = at.left + look.px(12), room = at.split - x - look.px(12);
  words(list, look.fonts.strong, x, (rows.top + rows.middle) * 0.5f, look.theme.text, "Words", room);
  words(list, look.fonts.strong, x, (rows.middle + rows.bottom) * 0.5f, look.theme.text, "Phones", room);
  std::string state = std::to_string(count) + (lost > 0 ? ", " + std::to_string(lost) + " not found" : "");
  if (scene.speaking.running) state = "working, " + percent_text(scene.speaking.share);
  const float width = width_of(look.fonts.body, state);
  words(list, look.fonts.body, at.split - look.px(12) - width, (rows.top + rows.middle) * 0.5f, lost > 0 && !scene.speaking.running ? look.theme.warning : look.theme.quiet, state, room);
  fill(list, at.left, rows.bottom - look.px(1), at.right, rows.bottom, look.theme.line);
  if (listening_probe) mark("timeline/words", {at.split, rows.top}, {at.right, rows.middle}), mark("timeline/phones", {at.split, rows.middle}, {at.right, rows.bottom});
}

std::optional<SpeechHit> speech_at(const Scene& scene, const TimelineLayout& at, float x, float y) {
  if (y < at.sound_bottom || y >= at.wave_bottom || x < at.split) return {};
  const float reach = scene.look.px(kEdge);
  const bool word = y < rows_of(at).middle;
  std::optional<SpeechHit> hit;
  for (const auto& speech : scene.speech) {
    if (const show::Time t = at.axis.time(x) - speech.start; t < speech.heard.begin - at.axis.span(reach) || t > speech.heard.end + at.axis.span(reach)) continue;
    const auto one = word ? hit_in(speech.alignment->words, true, speech, at, x, reach) : hit_in(speech.alignment->phones, false, speech, at, x, reach);
    if (one && (!hit || one->edge)) hit = one;
  }
  return hit;
}

std::string about(const Scene& scene, const SpeechHit& hit) {
  const DrawnSpeech* speech = of_sound(scene, hit.sound);
  if (!speech) return "";
  const auto& b = hit.boundary;
  const auto text = [&](const std::string& name, show::Range range, double confidence, const std::string& more) {
    return name + "   " + time_text(scene.view, speech->start + range.begin) + " to " + time_text(scene.view, speech->start + range.end) + "   certain to " + percent_text(confidence) + more;
  };
  if (!b.word) {
    if (b.index >= speech->alignment->phones.size()) return "";
    const auto& phone = speech->alignment->phones[b.index];
    return text(phone.label, phone.range, phone.confidence, hit.edge ? "   drag to move its edge" : "");
  }
  if (b.index >= speech->alignment->words.size()) return "";
  const auto& word = speech->alignment->words[b.index];
  if (missing(word)) return word.text + "   was not found in the sound   double-click to spell it otherwise";
  const char* origin = word.origin == Origin::rules ? "   in no dictionary: pronounced by the rules of spelling" : "";
  return text(word.text, word.range, word.confidence, origin + std::string(hit.edge ? "   drag to move its edge" : "   double-click to change it"));
}

void word_popup(const Scene& scene, TimelineState& state, Commands& out) {
  const Look& look = scene.look;
  if (!state.word) return;
  if (state.word->fresh) ImGui::OpenPopup("word");
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(12), look.px(12)});
  const bool shown = ImGui::BeginPopup("word", ImGuiWindowFlags_NoMove);
  ImGui::PopStyleVar();
  if (!shown) return state.word.reset();
  line(look.fonts.body, look.theme.quiet, "What is said here, as it is spelled");
  if (state.word->fresh) ImGui::SetKeyboardFocusHere();
  state.word->fresh = false;
  ImGui::SetNextItemWidth(look.px(240));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(6)});
  bool changed = ImGui::InputText("##word", &state.word->text, ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
  ImGui::PopStyleVar();
  mark("field/word");
  ImGui::SameLine();
  changed |= button(look, "Change");
  ImGui::SameLine();
  const bool gone = button(look, "Not said");
  if (changed || gone) {
    Say say;
    say.what = Say::Do::reword, say.sound = state.word->sound, say.boundary.word = true, say.boundary.index = state.word->index, say.text = gone ? "" : state.word->text;
    if (gone || !say.text.empty()) out.push_back(say);
  }
  if (changed || gone || ImGui::IsKeyPressed(GLFW_KEY_ESCAPE, false)) ImGui::CloseCurrentPopup();
  ImGui::EndPopup();
}

}  // namespace mien::editor
