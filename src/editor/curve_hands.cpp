#include <GLFW/glfw3.h>

#include <algorithm>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/snap.hpp"

namespace mien::editor {
namespace {

constexpr float kReach = 8, kSlack = 3;

struct Hands {
  const Scene& scene;
  const CurveLayout& at;
  Drag& drag;
  const ImGuiIO& io = ImGui::GetIO();
  Commands out{};

  const show::Show& show() const { return scene.document.show(); }
  show::Time within(show::Time t) const { return std::clamp(t, show::Time{0}, std::max(show().length, show::Time{0})); }
  show::Time snap(show::Time t) const { return snapped_to(scene, at.axis, t, io.KeyCtrl, &scene.document.selection()); }
  bool near(ImVec2 p) const { return std::hypot(p.x - io.MousePos.x, p.y - io.MousePos.y) <= scene.look.px(kReach); }

  /// Index of the key under the pointer; keys.size() where there is none.
  std::size_t key_here() const {
    if (!at.channel) return 0;
    const auto& keys = at.channel->keys;
    const show::Time reach = at.axis.span(scene.look.px(kReach)), t = at.axis.time(io.MousePos.x);
    auto k = std::lower_bound(keys.begin(), keys.end(), t - reach, [](const show::Keyframe& a, show::Time b) { return a.time < b; });
    for (; k != keys.end() && k->time <= t + reach; ++k)
      if (near({at.axis.x(k->time), at.y(k->value)})) return static_cast<std::size_t>(k - keys.begin());
    return keys.size();
  }

  /// The segment whose handle is under the pointer, and which of the two.
  bool handle_here(std::size_t& segment, Drag::Kind& which) const {
    if (!at.channel) return false;
    for (const show::KeyRef& ref : chosen_here()) {
      const auto& keys = at.channel->keys;
      const auto k = std::lower_bound(keys.begin(), keys.end(), ref.time, [](const show::Keyframe& a, show::Time b) { return a.time < b; });
      const auto i = static_cast<std::size_t>(k - keys.begin());
      // The segment that leaves the key and the one that leads to it.
      for (std::size_t s = i > 0 ? i - 1 : i; s <= i; ++s) {
        if (s + 1 >= keys.size() || keys[s].easing.kind != show::Easing::Kind::bezier) continue;
        const Handles h = handles_of(at, s);
        segment = s;
        if (near(h.out)) return which = Drag::Kind::handle_out, true;
        if (near(h.in)) return which = Drag::Kind::handle_in, true;
      }
    }
    return false;
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
    const FindingMarks marks = findings_of(scene, at);
    const FindingMark* m = marks.near(at.axis, io.MousePos.x, scene.look.px(kReach));
    if (!m) return {};
    const auto items = marks.of(*m);
    return {items.begin(), items.end()};
  }

  void begin(Drag::Kind kind) {
    drag = {};
    drag.kind = kind, drag.x = io.MousePos.x, drag.y = io.MousePos.y;
    drag.time = at.axis.time(io.MousePos.x);
    drag.before = scene.document.selection();
  }

