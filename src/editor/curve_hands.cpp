#include <GLFW/glfw3.h>

#include <algorithm>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/grips.hpp"
#include "editor/probe.hpp"
#include "editor/snap.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

struct CurveHands {
  const Scene& scene;
  const CurvePlot& plot;
  Drag& drag;
  const CurveLayout& at = plot.front;
  const ImGuiIO& io = ImGui::GetIO();
  Commands out{};

  const show::Show& show() const { return scene.document.show(); }
  show::Time within(show::Time t) const { return std::clamp(t, show::Time{0}, std::max(show().length, show::Time{0})); }
  show::Time snap(show::Time t) const { return snapped_to(scene, at.axis, t, io.KeyCtrl, &scene.document.selection()); }
  bool near(ImVec2 p) const { return std::hypot(p.x - io.MousePos.x, p.y - io.MousePos.y) <= scene.look.px(kHandReach); }

  struct Hit { const CurveLayout* at = nullptr; std::size_t key = 0; };

  /// The key under the pointer: one in front before those behind; at is nullptr where there is none.
  Hit key_here() const {
    if (const auto i = key_of(at)) return {&at, *i};
    for (const CurveLayout& behind : plot.behind)
      if (const auto i = key_of(behind)) return {&behind, *i};
    return {};
  }
  std::optional<std::size_t> key_of(const CurveLayout& of) const {
    if (!of.channel) return {};
    const auto& keys = of.channel->keys;
    const show::Time reach = at.axis.span(scene.look.px(kHandReach)), t = at.axis.time(io.MousePos.x);
    auto k = std::lower_bound(keys.begin(), keys.end(), t - reach, [](const show::Keyframe& a, show::Time b) { return a.time < b; });
    for (; k != keys.end() && k->time <= t + reach; ++k)
      if (near({at.axis.x(k->time), of.y(k->value)})) return static_cast<std::size_t>(k - keys.begin());
    return {};
  }

  float away(const CurveLayout& of) const {
    const show::Channel none;
    return std::abs(of.y(motion::evaluate(of.channel ? *of.channel : none, at.axis.time(io.MousePos.x), of.control->rest)) - io.MousePos.y);
  }
  /// The line behind that the pointer is on, and not on the one in front; nullptr where there is none.
  const CurveLayout* line_here() const {
    const float reach = scene.look.px(kHandReach * 0.75f);
    if (io.MousePos.y > at.bottom || away(at) <= reach) return nullptr;
    const CurveLayout* nearest = nullptr;
    for (const CurveLayout& behind : plot.behind)
      if (away(behind) <= reach && (!nearest || away(behind) < away(*nearest))) nearest = &behind;
    return nearest;
  }

  /// The key whose handle is under the pointer, and which of its two; Drag::Kind::none where there is none.
  struct HandleHit { std::size_t key = 0; Drag::Kind which = Drag::Kind::none; };
  HandleHit handle_here() const {
    if (!at.channel) return {};
    for (const show::KeyRef& ref : chosen_here()) {
      const auto& keys = at.channel->keys;
      const auto k = std::lower_bound(keys.begin(), keys.end(), ref.time, [](const show::Keyframe& a, show::Time b) { return a.time < b; });
      const auto i = static_cast<std::size_t>(k - keys.begin());
      // The segment that leaves the key and the one that leads to it.
      for (std::size_t s = i > 0 ? i - 1 : i; s <= i; ++s) {
        if (s + 1 >= keys.size() || keys[s].easing.kind != show::Easing::Kind::bezier) continue;
        const Handles h = handles_of(at, s);
        if (near(h.out)) return {s, Drag::Kind::handle_out};
        if (near(h.in)) return {s + 1, Drag::Kind::handle_in};
      }
    }
    return {};
  }

  std::vector<show::KeyRef> chosen_here() const {
    std::vector<show::KeyRef> refs;
    if (const auto* times = scene.document.selection().of(at.channel->control))
      for (const show::Time t : *times)
        if (t >= at.axis.range.begin - at.axis.range.length() && t <= at.axis.range.end + at.axis.range.length() && refs.size() < 512) refs.push_back({at.channel->control, t});
    return refs;
  }

