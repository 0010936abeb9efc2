// The cue list beside the lanes: what there is, and what is set of the chosen one.
#include <imgui.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "editor/cue_actions.hpp"
#include "editor/draw.hpp"
#include "editor/fields.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"
#include "show/cue_edit.hpp"
#include "show/text.hpp"

namespace mien::editor {
namespace {

constexpr float kCueRow = 32;

struct CuePanel {
  const Scene& scene;
  const Studio& studio;
  Fields fields;
  Commands out{};
  const Look& look = scene.look;
  const show::Show& show = scene.document.whole();

  void put(const std::string& doing, show::Cue cue) {
    out.push_back(Change{Composition{PutShow{doing + " " + cue.name, std::make_shared<const show::Show>(show::with_cue(show, std::move(cue)))}}});
  }

  void row(const show::Cue& cue) {
    const ImVec2 p = ImGui::GetCursorScreenPos();
    const float width = ImGui::GetContentRegionAvail().x, height = look.px(kCueRow), middle = p.y + height * 0.5f;
    const bool chosen = scene.view.cue == cue.name;
    ImGui::PushID(cue.name.c_str());
    if (ImGui::InvisibleButton("row", {width, height})) out.push_back(ChooseCue{cue.name});
    ImGui::PopID();
    mark(("row/cue/" + cue.name).c_str());
    const bool over = ImGui::IsItemHovered();
    ImDrawList& list = *ImGui::GetWindowDrawList();
    if (chosen || over) fill(list, p.x, p.y, p.x + width, p.y + height, chosen ? look.theme.raised : look.theme.lane);
    if (chosen) fill(list, p.x, p.y, p.x + look.px(4), p.y + height, look.theme.accent);
    const float half = std::round(width * 0.4f);
    words(list, chosen ? look.fonts.strong : look.fonts.body, p.x + look.px(12), middle, look.theme.text, cue.name, half - look.px(20));
    words(list, look.fonts.body, p.x + half, middle, look.theme.quiet, show::to_text(cue.deed), width - half - look.px(8));
  }

  void actions(std::initializer_list<std::pair<const char*, const char*>> all) { action_row(look, studio, all, out); }

  // Chips from one to the next line, as many as there is room for.
  template <class Names>
  std::optional<std::string> choice(const char* label, const char* id, const Names& names, const std::string& chosen) {
    fields.label(label);
    const float left = ImGui::GetCursorPosX(), right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
    std::optional<std::string> pressed;
    bool first = true;
    for (const std::string& name : names) {
      const std::string shown = name.empty() ? "none" : name;
      if (!first) {
        if (ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, shown) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
        else ImGui::SetCursorPosX(left);
      }
      first = false;
      if (fields.chip((shown + "##" + id).c_str(), name == chosen)) pressed = name;
    }
    if (first) line(look.fonts.body, look.theme.quiet, "the show has none yet");
    return pressed;
  }

  template <class Parts>
  static std::vector<std::string> names_of(const Parts& parts) {
    std::vector<std::string> names;
    for (const auto& part : parts) names.push_back(part->name);
    return names;
  }

