#include <GLFW/glfw3.h>

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/grips.hpp"
#include "editor/layer_lane.hpp"
#include "editor/snap.hpp"
#include "editor/sound_lane.hpp"
#include "editor/speech_lane.hpp"
#include "editor/timeline_parts.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

struct TimelineHands {
  const Scene& scene;
  const TimelineLayout& at;
  TimelineState& state;
  Drag& drag = state.drag;
  const ImGuiIO& io = ImGui::GetIO();
  Commands out{};

  const show::Show& show() const { return scene.document.show(); }
  show::Time pointed() const { return at.axis.time(io.MousePos.x); }
  show::Time within(show::Time t) const { return std::clamp(t, show::Time{0}, std::max(show().length, show::Time{0})); }
  /// As the view snaps, unless Ctrl asks for freedom.
  show::Time snap(show::Time t) const { return snapped_to(scene, at.axis, t, io.KeyCtrl, &scene.document.selection()); }

  void begin(Drag::Kind kind) {
    drag = {};
    drag.kind = kind, drag.x = io.MousePos.x, drag.y = io.MousePos.y, drag.scroll = at.scroll;
    drag.time = pointed();
    drag.before = scene.document.selection();
  }

  // ---- press
  void press() {
    const float x = io.MousePos.x, y = io.MousePos.y;
    if (x < at.split) return press_name(at.lane_at(y));
    if (y < at.loop_bottom) return press_loop(x);
    if (const show::Marker* m = marker_here(); m && ImGui::IsMouseDoubleClicked(0)) return open_marker(*m);
    if (y < at.wave_bottom) {
      if (io.KeyShift) return begin(Drag::Kind::keys_range);
      if (press_speech() || press_sound()) return;
      begin(Drag::Kind::playhead);
      return;
    }
    const std::size_t lane = at.lane_at(y);
    if (const auto which = findings_here(); !which.empty()) {
      for (Command& c : pressed_finding(scene, which, ImGui::IsMouseDoubleClicked(0))) out.push_back(std::move(c));
      return;
    }
    if (lane < at.lanes.size() && at.lanes[lane].layer) return press_layer(lane);
    const auto key = lane < at.lanes.size() ? key_near(at.lanes[lane], at.axis, x, scene.look.px(kHandReach)) : std::nullopt;
    if (key) press_key(*key);
    else if (press_grip()) return;
    else if (ImGui::IsMouseDoubleClicked(0) && lane < at.lanes.size()) add_key(at.lanes[lane]);
    else {
      begin(Drag::Kind::box);
      if (!io.KeyShift) drag.before = {};
      if (lane < at.lanes.size() && at.lanes[lane].kind == Lane::Kind::control) out.push_back(Choose{at.lanes[lane].name});
    }
  }

  // Words and phones: an edge is dragged, a word's text is typed.
  bool press_speech() {
    const auto hit = speech_at(scene, at, io.MousePos.x, io.MousePos.y);
    if (!hit) return false;
    if (hit->boundary.word && ImGui::IsMouseDoubleClicked(0)) {
      for (const DrawnSpeech& speech : scene.speech)
        if (speech.sound == hit->sound && hit->boundary.index < speech.alignment->words.size())
          state.word = TimelineState::Word{hit->sound, hit->boundary.index, speech.alignment->words[hit->boundary.index].text, true};
      return true;
    }
    if (!hit->edge) return false;
    begin(Drag::Kind::boundary);
    drag.boundary = hit->boundary, drag.sound = hit->sound;
    return true;
  }

  bool press_sound() {
    const auto hit = sound_at(scene, at, io.MousePos.x, io.MousePos.y);
    if (!hit) return false;
    begin(hit->what);
    drag.sound = hit->sound, drag.sound_was = show().sounds[hit->sound];
    return true;
  }

  void pull_sound(bool done) {
    if (!drag.moved || drag.sound >= show().sounds.size()) return;
    const show::Time length = length_of(scene, drag.sound), aimed = held_of(drag.sound_was, drag.kind, length) + pointed() - drag.time;
    // A sound may end after the show: there is nothing to snap to.
    const show::Time to = drag.kind == Drag::Kind::sound_end && aimed > show().length ? aimed : snap(aimed);
    const show::Sound now = pulled(drag.sound_was, drag.kind, to, length);
    if (!done) beside_pointer(scene.look, pulled_text(scene, now, drag.kind, length));
    out.push_back(Change{sound_edit(scene, drag.sound, now, drag.kind == Drag::Kind::sound ? "Move sound" : "Trim sound"), done});
  }

