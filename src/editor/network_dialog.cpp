// Other machines: which of them may play the head, whose time it follows, and who is told it. Everything is off until it is switched on here, in each session anew.
#include <imgui.h>
#include <imgui_stdlib.h>

#include <array>
#include <charconv>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"
#include "show/text.hpp"
#include "show/timecode.hpp"

namespace mien::editor {
namespace {

constexpr float kNetworkWidth = 720, kNetworkField = 168;

void network_field(const Look& look, const char* title, const char* id, std::string& text) {
  ImGui::AlignTextToFramePadding();
  line(look.fonts.body, look.theme.quiet, title);
  ImGui::SameLine(look.px(300));
  ImGui::SetNextItemWidth(look.px(kNetworkField));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(4)});
  ImGui::InputText(id, &text);
  ImGui::PopStyleVar();
  mark((std::string("field/") + (id + 2)).c_str());
}

void tick(const Look& look, const char* label, const char* name, bool& on, bool same_line = false) {
  if (same_line) ImGui::SameLine(0, look.px(16));
  tick_box(look, label, &on);
  mark((std::string("network/") + name).c_str());
}

bool read_whole(const std::string& text, int least, int most, int& value) {
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  return read.ec == std::errc{} && read.ptr == text.data() + text.size() && value >= least && value <= most;
}

// What was typed as settings; what is wrong with it, where something is.
std::string settings_of(const NetworkState& s, UseNetwork& out) {
  int port = 0, universe = 1;
  if (s.osc && !read_whole(s.port, 0, 65535, port)) return "OSC's port is a number from 0 to 65535.";
  if (s.sacn && !read_whole(s.universe, 1, live::kMostUniverse, universe)) return "A universe is a number from 1 to 63999.";
  const auto osc_ip = live::parse_ip(s.osc_ip), sacn_ip = live::parse_ip(s.sacn_ip);
  if (!osc_ip || !sacn_ip) return "Listen on an address of this machine: four numbers with dots. 127.0.0.1 is this machine alone.";
  auto allow = live::parse_ranges(s.allow, "");
  if (!allow) return allow.problem().cure;
  out.network = {s.osc, static_cast<std::uint16_t>(port), *osc_ip, {s.control, s.cue, s.transport}, s.sacn, universe, *sacn_ip, live::kSacnPort, std::move(*allow)};
  const auto tempo = show::parse_number(s.tempo), freewheel = show::parse_number(s.freewheel);
  const auto rate = static_cast<show::FrameRate>(s.rate);  // both enumerations have the four in one order
  const auto zero = show::parse_timecode(rate, s.zero);
  if (!tempo || *tempo < live::kLeastTempo_bpm || *tempo > live::kMostTempo_bpm) return "A tempo is from 20 to 300 beats a minute.";
  if (!freewheel || *freewheel < 0.1 || *freewheel > live::kMostFreewheel_s) return "It can go on by itself for 0.1 to 10 s.";
  if (!zero || *zero < 0) return "The code at which the show begins is written as 01:00:00:00: hours, minutes, seconds, and frames that its rate has.";
  if (s.send && s.output.empty()) return "Choose the MIDI output that time code is to go to.";
  const show::Time begins = show::frame_time(rate, *zero);
  out.follow = {static_cast<live::FollowSettings::Source>(s.follow), begins, *tempo, show::from_seconds(*freewheel).count()};
  if (s.send) out.code = {s.output, static_cast<live::TimeCodeRate>(s.rate), begins};
  return "";
}

void osc_part(const Look& look, NetworkState& s) {
  tick(look, "OSC: controls, cues and transport by messages", "osc", s.osc);
  if (!s.osc) return;
  network_field(look, "UDP port", "##osc_port", s.port);
  network_field(look, "Listens on", "##osc_ip", s.osc_ip);
  ImGui::AlignTextToFramePadding();
  line(look.fonts.body, look.theme.quiet, "May touch");
  ImGui::SameLine(look.px(300));
  tick(look, "controls", "control", s.control);
  tick(look, "cues", "cue", s.cue, true);
  tick(look, "transport", "transport", s.transport, true);
}

void sacn_part(const Look& look, NetworkState& s) {
  tick(look, "sACN: a lighting desk\u2019s levels", "sacn", s.sacn);
  if (!s.sacn) return;
  network_field(look, "Universe", "##universe", s.universe);
  network_field(look, "Listens on", "##sacn_ip", s.sacn_ip);
}

