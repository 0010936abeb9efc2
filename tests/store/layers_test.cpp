#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "perform/study.hpp"
#include "perform/tick.hpp"
#include "show/facs.hpp"
#include "show/layer_edit.hpp"
#include "store/document.hpp"
#include "store/samples.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

namespace mien::store {
namespace {

using ::testing::HasSubstr;

TEST(LayerDocument, IsWrittenAsTheSampleIs) {
  const std::string text = support::read(kSamples / "layers.show.json");
  const auto read = read_show(text, "x");
  ASSERT_TRUE(read) << to_text(read.problem());
  EXPECT_TRUE(read->notes.empty());
  EXPECT_EQ(write_document(read->content), text);
  const show::Show& show = read->content;
  ASSERT_EQ(show.layers.size(), 3u);
  EXPECT_EQ(show.poses[0]->action_units, (std::vector<int>{6, 12}));
  EXPECT_EQ(show.layers[1]->placements[0].repeats, 3);
  EXPECT_EQ(show.layers[1]->placements[0].fade_in_easing, show::kEaseOut);
  EXPECT_EQ(show.layers[2]->idle->seed, 4'000'000'000u);
  EXPECT_EQ(show.layers[2]->weight_curve.size(), 2u);
  const auto loaded = load_show(kSamples / "layers.show.json");
  ASSERT_TRUE(loaded) << to_text(loaded.problem());
  EXPECT_TRUE(loaded->notes.empty());
}

// small.show.json is a file of version 1: it loads without a word, and a show without layers is written as that version still.
TEST(LayerDocument, LeavesShowsWithoutLayersAtVersion1) {
  const std::string old = support::read(kSamples / "small.show.json");
  const auto read = read_show(old, "x");
  ASSERT_TRUE(read);
  EXPECT_TRUE(read->notes.empty());
  EXPECT_TRUE(read->content.layers.empty());
  EXPECT_EQ(write_document(read->content), old);
  show::Layer layer;
  layer.name = "one";
  EXPECT_THAT(write_document(show::with_layer(read->content, layer)), HasSubstr("\"version\": 2"));
}

TEST(LayerDocument, SurvivesItsFile) {
  support::Random random(6);
  for (int round = 0; round < 20; ++round) {
    const show::Rig rig = support::rig(random);
    show::Show show = support::show(random, rig, 10);
    const auto of_rig = [&] { return rig.controls[random() % rig.controls.size()]; };
    for (int n = 0; n < 3; ++n) {
      show = show::with_pose(show, {support::name(random, "pose", n), {1, 26}, n ? rig.groups[0].name : "", {{of_rig().name, support::real(random, -1, 1)}}});
      show = show::with_clip(show, {support::name(random, "clip", n), show::Time{1 + static_cast<std::int64_t>(random() % 5'000'000'000)}, {support::channel(random, of_rig(), std::chrono::seconds(1), 5)}});
      show::Layer layer;
      layer.name = support::name(random, "layer", n), layer.blend = static_cast<show::Layer::Blend>(random() % 2), layer.muted = support::chance(random, 0.5);
      layer.weight = support::real(random, 0, 1), layer.mask = {rig.groups[0].name};
      layer.channels = {support::channel(random, of_rig(), show.length, 6)};
      layer.weight_curve = {{show::Time{1}, support::real(random, 0, 1), support::easing(random)}};
      show::Placement placed{show.clips[0]->name, show::Time{static_cast<std::int64_t>(random() % 1'000'000'000)}, show::Time{3}, support::real(random, 0.1, 9), support::real(random, 0, 1), support::whole(random, 1, 99)};
      placed.fade_in = show::Time{static_cast<std::int64_t>(random() % 999)}, placed.fade_out_easing = support::easing(random);
      layer.placements = {placed};
      if (n) layer.idle = show::IdleLife{static_cast<std::uint32_t>(random()), static_cast<show::IdleLife::Manner>(random() % 4), support::real(random, 0, 2), 0.5, 1.5, 2};
      show = show::with_layer(show, layer);
    }
    const auto read = read_show(write_document(show), "x");
    ASSERT_TRUE(read) << to_text(read.problem());
    EXPECT_TRUE(same(read->content, show));
    const show::Library library{"l", show.poses, show.clips};
    const auto back = read_library(write_document(library), "x");
    ASSERT_TRUE(back) << to_text(back.problem());
    ASSERT_EQ(back->content.poses.size(), 3u);
    for (std::size_t n = 0; n < 3; ++n) {
      EXPECT_EQ(*back->content.poses[n], *show.poses[n]);
      EXPECT_EQ(*back->content.clips[n], *show.clips[n]);
    }
  }
}

TEST(LayerDocument, TellsWhatCantBeRead) {
  const std::string sample = support::read(kSamples / "layers.show.json");
  const struct { const char* from; const char* to; const char* words; } broken[] = {
      {"\"version\": 2", "\"version\": 5", "version: is 5, from a newer Mien; this one reads up to 4"},
      {"\"6 12\"", "\"6 x\"", "pose 'glad', action_units: '6 x' is not a list of action units"},
      {"\"0.7 smile\"", "\"much smile\"", "pose 'glad', value 1 (counted from 1): 'much smile' is not a value of a pose"},
      {"\"over\"", "\"under\"", "layer 'talk', blend: 'under' is no way to blend"},
      {"\"listening\"", "\"dozing\"", "layer 'life', idle, manner: 'dozing' is no manner"},
      {"\"0.1 ease-out\"", "\"0.1\"", "fade_in: '0.1' is not a fade"},
      {"\"repeats\": 3", "\"repeats\": \"3\"", "repeats: is not a whole number"},
      {"\"seed\": 4000000000", "\"seed\": -1", "idle, seed: is not a whole number, or one in range"},
      {"\"0.5 0.25 smooth\"", "\"0.5 smooth\"", "layer 'life', key 1 (counted from 1): '0.5 smooth' is not a key"},
  };
  for (const auto& b : broken) {
    const auto read = read_show(replaced(sample, b.from, b.to), "a.show.json");
    ASSERT_FALSE(read) << b.to << " was taken";
    EXPECT_THAT(to_text(read.problem()), HasSubstr(b.words));
    EXPECT_FALSE(read.problem().cure.empty());
  }
}

TEST(LibraryFile, IsSavedLoadedAndChecked) {
  const support::Folder folder;
  const auto loaded = load_library(kShows / "keeper.clips.json");
  ASSERT_TRUE(loaded) << to_text(loaded.problem());
  ASSERT_FALSE(save_library(folder / "copy.clips.json", loaded->library));
  EXPECT_EQ(support::read(folder / "copy.clips.json"), write_document(loaded->library));
  EXPECT_TRUE(check_file(folder / "copy.clips.json").readable);
  EXPECT_TRUE(check_file(folder / "copy.clips.json").findings.empty());
  EXPECT_THAT(load_show(folder / "copy.clips.json").problem().what, HasSubstr("is 'mien clips', not 'mien show'"));
  EXPECT_THAT(load_library(kSamples / "small.show.json").problem().what, HasSubstr("is 'mien show', not 'mien clips'"));
}

// The looks that come with the demo: the head can take each of them, within travel and constraints, and stands there when it has; each is tagged
// with action units of the published list (PMC7264164, table 1, and the FACS manual, 2002).
TEST(KeeperLooks, AreWithinReachAndTaggedWithPublishedUnits) {
  const auto library = load_library(kShows / "keeper.clips.json");
  const auto rig = load_rig(kShows / "keeper.rig.json");
  ASSERT_TRUE(library);
  ASSERT_TRUE(rig);
  EXPECT_EQ(library->library.poses.size(), 12u);
  for (const auto& pose : library->library.poses) {
    EXPECT_FALSE(pose->action_units.empty()) << pose->name;
    for (const int unit : pose->action_units) EXPECT_FALSE(show::action_unit_name(unit).empty()) << pose->name << " " << unit;
    auto show = std::make_shared<show::Show>();
    show->length = std::chrono::seconds(2);
    *show = show::with_pose_keyed(*show, *rig->rig, *pose, {});
    ASSERT_EQ(show->channels.size(), pose->values.size()) << pose->name << " names controls that the head has not";
    const auto plan = perform::compile(rig->rig, show);
    const auto head = std::make_unique<perform::Head>();
    perform::Tick out;
    perform::load(*head, *plan);
    perform::aim(*plan, *head, show::Time{0}, out);
    for (std::size_t c = 0; c < rig->rig->controls.size(); ++c)
      if (const auto* channel = show::find_channel(*show, rig->rig->controls[c].name)) {
        EXPECT_EQ(out.control[c], channel->keys[0].value) << pose->name;
      }
    for (std::size_t a = 0; a < rig->rig->actuators.size(); ++a)
      EXPECT_NEAR(out.allowed_deg[a], out.target_deg[a], 1e-6) << pose->name << ": " << rig->rig->actuators[a].name << " is kept back";
    for (const auto& s : perform::study(*plan).shortfalls) ADD_FAILURE() << pose->name << ": " << to_text(perform::finding_of(*plan, s));
  }
}

// Idle life on the demo's head asks for nothing that its servos can't do, whatever the seed.
TEST(KeeperLooks, LiveWithinTheHeadsMeans) {
  const auto rig = load_rig(kShows / "keeper.rig.json");
  ASSERT_TRUE(rig);
  for (std::uint32_t seed = 0; seed < 8; ++seed) {
    auto show = std::make_shared<show::Show>();
    show->length = std::chrono::seconds(60);
    show::Layer layer;
    layer.name = "life", layer.idle = show::IdleLife{seed, static_cast<show::IdleLife::Manner>(seed % 4)};
    *show = show::with_layer(*show, layer);
    const auto plan = perform::compile(rig->rig, show);
    for (const auto& s : perform::study(*plan).shortfalls) ADD_FAILURE() << "seed " << seed << ": " << to_text(perform::finding_of(*plan, s));
  }
}

}  // namespace
}  // namespace mien::store