  std::vector<std::size_t> findings_here() const {
    if (io.MousePos.y < at.bottom - scene.look.px(kFindingStripPx) || io.MousePos.y > at.bottom) return {};
    const FindingMarks marks = findings_of(scene, plot);
    const FindingMark* m = marks.near(at.axis, io.MousePos.x, scene.look.px(kHandReach));
    return m ? marks.of(*m) : std::vector<std::size_t>{};
  }

  /// The grip of the box about the chosen keys under the pointer.
  Drag::Kind grip_here(const KeyBox& box) const {
    for (const Drag::Kind kind : {Drag::Kind::scale_begin, Drag::Kind::scale_end, Drag::Kind::scale_high, Drag::Kind::scale_low})
      if (const auto p = grip_of(box, kind); p && near(*p)) return kind;
    return Drag::Kind::none;
  }

  void begin(Drag::Kind kind) {
    drag = {};
    drag.kind = kind, drag.x = io.MousePos.x, drag.y = io.MousePos.y;
    drag.time = at.axis.time(io.MousePos.x);
    drag.before = scene.document.selection();
  }

  void press() {
    if (io.MousePos.y > at.bottom) return begin(Drag::Kind::playhead);
    if (const HandleHit h = handle_here(); h.which != Drag::Kind::none) {
      begin(h.which);
      drag.grabbed = {at.channel->control, at.channel->keys[h.key].time};
      drag.aligned = sides_of(*at.channel, h.key).out.lie == Lie::aligned;
      return;
    }
    if (const Hit hit = key_here(); hit.at) return press_key(hit);
    if (const auto box = box_of(scene, plot)) {
      if (const Drag::Kind grip = grip_here(*box); grip != Drag::Kind::none) {
        begin(grip);
        drag.keys = scene.document.selection().refs(), drag.range = box->time, drag.low = box->low, drag.high = box->high;
        return;
      }
    }
    if (const auto found = findings_here(); !found.empty()) {
      for (Command& c : pressed_finding(scene, found, ImGui::IsMouseDoubleClicked(0))) out.push_back(std::move(c));
      return;
    }
    if (const CurveLayout* line = line_here()) {
      out.push_back(Choose{line->control->name});
      return;
    }
    if (ImGui::IsMouseDoubleClicked(0)) {
      const double value = std::clamp(at.value(io.MousePos.y), at.control->min, at.control->max);
      out.push_back(Change{SetKey{at.control->name, {snap(at.axis.time(io.MousePos.x)), value, show::kSmooth}}});
      return;
    }
    begin(Drag::Kind::box);
    if (!io.KeyShift) drag.before = {};
  }

  void press_key(const Hit& hit) {
    const show::Keyframe& key = hit.at->channel->keys[hit.key];
    const show::KeyRef ref{hit.at->channel->control, key.time};
    if (hit.at != &at) out.push_back(Choose{ref.control});
    Selection chosen = scene.document.selection();
    if (io.KeyShift || io.KeyCtrl) {
      if (chosen.contains(ref.control, ref.time)) chosen.remove(ref);
      else chosen.add(ref);
      out.push_back(Select{chosen});
      if (!chosen.contains(ref.control, ref.time)) return;
    } else if (!chosen.contains(ref.control, ref.time)) {
      chosen = Selection::from({ref});
      out.push_back(Select{chosen});
    }
    begin(Drag::Kind::keys);
    drag.keys = chosen.refs();
    drag.grabbed = ref;
    drag.value = key.value;
  }

  void pull(bool done) {
    if (!drag.moved && std::hypot(io.MousePos.x - drag.x, io.MousePos.y - drag.y) >= scene.look.px(kHandSlack)) drag.moved = true;
    switch (drag.kind) {
      case Drag::Kind::playhead: out.push_back(Seek{within(at.axis.time(io.MousePos.x)), !done}); break;
      case Drag::Kind::pan: {
        const show::Time by = at.axis.span(drag.x - io.MousePos.x);
        drag.x = io.MousePos.x;
        out.push_back(See{{scene.view.visible.begin + by, scene.view.visible.end + by}});
        break;
      }
      case Drag::Kind::keys: pull_keys(done); break;
      case Drag::Kind::handle_out:
      case Drag::Kind::handle_in: pull_handle(done); break;
      case Drag::Kind::scale_begin:
      case Drag::Kind::scale_end: pull_time(done); break;
      case Drag::Kind::scale_low:
      case Drag::Kind::scale_high: pull_values(done); break;
      case Drag::Kind::box: pull_box(done); break;
      default: break;
    }
  }

