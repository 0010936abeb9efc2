// Who else moves a mouth that speaks: every place that a hand's keys can stand in.
#include "talk/rivals.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "show/layer_edit.hpp"
#include "speech/place.hpp"
#include "support/time.hpp"

namespace mien::talk {
namespace {

using show::Time;
using testing::HasSubstr;

using support::ms;
show::ChannelPtr channel(const char* control, std::vector<show::Keyframe> keys) { return std::make_shared<const show::Channel>(show::Channel{control, std::move(keys)}); }

// A line from 2 to 4 s.
show::Show spoken() {
  show::Show show;
  show.length = ms(10'000);
  const speech::Track jaw{"jaw_open", {{ms(0), 0}, {ms(1000), 0.5}, {ms(2000), 0}}};
  return speech::with_mouth(show, {&jaw, 1}, ms(2000), {ms(2000), ms(4000)});
}
show::Rig rig() {
  show::Rig rig;
  rig.controls.resize(2);
  rig.controls[0].name = "jaw_open", rig.controls[0].group = "mouth", rig.controls[1].name = "blink", rig.controls[1].group = "eyes";
  return rig;
}
show::Layer layer(const char* name, std::vector<show::ChannelPtr> channels) {
  show::Layer l;
  l.name = name, l.channels = std::move(channels);
  return l;
}

TEST(Rivals, AMouthOfItsOwnHasNone) {
  EXPECT_TRUE(rivals_of_speech({}, rig(), "x").empty());
  auto show = spoken();
  EXPECT_TRUE(rivals_of_speech(show, rig(), "x").empty());
  show.channels = {channel("blink", {{ms(3000), 1}}), channel("jaw_open", {{ms(1000), 1}, {ms(5000), 0}})};
  EXPECT_TRUE(rivals_of_speech(show, rig(), "x").empty()) << "other controls, and other times";
}

TEST(Rivals, KeysOfTheShowsOwnAreCovered) {
  auto show = spoken();
  show.channels = {channel("jaw_open", {{ms(1000), 1}, {ms(2500), 0}, {ms(3500), 0}, {ms(5000), 0}})};
  const auto notes = rivals_of_speech(show, rig(), "a.show.json");
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0].severity, show::Severity::note);
  EXPECT_EQ(show::to_text(notes[0]), "note: a.show.json: channels of the show, 2.5 to 3.5 s: the show has 2 keys of jaw_open there, which layer 'speech' covers. "
                                     "Delete them, or mute layer 'speech' if they are meant to move the mouth: they do nothing while the line is said.");
}

TEST(Rivals, LayersOverItTakeOverOrAdd_ThoseUnderItAreCovered) {
  const auto base = spoken();
  const auto keys = channel("jaw_open", {{ms(3000), 1}});
  auto over = base;
  over.layers.push_back(std::make_shared<const show::Layer>(layer("take 1", {keys})));
  ASSERT_EQ(rivals_of_speech(over, rig(), "x").size(), 1u);
  EXPECT_EQ(rivals_of_speech(over, rig(), "x")[0].place, "layer 'take 1', 3 s");
  EXPECT_THAT(rivals_of_speech(over, rig(), "x")[0].what, HasSubstr("takes the mouth over from layer 'speech'"));
  auto adds = layer("take 1", {keys});
  adds.blend = show::Layer::Blend::add;
  over.layers.back() = std::make_shared<const show::Layer>(adds);
  EXPECT_THAT(rivals_of_speech(over, rig(), "x")[0].what, HasSubstr("adds to the mouth of layer 'speech'"));
  auto under = base;
  under.layers.insert(under.layers.begin(), std::make_shared<const show::Layer>(layer("take 1", {keys})));
  EXPECT_THAT(rivals_of_speech(under, rig(), "x")[0].what, HasSubstr("it has 1 key of jaw_open there, which layer 'speech' covers"));
}

TEST(Rivals, MasksMutesAndClipsCount) {
  auto show = spoken();
  const auto keys = channel("jaw_open", {{ms(500), 1}});
  show.clips = {std::make_shared<const show::Clip>(show::Clip{"yawn", ms(1000), {keys}})};
  auto l = layer("gestures", {});
  l.placements = {{"yawn", ms(3500)}};
  const auto with = [&](const show::Layer& top) {
    auto s = show;
    s.layers.push_back(std::make_shared<const show::Layer>(top));
    return rivals_of_speech(s, rig(), "x");
  };
  ASSERT_EQ(with(l).size(), 1u);
  EXPECT_EQ(with(l)[0].place, "layer 'gestures', 3.5 to 4 s");
  l.mask = {"eyes"};
  EXPECT_TRUE(with(l).empty());
  l.mask = {"mouth"};
  EXPECT_EQ(with(l).size(), 1u) << "a mask names groups, too";
  l.muted = true;
  EXPECT_TRUE(with(l).empty());
  l.muted = false, l.mask.clear(), l.placements[0].start = ms(6000);
  EXPECT_TRUE(with(l).empty());
}

TEST(Rivals, ASpeechLayerThatIsMutedOrOffHasNone) {
  auto show = spoken();
  show.channels = {channel("jaw_open", {{ms(3000), 1}})};
  ASSERT_EQ(rivals_of_speech(show, rig(), "x").size(), 1u);
  EXPECT_TRUE(rivals_of_speech(speech::with_weight(show, {ms(1900), ms(4100)}, 0), rig(), "x").empty()) << "its sound is trimmed away there";
  auto speech = *show.layers[0];
  speech.muted = true;
  show.layers[0] = std::make_shared<const show::Layer>(speech);
  EXPECT_TRUE(rivals_of_speech(show, rig(), "x").empty());
  speech.muted = false, speech.weight_curve.clear();
  show.layers[0] = std::make_shared<const show::Layer>(speech);
  show.channels = {channel("jaw_open", {{ms(9000), 1}})};
  EXPECT_EQ(rivals_of_speech(show, rig(), "x").size(), 1u) << "on throughout";
}

}  // namespace
}  // namespace mien::talk