  void deed(const show::Cue& cue, show::CueClip d) {
    if (const auto name = choice("Clip", "cue_clip", names_of(show.clips), d.clip)) d.clip = *name, with(cue, "Set clip of cue", d);
    fields.label("Goes");
    if (fields.chip("Once", !d.loops)) d.loops = false, with(cue, "Let clip go once in cue", d);
    ImGui::SameLine(0, look.px(4));
    if (fields.chip("Round and round", d.loops)) d.loops = true, with(cue, "Let clip go round in cue", d);
  }
  void deed(const show::Cue& cue, show::CuePose d) {
    if (const auto name = choice("Pose", "cue_pose", names_of(show.poses), d.pose)) d.pose = *name, with(cue, "Set pose of cue", d);
    if (const auto v = fields.number("Weight, %", "cue_weight", d.weight * 100, "%.0f")) d.weight = std::clamp(*v / 100, 0.0, show::kMostWeight), with(cue, "Set weight of cue", d);
  }
  void deed(const show::Cue& cue, const show::CueStretch& d) {
    std::vector<std::string> from{""};
    for (const auto& marker : show.markers) from.push_back(marker.name);
    ends(cue, d, from, "From", "cue_from", &show::CueStretch::from), ends(cue, d, from, "Until", "cue_until", &show::CueStretch::until);
  }
  void ends(const show::Cue& cue, const show::CueStretch& d, const std::vector<std::string>& names, const char* label, const char* id, std::string show::CueStretch::*end) {
    fields.label(label);
    const float left = ImGui::GetCursorPosX(), right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
    for (std::size_t n = 0; n < names.size(); ++n) {
      const std::string shown = names[n].empty() ? (end == &show::CueStretch::from ? "the beginning" : "the end") : names[n];
      if (n && ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, shown) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
      else if (n) ImGui::SetCursorPosX(left);
      if (!fields.chip((shown + "##" + id).c_str(), d.*end == names[n])) continue;
      show::CueStretch other = d;
      other.*end = names[n];
      with(cue, "Set stretch of cue", std::move(other));
    }
  }
  void deed(const show::Cue& cue, show::CueState d) {
    std::vector<std::string> names;
    for (const auto& auxiliary : scene.document.rig().auxiliaries) names.push_back(auxiliary.name);
    if (const auto name = choice("Part", "cue_auxiliary", names, d.auxiliary)) d.auxiliary = *name, with(cue, "Set part of cue", d);
    if (const auto text = fields.name("State", "cue_state", d.state)) d.state = *text, with(cue, "Set state of cue", d);
  }
  void deed(const show::Cue& cue, show::CueChoice d) {
    fields.label("One of");
    const float left = ImGui::GetCursorPosX(), right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
    bool first = true;
    for (const auto& other : show.cues) {
      if (other.name == cue.name || std::holds_alternative<show::CueChoice>(other.deed)) continue;
      if (!first) {
        if (ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, other.name) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
        else ImGui::SetCursorPosX(left);
      }
      first = false;
      const auto at = std::find(d.cues.begin(), d.cues.end(), other.name);
      if (!fields.chip((other.name + "##cue_choice").c_str(), at != d.cues.end())) continue;
      if (at == d.cues.end()) d.cues.push_back(other.name);
      else d.cues.erase(at);
      with(cue, "Set choice of cue", d);
    }
    if (first) line(look.fonts.body, look.theme.quiet, "there is no other cue yet");
    if (const auto v = fields.number("Seed", "cue_seed", d.seed, "%.0f")) d.seed = static_cast<std::uint32_t>(std::clamp(*v, 0.0, 4294967295.0)), with(cue, "Set seed of cue", d);
  }
  void deed(const show::Cue&, show::CueStop) { paragraph(look.fonts.body, look.theme.quiet, "Ends all cues that run and have no higher priority."); }

  template <class Deed>
  void with(const show::Cue& cue, const char* doing, Deed d) {
    show::Cue to = cue;
    to.deed = std::move(d);
    put(doing, std::move(to));
  }

  void kinds(const show::Cue& cue) {
    fields.label("Does");
    static const std::vector<std::pair<const char*, show::CueDeed>> kKinds{{"Clip", show::CueClip{}}, {"Pose", show::CuePose{}}, {"Stretch", show::CueStretch{}}, {"State", show::CueState{}}, {"Choice", show::CueChoice{}}, {"Stop", show::CueStop{}}};
    const float left = ImGui::GetCursorPosX(), right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
    for (std::size_t n = 0; n < kKinds.size(); ++n) {
      if (n && ImGui::GetItemRectMax().x + look.px(4) + width_of(look.fonts.strong, kKinds[n].first) + look.px(24) <= right) ImGui::SameLine(0, look.px(4));
      else if (n) ImGui::SetCursorPosX(left);
      if (!fields.chip((std::string(kKinds[n].first) + "##cue_kind").c_str(), cue.deed.index() == n) || cue.deed.index() == n) continue;
      show::CueDeed fresh = kKinds[n].second;
      if (auto* clip = std::get_if<show::CueClip>(&fresh)) clip->clip = show.clips.empty() ? "" : show.clips.front()->name;
      if (auto* pose = std::get_if<show::CuePose>(&fresh)) pose->pose = show.poses.empty() ? "" : show.poses.front()->name;
      if (auto* choice = std::get_if<show::CueChoice>(&fresh))
        for (const auto& other : show.cues)
          if (other.name != cue.name && !std::holds_alternative<show::CueChoice>(other.deed) && choice->cues.size() < show::kMostChoices) choice->cues.push_back(other.name);
      show::Cue to = cue;
      to.deed = std::move(fresh);
      put("Set what cue does:", std::move(to));
    }
  }

  void seconds(const show::Cue& cue, const char* label, const char* id, show::Time show::Cue::*field, show::Time most, bool second) {
    const auto v = fields.number(label, id, show::to_seconds(cue.*field), "%.2f", second);
    if (!v) return;
    show::Cue to = cue;
    to.*field = std::clamp(show::from_seconds(*v), show::Time{0}, most);
    put(std::string("Set ") + id + " of cue", std::move(to));
  }

