// The column that never moves: what is live, whether the link holds, and Stop. It stands on the side of the bench where the head
// stands, full height, in every mode. State is said by word and shape first, by colour second.
#include <imgui.h>

#include <cmath>
#include <cstdio>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/safety.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kStopPad = 12, kStop = 72;

void state_shape(ImDrawList& list, const Look& look, float x, float y, SafetyShape shape, Colour colour) {
  const float r = look.px(13), stroke = look.px(3);
  switch (shape) {
    case SafetyShape::ring: list.AddCircle({x, y}, r - stroke * 0.5f, colour, 32, stroke); break;
    case SafetyShape::dotted:
      for (int i = 0; i < 8; ++i) {
        const float a = static_cast<float>(i) * 0.785398f;
        list.AddCircleFilled({x + (r - stroke) * std::cos(a), y + (r - stroke) * std::sin(a)}, stroke * 0.8f, colour, 12);
      }
      break;
    case SafetyShape::ring_and_dot:
      list.AddCircle({x, y}, r - stroke * 0.5f, colour, 32, stroke);
      list.AddCircleFilled({x, y}, look.px(4), colour, 16);
      break;
    case SafetyShape::solid: fill(list, x - r, y - r, x + r, y + r, colour); break;
    case SafetyShape::half:
      list.AddRect({x - r, y - r}, {x + r, y + r}, colour, 0, 0, stroke);
      fill(list, x - r, y, x + r, y + r, colour);
      break;
    case SafetyShape::cross:
      list.AddLine({x - r, y - r}, {x + r, y + r}, colour, look.px(5));
      list.AddLine({x - r, y + r}, {x + r, y - r}, colour, look.px(5));
      break;
  }
}

void rule(const Look& look) {
  ImGui::Dummy({0, look.px(4)});
  const ImVec2 p = ImGui::GetCursorScreenPos();
  fill(*ImGui::GetWindowDrawList(), p.x, p.y, p.x + ImGui::GetContentRegionAvail().x, p.y + std::max(1.0f, look.px(1)), look.theme.line);
  ImGui::Dummy({0, look.px(8)});
}

// A name to the left, its value to the right edge, so that the column's figures line up.
void figure_row(const Look& look, std::string_view name, std::string_view value, Colour colour) {
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, y = p.y + look.px(10);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float used = width_of(look.fonts.body, value), high = look.px(20);
  if (p.y + high <= list.GetClipRectMax().y) {  // whole, or not at all
    words(list, look.fonts.body, p.x, y, look.theme.quiet, name, width - used - look.px(8));
    words(list, look.fonts.body, p.x + width - used, y, colour, value);
  }
  ImGui::Dummy({width, high});
}

void link_buttons(const Scene& scene, Commands& out) {
  using link::State;
  const Look& look = scene.look;
  const float width = ImGui::GetContentRegionAvail().x;
  const State state = scene.link.state;
  if (state == State::armed || state == State::arming) {
    if (button(look, "Disarm", {width, look.px(32)})) out.push_back(Act{"disarm"});
  } else if (state == State::ready) {
    if (button(look, "Arm\u2026", {width, look.px(32)}, Weight::strong)) out.push_back(Act{"arm"});
  }
  if (state == State::closed) {
    if (button(look, "Connect\u2026", {width, look.px(32)})) out.push_back(Act{"port"});
  } else if (state != State::armed && state != State::arming && state != State::disarming) {
    if (button(look, "Disconnect", {width, look.px(32)})) out.push_back(Act{"disconnect"});
  }
}