  const show::Marker* marker_here() const {
    return io.MousePos.y >= at.ruler_bottom && io.MousePos.y < at.marker_bottom ? marker_at(scene, at, io.MousePos.x) : nullptr;
  }

  void open_marker(const show::Marker& m) {
    state.marker = m, state.marker_name = m.name, state.marker_fresh = true;
  }

  /// The findings of the mark under the pointer, in the strip at a lane's lower edge.
  std::vector<std::size_t> findings_here() const {
    const std::size_t lane = at.lane_at(io.MousePos.y);
    if (lane >= at.lanes.size() || io.MousePos.y < at.lane_top(lane) + at.lane_height - scene.look.px(kFindingStripPx)) return {};
    const FindingMarks found = findings_of(scene, at, at.lanes[lane]);
    const FindingMark* m = found.near(at.axis, io.MousePos.x, scene.look.px(kHandReach));
    return m ? found.of(*m) : std::vector<std::size_t>{};
  }

  void press_name(std::size_t lane) {
    if (lane >= at.lanes.size()) return;
    const Lane& l = at.lanes[lane];
    if (l.kind == Lane::Kind::group) out.push_back(Fold{l.name, !l.is_folded});
    else if (const auto what = switch_at(scene, at, lane, io.MousePos.x)) out.push_back(SwitchLane{*what, l.name});
    else if (l.layer) out.push_back(ChooseLayer{l.name}), out.push_back(ShowSide{Side::layers});
    else press_control(l);
  }

  void press_control(const Lane& l) {
    const auto& kept = scene.view.kept;
    if (io.KeyShift) return out.push_back(KeepInCurve{l.name, std::find(kept.begin(), kept.end(), l.name) == kept.end()});
    out.push_back(Choose{l.name});
    begin(Drag::Kind::lane);
    drag.layer = l.name;
  }

  bool press_grip() {
    const auto box = box_of(scene, at);
    const Drag::Kind grip = box ? grip_at(scene, *box, io.MousePos) : Drag::Kind::none;
    if (grip == Drag::Kind::none) return false;
    begin(grip);
    drag.keys = scene.document.selection().refs(), drag.range = box->time;
    return true;
  }

  show::Time clip_length(const std::string& clip) const {
    const auto found = show::find_clip(show(), clip);
    return found ? found->length : show::Time{0};
  }

  void press_layer(std::size_t lane) {
    const Lane& l = at.lanes[lane];
    const auto hit = block_at(scene, at, lane, io.MousePos.x, io.MousePos.y);
    if (!hit) {
      out.push_back(ChooseLayer{l.name});
      if (ImGui::IsMouseDoubleClicked(0) && show::find_clip(show(), scene.view.clip)) place_clip(*l.layer);
      return;
    }
    out.push_back(ChooseLayer{l.name, static_cast<int>(hit->placement)});
    if (scene.side == Side::layers) out.push_back(ShowSide{Side::clips});  // where its numbers are
    if (ImGui::IsMouseDoubleClicked(0)) {
      out.push_back(Act{"clip_keys"});
      return;
    }
    begin(hit->part);
    drag.layer = l.name, drag.placement = hit->placement, drag.copied_from = l.layer->placements.size(), drag.placed = l.layer->placements[hit->placement];
  }

  void place_clip(const show::Layer& on) {
    show::Layer layer = on;
    show::Placement placement;
    placement.clip = scene.view.clip, placement.start = snap(pointed());
    layer.placements.push_back(placement);
    out.push_back(Change{Composition{PutLayer{"Place clip " + placement.clip, layer}}});
    out.push_back(ChooseLayer{layer.name, static_cast<int>(layer.placements.size()) - 1});
  }

