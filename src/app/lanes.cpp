// mien lane: the order in which the channels of a show stand.
#include <cstdio>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "show/lane_order.hpp"
#include "show/text.hpp"

namespace mien::app {
namespace {

// Of the group, and the place in it; count 0 where the rig has no such control.
struct LanePlace { std::string group; std::size_t at = 0, count = 0; };

LanePlace place_of(const show::Rig& rig, const show::Show& show, const std::string& control) {
  const auto order = show::lane_order(rig, show.channels);
  for (std::size_t g = 0; g < order.size(); ++g)
    for (std::size_t i = 0; i < order[g].size(); ++i)
      if (rig.controls[order[g][i]].name == control) return {g < rig.groups.size() ? rig.groups[g].name : "Other", i, order[g].size()};
  return {};
}

}  // namespace

int run_lane_list(const LaneWords& words) {
  const auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  Json json;
  json.open_array();
  Table table{{"group", "place", "control", "keys"}};
  const auto order = show::lane_order(*loaded->rig, loaded->show->channels);
  for (std::size_t g = 0; g < order.size(); ++g)
    for (std::size_t i = 0; i < order[g].size(); ++i) {
      const std::string &control = loaded->rig->controls[order[g][i]].name, group = g < loaded->rig->groups.size() ? loaded->rig->groups[g].name : "Other";
      const show::Channel* channel = show::find_channel(*loaded->show, control);
      const std::size_t keys = channel ? channel->keys.size() : 0;
      table.push_back({group, std::to_string(i + 1), control, std::to_string(keys)});
      json.open_object().member("group", group).member("place", double(i + 1)).member("control", control).member("keys", double(keys)).close();
    }
  if (words.json) std::printf("%s\n", json.close().text().c_str());
  else std::printf("%s", aligned(table).c_str());
  return code;
}

int run_lane_move(const LaneWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const LanePlace was = place_of(*e.rig, e.show, words.name);
    if (was.count == 0) {
      std::vector<std::string> known;
      for (const auto& control : e.rig->controls) known.push_back(control.name);
      const std::string hint = show::suggestion(words.name, known);
      return refused(words.show, "", "the rig has no control '" + words.name + "'", hint.empty() ? "'mien lane list' prints them all." : hint);
    }
    if (words.to < 1 || static_cast<std::size_t>(words.to) > was.count)
      return refused(words.show, "--to", "is " + std::to_string(words.to) + ", and group '" + was.group + "' has " + std::to_string(was.count) + " lanes", "Give a place from 1 to " + std::to_string(was.count) + ".");
    e.show = show::with_lane_at(e.show, *e.rig, words.name, static_cast<std::size_t>(words.to - 1));
    return "'" + words.name + "' is lane " + std::to_string(words.to) + " of " + std::to_string(was.count) + " in group '" + was.group + "'";
  });
}

}  // namespace mien::app
