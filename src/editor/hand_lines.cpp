// What is set of a line of the hands' map: a knob's range, curve, dead zone and spring, a trigger's deed and hold.
#include <imgui.h>

#include <array>

#include "editor/draw.hpp"
#include "editor/fields.hpp"
#include "editor/hands_desk.hpp"
#include "editor/panels.hpp"

namespace mien::editor {

Commands knob_fields(const Scene& scene, const HandsDesk& hands, int row, ComposeState& state) {
  Commands out;
  Fields fields(scene.look, state);
  const live::Knob& k = hands.map.knobs[static_cast<std::size_t>(row)];
  const auto number = [&](const char* label, const char* id, double shown, const char* format, bool second, Hand::Do what, double unit = 1) {
    if (const auto v = fields.number(label, id, shown * unit, format, second)) out.push_back(Hand{what, row, *v / unit});
  };
  number("From", "knob_low", k.low, "%.2f", false, Hand::Do::low), number("to", "knob_high", k.high, "%.2f", true, Hand::Do::high);
  number("Curve", "knob_curve", k.curve, "%.2f", false, Hand::Do::exponent), number("Dead, %", "knob_dead", k.dead_zone, "%.0f", true, Hand::Do::dead_zone, 100);
  number("Smooth, ms", "knob_smooth", k.smoothing_ms, "%.0f", false, Hand::Do::smoothing), number("Spring, s", "knob_spring", k.spring_back_s, "%.2f", true, Hand::Do::spring_back);
  return out;
}

Commands trigger_fields(const Scene& scene, const HandsDesk& hands, int row, ComposeState& state) {
  Commands out;
  const Look& look = scene.look;
  Fields fields(look, state);
  const live::Trigger& t = hands.map.triggers[static_cast<std::size_t>(row)];
  constexpr std::array kHolds{live::Trigger::Hold::momentary, live::Trigger::Hold::latch, live::Trigger::Hold::once};
  fields.label("Hold");
  for (const auto hold : kHolds) {
    if (hold != kHolds.front()) ImGui::SameLine(0, look.px(4));
    if (fields.chip((std::string(live::name(hold)) + "##hold").c_str(), t.hold == hold)) out.push_back(Hand{Hand::Do::trigger_hold, row, double(hold)});
  }
  std::vector<std::string> names;
  const show::Show& show = scene.document.whole();
  if (t.what == live::Trigger::What::pose)
    for (const auto& pose : show.poses) names.push_back(pose->name);
  if (t.what == live::Trigger::What::clip)
    for (const auto& clip : show.clips) names.push_back(clip->name);
  if (t.what == live::Trigger::What::cue)
    for (const auto& cue : show.cues) names.push_back(cue.name);
  if (names.empty()) return out;
  fields.label("Does");
  const float left = ImGui::GetCursorPosX(), right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
  for (std::size_t n = 0; n < names.size(); ++n) {
    if (n && ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, names[n]) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
    else if (n) ImGui::SetCursorPosX(left);
    if (fields.chip((names[n] + "##does").c_str(), t.name == names[n])) out.push_back(Hand{Hand::Do::trigger_name, row, 0, names[n]});
  }
  return out;
}

}  // namespace mien::editor