  void pull_block(bool done) {
    const auto known = show::find_layer(show(), drag.layer);
    if (!drag.moved || !known || drag.placement >= known->placements.size()) return;
    const show::Time held = drag.kind == Drag::Kind::block || drag.kind == Drag::Kind::block_begin ? drag.placed.start
                          : drag.kind == Drag::Kind::block_fade_in ? drag.placed.start + drag.placed.fade_in
                          : drag.placed.start + show::duration(drag.placed, clip_length(drag.placed.clip)) - (drag.kind == Drag::Kind::block_fade_out ? drag.placed.fade_out : show::Time{0});
    const BlockPull pull = pulled(drag.placed, clip_length(drag.placed.clip), drag.kind, snap(held + pointed() - drag.time), io.KeyShift);
    const bool copy = io.KeyAlt && drag.kind == Drag::Kind::block;
    show::Layer layer = *known;
    // The draft of the frame before may hold a copy.
    if (layer.placements.size() > drag.copied_from) layer.placements.resize(drag.copied_from);
    layer.placements[drag.placement] = copy ? drag.placed : pull.placement;
    if (copy) layer.placements.push_back(pull.placement);
    const char* doing = copy ? "Place clip again" : drag.kind == Drag::Kind::block ? "Move clip" : drag.kind == Drag::Kind::block_begin ? "Trim clip"
                      : drag.kind == Drag::Kind::block_end ? (io.KeyShift ? "Repeat clip" : "Set rate of clip") : "Fade clip";
    if (!done) beside_pointer(scene.look, pull.words);
    out.push_back(Change{Composition{PutLayer{doing, std::move(layer)}}, done});
  }

  void press_loop(float x) {
    begin(Drag::Kind::loop_new);
    if (const auto& loop = show().loop) {
      drag.range = *loop;
      const float reach = scene.look.px(kHandReach);
      if (std::abs(x - at.axis.x(loop->end)) < reach) drag.kind = Drag::Kind::loop_end;
      else if (std::abs(x - at.axis.x(loop->begin)) < reach) drag.kind = Drag::Kind::loop_begin;
    }
  }

  void press_key(const show::KeyRef& key) {
    const Selection& chosen = scene.document.selection();
    out.push_back(Choose{key.control});
    if (io.KeyShift || io.KeyCtrl) {
      Selection changed = chosen;
      if (chosen.contains(key.control, key.time)) changed.remove(key);
      else changed.add(key);
      out.push_back(Select{changed});
      if (!changed.contains(key.control, key.time)) return;
      begin(Drag::Kind::keys);
      drag.keys = changed.refs();
    } else {
      begin(Drag::Kind::keys);
      drag.keys = chosen.contains(key.control, key.time) ? chosen.refs() : std::vector{key};
      if (drag.keys.size() == 1) out.push_back(Select{Selection::from(drag.keys)});
    }
    drag.grabbed = key;
    if (const show::Keyframe* k = find_key(show(), key)) drag.value = k->value;
  }

  void add_key(const Lane& lane) {
    if (lane.kind != Lane::Kind::control) return;
    const show::Control& control = scene.document.rig().controls[lane.control];
    const show::Time t = snap(pointed());
    const double value = lane.channel ? motion::evaluate(*lane.channel, t, control.rest) : control.rest;
    out.push_back(Choose{lane.name});
    out.push_back(Change{SetKey{lane.name, {t, value, show::kSmooth}}});
  }

  // ---- drag; `done` on the frame of the release, which still counts
  void pull(bool done) {
    if (!drag.moved && std::hypot(io.MousePos.x - drag.x, io.MousePos.y - drag.y) >= scene.look.px(kHandSlack)) drag.moved = true;
    switch (drag.kind) {
      case Drag::Kind::playhead: out.push_back(Seek{within(pointed()), !done}); break;
      case Drag::Kind::pan: pull_view(); break;
      case Drag::Kind::loop_new:
      case Drag::Kind::loop_begin:
      case Drag::Kind::loop_end: pull_loop(done); break;
      case Drag::Kind::keys: pull_keys(done); break;
      case Drag::Kind::box: pull_box(done); break;
      case Drag::Kind::keys_range: pull_range(done); break;
      case Drag::Kind::scale_begin:
      case Drag::Kind::scale_end: pull_scale(done); break;
      case Drag::Kind::lane: pull_lane(done); break;
      case Drag::Kind::boundary:
        if (drag.moved) out.push_back(Say{Say::Do::move, drag.sound, drag.boundary, pointed(), done, ""});
        break;
      case Drag::Kind::sound:
      case Drag::Kind::sound_begin:
      case Drag::Kind::sound_end: pull_sound(done); break;
      case Drag::Kind::block:
      case Drag::Kind::block_begin:
      case Drag::Kind::block_end:
      case Drag::Kind::block_fade_in:
      case Drag::Kind::block_fade_out: pull_block(done); break;
      default: break;
    }
  }