  void pull_keys(bool done) {
    if (!drag.moved) return;
    const CurveLayout* grabbed = plot.find(drag.grabbed.control);
    if (!grabbed) grabbed = &at;
    MoveKeys move{drag.keys, show::Time{0}, 0, io.KeyAlt, true};
    const float dx = io.MousePos.x - drag.x, dy = io.MousePos.y - drag.y;
    // Shift keeps to the axis along which the pointer went farther.
    if (!io.KeyShift || std::abs(dx) >= std::abs(dy)) move.dt = snap(drag.grabbed.time + at.axis.span(dx)) - drag.grabbed.time;
    if (!io.KeyShift || std::abs(dy) > std::abs(dx)) move.dv = -grabbed->share_of_range(dy);
    const show::Control& c = *grabbed->control;
    if (!done)
      beside_pointer(scene.look, time_text(scene.view, drag.grabbed.time + move.dt) + "   " +
                                     value_text(std::clamp(drag.value + move.dv * (c.max - c.min), c.min, c.max), c.unit, c.max - c.min));
    out.push_back(Change{std::move(move), done});
  }

  // Shift keeps the handle level. The key's other handle turns along where both were on one line, and with Alt where they were not.
  void pull_handle(bool done) {
    if (!at.channel || !drag.moved) return;
    const auto& keys = at.channel->keys;
    const auto k = std::lower_bound(keys.begin(), keys.end(), drag.grabbed.time, [](const show::Keyframe& a, show::Time b) { return a.time < b; });
    if (k == keys.end() || k->time != drag.grabbed.time) return;
    const auto i = static_cast<std::size_t>(k - keys.begin());
    const bool out_side = drag.kind == Drag::Kind::handle_out, together = drag.aligned != io.KeyAlt;
    TurnHandle turn{drag.grabbed, out_side, at.axis.time(io.MousePos.x) - k->time, io.KeyShift ? 0 : at.value(io.MousePos.y) - k->value, together};
    if (!done) {
      const HandleSide now = out_side ? sides_of(*at.channel, i).out : sides_of(*at.channel, i).in;
      beside_pointer(scene.look, seconds_text(now.dt) + "   " + value_text(now.dv, at.control->unit, at.control->max - at.control->min) +
                                     (!now.tilts ? "   level, since both keys have one value" : together ? "   both handles; Alt: this one alone" : "   this handle alone; Alt: both"));
    }
    out.push_back(Change{HandleEdit{turn}, done});
  }

  void pull_time(bool done) {
    if (drag.moved) pull_time_grip(scene, drag, snap(held_end(drag) + at.axis.span(io.MousePos.x - drag.x)), done, out);
  }

  void pull_values(bool done) {
    if (!drag.moved) return;
    const bool high = drag.kind == Drag::Kind::scale_high;
    const double pivot = high ? drag.low : drag.high, held = high ? drag.high : drag.low;
    const double to = held - at.share_of_range(io.MousePos.y - drag.y);
    const double factor = std::max(0.0, (to - pivot) / (held - pivot));
    if (!done) beside_pointer(scene.look, percent_text(factor));
    out.push_back(Change{Reshaping{ScaleKeys{drag.keys, 1, factor, show::Time{0}, pivot}}, done});
  }

