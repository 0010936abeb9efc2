#include "store/map_store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "store/samples.hpp"
#include "support/folder.hpp"

namespace mien::store {
namespace {

using testing::HasSubstr;

TEST(MapStore, IsWrittenAsTheSampleIs) {
  const std::string text = support::read(kSamples / "desk.map.json");
  const auto map = read_map(text, "x");
  ASSERT_TRUE(map) << to_text(map.problem());
  EXPECT_EQ(write_map(*map), text);
  EXPECT_EQ(map->knobs[0].source, (live::Source{"Slide Eight", 1, live::Source::Kind::controller, 7}));
  EXPECT_EQ(map->knobs[0].takeover, live::Takeover::scaled);
  EXPECT_TRUE(map->knobs[0].inverted);
  EXPECT_EQ(map->knobs[1].spring_back_s, 0.25);
  EXPECT_EQ(map->triggers[0].hold, live::Trigger::Hold::latch);
  EXPECT_EQ(map->triggers[1].what, live::Trigger::What::panic);
}

TEST(MapStore, KeepsAddressesSlotsAndGlides) {
  live::HandMap map{.name = "Desk", .fade_s = 0.5, .banks = {}, .knobs = {{.source = *live::parse_source("osc /desk/fader/1"), .control = "mouth_open", .takeover = live::Takeover::glide}}, .triggers = {{.source = *live::parse_source("slot 17"), .name = "glad"}}};
  const std::string text = write_map(map);
  EXPECT_THAT(text, HasSubstr("\"osc /desk/fader/1\""));
  EXPECT_THAT(text, HasSubstr("\"glide\""));
  const auto back = read_map(text, "x");
  ASSERT_TRUE(back) << to_text(back.problem());
  EXPECT_EQ(*back, map);
}

TEST(MapStore, LoadsOnARigThatHasItsControls_AndSavesWhole) {
  const auto rig = load_rig(kSamples / "small.rig.json");
  ASSERT_TRUE(rig);
  const auto loaded = load_map(kSamples / "desk.map.json", *rig->rig);
  ASSERT_TRUE(loaded) << to_text(loaded.problem());
  EXPECT_TRUE(loaded->notes.empty());
  show::Show show;
  const auto with_show = load_map(kSamples / "desk.map.json", *rig->rig, &show);
  ASSERT_TRUE(with_show);
  ASSERT_EQ(with_show->notes.size(), 1u);
  EXPECT_THAT(to_text(with_show->notes[0]), HasSubstr("the show has no pose 'glad'"));

  support::Folder folder;
  EXPECT_FALSE(save_map(folder / "a.map.json", loaded->map));
  const auto back = load_map(folder / "a.map.json", *rig->rig);
  ASSERT_TRUE(back);
  EXPECT_EQ(back->map, loaded->map);
  live::HandMap broken = loaded->map;
  broken.knobs[0].high = std::nan("");
  EXPECT_TRUE(save_map(folder / "a.map.json", broken)) << "what could not be read back is not saved";
  EXPECT_TRUE(load_map(folder / "a.map.json", *rig->rig));
}

TEST(MapStore, SaysWhatIsWrongAndWhere) {
  const std::string text = support::read(kSamples / "desk.map.json");
  const std::tuple<const char*, const char*, const char*> cases[] = {
      {"\"controller 7\"", "\"wheel 7\"", "knob 1 (counted from 1), source: 'wheel 7' is no source"},
      {"\"scaled\"", "\"fast\"", "takeover: 'fast' is none of these: pick-up, scaled"},
      {"\"does\": \"pose\"", "\"does\": \"dance\"", "does: 'dance' is none of these: pose, clip, bank, panic"},
      {"\"low\": 0.0,", "", "low: is missing"},
      {"\"high\": 0.75", "\"high\": \"x\"", "high: is not a number"},
      {"mien map", "mien rig", "format: is 'mien rig'"},
      {"\"version\": 1", "\"version\": 9", "from a newer Mien"},
  };
  for (const auto& [from, to, what] : cases) {
    const auto map = read_map(replaced(text, from, to), "desk.map.json");
    ASSERT_FALSE(map) << from;
    EXPECT_THAT(to_text(map.problem()), HasSubstr(what));
  }
  support::Folder folder;
  support::write(folder / "b.map.json", replaced(replaced(text, "mouth_open", "mouth_opne"), "\"axis 0\"", "\"axis 9\""));
  const auto rig = load_rig(kSamples / "small.rig.json");
  const auto bad = load_map(folder / "b.map.json", *rig->rig);
  ASSERT_FALSE(bad);
  EXPECT_THAT(to_text(bad.problem()), HasSubstr("Did you mean 'mouth_open'? Findings in this file: 2."));
  EXPECT_TRUE(check_file(kSamples / "desk.map.json").readable);
  EXPECT_TRUE(check_file(kSamples / "desk.map.json").findings.empty());
}

}  // namespace
}  // namespace mien::store
