// Layers beside the lanes: their list, the chosen one's settings and placement, and the clips that can be placed.
#include <imgui.h>

#include <algorithm>
#include <cstdio>

#include "editor/compose_actions.hpp"
#include "editor/draw.hpp"
#include "editor/fields.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kLayerRow = 28;

struct LayerPanel {
  const Scene& scene;
  const Studio& studio;
  Fields fields;
  Commands out{};
  const Look& look = scene.look;
  const show::Show& show = scene.document.whole();

  void put(const char* doing, show::Layer layer) { out.push_back(Change{Composition{PutLayer{doing, std::move(layer)}}}); }

  // A row of a list: name to the left, what is to know about it to the right; true where it was clicked.
  bool row(const std::string& id, const std::string& name, const std::string& about, bool chosen, bool quiet) {
    const float width = ImGui::GetContentRegionAvail().x, height = look.px(kLayerRow), pad = look.px(12);
    const ImVec2 p = ImGui::GetCursorScreenPos();
    const bool clicked = ImGui::InvisibleButton(id.c_str(), {width, height});
    mark(id.c_str());
    ImDrawList& list = *ImGui::GetWindowDrawList();
    if (chosen) fill(list, p.x, p.y, p.x + width, p.y + height, look.theme.raised);
    else if (ImGui::IsItemHovered()) fill(list, p.x, p.y, p.x + width, p.y + height, look.theme.lane);
    if (chosen) fill(list, p.x, p.y, p.x + look.px(4), p.y + height, look.theme.accent);
    const float about_width = width_of(look.fonts.body, about), y = p.y + height * 0.5f;
    words(list, look.fonts.body, p.x + width - pad - about_width, y, look.theme.quiet, about);
    words(list, chosen ? look.fonts.strong : look.fonts.body, p.x + pad, y, quiet ? look.theme.quiet : look.theme.text, name, width - about_width - 2 * pad - look.px(8));
    return clicked;
  }

  void actions(std::initializer_list<std::pair<const char*, const char*>> all) { action_row(look, studio, all, out); }

  std::string about(const show::Layer& layer) const {
    std::string text = layer.muted ? "muted, " : "";
    text += layer.blend == show::Layer::Blend::add ? "adds " : "overrides ";
    return text + (layer.weight_curve.empty() ? percent_text(layer.weight) : std::string("by a curve"));
  }

  void list() {
    if (show.layers.empty()) paragraph(look.fonts.body, look.theme.quiet, "A layer lies on the show\u2019s keys: clips placed on it, keys of its own, or idle life. Add one to begin.");
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
    for (auto layer = show.layers.rbegin(); layer != show.layers.rend(); ++layer)
      if (row("row/layer/" + (*layer)->name, (*layer)->name, about(**layer), scene.view.layer == (*layer)->name, (*layer)->muted)) out.push_back(ChooseLayer{(*layer)->name});
    ImGui::PopStyleVar();
    ImGui::Dummy({0, look.px(4)});
    actions({{"layer_add", "Add layer"}, {"layer_idle", "Add idle life"}});
  }

  void baking() {
    if (scene.baking.running) {
      char text[64];
      std::snprintf(text, sizeof text, "Baking down: %.0f %%", scene.baking.share * 100);
      line(look.fonts.strong, look.theme.text, text);
      ImGui::SameLine();
      if (button(look, "Cancel##bake")) out.push_back(StopBaking{});
    } else if (!scene.baking.word.empty()) {
      paragraph(look.fonts.body, look.theme.quiet, scene.baking.word);
    }
  }

  void chosen(const show::Layer& layer) {
    using Blend = show::Layer::Blend;
    fields.heading(layer.idle ? "Layer of idle life" : "Layer");
    if (const auto name = fields.name("Name", "layer_name", layer.name)) {
      out.push_back(Change{Composition{RenameLayer{layer.name, *name}}});
      if (!show::find_layer(show, *name)) out.push_back(ChooseLayer{*name, scene.view.placement});
    }
    show::Layer to = layer;
    fields.label("Blend");
    if (fields.chip("Overrides", layer.blend == Blend::over)) to.blend = Blend::over, to.weight = std::min(to.weight, 1.0), put("Let layer override", to);
    ImGui::SameLine(0, look.px(4));
    if (fields.chip("Adds", layer.blend == Blend::add)) to.blend = Blend::add, put("Let layer add", to);
    ImGui::SameLine(0, look.px(16));
    if (fields.chip("Muted", layer.muted)) out.push_back(Act{"layer_mute"});
    const double most = layer.blend == Blend::add ? show::kMostWeight : 1;
    if (const auto percent = fields.number("Weight, %", "layer_weight", layer.weight * 100, "%.0f"))
      to.weight = std::clamp(*percent / 100, 0.0, most), to.weight_curve.clear(), put("Set weight of layer", to);
    weight_curve(layer);
    mask(layer);
    if (layer.idle) idle(layer);
    ImGui::Dummy({0, look.px(4)});
    actions({{"layer_up", "Up"}, {"layer_down", "Down"}, {"layer_keys", "Edit its own keys"}, {"layer_bake", "Bake down"}, {"layer_remove", "Remove"}});
    baking();
  }