  void pull_view() {
    const show::Time by = at.axis.span(drag.x - io.MousePos.x);
    drag.x = io.MousePos.x;
    out.push_back(See{{scene.view.visible.begin + by, scene.view.visible.end + by}});
  }

  void pull_loop(bool done) {
    if (!drag.moved) return;
    const show::Time a = drag.kind == Drag::Kind::loop_new ? snap(drag.time) : drag.kind == Drag::Kind::loop_end ? drag.range.begin : drag.range.end;
    const show::Time b = snap(pointed());
    const show::Range loop{std::min(a, b), std::max(a, b)};
    out.push_back(Change{SetLoop{loop}, done});
    beside_pointer(scene.look, time_text(scene.view, loop.begin) + " to " + time_text(scene.view, loop.end));
  }

  void pull_keys(bool done) {
    if (!drag.moved) return;
    MoveKeys move{drag.keys, show::Time{0}, 0, io.KeyAlt};
    if (io.KeyShift) {
      const show::Control* c = find_control(scene.document.rig(), drag.grabbed.control);
      // The height of five lanes takes a control through its range.
      if (c) move.dv = (drag.y - io.MousePos.y) / (5 * at.lane_height) * (c->max - c->min);
    } else {
      move.dt = snap(drag.grabbed.time + pointed() - drag.time) - drag.grabbed.time;
    }
    if (!done) read_out(move);
    out.push_back(Change{std::move(move), done});
  }

  void read_out(const MoveKeys& move) {
    const show::Control* c = find_control(scene.document.rig(), drag.grabbed.control);
    std::string text = time_text(scene.view, drag.grabbed.time + move.dt);
    if (c) text += "   " + value_text(std::clamp(drag.value + move.dv, c->min, c->max), c->unit, c->max - c->min);
    beside_pointer(scene.look, text);
  }

  void pull_box(bool done) {
    if (!drag.moved) {
      if (done) out.push_back(Select{drag.before});
      return;
    }
    ImDrawList& list = *ImGui::GetWindowDrawList();
    const float y = drag.y + drag.scroll - at.scroll;
    const ImVec2 a{std::max(std::min(drag.x, io.MousePos.x), at.split), std::max(std::min(y, io.MousePos.y), at.wave_bottom)};
    const ImVec2 b{std::max(drag.x, io.MousePos.x), std::max(y, io.MousePos.y)};
    list.AddRectFilled(a, b, with_alpha(scene.look.theme.accent, 0.10));
    list.AddRect(a, b, scene.look.theme.accent);
    out.push_back(Select{keys_within(at, drag.x, y, io.MousePos.x, io.MousePos.y, drag.before)});
  }

  // All keys between two times; with Alt those of the channels that the curve shows alone.
  void pull_range(bool done) {
    if (!drag.moved) {
      if (done) out.push_back(Seek{within(pointed()), false});
      return;
    }
    const show::Time a = snap(drag.time), b = snap(pointed());
    const show::Range range{std::min(a, b), std::max(a, b)};
    std::vector<std::string> only;
    if (io.KeyAlt) only = scene.view.kept, only.push_back(scene.view.control);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.PushClipRect({at.split, at.top}, {at.right, at.bottom}, true);
    fill(list, at.axis.x(range.begin), at.loop_bottom, at.axis.x(range.end), at.bottom, with_alpha(scene.look.theme.accent, 0.10));
    list.PopClipRect();
    Selection chosen = keys_in(show(), range, only);
    if (!done) beside_pointer(scene.look, time_text(scene.view, range.begin) + " to " + time_text(scene.view, range.end) + "   " + std::to_string(chosen.size()) + (io.KeyAlt ? " keys of the curve\u2019s channels" : " keys; Alt: of the curve\u2019s channels"));
    out.push_back(Select{std::move(chosen)});
  }

  void pull_scale(bool done) {
    if (drag.moved) pull_time_grip(scene, drag, snap(held_end(drag) + at.axis.span(io.MousePos.x - drag.x)), done, out);
  }

