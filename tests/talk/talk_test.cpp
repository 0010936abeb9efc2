// A recording and its words onto a show, with the demo's line.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "motion/curve.hpp"
#include "show/layer_edit.hpp"
#include "show/validate.hpp"
#include "sound/wave.hpp"
#include "speech/align.hpp"
#include "store/disk.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"
#include "support/time.hpp"
#include "talk/files.hpp"
#include "talk/talk.hpp"

namespace mien::talk {
namespace {

using show::Time;

const std::filesystem::path kShows = std::filesystem::path(MIEN_SOURCE_DIR) / "shows";
using support::ms;

struct Demo {
  Demo() {
    const auto loaded = store::load_show(kShows / "keeper.show.json");
    const auto wave = sound::load(kShows / "keeper.ogg");
    auto read = read_alignment(kShows / "keeper.TextGrid");
    if (!loaded || !wave || !read) throw std::runtime_error("the demo can't be read");
    rig = loaded->rig, show = *loaded->show, alignment = std::move(*read);
    show.layers.clear(), show.channels.clear();
    recording = speech::recording_of((*wave)->samples, (*wave)->channels, (*wave)->rate_hz);
    table = *visemes_for(*rig, kShows / "keeper.rig.json");
  }
  Talk speak(const show::Show& s, Style style = {}, std::optional<show::Range> only = {}) const { return talk::speak(*rig, s, table, {recording, alignment, ms(1300), only}, style); }
  std::shared_ptr<const show::Rig> rig;
  show::Show show;
  speech::Alignment alignment;
  speech::Recording recording;
  speech::VisemeTable table;
};

std::size_t keys_of(const show::Show& show, const char* layer) {
  std::size_t keys = 0;
  if (const auto found = show::find_layer(show, layer))
    for (const auto& c : found->channels) keys += c->keys.size();
  return keys;
}

TEST(Talk, TheMouthHasALayerOfItsOwn_AndNothingElseIsTouched) {
  Demo demo;
  demo.show.channels = {std::make_shared<const show::Channel>(show::Channel{"jaw_open", {{ms(100), 0.3}, {ms(5000), 0.9}}})};
  const auto said = demo.speak(demo.show);
  EXPECT_EQ(said.show.channels, demo.show.channels);
  ASSERT_EQ(said.show.layers.size(), 1u);
  EXPECT_EQ(said.show.layers[0]->name, speech::kSpeechLayer);
  EXPECT_EQ(keys_of(said.show, speech::kSpeechLayer), said.keys);
  EXPECT_TRUE(show::validate(said.show, *demo.rig, "").empty());
  EXPECT_TRUE(show::same(said.show, demo.speak(demo.show).show)) << "equal arguments, equal shows";
  EXPECT_TRUE(show::same(said.show, demo.speak(said.show).show)) << "once more changes nothing";
}

// What isn't heard moves no mouth, and what is says what it said.
TEST(Talk, OnlyWhatIsHeardMovesTheMouth) {
  Demo demo;
  const Time length = demo.recording.length(), end = ms(7000);
  const show::Sound whole{"keeper.ogg", ms(1300), ms(0), 0}, trimmed{"keeper.ogg", ms(3300), ms(2000), 0, length - end};
  const auto said = talk::speak(*demo.rig, demo.show, demo.table, {demo.recording, demo.alignment, ms(1300), {}, show::heard_of(trimmed, length)}, {});
  EXPECT_TRUE(said.alignment.words == demo.alignment.words && said.alignment.phones == demo.alignment.phones && said.alignment.length == demo.alignment.length) << "the words of the file stay whole";
  const auto layer = show::find_layer(said.show, speech::kSpeechLayer);
  for (const auto& channel : layer->channels)
    for (const auto& key : channel->keys) EXPECT_TRUE(key.time >= ms(3300) - speech::kAround && key.time < ms(1300) + end + speech::kAround) << channel->control << " " << key.time.count();
  const auto full = demo.speak(demo.show).show;
  const auto all = show::opened_layer(full, speech::kSpeechLayer), part = show::opened_layer(said.show, speech::kSpeechLayer);
  // Away from the cuts the lips close where they closed.
  const auto& was = *show::find_channel(all, "lip_close");
  const auto& now = *show::find_channel(part, "lip_close");
  double worst = 0;
  for (Time t = ms(4500); t < ms(7300); t += ms(10)) worst = std::max(worst, std::abs(motion::evaluate(was, t, 0) - motion::evaluate(now, t, 0)));
  EXPECT_LT(worst, 0.25);
  // The sound alone, too.
  const auto alone = talk::speak(*demo.rig, demo.show, demo.table, {demo.recording, {}, ms(1300), {}, show::heard_of(trimmed, length)}, {});
  ASSERT_FALSE(alone.alignment.phones.empty());
  EXPECT_GE(alone.alignment.phones.front().range.begin, ms(2000));
  EXPECT_LE(alone.alignment.phones.back().range.end, end);
  EXPECT_THAT(no_voice(demo.recording, {ms(5000), ms(5000)}, "keeper.ogg")->what, ::testing::HasSubstr("plays nothing of it"));
}

TEST(Talk, TheMouthIsOffWhereItsSoundIsTrimmedAway_AndBackWhenItIsHeardAgain) {
  Demo demo;
  const Time length = demo.recording.length();
  demo.show.sounds = {{"keeper.ogg", ms(1300), ms(0), 0}};
  Style lively;
  lively.delivery = {1, 0, 1, 1, 3};
  auto said = demo.speak(demo.show, lively).show;
  said.length += ms(3000);
  show::Sound shorter = said.sounds[0];
  shorter.trim_end = length - ms(7000);
  const auto cut = with_sound(said, 0, shorter, {length}, &demo.alignment);
  const auto weight = [](const show::Show& s, const char* layer, Time t) { return motion::evaluate(show::Channel{"", show::find_layer(s, layer)->weight_curve}, t, 0); };
  for (const char* layer : {speech::kSpeechLayer, kMannerLayer}) {
    EXPECT_EQ(weight(cut, layer, ms(8000)), 1) << layer;
    for (Time t = ms(8300) + speech::kFade; t < said.length; t += ms(100)) EXPECT_EQ(weight(cut, layer, t), 0) << layer << " " << t.count();
  }
  EXPECT_EQ(keys_of(cut, speech::kSpeechLayer), keys_of(said, speech::kSpeechLayer)) << "its keys stay";
  const auto back = with_sound(cut, 0, said.sounds[0], {length}, &demo.alignment);
  const Time last = ms(1300) + demo.alignment.phones.back().range.end;
  for (Time t = ms(2000); t < last; t += ms(50)) EXPECT_EQ(weight(back, speech::kSpeechLayer, t), 1) << t.count();
  EXPECT_EQ(weight(back, speech::kSpeechLayer, last + speech::kAround), 0);
  // Another line right behind the cut keeps its mouth.
  auto two = said;
  two.sounds.push_back({"other.ogg", ms(8300), ms(0), 0});
  const auto beside = with_sound(two, 0, shorter, {length, ms(2000)}, &demo.alignment);
  EXPECT_EQ(weight(beside, speech::kSpeechLayer, ms(9000)), 1);
  EXPECT_EQ(weight(beside, speech::kSpeechLayer, ms(11000)), 0);
  // Its beginning, likewise.
  show::Sound later = said.sounds[0];
  later.trim = ms(3000), later.start += ms(3000);
  const auto without = with_sound(said, 0, later, {length}, &demo.alignment);
  EXPECT_EQ(weight(without, speech::kSpeechLayer, ms(3000)), 0);
  EXPECT_EQ(weight(without, speech::kSpeechLayer, ms(4800)), 1);
}

TEST(Talk, ALayerOfOneWeightIsOffWhereItsSoundIsTrimmedAway_AndAsItWasWhenItIsHeardAgain) {
  Demo demo;
  const Time length = demo.recording.length();
  demo.show.sounds = {{"keeper.ogg", ms(1300), ms(0), 0}};
  auto said = demo.speak(demo.show).show;
  show::Layer even = *show::find_layer(said, speech::kSpeechLayer);
  even.weight_curve.clear(), even.weight = 0.75;
  said = show::with_layer(said, even);
  show::Sound shorter = said.sounds[0];
  shorter.trim_end = length - ms(7000);
  const auto weight = [](const show::Show& s, Time t) {
    const auto layer = show::find_layer(s, speech::kSpeechLayer);
    return layer->weight_curve.empty() ? layer->weight : motion::evaluate(show::Channel{"", layer->weight_curve}, t, 0);
  };
  const auto cut = with_sound(said, 0, shorter, {length}, &demo.alignment);
  const Time last = ms(1300) + demo.alignment.phones.back().range.end;
  for (Time t = ms(1300); t < ms(8200); t += ms(100)) EXPECT_EQ(weight(cut, t), 0.75) << t.count();
  for (Time t = ms(8300) + speech::kFade; t < last; t += ms(100)) EXPECT_EQ(weight(cut, t), 0) << t.count();
  const auto back = with_sound(cut, 0, said.sounds[0], {length}, &demo.alignment);
  for (Time t = ms(1300); t < last; t += ms(100)) EXPECT_EQ(weight(back, t), 0.75) << t.count();
  // All of it away, and back.
  show::Sound none = said.sounds[0];
  none.trim = length - ms(100), none.start += none.trim;
  const auto silent = with_sound(said, 0, none, {length}, &demo.alignment);
  for (Time t = ms(2000); t < none.start - speech::kFade; t += ms(100)) EXPECT_EQ(weight(silent, t), 0) << t.count();
  const auto again = with_sound(silent, 0, said.sounds[0], {length}, &demo.alignment);
  for (Time t = ms(2000); t < last; t += ms(100)) EXPECT_EQ(weight(again, t), 0.75) << t.count();
  // One that is turned off stays so, and is no curve.
  even.weight = 0;
  const auto off = with_sound(show::with_layer(said, even), 0, shorter, {length}, &demo.alignment);
  EXPECT_TRUE(show::find_layer(off, speech::kSpeechLayer)->weight_curve.empty());
}

TEST(Talk, ALinesWordsSayHowItsMouthWasMade) {
  Demo demo;
  Style style;
  style.mouth = {0.8, 1.25}, style.delivery = {1, 0.5, 0.3, 0, 4'000'000'000u};
  const auto made = demo.speak(demo.show, style);
  EXPECT_EQ(made.alignment.made_with, "mouth 0.8 emphasis 1.25 brows 1 head 0.5 blinks 0.3 gaze 0 seed 4000000000");
  support::Folder folder;
  ASSERT_FALSE(write_alignment(folder / "line.TextGrid", made.alignment));
  const auto read = read_alignment(folder / "line.TextGrid");
  ASSERT_TRUE(read);
  const auto back = parse_style(read->made_with);
  ASSERT_TRUE(back);
  EXPECT_EQ(back->delivery, style.delivery);
  EXPECT_EQ(back->mouth.amount, 0.8);
  EXPECT_EQ(back->mouth.emphasis, 1.25);
  // A correction is no new style, whatever it was made with.
  const auto corrected = talk::speak(*demo.rig, made.show, demo.table, {demo.recording, *read, ms(1300), show::Range{ms(3000), ms(4000)}}, Style{});
  EXPECT_EQ(corrected.alignment.made_with, read->made_with);
  EXPECT_EQ(parse_style("mouth 9 emphasis 1 brows -1 head 0 blinks 7 gaze 0 seed 1")->mouth.amount, kMostMouth);
  for (const char* wrong : {"", "mouth", "mouth 1 brows 1", "mouth x emphasis 1 brows 0 head 0 blinks 0 gaze 0 seed 1"}) EXPECT_FALSE(parse_style(wrong)) << wrong;
}

TEST(Talk, ACorrectionMakesTheMouthAnewAroundItAlone) {
  Demo demo;
  Style lively;
  lively.delivery = {1, 0, 1, 1, 3};
  const auto first = demo.speak(demo.show, lively);
  auto edited = first.show;
  const show::Keyframe early{ms(2000), 0.11}, near{ms(6000), 0.22};
  const auto with_keys = show::with_key(show::with_key(show::opened_layer(edited, speech::kSpeechLayer), "jaw_open", early), "jaw_open", near);
  edited = show::with_layer_channels(edited, speech::kSpeechLayer, with_keys.channels);
  const auto again = demo.speak(edited, lively, around({ms(4500), ms(5000)}, ms(1300)));
  const auto opened = show::opened_layer(again.show, speech::kSpeechLayer);
  const auto& keys = show::find_channel(opened, "jaw_open")->keys;
  EXPECT_TRUE(std::find(keys.begin(), keys.end(), early) != keys.end()) << "a hand's edit elsewhere stays";
  EXPECT_TRUE(std::find(keys.begin(), keys.end(), near) == keys.end());
  EXPECT_EQ(*show::find_layer(again.show, kMannerLayer), *show::find_layer(first.show, kMannerLayer)) << "the same words, the same manner";
  EXPECT_EQ(show::find_layer(again.show, speech::kSpeechLayer)->weight_curve, show::find_layer(first.show, speech::kSpeechLayer)->weight_curve);
}

TEST(Talk, ACorrectionMakesTheMannerAnewThere_AsItsAmountsAreSet_AndLeavesHandEditsElsewhere) {
  Demo demo;
  Style lively;
  lively.delivery = {1, 0, 1, 1, 3};
  auto edited = demo.speak(demo.show, lively).show;
  const auto controls = [](const show::Show& s) { return show::opened_layer(s, kMannerLayer).channels; };
  // A hand's edits: one far from the correction on every control of the manner.
  const show::Keyframe far{ms(13'900), 0.123};
  for (const auto& channel : controls(edited)) {
    const auto with_key = show::with_key(show::opened_layer(edited, kMannerLayer), channel->control, far);
    edited = show::with_layer_channels(edited, kMannerLayer, with_key.channels);
  }
  const show::Range corrected{ms(3000), ms(6000)}, near = around(corrected, ms(1300));
  // No manner any more: there it goes, in whole gestures, so that nothing is left half way.
  Style still;
  const auto gone = demo.speak(edited, still, near).show;
  std::size_t taken = 0;
  for (const auto& channel : controls(gone)) {
    const auto& was = show::find_channel(show::opened_layer(edited, kMannerLayer), channel->control)->keys;
    taken += was.size() - channel->keys.size();
    EXPECT_NE(std::find(channel->keys.begin(), channel->keys.end(), far), channel->keys.end()) << channel->control;
    for (const auto& key : channel->keys) EXPECT_NE(std::find(was.begin(), was.end(), key), was.end()) << "what stays is as it was";
    for (const auto& key : channel->keys) EXPECT_FALSE(near.contains(key.time)) << channel->control;
    for (const auto& c : demo.rig->controls)
      if (c.name == channel->control) { EXPECT_EQ(motion::evaluate(*channel, near.begin + near.length() / 2, c.rest), c.rest) << "at rest where its gestures were"; }
  }
  EXPECT_GT(taken, 0u);
  // And back, with the amounts that it had: all is as before.
  const auto again = demo.speak(gone, lively, near).show;
  EXPECT_EQ(*show::find_layer(again, kMannerLayer), *show::find_layer(edited, kMannerLayer));
  // Another amount of brows: there alone.
  Style less = lively;
  less.delivery.brows = 0.5;
  const auto lower = demo.speak(edited, less, near).show;
  EXPECT_NE(*show::find_layer(lower, kMannerLayer), *show::find_layer(edited, kMannerLayer));
  // A show whose line has no manner gets none by a correction.
  const auto plain = demo.speak(demo.show).show;
  EXPECT_FALSE(show::find_layer(demo.speak(plain, lively, near).show, kMannerLayer));
}

TEST(Talk, TheMannerAddsAndIsTakenBackWhenNoneIsWanted) {
  Demo demo;
  Style lively;
  lively.delivery = {1, 1, 1, 1, 1};
  show::Findings notes;
  const auto said = talk::speak(*demo.rig, demo.show, demo.table, {demo.recording, demo.alignment, ms(1300), {}}, lively, &notes);
  ASSERT_EQ(notes.size(), 1u) << "the demo has no neck";
  EXPECT_THAT(notes[0].what, ::testing::HasSubstr("Nods"));
  const auto manner = show::find_layer(said.show, kMannerLayer);
  ASSERT_TRUE(manner);
  EXPECT_EQ(manner->blend, show::Layer::Blend::add);
  EXPECT_EQ(keys_of(said.show, kMannerLayer), said.manner_keys);
  EXPECT_GT(said.manner_keys, 20u);
  EXPECT_TRUE(show::validate(said.show, *demo.rig, "").empty());
  EXPECT_EQ(keys_of(demo.speak(said.show).show, kMannerLayer), 0u);
  lively.delivery.seed = 2;
  EXPECT_FALSE(show::same(said.show, demo.speak(demo.show, lively).show));
}

TEST(Talk, ALineMovesWithItsSound) {
  Demo demo;
  const auto said = demo.speak(demo.show).show;
  auto longer = said;
  longer.length += ms(3000);
  const show::Range line{ms(1300) + demo.alignment.phones.front().range.begin, ms(1300) + demo.alignment.phones.back().range.end};
  const auto moved = with_line_moved(longer, line, ms(700));
  const auto was = show::opened_layer(said, speech::kSpeechLayer), now = show::opened_layer(moved, speech::kSpeechLayer);
  for (const auto& channel : was.channels) {
    const auto& keys = show::find_channel(now, channel->control)->keys;
    ASSERT_EQ(keys.size(), channel->keys.size());
    for (std::size_t k = 0; k < keys.size(); ++k) EXPECT_EQ(keys[k].time, channel->keys[k].time + ms(700));
  }
  const show::Channel weight{"", show::find_layer(moved, speech::kSpeechLayer)->weight_curve};
  EXPECT_EQ(motion::evaluate(weight, line.begin + ms(700)), 1);
  EXPECT_TRUE(show::same(with_line_moved(moved, {line.begin + ms(700), line.end + ms(700)}, ms(-700)), longer));
}

TEST(Talk, AWordIsAlignedAnewWhereItStands) {
  Demo demo;
  const auto ferrow = std::find_if(demo.alignment.words.begin(), demo.alignment.words.end(), [](const auto& w) { return w.text == "ferrow"; });
  ASSERT_NE(ferrow, demo.alignment.words.end());
  const auto index = static_cast<std::size_t>(ferrow - demo.alignment.words.begin());
  show::Findings notes;
  if (const auto there = speech::align(demo.recording, "good evening"); !there && there.problem().cure.find("nstall") != std::string::npos) GTEST_SKIP() << there.problem().cure;
  const auto changed = reworded(demo.recording, demo.alignment, index, "farrow", notes);
  ASSERT_EQ(changed.words.size(), demo.alignment.words.size());
  EXPECT_EQ(changed.words[index].text, "farrow");
  EXPECT_GE(changed.words[index].range.begin, ferrow->range.begin);
  EXPECT_LE(changed.words[index].range.end, ferrow->range.end);
  EXPECT_EQ(changed.words[index + 1], demo.alignment.words[index + 1]);
  const auto gone = reworded(demo.recording, demo.alignment, index, " ", notes);
  EXPECT_EQ(gone.words.size(), demo.alignment.words.size() - 1);
  notes.clear();
  const auto wrong = reworded(demo.recording, demo.alignment, index, "an extraordinarily uninhabitable constitutional misunderstanding of everything", notes);
  EXPECT_EQ(wrong.phones, demo.alignment.phones);
  EXPECT_EQ(wrong.words[index].confidence, 0);
  EXPECT_FALSE(notes.empty());
}

TEST(TalkFiles, AnAlignmentThatAPersonMayHaveWorkedOnIsKept) {
  const support::Folder folder;
  const auto path = alignment_path(folder / "a.show.json", "sounds/line.wav");
  EXPECT_EQ(path, folder / "line.TextGrid");
  Demo demo;
  EXPECT_FALSE(write_alignment(path, demo.alignment));
  EXPECT_FALSE(write_alignment(path, demo.alignment));
  EXPECT_FALSE(std::filesystem::exists(path.string() + "~")) << "it said the same";
  auto other = demo.alignment;
  other.words.pop_back();
  while (other.phones.back().word >= static_cast<int>(other.words.size())) other.phones.pop_back();
  EXPECT_FALSE(write_alignment(path, other));
  const auto kept = read_alignment(path.string() + "~");
  ASSERT_TRUE(kept);
  EXPECT_EQ(kept->words.size(), demo.alignment.words.size());
}

}  // namespace
}  // namespace mien::talk
