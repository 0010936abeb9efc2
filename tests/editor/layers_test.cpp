// Layers and clips, by hand.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include "editor/hands.hpp"
#include "editor/layer_lane.hpp"
#include "perform/render.hpp"

namespace mien::tests {
namespace {
using editor::Drag;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using editor::KeysOf;
using show::from_seconds;
using Manner = show::IdleLife::Manner;

/// As small_show(), with a clip "nod" of 1 s (yaw 0, 20, 0) placed at 1 s on the layer "Moves", and an empty layer "Top" above it.
show::Show layered_show() {
  show::Show show = small_show();
  show::Clip nod{"nod", from_seconds(1), {std::make_shared<const show::Channel>(show::Channel{"yaw", {{from_seconds(0), 0}, {from_seconds(0.5), 20}, {from_seconds(1), 0}}})}};
  show::Layer moves, top;
  moves.name = "Moves", top.name = "Top";
  moves.placements.push_back({"nod", from_seconds(1)});
  return show::with_layer(show::with_layer(show::with_clip(show, nod), moves), top);
}

const show::Layer& layer(const Hands& hands, const std::string& name) {
  const auto found = show::find_layer(hands.document().whole(), name);
  if (!found) throw std::runtime_error("the show has no layer " + name);
  return *found;
}

ImVec2 on_layer(Hands& hands, const std::string& name, double seconds, float down = 0) {
  ImVec2 at = hands.at("blink", seconds);
  at.y = hands.middle("layer/" + name).y + down;
  return at;
}

TEST(Layers, AreAddedMovedMutedAndRemovedByTheirActions) {
  Hands hands;
  hands.choose("Add a layer");
  hands.choose("Add a layer");
  ASSERT_EQ(hands.show().layers.size(), 2u);
  EXPECT_EQ(hands.show().layers[1]->name, "Layer 2");
  EXPECT_EQ(hands.studio->view().layer, "Layer 2");
  EXPECT_TRUE(hands.sees("layer/Layer 2"));
  EXPECT_LT(hands.middle("layer/Layer 2").y, hands.middle("layer/Layer").y) << "the topmost stands at the top";
  EXPECT_FALSE(hands.studio->act("layer_up"));
  hands.choose("Layer down");
  EXPECT_EQ(hands.show().layers[0]->name, "Layer 2");
  hands.choose("Layer up");
  EXPECT_EQ(hands.show().layers[1]->name, "Layer 2");
  hands.choose("Mute the layer, or not");
  EXPECT_TRUE(layer(hands, "Layer 2").muted);
  hands.choose("Remove the layer");
  ASSERT_EQ(hands.show().layers.size(), 1u);
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(hands.show().layers.size(), 2u);
  EXPECT_EQ(hands.stage.published, hands.document().shared_whole());
}

TEST(Layers, TheirSettingsAreChangedInTheListBesideTheLanes) {
  Hands hands(small_rig(), layered_show(), {1366, 1400});
  hands.click("layer/Moves/name");
  ASSERT_TRUE(hands.sees("field/layer_weight"));
  hands.click("field/layer_weight");
  hands.type("40");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_DOUBLE_EQ(layer(hands, "Moves").weight, 0.4);
  hands.click("button/Adds");
  EXPECT_EQ(layer(hands, "Moves").blend, show::Layer::Blend::add);
  hands.click("button/Muted");
  EXPECT_TRUE(layer(hands, "Moves").muted);
  hands.click("button/eyes##mask");
  EXPECT_EQ(layer(hands, "Moves").mask, std::vector<std::string>{"eyes"});
  hands.click("button/Everything");
  EXPECT_TRUE(layer(hands, "Moves").mask.empty());
  hands.click("field/layer_name");
  hands.type("Neck");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(layer(hands, "Neck").placements.size(), 1u);
  EXPECT_EQ(hands.studio->view().layer, "Neck");
  hands.stage.now.time = from_seconds(2);
  hands.click("button/Key the weight");
  ASSERT_EQ(layer(hands, "Neck").weight_curve.size(), 1u);
  EXPECT_EQ(layer(hands, "Neck").weight_curve[0], (show::Keyframe{from_seconds(2), 0.4}));
}

TEST(Layers, IdleLifeHasItsSeedAndAmounts) {
  Hands hands(small_rig(), small_show(), {1366, 1400});
  hands.choose("Add idle life");
  ASSERT_TRUE(layer(hands, "Idle life").idle);
  hands.click("button/speaking");
  hands.click("field/idle_seed");
  hands.type("7");
  hands.press(GLFW_KEY_ENTER);
  hands.click("field/idle_gaze");
  hands.type("50");
  hands.press(GLFW_KEY_ENTER);
  const auto life = *layer(hands, "Idle life").idle;
  EXPECT_EQ(life.manner, Manner::speaking);
  EXPECT_EQ(life.seed, 7u);
  EXPECT_EQ(life.gaze, 0.5);
  EXPECT_EQ(life.blinks, 1);
}

TEST(Layers, AClipIsPlacedMovedAndTakenOff) {
  Hands hands(small_rig(), layered_show());
  hands.click("layer/Top/name");
  hands.click("tab/Clips");
  hands.click("row/clip/nod");
  hands.stage.now.time = from_seconds(2.5);
  hands.choose("Place the clip at the playhead");
  ASSERT_EQ(layer(hands, "Top").placements.size(), 1u);
  EXPECT_EQ(layer(hands, "Top").placements[0].start, from_seconds(2.5));
  EXPECT_TRUE(hands.sees("block/Top/0"));

  hands.stage.now.time = show::Time{0};
  hands.drag(on_layer(hands, "Moves", 1.5), on_layer(hands, "Moves", 1.72));
  EXPECT_EQ(hands.studio->view().placement, 0);
  EXPECT_NEAR(show::to_seconds(layer(hands, "Moves").placements[0].start), 1.22, 0.011);
  EXPECT_EQ(hands.document().undo_name(), "Move clip");
  hands.drag(on_layer(hands, "Moves", 1.72), on_layer(hands, "Moves", 2.9), kAlt);
  ASSERT_EQ(layer(hands, "Moves").placements.size(), 2u);
  EXPECT_NEAR(show::to_seconds(layer(hands, "Moves").placements[0].start), 1.22, 0.011);
  EXPECT_NEAR(show::to_seconds(layer(hands, "Moves").placements[1].start), 2.4, 0.03);
  hands.click(on_layer(hands, "Moves", 1.72));
  hands.choose("Delete");
  EXPECT_EQ(layer(hands, "Moves").placements.size(), 1u);
}

TEST(Layers, TheEndsOfABlockTrimStretchRepeatAndFadeIt) {
  Hands hands(small_rig(), layered_show());
  const auto placed = [&] { return layer(hands, "Moves").placements[0]; };
  const float low = 6, high = -6;
  hands.drag(on_layer(hands, "Moves", 1.01, low), on_layer(hands, "Moves", 1.31, low));
  EXPECT_NEAR(show::to_seconds(placed().start), 1.3, 0.011);
  EXPECT_NEAR(show::to_seconds(placed().offset), 0.3, 0.011);
  hands.press(GLFW_KEY_Z, kCtrl);
  hands.drag(on_layer(hands, "Moves", 1.99, low), on_layer(hands, "Moves", 2.99, low));
  EXPECT_NEAR(placed().rate, 0.5, 0.01);
  EXPECT_EQ(placed().repeats, 1);
  hands.press(GLFW_KEY_Z, kCtrl);
  hands.drag(on_layer(hands, "Moves", 1.99, low), on_layer(hands, "Moves", 2.99, low), kShift);
  EXPECT_EQ(placed().repeats, 2);
  EXPECT_EQ(placed().rate, 1);
  hands.press(GLFW_KEY_Z, kCtrl);
  hands.drag(on_layer(hands, "Moves", 1.01, high), on_layer(hands, "Moves", 1.21, high));
  EXPECT_NEAR(show::to_seconds(placed().fade_in), 0.2, 0.011);
  hands.drag(on_layer(hands, "Moves", 1.99, high), on_layer(hands, "Moves", 1.69, high));
  EXPECT_NEAR(show::to_seconds(placed().fade_out), 0.3, 0.011);
  EXPECT_EQ(placed().start, from_seconds(1));
}

TEST(Layers, EscapeTakesADragOfABlockBack) {
  Hands hands(small_rig(), layered_show());
  hands.drag(on_layer(hands, "Moves", 1.5), on_layer(hands, "Moves", 2.5), 0, false);
  EXPECT_GT(layer(hands, "Moves").placements[0].start, from_seconds(1.5));
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(layer(hands, "Moves").placements[0].start, from_seconds(1));
  EXPECT_FALSE(hands.document().can_undo());
}

TEST(Layers, ATrimBeginsNoEarlierThanTheClipHasAnything) {
  const show::Placement was{"nod", from_seconds(2), from_seconds(0.4), 2.0};
  const auto early = editor::pulled(was, from_seconds(1), Drag::Kind::block_begin, from_seconds(0), false).placement;
  EXPECT_EQ(early.start, from_seconds(1.8));  // 0.4 s of the clip at twice its rate
  EXPECT_EQ(early.offset, show::Time{0});
  const auto late = editor::pulled(was, from_seconds(1), Drag::Kind::block_begin, from_seconds(9), false).placement;
  EXPECT_LT(late.start, from_seconds(2.3)) << "a moment of it is left";
  EXPECT_GT(show::duration(late, from_seconds(1)), show::Time{0});
}

TEST(Clips, AreMadeOfTheChosenKeys) {
  Hands hands;
  hands.click("menu/Keys");
  hands.click("item/select_all");
  hands.choose("Make a clip of the chosen keys");
  const auto clip = show::find_clip(hands.document().whole(), "Clip");
  ASSERT_TRUE(clip);
  EXPECT_EQ(clip->length, from_seconds(1.5));
  EXPECT_EQ(clip->channels.size(), 2u);
  EXPECT_EQ(hands.studio->view().clip, "Clip");
  EXPECT_EQ(hands.keys("blink").size(), 3u) << "the keys stay";
}

TEST(Clips, AreEditedInTheSameLanesAndTheEditShowsWhereverTheyArePlaced) {
  Hands hands(small_rig(), layered_show());
  hands.stage.now.time = from_seconds(3);
  hands.click("layer/Moves/name");
  hands.click("tab/Clips");
  hands.click("row/clip/nod");
  hands.choose("Edit the clip\u2019s keys");
  ASSERT_EQ(hands.document().keys_of(), (KeysOf{KeysOf::Kind::clip, "nod"}));
  EXPECT_EQ(hands.show().length, from_seconds(1));
  EXPECT_EQ(hands.studio->view().control, "yaw");
  EXPECT_EQ(hands.keys("yaw").size(), 3u);
  EXPECT_TRUE(hands.keys("blink").empty());
  EXPECT_EQ(hands.stage.now.time, show::Time{0});
  EXPECT_TRUE(hands.stage.published->layers.empty()) << "the clip is performed alone";
  hands.click(hands.at("yaw", 0.5));
  hands.click("field/value");
  hands.type("-25");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(show::find_clip(hands.document().whole(), "nod")->channels[0]->keys[1].value, -25);
  hands.choose("Back to the show\u2019s keys");
  EXPECT_EQ(hands.document().keys_of(), KeysOf{});
  EXPECT_EQ(hands.keys("blink").size(), 3u);
  EXPECT_EQ(hands.show().length, from_seconds(4));
  EXPECT_EQ(hands.stage.now.time, from_seconds(3));
  double lowest = 0;
  const auto plan = perform::compile(hands.document().shared_rig(), hands.stage.published);
  perform::render(*plan, [&](const perform::Tick& t) { return lowest = std::min(lowest, t.control[1]), true; });
  EXPECT_NEAR(lowest, -25, 0.01) << "where the clip is placed";

  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(hands.document().keys_of(), (KeysOf{KeysOf::Kind::clip, "nod"})) << "undo goes to where it was";
  EXPECT_EQ(hands.keys("yaw")[1].value, 20);
}

TEST(Clips, HaveALengthAndAreNeverOpenedOnAHeadThatIsDriven) {
  Hands hands(small_rig(), layered_show());
  hands.studio->apply(editor::OpenKeys{{KeysOf::Kind::clip, "nod"}});
  hands.settle();
  hands.click("field/length");
  hands.type("1.5");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(show::find_clip(hands.document().whole(), "nod")->length, from_seconds(1.5));
  EXPECT_EQ(hands.document().whole().length, from_seconds(4));
  hands.click("action/back");
  EXPECT_EQ(hands.document().keys_of(), KeysOf{});
  hands.stage.open_port("sim:");
  hands.stage.arm();
  hands.settle();
  EXPECT_FALSE(hands.studio->act("clip_keys"));
  hands.studio->apply(editor::OpenKeys{{KeysOf::Kind::clip, "nod"}});
  EXPECT_EQ(hands.document().keys_of(), KeysOf{});
}

TEST(Clips, ArmingWithAClipOpenGoesBackToTheShow) {
  Hands hands(small_rig(), layered_show());
  hands.studio->apply(editor::OpenKeys{{KeysOf::Kind::clip, "nod"}});
  hands.stage.open_port("sim:");
  hands.settle();
  hands.studio->act("arm");
  hands.settle();
  hands.click("button/Arm");
  EXPECT_EQ(hands.stage.status.state, link::State::armed);
  EXPECT_EQ(hands.document().keys_of(), KeysOf{});
  EXPECT_EQ(hands.stage.published, hands.document().shared_whole());
}

TEST(Clips, AreMirroredRenamedAndRemovedWithTheirPlacements) {
  Hands hands(small_rig(), layered_show(), {1366, 1400});
  hands.click("layer/Top/name");
  hands.click("tab/Clips");
  hands.click("row/clip/nod");
  hands.choose("Mirrored copy of the clip");
  const auto seen = show::find_clip(hands.document().whole(), "nod mirrored");
  ASSERT_TRUE(seen);
  EXPECT_EQ(hands.studio->view().clip, "nod mirrored");
  hands.click("field/clip_name");
  hands.type("shake");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_TRUE(show::find_clip(hands.document().whole(), "shake"));
  hands.click("tab/Clips");
  hands.click("row/clip/nod");
  hands.choose("Remove the clip");
  EXPECT_FALSE(show::find_clip(hands.document().whole(), "nod"));
  EXPECT_TRUE(layer(hands, "Moves").placements.empty());
}

TEST(Layers, TheirOwnKeysAreEditedInTheLanes) {
  Hands hands(small_rig(), layered_show());
  hands.click("layer/Top/name");
  hands.choose("Edit the layer\u2019s own keys");
  ASSERT_EQ(hands.document().keys_of().kind, KeysOf::Kind::layer);
  EXPECT_TRUE(hands.keys("blink").empty());
  hands.double_click(hands.at("smile", 2));
  ASSERT_EQ(layer(hands, "Top").channels.size(), 1u);
  EXPECT_EQ(layer(hands, "Top").channels[0]->control, "smile");
  EXPECT_EQ(hands.stage.published, hands.document().shared_whole()) << "the show is performed with all its layers";
  hands.choose("Back to the show\u2019s keys");
  EXPECT_EQ(hands.keys("blink").size(), 3u);
}

TEST(Layers, ABakedOneBecomesKeysOfTheShowInOneStep) {
  Hands hands(small_rig(), layered_show());
  hands.click("layer/Moves/name");
  hands.choose("Bake the layer down");
  for (int i = 0; i < 10'000 && hands.studio->baking().running; ++i) hands.frame();
  ASSERT_FALSE(hands.studio->baking().running);
  EXPECT_FALSE(show::find_layer(hands.show(), "Moves"));
  EXPECT_TRUE(show::find_layer(hands.show(), "Top"));
  EXPECT_GT(hands.keys("yaw").size(), 1u);
  EXPECT_EQ(hands.document().undo_name(), "Bake down Moves");
  EXPECT_NE(hands.studio->baking().word.find("Undo"), std::string::npos);
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_TRUE(show::find_layer(hands.show(), "Moves"));
}

}  // namespace
}  // namespace mien::tests