  void weight_curve(const show::Layer& layer) {
    ImGui::SameLine(0, look.px(16));
    if (button(look, "Key the weight")) {
      show::Show keyed = show::with_weight_key(show, layer.name, {scene.report.time, layer.weight});
      put("Key weight of layer", *show::find_layer(keyed, layer.name));
    }
    for (std::size_t i = 0; i < layer.weight_curve.size() && i < 12; ++i) {
      const show::Keyframe& key = layer.weight_curve[i];
      const std::string at = "at " + seconds_text(key.time), id = "weight_" + std::to_string(i);
      const double most = layer.blend == show::Layer::Blend::add ? show::kMostWeight : 1;
      if (const auto percent = fields.number(at.c_str(), id.c_str(), key.value * 100, "%.0f")) {
        show::Layer to = layer;
        to.weight_curve[i].value = std::clamp(*percent / 100, 0.0, most);
        put("Set weight of layer", std::move(to));
      }
      ImGui::SameLine();
      if (button(look, ("Drop##" + id).c_str())) {
        show::Layer to = layer;
        to.weight_curve.erase(to.weight_curve.begin() + static_cast<std::ptrdiff_t>(i));
        put("Drop a key of the weight", std::move(to));
      }
    }
  }

  void mask(const show::Layer& layer) {
    fields.label("Changes");
    const float left = ImGui::GetCursorPosX(), right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
    if (fields.chip("Everything", layer.mask.empty())) {
      show::Layer to = layer;
      to.mask.clear(), put("Let layer change everything", std::move(to));
    }
    for (const show::Group& group : scene.document.rig().groups) {
      const auto at = std::find(layer.mask.begin(), layer.mask.end(), group.name);
      const std::string id = group.name + "##mask";
      if (ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, group.name) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
      else ImGui::SetCursorPosX(left);
      if (!fields.chip(id.c_str(), at != layer.mask.end())) continue;
      show::Layer to = layer;
      if (at == layer.mask.end()) to.mask.push_back(group.name);
      else to.mask.erase(to.mask.begin() + (at - layer.mask.begin()));
      put("Set what layer changes", std::move(to));
    }
  }

  void idle(const show::Layer& layer) {
    using Manner = show::IdleLife::Manner;
    const show::IdleLife& life = *layer.idle;
    const auto with = [&](auto change) {
      show::Layer to = layer;
      change(*to.idle);
      put("Change idle life", std::move(to));
    };
    fields.label("Manner");
    for (const Manner m : {Manner::resting, Manner::listening, Manner::speaking, Manner::reading}) {
      if (m != Manner::resting) ImGui::SameLine(0, look.px(4));
      if (fields.chip(show::name(m), life.manner == m)) with([m](show::IdleLife& l) { l.manner = m; });
    }
    const auto amount = [](double percent) { return std::clamp(percent / 100, 0.0, show::kMostLively); };
    if (const auto v = fields.number("Seed", "idle_seed", life.seed, "%.0f")) with([&](show::IdleLife& l) { l.seed = static_cast<std::uint32_t>(std::clamp(*v, 0.0, 4294967295.0)); });
    if (const auto v = fields.number("Blinks, %", "idle_blinks", life.blinks * 100, "%.0f", true)) with([&](show::IdleLife& l) { l.blinks = amount(*v); });
    if (const auto v = fields.number("Gaze, %", "idle_gaze", life.gaze * 100, "%.0f")) with([&](show::IdleLife& l) { l.gaze = amount(*v); });
    if (const auto v = fields.number("Brows, %", "idle_brows", life.brows * 100, "%.0f", true)) with([&](show::IdleLife& l) { l.brows = amount(*v); });
    if (const auto v = fields.number("Head, %", "idle_head", life.head * 100, "%.0f")) with([&](show::IdleLife& l) { l.head = amount(*v); });
  }