  void starts(const show::Cue& cue) {
    show::Cue to = cue;
    if (const auto text = fields.name("Key", "cue_key", cue.key)) {
      to.key = text->empty() || *text == "-" ? "" : text->substr(0, 1);
      for (char& c : to.key) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
      put("Set key of cue", to);
    }
    if (const auto text = fields.name("At time, s", "cue_at_time", cue.at_time ? seconds_text(*cue.at_time) : "-")) {
      to = cue, to.at_time = show::parse_seconds(*text);
      put("Set time of cue", to);
    }
    if (const auto text = fields.name("Each day at", "cue_at_clock", cue.at_clock ? show::clock_text(*cue.at_clock) : "-")) {
      to = cue, to.at_clock = show::parse_clock(*text);
      put("Set time of day of cue", to);
    }
  }

  void chosen(const show::Cue& cue) {
    fields.heading(("Cue " + cue.name).c_str());
    if (const auto name = fields.name("Name", "cue_name", cue.name); name && !name->empty() && show::cue_index(show.cues, *name) < 0) {
      out.push_back(Change{Composition{PutShow{"Rename cue " + cue.name, std::make_shared<const show::Show>(show::with_cue_renamed(show, cue.name, *name))}}});
      out.push_back(ChooseCue{*name});
    }
    kinds(cue);
    std::visit([&](const auto& d) { deed(cue, d); }, cue.deed);
    if (!std::holds_alternative<show::CueStop>(cue.deed) && !std::holds_alternative<show::CueChoice>(cue.deed)) {
      seconds(cue, "Fade in, s", "fade in", &show::Cue::fade_in, show::kLongestFade, false), seconds(cue, "out, s", "fade out", &show::Cue::fade_out, show::kLongestFade, true);
      seconds(cue, "Hold, s", "hold", &show::Cue::hold, show::kLongestWait, false);
    }
    seconds(cue, "Pause, s", "pause", &show::Cue::pause, show::kLongestWait, false);
    if (const auto v = fields.number("Priority", "cue_priority", cue.priority, "%.0f", true)) {
      show::Cue to = cue;
      to.priority = static_cast<int>(std::clamp(*v, 0.0, double(show::kMostPriority)));
      put("Set priority of cue", std::move(to));
    }
    std::vector<std::string> follow{""};
    for (const auto& other : show.cues) follow.push_back(other.name);
    if (const auto name = choice("Then", "cue_follow", follow, cue.follow)) {
      show::Cue to = cue;
      to.follow = *name;
      put("Set what follows cue", std::move(to));
    }
    starts(cue);
    ImGui::Dummy({0, look.px(4)});
    actions({{"cue_up", "Up"}, {"cue_down", "Down"}, {"hands_trigger", studio.hands().learning_trigger ? "Press a key" : "Learn a key"}, {"cue_remove", "Remove"}});
  }
};

}  // namespace

Commands cue_panel(const Scene& scene, const Studio& studio, ComposeState& state) {
  const Look& look = scene.look;
  CuePanel panel{scene, studio, Fields(look, state)};
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(12), look.px(8)});
  ImGui::BeginChild("cues inside", {0, 0}, false, ImGuiWindowFlags_AlwaysUseWindowPadding);
  ImGui::PopStyleVar();
  if (panel.show.cues.empty()) paragraph(look.fonts.body, look.theme.quiet, "A cue is something that the head can be asked for at any moment, by a key, an input, the clock or another machine. Add one to begin.");
  // With one chosen the list leaves room for what is set of it.
  const float whole = look.px(kCueRow) * static_cast<float>(panel.show.cues.size()), most = std::max(look.px(3 * kCueRow), std::floor(ImGui::GetContentRegionAvail().y * 0.4f));
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
  if (whole > 0) {
    ImGui::BeginChild("cue rows", {0, chosen_cue(studio) ? std::min(whole, most) : whole}, false);
    for (const auto& cue : panel.show.cues) panel.row(cue);
    ImGui::EndChild();
  }
  ImGui::PopStyleVar();
  ImGui::Dummy({0, look.px(4)});
  panel.actions({{"cue_add", "Add cue"}, {"cue_board", "Board"}});
  if (const auto* cue = chosen_cue(studio)) panel.chosen(*cue);
  ImGui::EndChild();
  return std::move(panel.out);
}

}  // namespace mien::editor