  void press() {
    if (io.MousePos.y > at.bottom) return begin(Drag::Kind::playhead);
    std::size_t segment = 0;
    Drag::Kind which = Drag::Kind::none;
    if (handle_here(segment, which)) {
      begin(which);
      drag.grabbed = {at.channel->control, at.channel->keys[segment].time};
      drag.easing = at.channel->keys[segment].easing;
      return;
    }
    const std::size_t key = key_here();
    if (at.channel && key < at.channel->keys.size()) return press_key(key);
    if (const auto found = findings_here(); !found.empty()) {
      out.push_back(where(*scene.feasibility, scene.feasibility->study.shortfalls[found.front()]));
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

  void press_key(std::size_t index) {
    const show::Keyframe& key = at.channel->keys[index];
    const show::KeyRef ref{at.channel->control, key.time};
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
    if (!drag.moved && std::hypot(io.MousePos.x - drag.x, io.MousePos.y - drag.y) >= scene.look.px(kSlack)) drag.moved = true;
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
      case Drag::Kind::box: pull_box(done); break;
      default: break;
    }
  }

  void pull_keys(bool done) {
    if (!drag.moved) return;
    MoveKeys move{drag.keys, show::Time{0}, 0, io.KeyAlt};
    const float dx = io.MousePos.x - drag.x, dy = io.MousePos.y - drag.y;
    // Shift keeps to the axis along which the pointer went farther.
    if (!io.KeyShift || std::abs(dx) >= std::abs(dy)) move.dt = snap(drag.grabbed.time + at.axis.span(dx)) - drag.grabbed.time;
    if (!io.KeyShift || std::abs(dy) > std::abs(dx)) move.dv = -static_cast<double>(dy / (at.bottom - at.top)) * (at.high - at.low);
    const show::Control& c = *at.control;
    if (!done)
      beside_pointer(scene.look, time_text(scene.view, drag.grabbed.time + move.dt) + "   " +
                                     value_text(std::clamp(drag.value + move.dv, c.min, c.max), c.unit, c.max - c.min));
    out.push_back(Change{std::move(move), done});
  }

  void pull_handle(bool done) {
    if (!at.channel) return;
    const auto& keys = at.channel->keys;
    const auto k = std::lower_bound(keys.begin(), keys.end(), drag.grabbed.time, [](const show::Keyframe& a, show::Time b) { return a.time < b; });
    if (k == keys.end() || std::next(k) == keys.end()) return;
    const auto next = std::next(k);
    show::Easing e = drag.easing;
    const double span = static_cast<double>((next->time - k->time).count()), rise = next->value - k->value;
    const auto x = static_cast<float>(std::clamp(static_cast<double>((at.axis.time(io.MousePos.x) - k->time).count()) / span, 0.0, 1.0));
    const bool out_handle = drag.kind == Drag::Kind::handle_out;
    // Between two equal values the handle's height means nothing; it keeps what it had.
    const float y = std::abs(rise) < 1e-12 ? (out_handle ? e.y1 : e.y2)
                                           : static_cast<float>(std::clamp((at.value(io.MousePos.y) - k->value) / rise, -2.0, 3.0));
    (out_handle ? e.x1 : e.x2) = x;
    (out_handle ? e.y1 : e.y2) = io.KeyShift ? (out_handle ? 0.0f : 1.0f) : y;  // Shift: flat
    if (!done) beside_pointer(scene.look, show::to_text(e));
    out.push_back(Change{SetEasing{{drag.grabbed}, e}, done});
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
    if (at.channel)
      for (const show::Keyframe& key : at.channel->keys) {
        const float x = at.axis.x(key.time), y = at.y(key.value);
        if (x >= a.x && x <= b.x && y >= a.y && y <= b.y) chosen.add({at.channel->control, key.time});
      }
    out.push_back(Select{std::move(chosen)});
  }

  void hint() {
    std::size_t segment = 0;
    Drag::Kind which = Drag::Kind::none;
    if (io.MousePos.y > at.bottom) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
    else if (handle_here(segment, which)) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeAll);
    else if (const std::size_t key = key_here(); at.channel && key < at.channel->keys.size()) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeAll);
      const show::Keyframe& k = at.channel->keys[key];
      beside_pointer(scene.look, time_text(scene.view, k.time) + "   " + value_text(k.value, at.control->unit, at.control->max - at.control->min));
    } else if (const auto found = findings_here(); !found.empty()) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
      explain(scene, found);
    }
  }

  void mark_keys() const {
    if (!listening_probe || !at.channel) return;
    for (std::size_t i = 0; i < std::min<std::size_t>(at.channel->keys.size(), 64); ++i) {
      const float x = at.axis.x(at.channel->keys[i].time), y = at.y(at.channel->keys[i].value);
      mark(("curve/key/" + std::to_string(i)).c_str(), {x - 2, y - 2}, {x + 2, y + 2});
      if (i + 1 < at.channel->keys.size() && shows_handles(scene, *at.channel, i)) {
        const Handles h = handles_of(at, i);
        mark(("curve/handle_out/" + std::to_string(i)).c_str(), {h.out.x - 2, h.out.y - 2}, {h.out.x + 2, h.out.y + 2});
      }
    }
  }
};

}  // namespace

Commands curve_hands(const Scene& scene, const CurveLayout& at, CurveState& state, bool hovered) {
  Hands hands{scene, at, state.drag};
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
    hands.out.push_back(See{zoomed(scene.view.visible, at.axis.time(hands.io.MousePos.x), std::pow(0.8, hands.io.MouseWheel), hands.show().length)});
  hands.mark_keys();
  return std::move(hands.out);
}

}  // namespace mien::editor