  void pull_lane(bool done) {
    if (!drag.moved) return;
    ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeNS);
    const auto drop = drop_at(at, drag.layer, io.MousePos.y);
    if (!drop) return;
    fill(*ImGui::GetWindowDrawList(), at.left, drop->y - scene.look.px(1), at.right, drop->y + scene.look.px(1), scene.look.theme.accent);
    // In a clip or layer an empty channel would take its control: there only lanes with keys change places.
    if (done) out.push_back(Change{Reshaping{MoveLane{drag.layer, drop->index, scene.document.keys_of().kind == KeysOf::Kind::show}}});
  }

  void cancel() {
    if (drag.kind == Drag::Kind::box || drag.kind == Drag::Kind::keys_range) out.push_back(Select{scene.document.selection()});
    else if (drag.kind == Drag::Kind::boundary) out.push_back(Say{Say::Do::drop});
    else out.push_back(TakeBack{});
    drag = {};
  }

  // ---- wheel
  void roll() {
    if (io.MouseWheel == 0 && io.MouseWheelH == 0) return;
    const show::Time page = scene.view.visible.length() / 10;
    if (io.MousePos.x < at.split) {
      state.scroll -= io.MouseWheel * 2 * at.lane_height;
      return;
    }
    const float sideways = io.KeyShift && io.MouseWheelH == 0 ? io.MouseWheel : io.MouseWheelH;
    if (sideways != 0) {
      out.push_back(See{panned(scene.view.visible, show::Time{static_cast<std::int64_t>(-sideways * static_cast<double>(page.count()))}, show().length)});
    } else if (io.KeyCtrl) {
      state.scroll -= io.MouseWheel * 2 * at.lane_height;
    } else {
      out.push_back(See{zoomed(scene.view.visible, pointed(), std::pow(0.8, io.MouseWheel), show().length)});
    }
  }

  void hint() {
    const float x = io.MousePos.x, y = io.MousePos.y;
    if (x < at.split) {
      if (at.lane_at(y) < at.lanes.size()) ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
      if (const auto what = switch_at(scene, at, at.lane_at(y), x))
        beside_pointer(scene.look, *what == SwitchLane::What::mute ? "Mute: not performed" : *what == SwitchLane::What::solo ? "Solo: only these are performed" : "Lock: no edit changes its keys");
      return;
    }
    if (const show::Marker* m = marker_here()) beside_pointer(scene.look, m->name + "   double-click to rename or delete");
    if (hint_heard(scene, at, x, y)) return;
    if (y < at.loop_bottom || y < at.wave_bottom) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
      if (y >= at.loop_bottom && io.KeyShift) beside_pointer(scene.look, "drag to choose the keys of a stretch");
      return;
    }
    if (const auto box = box_of(scene, at); box && grip_at(scene, *box, io.MousePos) != Drag::Kind::none) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
      return beside_pointer(scene.look, "drag to scale the times about the other end");
    }
    const std::size_t lane = at.lane_at(y);
    if (lane >= at.lanes.size()) return;
    if (at.lanes[lane].layer) return hint_layer(scene, at, lane);
    if (const auto which = findings_here(); !which.empty()) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
      return explain(scene, which);
    }
    if (const auto key = key_near(at.lanes[lane], at.axis, x, scene.look.px(kHandReach))) {
      ImGui::SetMouseCursor(io.KeyShift ? ImGuiMouseCursor_ResizeNS : ImGuiMouseCursor_ResizeEW);
      drag.grabbed = *key;
      if (const show::Keyframe* k = find_key(show(), *key)) drag.value = k->value;
      read_out({});
    }
  }
};

}  // namespace

Commands timeline_hands(const Scene& scene, const TimelineLayout& at, TimelineState& state, bool hovered) {
  TimelineHands hands{scene, at, state};
  const bool dragging = state.drag.kind != Drag::Kind::none;
  if (dragging) {
    const int button = state.drag.kind == Drag::Kind::pan ? ImGuiMouseButton_Middle : ImGuiMouseButton_Left;
    if (ImGui::IsKeyPressed(GLFW_KEY_ESCAPE, false)) {
      hands.cancel();
    } else {
      const bool done = !ImGui::IsMouseDown(button);
      hands.pull(done);
      if (done) state.drag = {};
    }
  } else if (hovered) {
    if (ImGui::IsMouseClicked(ImGuiMouseButton_Left)) hands.press();
    else if (ImGui::IsMouseClicked(ImGuiMouseButton_Middle)) hands.begin(Drag::Kind::pan);
    else hands.hint();
  }
  if (hovered) hands.roll();
  return std::move(hands.out);
}

}  // namespace mien::editor
