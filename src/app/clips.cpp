// mien clip: keys under a name, and libraries of them.
#include <cstdio>
#include <filesystem>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "show/library.hpp"
#include "show/mirror.hpp"
#include "show/text.hpp"

namespace mien::app {
namespace {

show::Finding no_clip(const show::Show& show, const std::string& file, const std::string& name) {
  std::vector<std::string> known;
  for (const auto& clip : show.clips) known.push_back(clip->name);
  const std::string hint = show::suggestion(name, known);
  return refused(file, "", "the show has no clip '" + name + "'", hint.empty() ? "Import a library, or make one with 'mien clip make'." : hint);
}

void print_clips(const std::vector<show::ClipPtr>& clips, bool as_json) {
  Json json;
  json.open_array();
  Table table{{"clip", "length_s", "channels", "keys"}};
  for (const auto& clip : clips) {
    std::size_t keys = 0;
    for (const auto& channel : clip->channels) keys += channel->keys.size();
    table.push_back({clip->name, show::seconds_text(clip->length), std::to_string(clip->channels.size()), std::to_string(keys)});
    json.open_object().member("clip", clip->name).member("length_s", show::to_seconds(clip->length)).member("keys", double(keys)).open_array("channels");
    for (const auto& channel : clip->channels) json.member("", channel->control);
    json.close().close();
  }
  if (as_json) std::printf("%s\n", json.close().text().c_str());
  else std::printf("%s", aligned(table).c_str());
}

show::Result<show::Placement> placement_of(const ClipWords& words) {
  show::Placement p;
  p.clip = words.name, p.rate = words.rate, p.weight = words.weight, p.repeats = words.repeats;
  for (const auto& [text, option, time] : {std::tuple{&words.at, "--at", &p.start}, {&words.offset, "--offset", &p.offset}, {&words.fade_in, "--fade-in", &p.fade_in}, {&words.fade_out, "--fade-out", &p.fade_out}}) {
    const auto parsed = time_of(*text, option);
    if (!parsed) return parsed.problem();
    *time = *parsed;
  }
  return p;
}

}  // namespace

int run_clip_list(const ClipWords& words) {
  const auto library = library_in(words.show);
  if (!library) return tell(library.problem());
  const int code = tell(library->notes);
  print_clips(library->library.clips, words.json);
  return code;
}

int run_clip_make(const ClipWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto from = time_of(words.from, "--from"), until = time_of(words.until, "--until");
    if (!from || !until) return (from ? until : from).problem();
    const auto keys = show::keys_within(e.show, {*from, *until}, words.controls);
    if (keys.empty()) return refused(words.show, "", "there is no key from " + words.from + " to " + words.until + " s", "Name a stretch and channels that have keys.");
    auto clip = show::clip_of(e.show, keys, words.name);
    const std::string told = "clip '" + words.name + "' of " + std::to_string(keys.size()) + " keys, " + show::seconds_text(clip.length) + " s";
    e.show = show::with_clip(e.show, std::move(clip));
    return told;
  });
}

int run_clip_place(const ClipWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto placement = placement_of(words);
    if (!placement) return placement.problem();
    if (!show::find_clip(e.show, words.name)) return no_clip(e.show, words.show, words.name);
    show::Layer layer;
    if (const auto known = show::find_layer(e.show, words.layer)) layer = *known;
    layer.name = words.layer;
    layer.placements.push_back(*placement);
    e.show = show::with_layer(e.show, std::move(layer));
    return "clip '" + words.name + "' on layer '" + words.layer + "' at " + show::seconds_text(placement->start) + " s";
  });
}

int run_clip_mirror(const ClipWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto clip = show::find_clip(e.show, words.name);
    if (!clip) return no_clip(e.show, words.show, words.name);
    show::Clip seen = show::mirrored(*clip, *e.rig);
    seen.name = words.to;
    e.show = show::with_clip(e.show, std::move(seen));
    return "clip '" + words.to + "'";
  });
}

int run_clip_import(const ClipWords& words) {
  int left_out = kFine;
  const int code = edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto library = store::load_library(words.taken_from);
    if (!library) return library.problem();
    auto imported = show::with_library(e.show, *e.rig, library->library, words.replace, words.taken_from);
    left_out = std::max(tell(library->notes), tell(imported.findings));
    e.show = std::move(imported.show);
    return std::to_string(imported.poses) + " poses and " + std::to_string(imported.clips) + " clips taken in";
  });
  return std::max(code, left_out);
}

int run_clip_export(const ClipWords& words) {
  const auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  for (const auto& name : words.clips)
    if (!show::find_clip(*loaded->show, name)) return tell(no_clip(*loaded->show, words.show, name));
  for (const auto& name : words.poses)
    if (!show::find_pose(*loaded->show, name)) return tell(refused(words.show, "", "the show has no pose '" + name + "'", "'mien pose list' tells those that it has."));
  const auto library = show::library_of(*loaded->show, std::filesystem::path(words.out).stem().stem().string(), words.poses, words.clips);
  if (library.poses.empty() && library.clips.empty()) return tell(refused(words.show, "", "the show has no poses and no clips", "Make one with 'mien pose capture' or 'mien clip make'."));
  if (const auto problem = store::save_library(words.out, library)) return tell(*problem);
  std::printf("%s: %zu poses and %zu clips\n", words.out.c_str(), library.poses.size(), library.clips.size());
  return code;
}

}  // namespace mien::app
