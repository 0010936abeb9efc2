// Closures that setpoints miss, and mouths that move in silence, on the demo's head.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "perform/speaking.hpp"
#include "show/layer_edit.hpp"
#include "speech/place.hpp"
#include "store/store.hpp"
#include "support/time.hpp"

namespace mien::perform {
namespace {

using show::Time;
using support::ms;

struct SpeakingHead {
  SpeakingHead() {
    const auto loaded = store::load_rig(MIEN_SOURCE_DIR "/shows/keeper.rig.json");
    EXPECT_TRUE(loaded);
    if (loaded) rig = loaded->rig;
    if (auto general = speech::general_visemes(*rig)) table = *general;
    int at = 500;
    for (const char* phone : {"M", "AA", "P", "IY"}) line.phones.push_back({{ms(at), ms(at + 120)}, phone, 1, 0}), at += 120;
    line.phones.push_back({{ms(5000), ms(5120)}, "B", 1, 1}), line.phones.push_back({{ms(5120), ms(5300)}, "AA", 1, 1});
    line.words = {{{ms(500), ms(980)}, "first"}, {{ms(5000), ms(5300)}, "second"}};
    line.length = ms(6000);
    show.length = ms(8000);
  }
  Spoken judged(const show::Show& s) const { return spoken(*compile(rig, std::make_shared<const show::Show>(s)), {{line, ms(1000)}}, table); }
  std::shared_ptr<const show::Rig> rig;
  speech::VisemeTable table;
  speech::Alignment line;
  show::Show show;
};

TEST(Speaking, AMouthMadeForTheHeadHoldsAllItsClosures) {
  const SpeakingHead head;
  const auto tracks = speech::mouth_of(head.line, head.table, abilities_of(*head.rig, head.table));
  const auto judged = head.judged(speech::with_mouth(head.show, tracks, ms(1000), {ms(0), head.show.length}));
  EXPECT_EQ(judged.closures, 3);
  EXPECT_EQ(judged.held, 3);
  EXPECT_TRUE(judged.faults.empty()) << show::to_text(finding_of(judged.faults[0]));
}

TEST(Speaking, AClosureThatIsMissing_AndAMoveInSilence_AreNamed) {
  const SpeakingHead head;
  auto tracks = speech::mouth_of(head.line, head.table, abilities_of(*head.rig, head.table));
  auto show = speech::with_mouth(head.show, tracks, ms(1000), {ms(0), head.show.length});
  const Time p = ms(1000 + 740);
  auto layer = *show::find_layer(show, speech::kSpeechLayer);
  for (auto& channel : layer.channels) {
    auto changed = *channel;
    for (auto& key : changed.keys) {
      if (changed.control == "lip_close" && key.time > p - ms(120) && key.time < p + ms(130)) key.value = 0;
      if (changed.control == "jaw_open" && key.time > p - ms(120) && key.time < p + ms(130)) key.value = 0.4;
    }
    if (changed.control == "jaw_open") {
      std::vector<show::Keyframe> more;
      for (const auto& key : changed.keys) {
        if (more.size() && more.back().time < ms(3000) && key.time > ms(3000)) more.insert(more.end(), {{ms(3800), 0}, {ms(4000), 0.5}, {ms(4200), 0}});
        more.push_back(key);
      }
      changed.keys = more;
    }
    channel = std::make_shared<const show::Channel>(changed);
  }
  show = show::with_layer(show, layer);
  const auto judged = head.judged(show);
  ASSERT_EQ(judged.faults.size(), 2u);
  EXPECT_EQ(judged.faults[0].kind, SpokenFault::Kind::closure);
  EXPECT_EQ(judged.faults[0].phone, "P");
  EXPECT_EQ(judged.faults[0].range.begin, p);
  EXPECT_EQ(judged.faults[1].kind, SpokenFault::Kind::silence);
  EXPECT_TRUE(judged.faults[1].range.contains(ms(4000)));
  EXPECT_THAT(show::to_text(finding_of(judged.faults[0], "x")), ::testing::HasSubstr("P of 'first' at 1.7 s"));
  EXPECT_THAT(show::to_text(finding_of(judged.faults[1], "x")), ::testing::HasSubstr("while nothing is said"));
}

TEST(Speaking, TheFaceOfTheDemoHasBrowsLidsAndEyes_AndNoNeck) {
  const SpeakingHead head;
  const auto face = face_to_speak(*head.rig);
  ASSERT_FALSE(face.brows.empty());
  EXPECT_EQ(face.lids.size(), 2u);
  EXPECT_EQ(face.yaw.size(), 1u);
  EXPECT_TRUE(face.nod.empty());
  EXPECT_GT(face.brows[0].per_s, 0.5);
  EXPECT_LT(face.brows[0].per_s, 1e6);
}

// The worked example: a servo of 600 deg/s and 12000 deg/s^2 that one control turns by 10 deg a unit alone gives it 60 units/s, no more.
TEST(Speaking, AbilitiesAreWhatTheServosLeave) {
  show::Rig rig;
  rig.actuators = {{"jaw", "", "", "", 0, -20, 20, 0}};
  rig.actuators[0].velocity_deg_s = 600, rig.actuators[0].acceleration_deg_s2 = 12000;
  rig.controls = {{"open", "", "1", 0, 1, 0}, {"slide", "", "1", -1, 1, 0}};
  rig.mappings = {{{{"jaw_open", 0, {{"open", 10}, {"slide", 5}}, {}}}, show::Straight{}, {"jaw"}}};
  speech::VisemeTable table;
  table.visemes[10].targets = {{"open", 1, false}};
  auto alone = abilities_of(rig, table);
  ASSERT_EQ(alone.size(), 1u);
  EXPECT_NEAR(alone[0].per_s, 60, 1e-6);
  EXPECT_NEAR(alone[0].per_s2, 1200, 1e-4);
  table.visemes[10].targets.push_back({"slide", 0.5, false});  // both at once turn it by 20 deg: 30 units/s, and half as much again as they seldom do
  EXPECT_NEAR(abilities_of(rig, table)[0].per_s, 45, 1e-6);
}

}  // namespace
}  // namespace mien::perform