  void pull_box(bool done) {
    if (!drag.moved) {
      if (done) out.push_back(Select{drag.before});
      return;
    }
    const ImVec2 a{std::min(drag.x, io.MousePos.x), std::min(drag.y, io.MousePos.y)}, b{std::max(drag.x, io.MousePos.x), std::max(drag.y, io.MousePos.y)};
    ImDrawList& list = *ImGui::GetWindowDrawList();
    list.AddRectFilled(a, b, with_alpha(scene.look.theme.accent, 0.10));
    list.AddRect(a, b, scene.look.theme.accent);
    Selection chosen = drag.before;
    const auto choose_of = [&](const CurveLayout& of) {
      if (!of.channel) return;
      for (const show::Keyframe& key : of.channel->keys) {
        const float x = at.axis.x(key.time), y = of.y(key.value);
        if (x >= a.x && x <= b.x && y >= a.y && y <= b.y) chosen.add({of.channel->control, key.time});
      }
    };
    choose_of(at);
    for (const CurveLayout& behind : plot.behind) choose_of(behind);
    out.push_back(Select{std::move(chosen)});
  }

  void hint() {
    if (io.MousePos.y > at.bottom) return ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
    if (handle_here().which != Drag::Kind::none) return ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeAll);
    if (const Hit hit = key_here(); hit.at) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeAll);
      const show::Keyframe& k = hit.at->channel->keys[hit.key];
      const show::Control& c = *hit.at->control;
      return beside_pointer(scene.look, (plot.behind.empty() ? "" : c.name + "   ") + time_text(scene.view, k.time) + "   " + value_text(k.value, c.unit, c.max - c.min));
    }
    if (const auto box = box_of(scene, plot)) {
      const Drag::Kind grip = grip_here(*box);
      if (grip == Drag::Kind::scale_begin || grip == Drag::Kind::scale_end) return ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW), beside_pointer(scene.look, "drag to scale the times about the other end");
      if (grip != Drag::Kind::none) return ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeNS), beside_pointer(scene.look, "drag to scale the values about the other end");
    }
    if (const auto found = findings_here(); !found.empty()) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
      return explain(scene, found);
    }
    if (const CurveLayout* line = line_here()) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
      beside_pointer(scene.look, line->control->name + "   click to bring it to the front");
    }
  }

  void mark_keys(const CurveLayout& of, const std::string& name) const {
    for (std::size_t i = 0; of.channel && i < std::min<std::size_t>(of.channel->keys.size(), 64); ++i) {
      const float x = at.axis.x(of.channel->keys[i].time), y = of.y(of.channel->keys[i].value);
      mark((name + std::to_string(i)).c_str(), {x - 2, y - 2}, {x + 2, y + 2});
    }
  }

  void mark_all() const {
    if (!listening_probe) return;
    mark_keys(at, "curve/key/");
    for (const CurveLayout& behind : plot.behind) mark_keys(behind, "curve/" + behind.control->name + "/key/");
    for (std::size_t i = 0; at.channel && i + 1 < std::min<std::size_t>(at.channel->keys.size(), 64); ++i) {
      if (!shows_handles(scene, *at.channel, i)) continue;
      const Handles h = handles_of(at, i);
      mark(("curve/handle_out/" + std::to_string(i)).c_str(), {h.out.x - 2, h.out.y - 2}, {h.out.x + 2, h.out.y + 2});
      mark(("curve/handle_in/" + std::to_string(i + 1)).c_str(), {h.in.x - 2, h.in.y - 2}, {h.in.x + 2, h.in.y + 2});
    }
  }
};

}  // namespace

Commands curve_hands(const Scene& scene, const CurvePlot& plot, CurveState& state, bool hovered) {
  CurveHands hands{scene, plot, state.drag};
  if (state.drag.kind != Drag::Kind::none) {
    const int button = state.drag.kind == Drag::Kind::pan ? ImGuiMouseButton_Middle : ImGuiMouseButton_Left;
    if (ImGui::IsKeyPressed(GLFW_KEY_ESCAPE, false)) {
      hands.out.push_back(TakeBack{});
      state.drag = {};
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
  if (hovered && hands.io.MouseWheel != 0)
    hands.out.push_back(See{zoomed(scene.view.visible, hands.at.axis.time(hands.io.MousePos.x), std::pow(0.8, hands.io.MouseWheel), hands.show().length)});
  hands.mark_all();
  return std::move(hands.out);
}

}  // namespace mien::editor