  void placement(const show::Layer& layer, std::size_t index) {
    const show::Placement& p = layer.placements[index];
    fields.heading((p.clip + " on " + layer.name).c_str());
    const auto with = [&](const char* doing, auto change) {
      show::Layer to = layer;
      change(to.placements[index]);
      put(doing, std::move(to));
    };
    const auto time = [](double s) { return std::max(show::from_seconds(s), show::Time{0}); };
    const double most = layer.blend == show::Layer::Blend::add ? show::kMostWeight : 1;
    if (const auto v = fields.number("At, s", "place_start", show::to_seconds(p.start), "%.3f")) with("Move clip", [&](auto& q) { q.start = time(*v); });
    if (const auto v = fields.number("Trim, s", "place_offset", show::to_seconds(p.offset), "%.3f", true)) with("Trim clip", [&](auto& q) { q.offset = trimmed(q, time(*v)); });
    if (const auto v = fields.number("Rate", "place_rate", p.rate, "%.3f")) with("Set rate of clip", [&](auto& q) { q.rate = std::clamp(*v, 0.01, show::kMostRate); });
    if (const auto v = fields.number("Repeats", "place_repeats", p.repeats, "%.0f", true)) with("Repeat clip", [&](auto& q) { q.repeats = static_cast<int>(std::clamp(*v, 1.0, double(show::kMostRepeats))); });
    if (const auto v = fields.number("Weight, %", "place_weight", p.weight * 100, "%.0f")) with("Set weight of clip", [&](auto& q) { q.weight = std::clamp(*v / 100, 0.0, most); });
    if (const auto v = fields.number("Fade in, s", "place_fade_in", show::to_seconds(p.fade_in), "%.3f")) with("Fade clip", [&](auto& q) { q.fade_in = time(*v); });
    if (const auto v = fields.number("Fade out, s", "place_fade_out", show::to_seconds(p.fade_out), "%.3f", true)) with("Fade clip", [&](auto& q) { q.fade_out = time(*v); });
    ImGui::Dummy({0, look.px(4)});
    if (button(look, "Take it off")) {
      show::Layer to = layer;
      to.placements.erase(to.placements.begin() + static_cast<std::ptrdiff_t>(index));
      put(("Take clip " + p.clip + " off").c_str(), std::move(to));
      out.push_back(ChooseLayer{layer.name});
    }
  }

  // At least a moment of the clip stays.
  show::Time trimmed(const show::Placement& p, show::Time wanted) const {
    const auto clip = show::find_clip(show, p.clip);
    const double whole = clip ? static_cast<double>(clip->length.count()) * p.repeats : 0;
    return show::Time{static_cast<std::int64_t>(std::min(static_cast<double>(wanted.count()), std::max(0.0, whole - 1e6)))};
  }

  void clips() {
    if (show.clips.empty()) paragraph(look.fonts.body, look.theme.quiet, "A clip is a bundle of keys to be placed as often as you like. Choose some keys and make one of them.");
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
    for (const auto& clip : show.clips)
      if (row("row/clip/" + clip->name, clip->name, seconds_text(clip->length), scene.view.clip == clip->name, false)) out.push_back(ChooseClip{clip->name});
    ImGui::PopStyleVar();
    ImGui::Dummy({0, look.px(4)});
    if (const auto clip = show::find_clip(show, scene.view.clip))
      if (const auto name = fields.name("Name", "clip_name", clip->name)) {
        out.push_back(Change{Composition{RenameClip{clip->name, *name}}});
        if (!show::find_clip(show, *name)) out.push_back(ChooseClip{*name});
      }
    actions({{"clip_place", "Place"}, {"clip_keys", "Edit keys"}, {"clip_mirror", "Mirror"}, {"clip_remove", "Remove"}, {"clip_make", "Make of the chosen keys"}});
  }
};

// Scrolls on its own, with air round it.
template <class Draw>
void inside(const Look& look, const char* name, Draw draw) {
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(12), look.px(8)});
  ImGui::BeginChild(name, {0, 0}, false, ImGuiWindowFlags_AlwaysUseWindowPadding);
  ImGui::PopStyleVar();
  draw();
  ImGui::EndChild();
}

}  // namespace

Commands layer_panel(const Scene& scene, const Studio& studio, ComposeState& state) {
  LayerPanel panel{scene, studio, Fields(scene.look, state)};
  inside(scene.look, "layers inside", [&] {
    panel.list();
    if (const auto layer = chosen_layer(studio)) panel.chosen(*layer);
    else panel.baking();
  });
  return std::move(panel.out);
}

Commands clip_panel(const Scene& scene, const Studio& studio, ComposeState& state) {
  LayerPanel panel{scene, studio, Fields(scene.look, state)};
  inside(scene.look, "clips inside", [&] {
    panel.clips();
    if (has_placement(studio)) panel.placement(*chosen_layer(studio), static_cast<std::size_t>(scene.view.placement));
  });
  return std::move(panel.out);
}

}  // namespace mien::editor
