#include "editor/action.hpp"

#include <GLFW/glfw3.h>

#include <array>

#include "editor/studio.hpp"

namespace mien::editor {
namespace {

bool always(const Studio&) { return true; }
bool loaded(const Studio& s) { return s.document().open(); }
bool at_bench(const Studio& s) { return s.bench() != nullptr; }
bool off_bench(const Studio& s) { return !at_bench(s); }
bool open(const Studio& s) { return loaded(s) && off_bench(s); }  // with the timeline in sight
bool found(const Studio& s) { return open(s) && s.feasibility() && !s.feasibility()->study.shortfalls.empty(); }
bool chosen(const Studio& s) { return open(s) && !s.document().selection().empty(); }

void edit(Studio& s, Edit e) { s.apply(Change{std::move(e), true}); }
template <Dialog D>
void ask(Studio& s) { s.apply(Ask{D}); }
template <show::Easing::Kind K>
void ease(Studio& s) { edit(s, SetEasing{s.document().selection().refs(), {K}}); }

void nudge(Studio& s, int ticks) {
  const show::Time tick{1'000'000'000 / std::max(1, s.document().rig().tick_hz)};
  edit(s, MoveKeys{s.document().selection().refs(), tick * ticks});
}

void toggle_loop(Studio& s) {
  const show::Show& show = s.document().show();
  if (show.loop) return edit(s, SetLoop{});
  // Of what is chosen where several keys are, else of the whole show.
  show::Range loop{show::Time{0}, show.length};
  if (s.document().selection().size() > 1) {
    loop = {show.length, show::Time{0}};
    for (const auto& [control, times] : s.document().selection().times)
      loop = {std::min(loop.begin, times.front()), std::max(loop.end, times.back())};
    if (loop.empty()) loop = {show::Time{0}, show.length};
  }
  edit(s, SetLoop{loop});
}

bool holding(const Studio& s) { return at_bench(s) && s.bench()->bench.doing() == perform::Doing::holding; }
bool steady(const Studio& s) { return holding(s) || (at_bench(s) && s.bench()->bench.doing() == perform::Doing::jogging); }
template <Work::Do D>
void work(Studio& s) { s.apply(Work{D}); }
void jog(Studio& s, double by_deg) { s.apply(Work{Work::Do::jog, by_deg}); }

constexpr int kC = kCtrl, kCS = kCtrl | kShift;

constexpr std::array kActions{
    // id, name, menu, key, repeats, possible, run
    Action{"new", "New show\u2026", "Show", {GLFW_KEY_N, kC}, false, off_bench, ask<Dialog::new_show>},
    Action{"open", "Open\u2026", "Show", {GLFW_KEY_O, kC}, false, off_bench, ask<Dialog::open_show>},
    Action{"save", "Save", "Show", {GLFW_KEY_S, kC}, false, loaded, [](Studio& s) { s.save(); }},
    Action{"save_as", "Save as\u2026", "Show", {GLFW_KEY_S, kCS}, false, loaded, ask<Dialog::save_as>},
    Action{"quit", "Quit", "Show", {GLFW_KEY_Q, kC}, false, always, [](Studio& s) { s.ask_to_quit(); }},

    Action{"undo", "Undo", "Keys", {GLFW_KEY_Z, kC}, true, [](const Studio& s) { return loaded(s) && s.document().can_undo(); }, [](Studio& s) { s.undo(); }},
    Action{"redo", "Redo", "Keys", {GLFW_KEY_Z, kCS}, true, [](const Studio& s) { return loaded(s) && s.document().can_redo(); }, [](Studio& s) { s.redo(); }},
    Action{"cut", "Cut", "Keys", {GLFW_KEY_X, kC}, false, chosen, [](Studio& s) { s.copy(); edit(s, DeleteKeys{s.document().selection().refs()}); }},
    Action{"copy", "Copy", "Keys", {GLFW_KEY_C, kC}, false, chosen, [](Studio& s) { s.copy(); }},
    Action{"paste", "Paste at the playhead", "Keys", {GLFW_KEY_V, kC}, false, [](const Studio& s) { return open(s) && s.can_paste(); }, [](Studio& s) { s.paste(); }},
    Action{"delete", "Delete", "Keys", {GLFW_KEY_DELETE, 0}, false, chosen, [](Studio& s) { edit(s, DeleteKeys{s.document().selection().refs()}); }},
    Action{"add_key", "Add a key at the playhead", "Keys", {GLFW_KEY_K, 0}, false, [](const Studio& s) { return open(s) && !s.view().control.empty(); }, [](Studio& s) { s.add_key_at_playhead(); }},
    Action{"select_all", "Choose all keys", "Keys", {GLFW_KEY_A, kC}, false, open, [](Studio& s) { s.apply(Select{all_keys(s.document().show())}); }},
    Action{"select_none", "Choose none", "Keys", {GLFW_KEY_A, kCS}, false, chosen, [](Studio& s) { s.apply(Select{}); }},
    Action{"nudge_back", "Move a tick earlier", "Keys", {GLFW_KEY_LEFT, kAlt}, true, chosen, [](Studio& s) { nudge(s, -1); }},
    Action{"nudge_on", "Move a tick later", "Keys", {GLFW_KEY_RIGHT, kAlt}, true, chosen, [](Studio& s) { nudge(s, 1); }},
    Action{"ease_hold", "Easing: hold", "Keys", {GLFW_KEY_1, 0}, false, chosen, ease<show::Easing::Kind::hold>},
    Action{"ease_linear", "Easing: linear", "Keys", {GLFW_KEY_2, 0}, false, chosen, ease<show::Easing::Kind::linear>},
    Action{"ease_smooth", "Easing: smooth", "Keys", {GLFW_KEY_3, 0}, false, chosen, ease<show::Easing::Kind::smooth>},
    Action{"ease_in_out", "Easing: ease-in-out", "Keys", {GLFW_KEY_4, 0}, false, chosen, [](Studio& s) { edit(s, SetEasing{s.document().selection().refs(), show::kEaseInOut}); }},

    Action{"arrive", "Make it arrive", "Keys", {GLFW_KEY_A, 0}, false, [](const Studio& s) { return s.finding_here(); }, [](Studio& s) { s.arrive_here(); }},
    Action{"arrive_all", "Make all arrive", "Keys", {GLFW_KEY_A, kShift}, false, [](const Studio& s) { return found(s) && !s.arriving().running; }, [](Studio& s) { s.apply(MakeArrive{}); }},

    Action{"play", "Play or pause", "Perform", {GLFW_KEY_SPACE, 0}, false, open, [](Studio& s) { s.toggle_play(); }},
    Action{"to_start", "To the start", "Perform", {GLFW_KEY_HOME, 0}, false, open, [](Studio& s) { s.stop_playing(); }},
    Action{"loop", "Loop on or off", "Perform", {GLFW_KEY_L, 0}, false, open, toggle_loop},
    Action{"tick_back", "One tick back", "Perform", {GLFW_KEY_LEFT, 0}, true, open, [](Studio& s) { s.step_playhead(-1); }},
    Action{"tick_on", "One tick on", "Perform", {GLFW_KEY_RIGHT, 0}, true, open, [](Studio& s) { s.step_playhead(1); }},
    Action{"key_back", "To the key before", "Perform", {GLFW_KEY_UP, 0}, true, open, [](Studio& s) { s.jump_to_key(-1); }},
    Action{"key_on", "To the next key", "Perform", {GLFW_KEY_DOWN, 0}, true, open, [](Studio& s) { s.jump_to_key(1); }},
    Action{"finding_back", "To the finding before", "Perform", {GLFW_KEY_N, kShift}, true, found, [](Studio& s) { s.jump_to_finding(-1); }},
    Action{"finding_on", "To the next finding", "Perform", {GLFW_KEY_N, 0}, true, found, [](Studio& s) { s.jump_to_finding(1); }},
    Action{"marker", "Add a marker at the playhead", "Perform", {GLFW_KEY_M, 0}, false, open, [](Studio& s) { edit(s, AddMarker{{s.playhead(), "Mark"}}); }},

    Action{"hands_learn", "Learn a knob for this channel", "Perform", {GLFW_KEY_L, kShift}, false, [](const Studio& s) { return open(s) && !s.view().control.empty(); }, [](Studio& s) { s.learn(); }},
    Action{"hands_record", "Record what hands do", "Perform", {GLFW_KEY_R, 0}, false, [](const Studio& s) { return open(s) && !(s.hands().map.knobs.empty() && s.hands().map.triggers.empty()); }, [](Studio& s) { s.record(); }},
    Action{"hands_panic", "Hands off: back to the show", "Perform", {GLFW_KEY_H, kShift}, false, open, [](Studio& s) { s.panic(); }},

    Action{"port", "Connect\u2026", "Link", {GLFW_KEY_P, kC}, false, always, ask<Dialog::port>},
    Action{"disconnect", "Disconnect", "Link", {}, false, [](const Studio& s) { return s.link().state != link::State::closed; }, [](Studio& s) { s.disconnect(); }},
    Action{"arm", "Arm\u2026", "Link", {GLFW_KEY_R, kC}, false, [](const Studio& s) { return s.link().state == link::State::ready; }, [](Studio& s) { s.apply(Ask{at_bench(s) ? Dialog::checklist : Dialog::arm}); }},
    Action{"take_over", "Take over the boards that answer\u2026", "Link", {GLFW_KEY_T, kCS}, false, [](const Studio& s) { return s.strangers() && !s.live(); }, ask<Dialog::take_over>},
    Action{"disarm", "Disarm, by way of rest", "Link", {GLFW_KEY_R, kCS}, false, [](const Studio& s) { return s.armed(); }, [](Studio& s) { s.disarm(); }},
    Action{"stop", "Stop now", "Link", {GLFW_KEY_ESCAPE, 0}, false, always, [](Studio& s) { s.stop_now(); }},

    Action{"bench", "Workbench: one servo at a time", "Bench", {GLFW_KEY_B, kC}, false, [](const Studio& s) { return open(s) && !s.live() && !s.document().rig().actuators.empty(); }, [](Studio& s) { s.open_bench(); }},
    Action{"bench_leave", "Leave the workbench", "Bench", {GLFW_KEY_B, kCS}, false, at_bench, work<Work::Do::leave>},
    Action{"bench_identify", "Identify: wiggle a little", "Bench", {GLFW_KEY_W, 0}, false, holding, work<Work::Do::identify>},
    Action{"bench_less", "1 deg less", "Bench", {GLFW_KEY_COMMA, 0}, true, steady, [](Studio& s) { jog(s, -1); }},
    Action{"bench_more", "1 deg more", "Bench", {GLFW_KEY_PERIOD, 0}, true, steady, [](Studio& s) { jog(s, 1); }},
    Action{"bench_bit_less", "0.1 deg less", "Bench", {GLFW_KEY_COMMA, kAlt}, true, steady, [](Studio& s) { jog(s, -0.1); }},
    Action{"bench_bit_more", "0.1 deg more", "Bench", {GLFW_KEY_PERIOD, kAlt}, true, steady, [](Studio& s) { jog(s, 0.1); }},
    Action{"bench_lot_less", "5 deg less", "Bench", {GLFW_KEY_COMMA, kC}, false, steady, [](Studio& s) { jog(s, -5); }},
    Action{"bench_lot_more", "5 deg more", "Bench", {GLFW_KEY_PERIOD, kC}, false, steady, [](Studio& s) { jog(s, 5); }},
    Action{"bench_travel", "Travel test", "Bench", {GLFW_KEY_T, 0}, false, holding, work<Work::Do::travel>},

    Action{"fit", "Fit the whole show", "Window", {GLFW_KEY_F, 0}, false, open, [](Studio& s) { s.see(fitted(s.document().show().length)); }},
    Action{"zoom_in", "Closer", "Window", {GLFW_KEY_EQUAL, 0}, true, open, [](Studio& s) { s.see(zoomed(s.view().visible, s.playhead(), 0.8, s.document().show().length)); }},
    Action{"zoom_out", "Farther", "Window", {GLFW_KEY_MINUS, 0}, true, open, [](Studio& s) { s.see(zoomed(s.view().visible, s.playhead(), 1.25, s.document().show().length)); }},
    Action{"findings", "List of findings", "Window", {GLFW_KEY_I, 0}, false, open, [](Studio& s) { s.panels().findings.open = !s.panels().findings.open; }},
    Action{"hands", "Hands: knobs and takes", "Window", {GLFW_KEY_H, 0}, false, open, [](Studio& s) { s.panels().hands_open = !s.panels().hands_open; }},
    Action{"as_built", "As built: thin lines on the head", "Window", {GLFW_KEY_G, 0}, false, open, [](Studio& s) { s.toggle_as_built(); }},
    Action{"theme", "Light or dark", "Window", {GLFW_KEY_D, kCS}, false, always, [](Studio& s) { s.toggle_theme(); }},
    Action{"cheat_sheet", "Keys and hands", "Window", {GLFW_KEY_F1, 0}, false, always, ask<Dialog::cheat_sheet>},
};

std::string key_name(int key) {
  if ((key >= GLFW_KEY_A && key <= GLFW_KEY_Z) || (key >= GLFW_KEY_0 && key <= GLFW_KEY_9)) return {static_cast<char>(key)};
  if (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F25) return "F" + std::to_string(key - GLFW_KEY_F1 + 1);
  switch (key) {
    case GLFW_KEY_SPACE: return "Space";
    case GLFW_KEY_ESCAPE: return "Esc";
    case GLFW_KEY_DELETE: return "Delete";
    case GLFW_KEY_HOME: return "Home";
    case GLFW_KEY_LEFT: return "\u2190";
    case GLFW_KEY_RIGHT: return "\u2192";
    case GLFW_KEY_UP: return "\u2191";
    case GLFW_KEY_DOWN: return "\u2193";
    case GLFW_KEY_EQUAL: return "=";
    case GLFW_KEY_COMMA: return ",";
    case GLFW_KEY_PERIOD: return ".";
    case GLFW_KEY_MINUS: return "\u2212";
    default: return "";
  }
}

}  // namespace

std::string to_text(Chord chord) {
  if (chord.key == 0) return "";
  std::string text;
  if (chord.mods & kCtrl) text += "Ctrl+";
  if (chord.mods & kAlt) text += "Alt+";
  if (chord.mods & kShift) text += "Shift+";
  return text + key_name(chord.key);
}

std::span<const Action> actions() noexcept { return kActions; }

const Action* find_action(std::string_view id) noexcept {
  for (const Action& a : kActions)
    if (a.id == id) return &a;
  return nullptr;
}

const Action* find_action(Chord chord) noexcept {
  if (chord.key == 0) return nullptr;
  for (const Action& a : kActions)
    if (a.key == chord) return &a;
  return nullptr;
}

}  // namespace mien::editor