void boards(const Scene& scene, Commands& out) {
  const Look& look = scene.look;
  bool strangers = false;
  for (const link::BoardStatus& b : scene.link.boards) {
    char text[64];
    const bool stranger = b.standing != link::Standing::expected;
    strangers = strangers || stranger;
    if (!b.answering) std::snprintf(text, sizeof text, "silent");
    else if (stranger) std::snprintf(text, sizeof text, "%s", b.standing == link::Standing::swapped ? "swapped" : "replaced");
    else if (b.frames_late + b.frames_bad > 0) std::snprintf(text, sizeof text, "%u late, %u bad", b.frames_late, b.frames_bad);
    else std::snprintf(text, sizeof text, "%u latched", b.frames_latched);
    const ImVec2 p = ImGui::GetCursorScreenPos();
    figure_row(look, b.name, text, b.answering && !stranger ? look.theme.text : look.theme.warning);
    mark(("safety/board " + b.name).c_str(), p, ImGui::GetCursorScreenPos());
  }
  if (!strangers) return;
  using link::State;
  const State state = scene.link.state;
  if (state == State::armed || state == State::arming || state == State::disarming) paragraph(look.fonts.body, look.theme.quiet, "Disarm to take over the board that answers.");
  else if (button(look, "Take over\u2026", {ImGui::GetContentRegionAvail().x, look.px(32)})) out.push_back(Act{"take_over"});
}

// What the governor does to the rails that ask for one.
void rails(const Scene& scene) {
  const Look& look = scene.look;
  const auto& all = scene.document.rig().boards;
  for (int g = 0; g < scene.report.governed; ++g) {
    const perform::RailNow& now = scene.report.rail[static_cast<std::size_t>(g)];
    const auto b = static_cast<std::size_t>(now.board), r = static_cast<std::size_t>(now.rail);
    if (b >= all.size() || r >= all[b].rails.size()) continue;  // of a rig that is on its way out
    const bool slowed = now.share < 0.995f;
    char text[64];
    if (slowed) std::snprintf(text, sizeof text, "slowed to %.0f %%", static_cast<double>(now.share) * 100);
    else std::snprintf(text, sizeof text, "%.1f A", static_cast<double>(now.current_a));
    const ImVec2 p = ImGui::GetCursorScreenPos();
    figure_row(look, all[b].rails[r].name, text, slowed ? look.theme.warning : look.theme.text);
    mark(("safety/rail " + all[b].rails[r].name).c_str(), p, ImGui::GetCursorScreenPos());
  }
}

void tick_and_sound(const Scene& scene) {
  const Look& look = scene.look;
  const perform::Lateness& l = scene.report.lateness;
  char text[64];
  line(look.fonts.strong, look.theme.text, "Tick lateness");
  std::snprintf(text, sizeof text, "%.2f ms", l.p50_us * 1e-3);
  figure_row(look, "half of them under", text, look.theme.text);
  std::snprintf(text, sizeof text, "%.2f ms", l.p99_us * 1e-3);
  figure_row(look, "99 % under", text, look.theme.text);
  std::snprintf(text, sizeof text, "%.2f ms", l.max_us * 1e-3);
  figure_row(look, "latest", text, look.theme.text);
  if (l.missed > 0) {
    std::snprintf(text, sizeof text, "%llu", static_cast<unsigned long long>(l.missed));
    figure_row(look, "missed", text, look.theme.warning);
  }
  rule(look);
  figure_row(look, "Clock", scene.report.sound_is_clock ? "sound" : "steady", look.theme.text);
  if (scene.silent_because) figure_row(look, "Sound", "silent", look.theme.warning);
  if (scene.silent_because && ImGui::IsItemHovered()) {
    ImGui::SetNextWindowSize({look.px(360), 0});
    ImGui::BeginTooltip();
    paragraph(look.fonts.body, look.theme.text, scene.silent_because->what + ". " + scene.silent_because->cure);
    ImGui::EndTooltip();
  }
}

