// Words, phones and sounds in the window, by hand, without a window: the demo's line.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>

#include "editor/speech_hands.hpp"
#include "motion/curve.hpp"
#include "sound/onsets.hpp"
#include "speech/labels.hpp"
#include "store/disk.hpp"
#include "talk/files.hpp"

namespace mien::tests {
namespace {

using editor::Dialog;
using editor::kAlt;
using editor::kCtrl;
using show::Time;
using testing::HasSubstr;

TEST_F(Speech, ARecordingAloneTalksInThreeClicks) {
  auto hands = open();
  EXPECT_FALSE(hands->sees("timeline/words"));
  hands->choose("Make the head speak\u2026");
  ASSERT_EQ(hands->studio->dialog(), Dialog::speak);
  EXPECT_THAT(hands->studio->panels().speak.text, HasSubstr("moths")) << "the text beside the sound";
  hands->studio->panels().speak.text.clear();
  hands->settle();
  hands->click("button/Make it speak");
  until_spoken(*hands);
  EXPECT_EQ(hands->studio->dialog(), Dialog::none) << hands->studio->speech().speaking.word;
  EXPECT_GT(mouth_keys(*hands), 200u);
  ASSERT_TRUE(hands->sees("timeline/phones"));
  EXPECT_GT(words(*hands).phones.size(), 10u);
  EXPECT_THAT(hands->document().undo_name(), HasSubstr("Speak keeper.ogg"));
  EXPECT_FALSE(std::filesystem::exists(folder / "keeper.TextGrid"));
  hands->press(GLFW_KEY_S, kCtrl);
  hands->settle();
  EXPECT_TRUE(talk::read_alignment(folder / "keeper.TextGrid")) << "saved beside the show";
  hands->press(GLFW_KEY_Z, kCtrl);
  hands->settle();
  EXPECT_EQ(mouth_keys(*hands), 0u);
  EXPECT_FALSE(hands->sees("timeline/words")) << "words and phones go with the keys that were made of them";
}

TEST_F(Speech, ATextTypedInTheDialogIsSpoken) {
  auto hands = open();
  hands->press(GLFW_KEY_S, kCtrl | kAlt);
  hands->settle();
  ASSERT_EQ(hands->studio->dialog(), Dialog::speak);
  hands->click("button/Make it speak");
  until_spoken(*hands);
  if (hands->studio->speech().speaking.word.find("nstall") != std::string::npos) GTEST_SKIP() << hands->studio->speech().speaking.word;
  ASSERT_EQ(hands->studio->dialog(), Dialog::none) << hands->studio->speech().speaking.word;
  EXPECT_EQ(words(*hands).words.size(), 30u);
  const auto found = std::find_if(words(*hands).words.begin(), words(*hands).words.end(), [](const auto& w) { return w.text == "lamp"; });
  ASSERT_NE(found, words(*hands).words.end());
  EXPECT_TRUE(show::find_layer(hands->document().whole(), talk::kMannerLayer)) << "blinks and brows come along";
  // The wrong text is refused, in the dialog, and nothing changes.
  const auto keys = mouth_keys(*hands);
  hands->studio->panels().speak.text = "The quick otter swims across a frozen lake to see his seven cousins, who are having soup for dinner tonight again.";
  hands->press(GLFW_KEY_S, kCtrl | kAlt);
  hands->settle();
  hands->click("button/Make it speak");
  until_spoken(*hands);
  EXPECT_EQ(hands->studio->dialog(), Dialog::speak);
  EXPECT_TRUE(hands->studio->speech().speaking.failed);
  EXPECT_THAT(hands->studio->speech().speaking.word, HasSubstr("Check that text and sound belong together"));
  EXPECT_EQ(mouth_keys(*hands), keys);
}

TEST_F(Speech, AnEdgeIsDragged_TheMouthFollowsInOneStep_AndUndoTakesBothBack) {
  with_labels();
  auto hands = open();
  ASSERT_TRUE(hands->sees("timeline/words"));
  hands->studio->panels().speak.text.clear();
  const auto before = words(*hands);
  const std::size_t steps = hands->document().steps();
  const auto lamp = static_cast<std::size_t>(std::find_if(before.words.begin(), before.words.end(), [](const auto& w) { return w.text == "lamp"; }) - before.words.begin());
  const Time from = before.words[lamp].range.begin, to = from - Time{40'000'000};
  hands->studio->apply(editor::See{{Time{4'000'000'000}, Time{6'500'000'000}}});
  hands->settle();
  hands->drag(at(*hands, "timeline/words", from), at(*hands, "timeline/words", to));
  until_spoken(*hands);
  ASSERT_EQ(hands->document().steps(), steps + 1);
  EXPECT_NEAR(show::to_seconds(words(*hands).words[lamp].range.begin - to), 0, 0.004);
  EXPECT_EQ(words(*hands).words[lamp - 1].range.end, words(*hands).words[lamp].range.begin) << "they touched";
  EXPECT_GT(mouth_keys(*hands), 10u);
  const auto range = show::find_layer(hands->document().whole(), speech::kSpeechLayer)->channels[0]->keys;
  for (const auto& key : range) EXPECT_TRUE(key.time > Time{3'000'000'000} && key.time < Time{7'000'000'000}) << "around the edge alone";
  hands->press(GLFW_KEY_Z, kCtrl);
  hands->settle();
  EXPECT_EQ(words(*hands), before);
  EXPECT_EQ(mouth_keys(*hands), 0u);
  hands->press(GLFW_KEY_Z, kCtrl | editor::kShift);
  hands->settle();
  EXPECT_NE(words(*hands), before);
}

TEST_F(Speech, WordsGoWithAShowThatIsSavedElsewhere_AndUndoStillFindsThem) {
  auto hands = open();
  speak_without_a_text(*hands);
  const auto before = words(*hands);
  std::filesystem::create_directory(folder / "other");
  ASSERT_TRUE(hands->studio->save_as(folder / "other/line.show.json"));
  hands->settle();
  ASSERT_TRUE(hands->sees("timeline/words"));
  EXPECT_EQ(words(*hands), before);
  EXPECT_TRUE(talk::read_alignment(folder / "other/keeper.TextGrid"));
  hands->press(GLFW_KEY_Z, kCtrl);
  hands->settle();
  EXPECT_FALSE(hands->sees("timeline/words"));
  hands->press(GLFW_KEY_Z, kCtrl | editor::kShift);
  hands->settle();
  EXPECT_EQ(words(*hands), before);
}

TEST_F(Speech, EscapeTakesADragOfAnEdgeBack) {
  with_labels();
  auto hands = open();
  hands->studio->apply(editor::See{{Time{4'000'000'000}, Time{6'500'000'000}}});
  hands->settle();
  const auto before = words(*hands);
  const auto& phone = *std::find_if(before.phones.begin(), before.phones.end(), [](const auto& p) { return p.range.begin > Time{3'500'000'000}; });
  const Time edge = phone.range.begin;
  hands->drag(at(*hands, "timeline/phones", edge), at(*hands, "timeline/phones", edge + Time{20'000'000}), 0, false);
  hands->frame();
  EXPECT_NE(words(*hands), before) << "shown while it is dragged";
  hands->press(GLFW_KEY_ESCAPE);
  hands->settle();
  EXPECT_EQ(words(*hands), before);
  EXPECT_EQ(hands->document().steps(), 1u);
}

TEST_F(Speech, AWordGetsAnotherText) {
  with_labels();
  auto hands = open();
  hands->studio->apply(editor::See{{Time{4'000'000'000}, Time{6'500'000'000}}});
  hands->settle();
  const auto before = words(*hands);
  const auto lamp = static_cast<std::size_t>(std::find_if(before.words.begin(), before.words.end(), [](const auto& w) { return w.text == "lamp"; }) - before.words.begin());
  hands->double_click(at(*hands, "timeline/words", before.words[lamp].range.begin + before.words[lamp].range.length() / 2));
  hands->settle();
  ASSERT_TRUE(hands->sees("field/word"));
  hands->click("button/Not said");
  until_spoken(*hands);
  EXPECT_EQ(words(*hands).words.size(), before.words.size() - 1);
  EXPECT_EQ(hands->document().undo_name(), "Change a word");
}

TEST_F(Speech, SoundsAreMovedTrimmedAndTurnedDown_AndTheMouthGoesAlong) {
  with_labels();
  auto hands = open();
  speak_without_a_text(*hands);
  const auto first_key = [&] { return show::find_layer(hands->document().whole(), speech::kSpeechLayer)->channels[0]->keys.front().time; };
  const Time was = first_key();
  hands->press(GLFW_KEY_W, kCtrl | kAlt);
  hands->settle();
  ASSERT_TRUE(hands->sees("field/sound_start_0"));
  hands->click("field/sound_start_0");
  hands->type("1.5");
  hands->press(GLFW_KEY_ENTER);
  hands->settle();
  EXPECT_EQ(hands->document().whole().sounds[0].start, Time{1'500'000'000});
  EXPECT_EQ(first_key(), was + Time{200'000'000});
  hands->click("field/sound_trim_0");
  hands->type("0.1");
  hands->press(GLFW_KEY_ENTER);
  hands->settle();
  EXPECT_EQ(hands->document().whole().sounds[0].trim, Time{100'000'000});
  EXPECT_EQ(hands->document().whole().sounds[0].start, Time{1'600'000'000}) << "what is left stays where it is heard";
  EXPECT_EQ(first_key(), was + Time{200'000'000});
  hands->click("field/sound_gain_0");
  hands->type("-6");
  hands->press(GLFW_KEY_ENTER);
  hands->settle();
  EXPECT_EQ(hands->document().whole().sounds[0].gain_db, -6);
  // By its handle, too.
  const auto& box = hands->probe.boxes.at("sound/keeper.ogg");
  const ImVec2 grip{box.min.x + 40, (box.min.y + box.max.y) * 0.5f};
  hands->drag(grip, {grip.x + 60, grip.y});
  hands->settle();
  EXPECT_GT(hands->document().whole().sounds[0].start, Time{1'700'000'000});
  EXPECT_EQ(first_key() - was, hands->document().whole().sounds[0].start - Time{1'400'000'000});
  EXPECT_EQ(hands->document().undo_name(), "Move sound");
}

TEST_F(Speech, ASoundsEndIsLeftOutByItsGripAndByNumber_AndItsMouthIsStillThere) {
  with_labels();
  auto hands = open();
  speak_without_a_text(*hands);
  const std::size_t keys = mouth_keys(*hands);
  const auto weight = [&](Time t) { return motion::evaluate(show::Channel{"", show::find_layer(hands->document().whole(), speech::kSpeechLayer)->weight_curve}, t, 0); };
  ASSERT_EQ(weight(Time{12'000'000'000}), 1);
  const Time length = (*sound::load(folder / "keeper.ogg"))->length();
  const auto end_of = [&] {
    const show::Sound& s = hands->document().whole().sounds[0];
    return s.start + show::heard_of(s, length).length();
  };
  const Time whole = end_of();
  const auto grip = [&] {
    const auto& box = hands->probe.boxes.at("sound/keeper.ogg");
    return ImVec2{box.max.x - 2, (box.min.y + box.max.y) * 0.5f};
  };
  const ImVec2 from = grip();
  hands->drag(from, {from.x - 300, from.y});
  hands->settle();
  ASSERT_GT(hands->document().whole().sounds[0].trim_end, Time{0});
  const show::Sound trimmed = hands->document().whole().sounds[0];
  EXPECT_EQ(hands->document().undo_name(), "Trim sound");
  EXPECT_EQ(trimmed.start, Time{1'300'000'000});
  EXPECT_EQ(trimmed.trim, Time{0});
  EXPECT_GT(trimmed.trim_end, Time{2'000'000'000});
  EXPECT_EQ(end_of(), whole - trimmed.trim_end);
  const auto begins = sound::onsets(**sound::load(folder / "keeper.ogg"));
  EXPECT_TRUE(end_of().count() % 10'000'000 == 0 || std::ranges::count(begins, end_of() - trimmed.start)) << "it landed on a tick or an onset: " << end_of().count();
  EXPECT_EQ(weight(end_of() + Time{500'000'000}), 0);
  EXPECT_EQ(weight(end_of() - Time{500'000'000}), 1);
  EXPECT_EQ(mouth_keys(*hands), keys) << "what it says stays for when it is heard again";
  EXPECT_EQ(hands->probe.boxes.at("sound/keeper.ogg").max.x, grip().x + 2);
  // By number.
  hands->press(GLFW_KEY_W, kCtrl | kAlt);
  hands->settle();
  ASSERT_TRUE(hands->sees("field/sound_trim_end_0"));
  hands->click("field/sound_trim_end_0");
  hands->type("1.5");
  hands->press(GLFW_KEY_ENTER);
  hands->settle();
  EXPECT_EQ(hands->document().whole().sounds[0].trim_end, Time{1'500'000'000});
  // No number leaves less of it than can be taken hold of.
  hands->click("field/sound_trim_end_0");
  hands->type("99");
  hands->press(GLFW_KEY_ENTER);
  hands->settle();
  EXPECT_GE(show::heard_of(hands->document().whole().sounds[0], length).length(), Time{20'000'000});
  for (int n = 0; n < 3; ++n) hands->press(GLFW_KEY_Z, kCtrl), hands->settle();
  EXPECT_EQ(hands->document().whole().sounds[0].trim_end, Time{0});
  EXPECT_EQ(weight(Time{12'000'000'000}), 1) << "undo gives the mouth back, too";
}

TEST_F(Speech, KeysOfAnotherHandOnAMouthThatSpeaksAreNoticed_UntilTheyAreGone) {
  auto hands = open();
  speak_without_a_text(*hands);
  const auto rivals = [&] { return std::count_if(hands->studio->notices().begin(), hands->studio->notices().end(), [](const show::Finding& f) { return f.what.find("covers") != std::string::npos; }); };
  EXPECT_EQ(rivals(), 0);
  hands->studio->apply(editor::Change{editor::SetKey{"jaw_open", {Time{5'000'000'000}, 0.4, show::kSmooth}}});
  hands->settle();
  ASSERT_EQ(rivals(), 1);
  hands->studio->apply(editor::Change{editor::SetKey{"jaw_open", {Time{6'000'000'000}, 0.4, show::kSmooth}}});
  hands->settle();
  ASSERT_EQ(rivals(), 1) << "one for a hand, however many keys";
  const auto told = std::find_if(hands->studio->notices().begin(), hands->studio->notices().end(), [](const show::Finding& f) { return f.what.find("covers") != std::string::npos; });
  EXPECT_THAT(told->what, HasSubstr("the show has 2 keys of jaw_open"));
  EXPECT_THAT(told->cure, HasSubstr("Delete them"));
  hands->press(GLFW_KEY_Z, kCtrl), hands->settle();
  hands->press(GLFW_KEY_Z, kCtrl), hands->settle();
  EXPECT_EQ(rivals(), 0);
}

// A line from a file that does not say how it was made.
TEST_F(Speech, WordsThatWereNotSavedComeBackAfterACrash) {
  with_labels();
  const auto places = store::Places{folder / "config", folder / "state"};
  speech::Alignment corrected;
  std::size_t mouth = 0;
  {
    auto hands = std::make_unique<Hands>(small_rig(), small_show(), ImVec2{1600, 900});
    hands->studio->move_in(places);
    hands->studio->open(folder / "line.show.json");
    until(*hands, [&] { return hands->sees("sound/keeper.ogg"); });
    hands->settle();
    const auto lamp = static_cast<std::size_t>(std::find_if(words(*hands).words.begin(), words(*hands).words.end(), [](const auto& w) { return w.text == "lamp"; }) - words(*hands).words.begin());
    editor::Say say;
    say.what = editor::Say::Do::move, say.boundary = {true, lamp, false}, say.to = Time{1'300'000'000} + words(*hands).words[lamp].range.begin - Time{40'000'000}, say.done = true;
    hands->studio->apply(say);
    until_spoken(*hands);
    corrected = words(*hands), mouth = mouth_keys(*hands);
    ASSERT_TRUE(hands->document().unsaved());
    for (int n = 0; n < 10; ++n) hands->frame();
  }
  ASSERT_NE(*talk::read_alignment(folder / "keeper.TextGrid"), corrected);
  Hands hands(small_rig(), small_show(), {1600, 900});
  hands.studio->move_in(places);
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::recover);
  hands.click("button/Bring it back");
  until(hands, [&] { return hands.sees("sound/keeper.ogg") && hands.sees("timeline/words"); });
  EXPECT_EQ(mouth_keys(hands), mouth);
  ASSERT_EQ(words(hands).words.size(), corrected.words.size());
  for (std::size_t w = 0; w < corrected.words.size(); ++w) {
    EXPECT_EQ(words(hands).words[w].text, corrected.words[w].text);
    EXPECT_NEAR(show::to_seconds(words(hands).words[w].range.begin - corrected.words[w].range.begin), 0, 1e-5) << corrected.words[w].text;
  }
  hands.press(GLFW_KEY_S, kCtrl);
  hands.settle();
  const auto saved = talk::read_alignment(folder / "keeper.TextGrid");
  ASSERT_TRUE(saved);
  EXPECT_EQ(saved->phones.size(), words(hands).phones.size());
  for (std::size_t p = 0; p < saved->phones.size(); ++p) EXPECT_NEAR(show::to_seconds(saved->phones[p].range.begin - words(hands).phones[p].range.begin), 0, 1e-5);
}

TEST_F(Speech, SoundsAreShownByFrequencyWhenAskedFor) {
  auto hands = open();
  const int by_level = hands->vertices;
  hands->press(GLFW_KEY_F, kCtrl | kAlt);
  until(*hands, [&] { return !hands->studio->lively(); });
  hands->settle();
  EXPECT_TRUE(hands->studio->view().spectrogram);
  EXPECT_GT(hands->vertices, by_level + 4000);
  hands->press(GLFW_KEY_F, kCtrl | kAlt);
  hands->settle();
  EXPECT_LT(std::abs(hands->vertices - by_level), 400);
}

TEST_F(Speech, AShowWithoutASoundAsksForOneFirst) {
  auto loaded = store::load_show(folder / "line.show.json");
  show::Show silent = *loaded->show;
  silent.sounds.clear();
  ASSERT_FALSE(store::save_show(folder / "line.show.json", silent));
  Hands hands(small_rig(), small_show(), {1600, 900});
  hands.studio->open(folder / "line.show.json");
  hands.settle();
  hands.choose("Make the head speak\u2026");
  ASSERT_EQ(hands.studio->dialog(), Dialog::add_sound);
  hands.double_click(hands.middle("path/keeper.ogg"));
  until(hands, [&] { return hands.sees("sound/keeper.ogg"); });
  EXPECT_EQ(hands.studio->dialog(), Dialog::speak) << "and then for the text";
}

}  // namespace
}  // namespace mien::tests
