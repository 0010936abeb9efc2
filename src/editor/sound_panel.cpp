// The show's sounds beside the lanes: where each stands, how loud it is, what is left out of it.
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "editor/draw.hpp"
#include "editor/fields.hpp"
#include "editor/probe.hpp"
#include "editor/sound_lane.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr double kMostGain_db = 24;
constexpr show::Time kLeastHeard{20'000'000};  // that numbers leave of a sound

std::string loudness_text(const DrawnSound* sound, double gain_db) {
  if (!sound || !sound->loudness) return "being read";
  const show::Range heard = sound->heard();
  const auto loudness = sound->loudness->of_part(show::to_seconds(heard.begin), show::to_seconds(heard.end));
  if (loudness.integrated_lufs <= sound::kSilent_lufs) return "silent, or shorter than 0.4 s";
  char text[96];
  std::snprintf(text, sizeof text, "%.1f LUFS in all, %.1f at its loudest", loudness.integrated_lufs + gain_db, loudness.most_momentary_lufs + gain_db);
  return text;
}

}  // namespace

Commands sound_panel(const Scene& scene, const Studio& studio, ComposeState& state) {
  const Look& look = scene.look;
  Commands out;
  ImGui::SetCursorPos({look.px(12), look.px(8)});
  ImGui::PushStyleColor(ImGuiCol_ChildBg, 0);
  ImGui::BeginChild("sounds", {ImGui::GetContentRegionAvail().x - look.px(8), ImGui::GetContentRegionAvail().y});
  ImGui::PopStyleColor();
  Fields fields(look, state);
  const auto& sounds = scene.document.show().sounds;
  if (sounds.empty()) paragraph(look.fonts.body, look.theme.quiet, "A show plays sounds: speech, music, effects. Add one, or drop a file on the window.");
  action_row(look, studio, {{"add_sound", "Add a sound\u2026"}, {"speak", "Speak\u2026"}}, out);
  action_button(look, studio, "spectrogram", "By frequency", scene.view.spectrogram, out);
  for (std::size_t n = 0; n < sounds.size(); ++n) {
    const auto drawn = std::find_if(scene.sounds.begin(), scene.sounds.end(), [&](const DrawnSound& s) { return s.index == n && s.placed.file == sounds[n].file; });
    const std::string id = std::to_string(n);
    fields.heading(sounds[n].file.c_str());
    show::Sound to = sounds[n];
    if (const auto start = fields.number("Start, s", ("sound_start_" + id).c_str(), show::to_seconds(to.start), "%.3f")) {
      to.start = std::max(show::Time{0}, show::from_seconds(*start));
      out.push_back(Change{sound_edit(scene, n, to, "Move sound")});
    }
    // What is left out is left out: the rest stays where it is heard.
    if (const auto trim = fields.number("Left out, s", ("sound_trim_" + id).c_str(), show::to_seconds(to.trim), "%.3f", true)) {
      const show::Time was = to.trim;
      to.trim = std::max(show::Time{0}, show::from_seconds(*trim));
      if (drawn != scene.sounds.end()) to.trim = std::min(to.trim, std::max(show::Time{0}, drawn->wave->length() - to.trim_end - kLeastHeard));
      to.start += to.trim - was;
      if (to.start >= show::Time{0}) out.push_back(Change{sound_edit(scene, n, to, "Trim sound")});
    }
    to = sounds[n];
    if (const auto trim = fields.number("At its end, s", ("sound_trim_end_" + id).c_str(), show::to_seconds(to.trim_end), "%.3f")) {
      to.trim_end = std::max(show::Time{0}, show::from_seconds(*trim));
      if (drawn != scene.sounds.end()) to.trim_end = std::min(to.trim_end, std::max(show::Time{0}, drawn->wave->length() - to.trim - kLeastHeard));
      out.push_back(Change{sound_edit(scene, n, to, "Trim sound")});
    }
    to = sounds[n];
    if (const auto gain = fields.number("Gain, dB", ("sound_gain_" + id).c_str(), to.gain_db, "%.1f", true)) {
      to.gain_db = std::clamp(*gain, -120.0, kMostGain_db);
      out.push_back(Change{sound_edit(scene, n, to, "Set gain of sound")});
    }
    if (button(look, ("Remove##sound" + id).c_str())) {
      show::Show less = scene.document.undrafted();
      less.sounds.erase(less.sounds.begin() + static_cast<std::ptrdiff_t>(n));
      out.push_back(Change{Composition{PutShow{"Remove sound", std::make_shared<const show::Show>(std::move(less))}}});
    }
    line(look.fonts.body, look.theme.quiet, loudness_text(drawn == scene.sounds.end() ? nullptr : &*drawn, sounds[n].gain_db));
  }
  ImGui::EndChild();
  return out;
}

}  // namespace mien::editor