// Drawn above everything, dialogs and their dimming included, because it works there too.
void stop_button(const Scene& scene, Rect at, Rect& stop) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const float pad = look.px(kStopPad), height = look.px(kStop);
  stop = {at.x + pad, at.y + at.height - pad - height, at.width - 2 * pad, height};
  const bool live = scene.link.state == link::State::armed || scene.link.state == link::State::arming;
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  const bool over = stop.contains(mouse.x, mouse.y);
  ImDrawList& list = *ImGui::GetForegroundDrawList();
  const ImVec2 min{stop.x, stop.y}, max{stop.x + stop.width, stop.y + stop.height};
  list.AddRectFilled(min, max, live ? t.live : over ? t.raised_hover : t.raised, look.px(4));
  if (!live || over) list.AddRect(min, max, live ? t.text : t.live, look.px(4), 0, look.px(2));
  const Colour ink = live ? t.live_text : t.text;
  words(list, look.fonts.large_strong, stop.x + look.px(16), stop.y + height * 0.5f, ink, "Stop");
  const std::string_view key = "Esc";
  words(list, look.fonts.strong, max.x - look.px(16) - width_of(look.fonts.strong, key), stop.y + height * 0.5f, ink, key);
  mark("button/Stop", min, max);
}

}  // namespace

SafetyWord safety_word(link::State state, perform::Mode mode) noexcept {
  using link::State;
  switch (state) {
    case State::closed: return {"Screen only", "No board is connected", SafetyShape::ring};
    case State::opening: return {"Opening", "Waiting for the port", SafetyShape::dotted};
    case State::greeting: return {"Calling", "The rig\u2019s boards have not answered yet", SafetyShape::dotted};
    case State::ready: return {"Not armed", "Connected; the head can't move", SafetyShape::ring_and_dot};
    case State::arming: return {"Arming", "Limits go to the boards", SafetyShape::half};
    case State::armed:
      if (mode == perform::Mode::creep) return {"Creeping", "Armed; the head goes slowly to its pose", SafetyShape::half};
      return {"Live", "Armed; the head moves", SafetyShape::solid};
    case State::disarming: return {"To rest", "The head goes slowly to rest", SafetyShape::half};
    case State::lost: return {"Link lost", "The boards hold, then rest", SafetyShape::cross};
  }
  return {"Screen only", "", SafetyShape::ring};
}

Commands safety_column(const Scene& scene, Rect at, Rect& stop) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  Commands out;
  const SafetyWord word = safety_word(scene.link.state, scene.report.mode);
  const bool live = word.shape == SafetyShape::solid || word.shape == SafetyShape::half;
  const Colour colour = live ? t.live : word.shape == SafetyShape::cross ? t.warning : t.text;

  const ImVec2 p = ImGui::GetCursorScreenPos();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (live) fill(list, at.x, at.y, at.x + look.px(4), at.y + at.height, t.live);
  // With large letters in a low window what stands last ends above Stop, which nothing shows through or around.
  ImGui::PushClipRect({at.x, at.y}, {at.x + at.width, at.y + at.height - look.px(kStopPad + kStop + 8)}, true);
  state_shape(list, look, p.x + look.px(14), p.y + look.px(20), word.shape, colour);
  words(list, look.fonts.large_strong, p.x + look.px(40), p.y + look.px(20), colour, word.word, at.width - look.px(60));
  mark("safety/state", p, {p.x + at.width, p.y + look.px(40)});
  ImGui::Dummy({0, look.px(40)});
  paragraph(look.fonts.body, t.quiet, word.meaning);
  if (!scene.link.port.empty() && scene.link.state != link::State::closed) figure_row(look, "Port", scene.link.port, t.text);
  if (scene.link.trouble) {
    paragraph(look.fonts.strong, t.warning, scene.link.trouble->what + ".");
    paragraph(look.fonts.body, t.text, scene.link.trouble->cure);
  }
  ImGui::Dummy({0, look.px(4)});
  link_buttons(scene, out);
  if (!scene.link.boards.empty() && scene.link.state != link::State::closed) {
    rule(look);
    boards(scene, out);
  }
  if (scene.report.governed > 0 && scene.document.open()) {
    rule(look);
    rails(scene);
  }
  rule(look);
  tick_and_sound(scene);
  ImGui::PopClipRect();
  stop_button(scene, at, stop);
  return out;
}

}  // namespace mien::editor
