#include "editor/action.hpp"

#include <GLFW/glfw3.h>

#include <array>

#include "editor/compose_actions.hpp"
#include "editor/cue_actions.hpp"
#include "editor/curve_actions.hpp"
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

template <Side D>
void side(Studio& s) { s.apply(ShowSide{s.panels().side == D ? Side::none : D}); }

void nudge(Studio& s, int ticks) {
  const show::Time tick{1'000'000'000 / std::max(1, s.document().rig().tick_hz)};
  edit(s, MoveKeys{s.document().selection().refs(), tick * ticks});
}

show::Time frame(const Studio& s) { return show::frame_time(s.view().rate, 1); }

// The earliest key lands on the frame before or after; the others keep their distance.
void nudge_frames(Studio& s, int frames) {
  show::Time first = show::Time::max();
  for (const auto& [control, times] : s.document().selection().times) first = std::min(first, times.front());
  const show::FrameRate rate = s.view().rate;
  const std::int64_t at = show::frame_at(rate, first);
  // From between two frames, earlier is the one before.
  const std::int64_t to = frames < 0 && show::frame_time(rate, at) != first ? at + 1 + frames : at + frames;
  edit(s, MoveKeys{s.document().selection().refs(), show::frame_time(rate, to) - first});
}

void next_rate(Studio& s) {
  constexpr int kRates = 4;
  s.apply(ShowTime{s.view().timecode, static_cast<show::FrameRate>((static_cast<int>(s.view().rate) + 1) % kRates)});
}

template <bool Snapping::* Which>
void snap(Studio& s) {
  Snapping changed = s.view().snapping;
  changed.*Which = !(changed.*Which);
  s.apply(SnapTo{changed});
}

bool has_channel(const Studio& s) { return open(s) && find_control(s.document().rig(), s.view().control); }
template <SwitchLane::What W>
void switch_lane(Studio& s) { s.apply(SwitchLane{W, s.view().control}); }

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
    Action{"recent", "Open the show before this one", "Show", {GLFW_KEY_O, kCS}, false, [](const Studio& s) { return off_bench(s) && s.show_before() != nullptr; }, [](Studio& s) { s.apply(OpenFile{*s.show_before()}); }, "No other show was open lately", true},
    Action{"new_head", "New head\u2026", "Show", {GLFW_KEY_N, kCS}, false, off_bench, ask<Dialog::new_head>},
    Action{"recover", "Unsaved work of a crash\u2026", "Show", {}, false, [](const Studio& s) { return off_bench(s) && !s.left().empty(); }, ask<Dialog::recover>, "None was left", true},
    Action{"save", "Save", "Show", {GLFW_KEY_S, kC}, false, loaded, [](Studio& s) { s.save(); }},
    Action{"save_as", "Save as\u2026", "Show", {GLFW_KEY_S, kCS}, false, loaded, ask<Dialog::save_as>},
    Action{"show_on", "To the next open show", "Show", {GLFW_KEY_O, kAlt}, true, [](const Studio& s) { return s.tabs() > 1; }, [](Studio& s) { s.next_tab(1); }, "Only one show is open", true},
    Action{"show_back", "To the open show before", "Show", {GLFW_KEY_O, kAlt | kShift}, true, [](const Studio& s) { return s.tabs() > 1; }, [](Studio& s) { s.next_tab(-1); }, "Only one show is open", true},
    Action{"close", "Close the show", "Show", {GLFW_KEY_W, kAlt}, false, loaded, [](Studio& s) { s.apply(CloseTab{s.front()}); }},
    Action{"quit", "Quit", "Show", {GLFW_KEY_Q, kC}, false, always, [](Studio& s) { s.ask_to_quit(); }},

    Action{"undo", "Undo", "Keys", {GLFW_KEY_Z, kC}, true, [](const Studio& s) { return loaded(s) && s.document().can_undo(); }, [](Studio& s) { s.undo(); }, "Nothing was changed yet"},
    Action{"redo", "Redo", "Keys", {GLFW_KEY_Z, kCS}, true, [](const Studio& s) { return loaded(s) && s.document().can_redo(); }, [](Studio& s) { s.redo(); }, "Nothing was undone"},
    Action{"cut", "Cut", "Keys", {GLFW_KEY_X, kC}, false, chosen, [](Studio& s) { s.copy(); edit(s, DeleteKeys{s.document().selection().refs()}); }},
    Action{"copy", "Copy", "Keys", {GLFW_KEY_C, kC}, false, chosen, [](Studio& s) { s.copy(); }},
    Action{"paste", "Paste at the playhead", "Keys", {GLFW_KEY_V, kC}, false, [](const Studio& s) { return open(s) && s.can_paste(); }, [](Studio& s) { s.paste(); }, "Copy keys first"},
    Action{"delete", "Delete", "Keys", {GLFW_KEY_DELETE, 0}, false, [](const Studio& s) { return chosen(s) || has_placement(s); }, [](Studio& s) {
      if (chosen(s)) edit(s, DeleteKeys{s.document().selection().refs()});
      else remove_placement(s);
    }},
    Action{"add_key", "Add a key at the playhead", "Keys", {GLFW_KEY_K, 0}, false, [](const Studio& s) { return open(s) && !s.view().control.empty(); }, [](Studio& s) { s.add_key_at_playhead(); }, "Choose a channel first"},
    Action{"select_all", "Choose all keys", "Keys", {GLFW_KEY_A, kC}, false, open, [](Studio& s) { s.apply(Select{all_keys(s.document().show())}); }},
    Action{"select_none", "Choose none", "Keys", {GLFW_KEY_A, kCS}, false, chosen, [](Studio& s) { s.apply(Select{}); }},
    Action{"select_loop", "Choose the keys of the loop", "Keys", {GLFW_KEY_L, kAlt}, false, [](const Studio& s) { return open(s) && s.document().show().loop.has_value(); }, choose_keys_of_loop, "Set a loop first"},
    Action{"select_channel", "Choose the keys of the channel", "Keys", {GLFW_KEY_A, kAlt}, false, has_channel, choose_keys_of_channel, "Choose a channel first"},
    Action{"nudge_back", "Move a tick earlier", "Keys", {GLFW_KEY_LEFT, kAlt}, true, chosen, [](Studio& s) { nudge(s, -1); }},
    Action{"nudge_on", "Move a tick later", "Keys", {GLFW_KEY_RIGHT, kAlt}, true, chosen, [](Studio& s) { nudge(s, 1); }},
    Action{"frame_back", "Move a frame earlier", "Keys", {GLFW_KEY_LEFT, kAlt | kShift}, true, chosen, [](Studio& s) { nudge_frames(s, -1); }},
    Action{"frame_on", "Move a frame later", "Keys", {GLFW_KEY_RIGHT, kAlt | kShift}, true, chosen, [](Studio& s) { nudge_frames(s, 1); }},
    Action{"duplicate", "Duplicate behind", "Keys", {GLFW_KEY_D, 0}, false, chosen, [](Studio& s) { edit(s, Reshaping{RepeatKeys{s.document().selection().refs(), frame(s)}}); }},
    Action{"reverse", "Reverse in time", "Keys", {GLFW_KEY_R, 0}, false, chosen, [](Studio& s) { edit(s, Reshaping{ReverseKeys{s.document().selection().refs()}}); }},
    Action{"mirror", "Mirror left to right", "Keys", {GLFW_KEY_X, 0}, false, chosen, [](Studio& s) { edit(s, Reshaping{MirrorKeys{s.document().selection().refs()}}); }},
    Action{"scale", "Scale\u2026", "Keys", {GLFW_KEY_S, kAlt}, false, chosen, ask<Dialog::scale>},
    Action{"ease_hold", "Easing: hold", "Keys", {GLFW_KEY_1, 0}, false, chosen, ease<show::Easing::Kind::hold>},
    Action{"ease_linear", "Easing: linear", "Keys", {GLFW_KEY_2, 0}, false, chosen, ease<show::Easing::Kind::linear>},
    Action{"ease_smooth", "Easing: smooth", "Keys", {GLFW_KEY_3, 0}, false, chosen, ease<show::Easing::Kind::smooth>},
    Action{"ease_in_out", "Easing: ease-in-out", "Keys", {GLFW_KEY_4, 0}, false, chosen, [](Studio& s) { edit(s, SetEasing{s.document().selection().refs(), show::kEaseInOut}); }},

    Action{"lay_flat", "Handles: flat", "Lanes", {GLFW_KEY_1, kAlt}, false, chosen, lay_handles_of<Lie::flat>},
    Action{"lay_aligned", "Handles: aligned", "Lanes", {GLFW_KEY_2, kAlt}, false, chosen, lay_handles_of<Lie::aligned>},
    Action{"lay_free", "Handles: free, a corner", "Lanes", {GLFW_KEY_3, kAlt}, false, chosen, lay_handles_of<Lie::free>},
    Action{"value_up", "Value a hundredth up", "Keys", {GLFW_KEY_EQUAL, kAlt}, true, chosen, nudge_values<1>},
    Action{"value_down", "Value a hundredth down", "Keys", {GLFW_KEY_MINUS, kAlt}, true, chosen, nudge_values<-1>},

    Action{"side_layers", "Layers", "Compose", {GLFW_KEY_Y, 0}, false, open, side<Side::layers>},
    Action{"layer_add", "Add a layer", "Compose", {GLFW_KEY_Y, kC}, false, open, add_layer},
    Action{"layer_idle", "Add idle life", "Compose", {}, false, open, add_idle_layer},
    Action{"layer_up", "Layer up", "Compose", {GLFW_KEY_UP, kAlt}, true, can_raise_layer, raise_layer},
    Action{"layer_down", "Layer down", "Compose", {GLFW_KEY_DOWN, kAlt}, true, can_lower_layer, lower_layer},
    Action{"layer_mute", "Mute the layer, or not", "Compose", {GLFW_KEY_Y, kShift}, false, has_layer, mute_layer},
    Action{"layer_keys", "Edit the layer\u2019s own keys", "Compose", {}, false, can_open_layer, open_layer},
    Action{"layer_bake", "Bake the layer down", "Compose", {}, false, can_bake, bake_layer},
    Action{"layer_remove", "Remove the layer", "Compose", {}, false, has_layer, remove_layer},
    Action{"side_clips", "Clips", "Compose", {GLFW_KEY_C, kShift}, false, open, side<Side::clips>},
    Action{"clip_make", "Make a clip of the chosen keys", "Compose", {GLFW_KEY_C, 0}, false, chosen, make_clip},
    Action{"clip_place", "Place the clip at the playhead", "Compose", {GLFW_KEY_B, 0}, false, can_place_clip, place_clip},
    Action{"clip_keys", "Edit the clip\u2019s keys", "Compose", {GLFW_KEY_E, 0}, false, can_open_clip, open_clip},
    Action{"clip_mirror", "Mirrored copy of the clip", "Compose", {}, false, has_clip, mirror_clip},
    Action{"clip_remove", "Remove the clip", "Compose", {}, false, has_clip, remove_clip},
    Action{"side_poses", "Poses", "Compose", {GLFW_KEY_P, 0}, false, open, side<Side::poses>},
    Action{"pose_capture", "Capture a pose at the playhead", "Compose", {GLFW_KEY_P, kShift}, false, open, capture_pose},
    Action{"pose_key", "Key the pose at the playhead", "Compose", {GLFW_KEY_ENTER, 0}, false, has_pose, key_pose},
    Action{"pose_recapture", "Capture the pose anew", "Compose", {}, false, has_pose, recapture_pose},
    Action{"pose_mirror", "Mirrored copy of the pose", "Compose", {}, false, has_pose, mirror_pose},
    Action{"pose_remove", "Remove the pose", "Compose", {}, false, has_pose, remove_pose},
    Action{"side_cues", "Cues", "Compose", {GLFW_KEY_U, kCS}, false, open, side<Side::cues>},
    Action{"cue_add", "Add a cue", "Compose", {GLFW_KEY_Q, kCS}, false, open, add_cue},
    Action{"cue_up", "Cue up", "Compose", {}, false, has_cue, cue_up},
    Action{"cue_down", "Cue down", "Compose", {}, false, has_cue, cue_down},
    Action{"cue_remove", "Remove the cue", "Compose", {}, false, has_cue, remove_cue},
    Action{"library_import", "Take poses and clips from a library\u2026", "Compose", {}, false, open, ask<Dialog::import_library>},
    Action{"library_export", "Give poses and clips to a library\u2026", "Compose", {}, false, [](const Studio& s) { return open(s) && !(s.document().whole().poses.empty() && s.document().whole().clips.empty()); }, ask<Dialog::export_library>},
    Action{"back", "Back to the show\u2019s keys", "Compose", {GLFW_KEY_E, kShift}, false, in_part, back_to_show},

    Action{"arrive", "Make it arrive", "Keys", {GLFW_KEY_A, 0}, false, [](const Studio& s) { return s.finding_here(); }, [](Studio& s) { s.arrive_here(); }, "No finding that keys can mend is at the playhead, in this channel"},
    Action{"arrive_all", "Make all arrive", "Keys", {GLFW_KEY_A, kShift}, false, [](const Studio& s) { return found(s) && !s.arriving().running; }, [](Studio& s) { s.apply(MakeArrive{}); }, "The show has no findings, or they are being mended"},

    Action{"speak", "Make the head speak\u2026", "Compose", {GLFW_KEY_S, kCtrl | kAlt}, false, open, ask<Dialog::speak>},
    Action{"add_sound", "Add a sound at the playhead\u2026", "Compose", {GLFW_KEY_O, kCtrl | kAlt}, false, open, ask<Dialog::add_sound>},
    Action{"labels_import", "Take words and phones from a file\u2026", "Compose", {}, false, open, ask<Dialog::import_labels>},
    Action{"labels_export", "Give words and phones to a file\u2026", "Compose", {}, false, [](const Studio& s) { return open(s) && !s.speech().drawn().empty(); }, ask<Dialog::export_labels>, "No sound has words yet"},
    Action{"side_sounds", "Sounds", "Compose", {GLFW_KEY_W, kCtrl | kAlt}, false, open, side<Side::sounds>},
    Action{"spectrogram", "Sounds by frequency, or by level", "Compose", {GLFW_KEY_F, kCtrl | kAlt}, false, open, [](Studio& s) { s.toggle_spectrogram(); }},

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
    Action{"hands_record", "Record what hands do", "Perform", {GLFW_KEY_R, kShift}, false, [](const Studio& s) { return open(s) && (s.network().osc || !(s.hands().map.knobs.empty() && s.hands().map.triggers.empty())); }, [](Studio& s) { s.record(); }},
    Action{"hands_panic", "Hands off: back to the show", "Perform", {GLFW_KEY_H, kShift}, false, open, [](Studio& s) { s.panic(); }},
    Action{"network", "Network: other machines\u2026", "Perform", {GLFW_KEY_N, kC | kAlt}, false, open, ask<Dialog::network>},

    Action{"hands_trigger", "Learn a key for the chosen cue, pose or clip", "Perform", {GLFW_KEY_L, kCS}, false, can_learn_trigger, [](Studio& s) { s.learn_trigger(); }, "Choose a cue, a pose or a clip beside the lanes first"},
    Action{"cue_board", "Cue board", "Perform", {GLFW_KEY_F7, 0}, false, open, [](Studio& s) { s.toggle_cue_board(); }},
    Action{"cues_release", "Release all cues", "Perform", {GLFW_KEY_F7, kShift}, false, open, [](Studio& s) { s.release_cues(); }},

    Action{"port", "Connect\u2026", "Link", {GLFW_KEY_P, kC}, false, always, ask<Dialog::port>},
    Action{"disconnect", "Disconnect", "Link", {}, false, [](const Studio& s) { return s.link().state != link::State::closed; }, [](Studio& s) { s.disconnect(); }, "No port is open", true},
    Action{"arm", "Arm\u2026", "Link", {GLFW_KEY_R, kC}, false, [](const Studio& s) { return s.link().state == link::State::ready; }, [](Studio& s) { s.apply(Ask{at_bench(s) ? Dialog::checklist : Dialog::arm}); }, "Connect boards that are ready first", true},
    Action{"take_over", "Take over the boards that answer\u2026", "Link", {GLFW_KEY_T, kCS}, false, [](const Studio& s) { return s.strangers() && !s.live(); }, ask<Dialog::take_over>, "No other board answers than the rig names, or the head is armed", true},
    Action{"disarm", "Disarm, by way of rest", "Link", {GLFW_KEY_R, kCS}, false, [](const Studio& s) { return s.armed(); }, [](Studio& s) { s.disarm(); }, "Nothing is armed", true},
    Action{"stop", "Stop now", "Link", {GLFW_KEY_ESCAPE, 0}, false, always, [](Studio& s) { s.stop_now(); }},

    Action{"bench", "Workbench: one servo at a time", "Bench", {GLFW_KEY_B, kC}, false, [](const Studio& s) { return open(s) && !s.live() && !s.document().rig().actuators.empty(); }, [](Studio& s) { s.open_bench(); }, "The head is armed, or the rig has no servos"},
    Action{"bench_leave", "Leave the workbench", "Bench", {GLFW_KEY_B, kCS}, false, at_bench, work<Work::Do::leave>},
    Action{"bench_identify", "Identify: wiggle a little", "Bench", {GLFW_KEY_W, 0}, false, holding, work<Work::Do::identify>},
    Action{"bench_less", "1 deg less", "Bench", {GLFW_KEY_COMMA, 0}, true, steady, [](Studio& s) { jog(s, -1); }},
    Action{"bench_more", "1 deg more", "Bench", {GLFW_KEY_PERIOD, 0}, true, steady, [](Studio& s) { jog(s, 1); }},
    Action{"bench_bit_less", "0.1 deg less", "Bench", {GLFW_KEY_COMMA, kAlt}, true, steady, [](Studio& s) { jog(s, -0.1); }},
    Action{"bench_bit_more", "0.1 deg more", "Bench", {GLFW_KEY_PERIOD, kAlt}, true, steady, [](Studio& s) { jog(s, 0.1); }},
    Action{"bench_lot_less", "5 deg less", "Bench", {GLFW_KEY_COMMA, kC}, false, steady, [](Studio& s) { jog(s, -5); }},
    Action{"bench_lot_more", "5 deg more", "Bench", {GLFW_KEY_PERIOD, kC}, false, steady, [](Studio& s) { jog(s, 5); }},
    Action{"bench_travel", "Travel test", "Bench", {GLFW_KEY_T, 0}, false, holding, work<Work::Do::travel>},

    Action{"timecode", "Time as seconds or timecode", "Window", {GLFW_KEY_T, kC}, false, open, [](Studio& s) { s.apply(ShowTime{!s.view().timecode, s.view().rate}); }},
    Action{"frame_rate", "Another frame rate", "Window", {GLFW_KEY_T, kAlt}, false, open, next_rate},
    Action{"snap", "Snap or not", "Lanes", {GLFW_KEY_S, 0}, false, open, snap<&Snapping::on>},
    Action{"snap_frames", "Snap to frames, or to ticks", "Lanes", {GLFW_KEY_S, kShift}, false, open, snap<&Snapping::frames>},
    Action{"snap_markers", "Snap to markers and the playhead, or not", "Lanes", {}, false, open, snap<&Snapping::markers>},
    Action{"snap_keys", "Snap to keys, or not", "Lanes", {}, false, open, snap<&Snapping::keys>},
    Action{"snap_onsets", "Snap to where sounds begin, or not", "Lanes", {}, false, open, snap<&Snapping::onsets>},
    Action{"lane_mute", "Mute the channel, or not", "Lanes", {GLFW_KEY_M, kShift}, false, has_channel, switch_lane<SwitchLane::What::mute>},
    Action{"lane_solo", "Solo the channel, or not", "Lanes", {GLFW_KEY_O, 0}, false, has_channel, switch_lane<SwitchLane::What::solo>},
    Action{"lane_lock", "Lock the channel, or not", "Lanes", {GLFW_KEY_U, 0}, false, has_channel, switch_lane<SwitchLane::What::lock>},
    Action{"curve_keep", "Keep the channel in the curve, or not", "Lanes", {GLFW_KEY_C, kAlt}, false, has_channel, keep_in_curve},
    Action{"curve_alone", "The chosen channel alone in the curve", "Lanes", {GLFW_KEY_C, kAlt | kShift}, false, [](const Studio& s) { return open(s) && !s.view().kept.empty(); }, [](Studio& s) { s.apply(KeepInCurve{"", false}); }, "It is alone, but for channels with chosen keys"},
    Action{"strips", "Velocity and acceleration, or not", "Lanes", {GLFW_KEY_V, kAlt}, false, open, [](Studio& s) { s.apply(ShowCurve{!s.view().strips, s.view().handles}); }},
    Action{"handles", "Numbers of handles, or not", "Lanes", {GLFW_KEY_H, kAlt}, false, open, [](Studio& s) { s.apply(ShowCurve{s.view().strips, !s.view().handles}); }},
    Action{"lane_up", "Lane up", "Lanes", {GLFW_KEY_UP, kAlt | kShift}, true, [](const Studio& s) { return can_move_lane(s, -1); }, [](Studio& s) { move_lane(s, -1); }, "It is the first of its group, or no channel is chosen"},
    Action{"lane_down", "Lane down", "Lanes", {GLFW_KEY_DOWN, kAlt | kShift}, true, [](const Studio& s) { return can_move_lane(s, 1); }, [](Studio& s) { move_lane(s, 1); }, "It is the last of its group, or no channel is chosen"},
    Action{"history", "History", "Window", {GLFW_KEY_H, 0}, false, open, side<Side::history>},
    Action{"fit", "Fit the whole show", "Window", {GLFW_KEY_F, 0}, false, open, [](Studio& s) { s.see(fitted(s.document().show().length)); }},
    Action{"zoom_in", "Closer", "Window", {GLFW_KEY_EQUAL, 0}, true, open, [](Studio& s) { s.see(zoomed(s.view().visible, s.playhead(), 0.8, s.document().show().length)); }},
    Action{"zoom_out", "Farther", "Window", {GLFW_KEY_MINUS, 0}, true, open, [](Studio& s) { s.see(zoomed(s.view().visible, s.playhead(), 1.25, s.document().show().length)); }},
    Action{"findings", "List of findings", "Window", {GLFW_KEY_I, 0}, false, open, side<Side::findings>},
    Action{"hands", "Hands: knobs and takes", "Window", {GLFW_KEY_H, kC}, false, open, [](Studio& s) { s.panels().hands_open = !s.panels().hands_open; }},
    Action{"as_built", "As built: thin lines on the head", "Window", {GLFW_KEY_G, 0}, false, open, [](Studio& s) { s.toggle_as_built(); }},
    Action{"copy_findings", "Copy findings as text", "Window", {GLFW_KEY_I, kCS}, false, [](const Studio& s) { return found(s) || !s.notices().empty(); }, [](Studio& s) { s.copy_findings(); }, "Nothing is wrong"},
    Action{"theme", "Light or dark", "Window", {GLFW_KEY_D, kCS}, false, always, [](Studio& s) { s.toggle_theme(); }},
    Action{"theme_system", "Light or dark as the desktop", "Window", {}, false, always, [](Studio& s) { s.theme_of_desktop(); }},
    Action{"file_dialogs", "File dialogs: the desktop\u2019s, or Mien\u2019s own", "Window", {}, false, always, [](Studio& s) { s.switch_dialogs(); }},
    Action{"text_larger", "Larger text", "Window", {GLFW_KEY_EQUAL, kC}, false, [](const Studio& s) { return s.settings().text != store::Settings::Text::larger; }, [](Studio& s) { s.change_text(1); }, "It is at its largest", true},
    Action{"text_smaller", "Smaller text", "Window", {GLFW_KEY_MINUS, kC}, false, [](const Studio& s) { return s.settings().text != store::Settings::Text::small; }, [](Studio& s) { s.change_text(-1); }, "It is at its smallest", true},
    Action{"palette", "Actions by name\u2026", "Window", {GLFW_KEY_F2, 0}, false, always, ask<Dialog::palette>},
    Action{"usual_keys", "Usual keys again", "Window", {}, false, [](const Studio& s) { return !s.keys().entries().empty(); }, [](Studio& s) { s.usual_keys(); }, "All keys are the usual ones", true},
    Action{"cheat_sheet", "Keys and hands", "Window", {GLFW_KEY_F1, 0}, false, always, ask<Dialog::cheat_sheet>},
};

std::string key_name(int key) {
  if ((key >= GLFW_KEY_A && key <= GLFW_KEY_Z) || (key >= GLFW_KEY_0 && key <= GLFW_KEY_9)) return {static_cast<char>(key)};
  if (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F25) return "F" + std::to_string(key - GLFW_KEY_F1 + 1);
  switch (key) {
    case GLFW_KEY_SPACE: return "Space";
    case GLFW_KEY_ESCAPE: return "Esc";
    case GLFW_KEY_DELETE: return "Delete";
    case GLFW_KEY_ENTER: return "Enter";
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

std::string_view why_not(const Action& a, const Studio& s) {
  if (a.possible(s)) return {};
  if (a.anywhere) return a.needs;
  if (!loaded(s)) return "Open a show first";
  if (a.menu == "Bench" && a.id != "bench") return at_bench(s) ? "Arm at the workbench first" : "Open the workbench first";
  if (at_bench(s) && a.id != "undo" && a.id != "redo") return "Leave the workbench first";
  if (a.possible == chosen) return "Choose keys first";
  if (a.possible == found) return "The show has no findings";
  return a.needs.empty() ? "Not possible as things are" : a.needs;
}

}  // namespace mien::editor
