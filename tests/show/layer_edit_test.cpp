#include "show/layer_edit.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "show/facs.hpp"
#include "show/library.hpp"
#include "show/mirror.hpp"

namespace mien::show {
namespace {

using std::chrono::milliseconds;

ChannelPtr channel(const char* control, std::vector<Keyframe> keys) { return std::make_shared<const Channel>(Channel{control, std::move(keys)}); }

Show small() {
  Show show;
  show.length = std::chrono::seconds(4);
  show.channels = {channel("open", {{milliseconds(500), 0.1}, {milliseconds(700), 0.9}, {milliseconds(2000), 0.3}}), channel("smile", {{milliseconds(600), 0.5}})};
  return show;
}

Rig layer_rig() {
  Rig rig;
  rig.groups = {{"mouth"}, {"eyes"}};
  rig.controls = {{"open", "mouth", "1", 0, 1, 0}, {"smile", "mouth", "1", -1, 1, 0.2}, {"yaw", "eyes", "deg", -30, 30, 0}};
  return rig;
}

TEST(Clips, AreMadeOfASelectionAndShareNothingWithIt) {
  const Show show = small();
  const auto keys = keys_within(show, {milliseconds(500), milliseconds(1000)});
  ASSERT_EQ(keys.size(), 3u);
  const Clip clip = clip_of(show, keys, "chew");
  EXPECT_EQ(clip.length, milliseconds(200));
  ASSERT_EQ(clip.channels.size(), 2u);
  EXPECT_EQ(clip.channels[0]->keys[1].time, milliseconds(200));
  EXPECT_EQ(clip.channels[1]->keys[0].time, milliseconds(100));
  EXPECT_EQ(clip_of(show, {}, "nothing").channels.size(), 0u);
  EXPECT_EQ(keys_within(show, {milliseconds(0), milliseconds(4000)}, std::vector<std::string>{"smile"}).size(), 1u);
}

TEST(Clips, ShowAnEditWhereverTheyArePlaced) {
  Show show = with_clip(small(), clip_of(small(), keys_within(small(), {milliseconds(0), milliseconds(4000)}), "chew"));
  Layer layer;
  layer.name = "chewing";
  show = with_placement(with_placement(with_layer(show, layer), "chewing", {"chew", milliseconds(0)}), "chewing", {"chew", milliseconds(1000)});
  Show opened = opened_clip(show, "chew");
  opened = with_key(opened, "open", {milliseconds(10), 0.7});
  const Show after = with_clip_channels(show, "chew", opened.channels);
  EXPECT_EQ(after.clips.size(), 1u);
  EXPECT_EQ(find_clip(after, "chew")->channels[0]->keys.size(), 4u);
  EXPECT_EQ(after.layers[0], show.layers[0]) << "placements name the clip, so the layer is shared";
  EXPECT_EQ(after.channels[0], show.channels[0]);
  EXPECT_EQ(find_clip(show, "chew")->channels[0]->keys.size(), 3u) << "the old show is as it was: undo";

  const Show renamed = with_clip_renamed(after, "chew", "munch");
  EXPECT_EQ(renamed.layers[0]->placements[1].clip, "munch");
  EXPECT_TRUE(same(with_clip_renamed(after, "chew", "chew"), after));
  EXPECT_TRUE(same(with_clip_renamed(after, "nobody", "munch"), after));
  EXPECT_TRUE(without_clip(renamed, "munch").layers[0]->placements.empty());
}

TEST(Layers, AreAddedMovedMutedWeighedAndDeleted) {
  Show show = small();
  for (const char* name : {"a", "b", "c"}) {
    Layer layer;
    layer.name = name;
    show = with_layer(show, layer);
  }
  const auto names = [](const Show& s) {
    std::string all;
    for (const auto& layer : s.layers) all += layer->name;
    return all;
  };
  EXPECT_EQ(names(with_layer_at(show, "c", 0)), "cab");
  EXPECT_EQ(names(with_layer_at(show, "a", 99)), "bca");
  EXPECT_EQ(names(with_layer_at(show, "nobody", 0)), "abc");
  EXPECT_EQ(names(with_layer_renamed(show, "b", "x")), "axc");
  EXPECT_EQ(names(with_layer_renamed(show, "b", "c")), "abc");
  EXPECT_EQ(names(without_layer(show, "b")), "ac");
  EXPECT_TRUE(with_layer_muted(show, "b", true).layers[1]->muted);
  Show weighed = with_weight_key(with_weight_key(with_weight_key(show, "b", {milliseconds(500), 1}), "b", {milliseconds(100), 0}), "b", {milliseconds(500), 0.5});
  ASSERT_EQ(weighed.layers[1]->weight_curve.size(), 2u);
  EXPECT_EQ(weighed.layers[1]->weight_curve[0].time, milliseconds(100));
  EXPECT_EQ(weighed.layers[1]->weight_curve[1].value, 0.5);
  EXPECT_EQ(without_weight_key(weighed, "b", milliseconds(100)).layers[1]->weight_curve.size(), 1u);
  EXPECT_TRUE(with_layer_weight(weighed, "b", 0.3).layers[1]->weight_curve.empty());
  EXPECT_TRUE(same(with_layer_weight(weighed, "b", std::nan("")), weighed));
  EXPECT_TRUE(same(with_weight_key(show, "b", {milliseconds(1), std::nan("")}), show));
}

TEST(Placements, ThatCantBeAreNotMade) {
  Layer layer;
  layer.name = "a";
  Show show = with_placement(with_layer(small(), layer), "a", {"chew"});
  for (const Placement& p : {Placement{"chew", {}, {}, 0}, Placement{"chew", {}, {}, std::nan("")}, Placement{"chew", {}, {}, 1, std::nan("")}, Placement{"chew", {}, {}, 1, 1, 0}}) {
    EXPECT_TRUE(same(with_placement(show, "a", p), show));
    EXPECT_TRUE(same(with_placement_changed(show, "a", 0, p), show));
  }
  EXPECT_TRUE(same(with_placement_changed(show, "a", 7, {"chew", milliseconds(5)}), show));
  EXPECT_EQ(with_placement_changed(show, "a", 0, {"chew", milliseconds(5)}).layers[0]->placements[0].start, milliseconds(5));
  EXPECT_TRUE(without_placement(show, "a", 0).layers[0]->placements.empty());
}

TEST(Poses, AreCapturedWithoutWhatIsAtRest) {
  const double values[] = {0.4, 0.2, -12};
  const Pose pose = captured(layer_rig(), values, "look");
  ASSERT_EQ(pose.values.size(), 2u);
  EXPECT_EQ(pose.values[0], (Pose::Value{"open", 0.4}));
  EXPECT_EQ(captured(layer_rig(), values, "look", "eyes").values.size(), 1u);
  EXPECT_EQ(captured(layer_rig(), values, "look", "", true).values.size(), 3u);
}

TEST(Poses, AreKeyedFromRestByTheirWeight) {
  const Pose pose{"glad", {12}, "", {{"open", 0.8}, {"smile", 0.8}, {"yaw", 10}, {"unknown", 1}}};
  std::vector<KeyRef> keyed;
  const Show show = with_pose_keyed(small(), layer_rig(), pose, {milliseconds(600), 0.5, "", "", kLinear}, &keyed);
  EXPECT_EQ(keyed.size(), 3u);
  EXPECT_EQ(find_channel(show, "smile")->keys[0].value, 0.2 + 0.5 * (0.8 - 0.2));
  EXPECT_EQ(find_channel(show, "open")->keys[1].value, 0.4);
  EXPECT_EQ(find_channel(show, "yaw")->keys[0].easing, kLinear);
  EXPECT_EQ(find_channel(with_pose_keyed(small(), layer_rig(), pose, {milliseconds(600), 1, "mouth"}), "yaw"), nullptr);
  Layer layer;
  layer.name = "face";
  const Show onto = with_pose_keyed(with_layer(small(), layer), layer_rig(), pose, {milliseconds(600), 1, "", "face"});
  EXPECT_EQ(onto.layers[0]->channels.size(), 3u);
  EXPECT_EQ(find_channel(onto, "yaw"), nullptr);
  EXPECT_TRUE(same(with_pose_keyed(small(), layer_rig(), pose, {milliseconds(600), 1, "", "nobody"}), small()));
}

// A head whose rig says nothing of pairs: two smiles by name, two lids by what they do, eyes and a shifting mouth that turn, a jaw that is its own.
Rig face() {
  Rig rig;
  for (const char* name : {"smile_left", "smile_right", "wink", "blinzeln", "yaw", "shift", "jaw", "gaze"}) rig.controls.push_back({name, "", "1", -1, 1, 0});
  rig.controls[4].rest = 0.1;
  const auto axis = [](const char* role, std::vector<Term> terms) { return Mapping{{{role, 0, std::move(terms)}}, Straight{}, {"servo"}}; };
  rig.mappings = {axis("lip_corner_up_left", {{"smile_left", 10}, {"shift", 2}}), axis("lip_corner_up_right", {{"smile_right", 10}, {"shift", -2}}),
                  axis("eye_yaw_left", {{"eye_l", 1}}), axis("eye_yaw_right", {{"eye_r", 1}}), axis("neck_yaw", {{"yaw", 1}}), axis("jaw_open", {{"jaw", 8}}),
                  axis("lid_upper_left", {}), axis("lid_upper_right", {})};
  rig.mappings[6].axes[0].closing = Closing{"wink", -28}, rig.mappings[7].axes[0].closing = Closing{"blinzeln", -29};
  rig.gaze = Gaze{"gaze", "gaze_pitch", "gaze_distance", 63, "eye_l", "eye_r"};
  return rig;
}

TEST(Mirror, FindsPairsByNameAndByRole) {
  const auto mirrors = mirrors_of(face());
  const std::pair<int, bool> expected[] = {{1, false}, {0, false}, {3, false}, {2, false}, {4, true}, {5, true}, {6, false}, {7, true}};
  for (std::size_t c = 0; c < 8; ++c) {
    EXPECT_EQ(mirrors[c].other, expected[c].first) << face().controls[c].name;
    EXPECT_EQ(mirrors[c].turned, expected[c].second) << face().controls[c].name;
  }
}

TEST(Mirror, ChangesPosesClipsAndKeysOverAndBack) {
  const Rig rig = face();
  const Pose pose{"p", {}, "", {{"smile_left", 0.7}, {"wink", 1}, {"yaw", 0.4}, {"jaw", 0.5}}};
  const Pose seen = mirrored(pose, rig);
  EXPECT_EQ(seen.values[0], (Pose::Value{"smile_right", 0.7}));
  EXPECT_EQ(seen.values[1].control, "blinzeln");
  EXPECT_NEAR(seen.values[2].value, -0.2, 1e-12);  // 0.3 to the other side of rest
  EXPECT_EQ(seen.values[3], pose.values[3]);
  EXPECT_EQ(mirrored(seen, rig).values[0], pose.values[0]);
  const Clip clip{"c", milliseconds(100), {channel("wink", {{milliseconds(0), 0.5}})}};
  EXPECT_EQ(mirrored(clip, rig).channels[0]->control, "blinzeln");
  Show show;
  show.length = milliseconds(1000);
  show.channels = {channel("smile_left", {{milliseconds(5), 0.25}}), channel("smile_right", {{milliseconds(5), 0.75}})};
  std::vector<KeyRef> now;
  const Show over = with_keys_mirrored(show, rig, std::vector<KeyRef>{{"smile_left", milliseconds(5)}, {"smile_right", milliseconds(5)}}, &now);
  EXPECT_EQ(find_channel(over, "smile_left")->keys[0].value, 0.75);
  EXPECT_EQ(find_channel(over, "smile_right")->keys[0].value, 0.25);
  EXPECT_EQ(now.size(), 2u);
}

TEST(Libraries, TakeAndGiveWhatTheRigCanDo) {
  Show show = with_pose(small(), {"glad", {12}, "", {{"smile", 0.8}}});
  show = with_clip(show, {"chew", milliseconds(100), {channel("open", {{milliseconds(0), 0.5}})}});
  EXPECT_EQ(library_of(show, "all").clips.size(), 1u);
  EXPECT_EQ(library_of(show, "some", std::vector<std::string>{"glad"}).clips.size(), 0u);
  Library library = library_of(show, "all");
  library.poses.push_back(std::make_shared<const Pose>(Pose{"odd", {}, "", {{"ears", 1}}}));
  const auto first = with_library(small(), layer_rig(), library);
  EXPECT_EQ(first.poses, 1);
  EXPECT_EQ(first.clips, 1);
  ASSERT_EQ(first.findings.size(), 1u);
  EXPECT_NE(to_text(first.findings[0]).find("'ears'"), std::string::npos);
  const auto again = with_library(first.show, layer_rig(), library);
  EXPECT_EQ(again.poses + again.clips, 0) << "the same again is no matter";
  EXPECT_EQ(again.findings.size(), 1u);
  const Show other = with_pose(first.show, {"glad", {}, "", {{"smile", 0.1}}});
  EXPECT_EQ(with_library(other, layer_rig(), library).findings.size(), 2u);
  EXPECT_EQ(find_pose(with_library(other, layer_rig(), library, true).show, "glad")->values[0].value, 0.8);
}

// Numbers and names of PMC7264164, table 1, and the FACS manual (2002).
TEST(Facs, KnowsThePublishedUnits) {
  EXPECT_EQ(action_unit_name(1), "inner brow raiser");
  EXPECT_EQ(action_unit_name(12), "lip corner puller");
  EXPECT_EQ(action_unit_name(26), "jaw drop");
  EXPECT_EQ(action_unit_name(45), "blink");
  EXPECT_EQ(action_unit_name(3), "");
  EXPECT_EQ(action_units_text({6, 12}), "6 cheek raiser, 12 lip corner puller");
}

}  // namespace
}  // namespace mien::show