void follow_part(const Look& look, NetworkState& s) {
  ImGui::AlignTextToFramePadding();
  line(look.fonts.body, look.theme.text, "The show follows");
  static constexpr const char* kNames[] = {"its own time", "MIDI Time Code", "MIDI clock"};
  for (int n = 0; n < 3; ++n) {
    ImGui::SameLine(0, look.px(16));
    if (choice_dot(look, kNames[n], s.follow == n)) s.follow = n;
    mark((std::string("network/follow ") + live::name(static_cast<live::FollowSettings::Source>(n))).c_str());
  }
  if (s.follow == 2) network_field(look, "Its own speed is a tempo of, beats/min", "##tempo", s.tempo);
  if (s.follow != 0) network_field(look, "Goes on by itself for, s", "##freewheel", s.freewheel);
}

void output_choice(const Look& look, NetworkState& s, const std::vector<std::string>& outputs) {
  ImGui::AlignTextToFramePadding();
  line(look.fonts.body, look.theme.quiet, "To the MIDI output");
  ImGui::SameLine(look.px(300));
  ImGui::SetNextItemWidth(look.px(kNetworkField * 2));
  const bool open = ImGui::BeginCombo("##output", s.output.empty() ? (outputs.empty() ? "none is there" : "choose one") : s.output.c_str());
  mark("network/output");
  if (!open) return;
  for (const auto& name : outputs) {
    if (ImGui::Selectable(name.c_str(), name == s.output)) s.output = name;
    mark(("network/output " + name).c_str());
  }
  ImGui::EndCombo();
}

void send_part(const Look& look, NetworkState& s, const Studio& studio) {
  tick(look, "Send MIDI Time Code while the show plays", "send", s.send);
  if (s.send) output_choice(look, s, studio.midi_outputs());
  if (s.follow != 1 && !s.send) return;
  ImGui::AlignTextToFramePadding();
  line(look.fonts.body, look.theme.quiet, "Code\u2019s frames a second");
  static constexpr const char* kNames[] = {"24", "25", "29.97 drop", "30"};
  for (int n = 0; n < 4; ++n) {
    n == 0 ? ImGui::SameLine(look.px(300)) : ImGui::SameLine(0, look.px(16));
    if (choice_dot(look, kNames[n], s.rate == n)) s.rate = n;
    mark((std::string("network/rate ") + kNames[n]).c_str());
  }
  network_field(look, "The show begins at the code", "##zero", s.zero);
}

// What is open now, and what came.
void state_part(const Look& look, const live::NetworkStatus& now, const live::CodeSent& code) {
  if (now.osc)
    paragraph(look.fonts.body, look.theme.quiet, "OSC at " + live::to_text(now.osc_at) + ": " + std::to_string(now.osc_counts.touches) + " touches, " + std::to_string(now.osc_counts.orders) + " orders, " +
                                                     std::to_string(now.osc_counts.broken + now.osc_counts.unknown) + " not understood, " + std::to_string(now.osc_counts.forbidden + now.refused) + " not allowed.");
  if (now.sacn) {
    std::string sources;
    for (const auto& s : now.sources) sources += (sources.empty() ? "" : ", ") + s.name + " (priority " + std::to_string(s.priority) + ")";
    paragraph(look.fonts.body, look.theme.quiet, "sACN at " + live::to_text(now.sacn_at) + ": " + (sources.empty() ? std::string("nobody sends") : sources) + ".");
  }
  if (code.on) paragraph(look.fonts.body, code.there ? look.theme.quiet : look.theme.warning, "Now " + live::to_text(code) + ".");
}

}  // namespace

Commands network_dialog(const Scene& scene, const Studio& studio, NetworkState& s) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Other machines", kNetworkWidth)) return out;
  paragraph(look.fonts.body, look.theme.quiet, "Whoever is heard here moves the head while it is armed. No message can arm it. Keep the head\u2019s network apart from others, and Stop within reach.");
  ImGui::Dummy({0, look.px(4)});
  osc_part(look, s);
  sacn_part(look, s);
  if (s.osc || s.sacn) network_field(look, "From these addresses only (empty: all)", "##allow", s.allow);
  ImGui::Dummy({0, look.px(4)});
  follow_part(look, s);
  ImGui::Dummy({0, look.px(4)});
  send_part(look, s, studio);
  state_part(look, studio.network(), studio.code_sent());
  if (!s.problem.empty()) paragraph(look.fonts.strong, look.theme.warning, s.problem);
  const int pressed = answers(look, std::array{"Cancel", "Use this"}, Weight::strong);
  if (pressed == 0) out.push_back(Ask{Dialog::none});
  if (pressed == 1) {
    UseNetwork use;
    s.problem = settings_of(s, use);
    if (s.problem.empty()) out.push_back(std::move(use));
  }
  end_dialog();
  return out;
}

}  // namespace mien::editor
