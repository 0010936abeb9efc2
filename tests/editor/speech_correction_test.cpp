// Words and phones that a person corrects, gives to a file or takes from one: what becomes of the line that was made of them.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>

#include <algorithm>

#include "editor/speech_hands.hpp"
#include "speech/labels.hpp"
#include "store/disk.hpp"
#include "talk/files.hpp"

namespace mien::tests {
namespace {

using editor::Dialog;
using editor::kCtrl;
using show::Time;
using testing::HasSubstr;

TEST_F(Speech, ACorrectionOfALineFromElsewhereIsMadeAsTheDialogHasItsAmounts) {
  auto hands = open();
  hands->studio->panels().speak.text.clear();
  hands->studio->panels().speak.brows = 1, hands->studio->panels().speak.blinks = 1;
  speak_without_a_text(*hands);
  ASSERT_TRUE(show::find_layer(hands->document().whole(), talk::kMannerLayer));
  hands->press(GLFW_KEY_S, kCtrl);
  hands->settle();
  speech::Alignment elsewhere = words(*hands);
  ASSERT_FALSE(elsewhere.made_with.empty());
  elsewhere.made_with.clear();
  ASSERT_FALSE(talk::write_alignment(folder / "keeper.TextGrid", elsewhere));
  hands.reset();
  hands = open();
  ASSERT_FALSE(hands->studio->speech().drawn().empty());
  const auto before = *show::find_layer(hands->document().whole(), talk::kMannerLayer);
  // All of its amounts to nothing: a correction takes the manner out there, and there alone.
  auto& speak = hands->studio->panels().speak;
  speak.brows = speak.head = speak.blinks = speak.gaze = 0;
  const auto phone = std::find_if(words(*hands).phones.begin(), words(*hands).phones.end(), [](const auto& p) { return p.range.begin > Time{4'000'000'000}; });
  ASSERT_NE(phone, words(*hands).phones.end());
  const auto index = static_cast<std::size_t>(phone - words(*hands).phones.begin());
  editor::Say say;
  say.what = editor::Say::Do::move, say.boundary = {false, index, true}, say.to = Time{1'300'000'000} + phone->range.end - Time{20'000'000}, say.done = true;
  hands->studio->apply(say);
  until_spoken(*hands);
  const auto after = *show::find_layer(hands->document().whole(), talk::kMannerLayer);
  std::size_t less = 0;
  for (std::size_t c = 0; c < before.channels.size(); ++c)
    for (const auto& key : before.channels[c]->keys) {
      const bool there = std::find(after.channels[c]->keys.begin(), after.channels[c]->keys.end(), key) != after.channels[c]->keys.end();
      less += !there;
      if (key.time < Time{2'000'000'000} || key.time > Time{11'000'000'000}) { EXPECT_TRUE(there) << before.channels[c]->control; }
    }
  EXPECT_GT(less, 0u);
}

TEST_F(Speech, ACorrectionIsMadeAsItsLineWas_WhateverTheDialogHasNow_AlsoInAnotherSession) {
  auto hands = open();
  auto* speak = &hands->studio->panels().speak;
  speak->text.clear();
  speak->brows = 1, speak->blinks = 1, speak->seed = 7;
  speak_without_a_text(*hands);
  EXPECT_EQ(talk::parse_style(words(*hands).made_with)->delivery.seed, 7u);
  const auto made = *show::find_layer(hands->document().whole(), talk::kMannerLayer);
  const auto there_and_back = [&] {  // an edge by 20 ms, and back: with the same amounts and seed all is as it was
    const auto phone = std::find_if(words(*hands).phones.begin(), words(*hands).phones.end(), [](const auto& p) { return p.range.begin > Time{4'000'000'000}; });
    const auto index = static_cast<std::size_t>(phone - words(*hands).phones.begin());
    const Time end = phone->range.end;
    for (const Time by : {Time{-20'000'000}, Time{0}}) {
      editor::Say say;
      say.what = editor::Say::Do::move, say.boundary = {false, index, true}, say.to = Time{1'300'000'000} + end + by, say.done = true;
      hands->studio->apply(say);
      until_spoken(*hands);
    }
  };
  speak->brows = speak->head = speak->blinks = speak->gaze = 0, speak->seed = 1;
  there_and_back();
  EXPECT_EQ(*show::find_layer(hands->document().whole(), talk::kMannerLayer), made);
  hands->press(GLFW_KEY_S, kCtrl);
  hands->settle();
  hands.reset();
  hands = open();
  speak = &hands->studio->panels().speak;
  speak->brows = speak->head = speak->blinks = speak->gaze = 0;
  there_and_back();
  EXPECT_EQ(*show::find_layer(hands->document().whole(), talk::kMannerLayer), made);
  hands->choose("Make the head speak\u2026");
  hands->settle();
  EXPECT_FLOAT_EQ(speak->brows, 1) << "the dialog begins with what the line was made with";
  EXPECT_EQ(speak->seed, 7);
}

TEST_F(Speech, WordsAndPhonesAreGivenToAFileAndTakenFromOne) {
  with_labels();
  auto hands = open();
  const auto before = words(*hands);
  const auto name_it = [&](const char* name) {
    hands->settle();
    hands->click("field/path");
    hands->press(GLFW_KEY_A, kCtrl);
    hands->type((folder / name).string());
    hands->press(GLFW_KEY_ENTER);
    hands->settle();
  };
  for (const char* name : {"mine.lab", "mine.tsv", "mine.TextGrid"}) {
    hands->choose("Give words and phones to a file\u2026");
    name_it(name);
    EXPECT_EQ(hands->studio->dialog(), Dialog::none) << name;
    const auto text = store::read_file(folder / name, 1u << 20);
    ASSERT_TRUE(text) << name;
    const auto read = speech::read_labels(*text, *speech::label_form(name), name);
    ASSERT_TRUE(read) << name;
    EXPECT_EQ(read->phones.size(), before.phones.size()) << name;
  }
  hands->choose("Give words and phones to a file\u2026");
  name_it("mine.doc");
  ASSERT_FALSE(hands->studio->notices().empty());
  EXPECT_THAT(hands->studio->notices().back().what, HasSubstr("which labels"));

  // One phone later by 30 ms, as somebody's other tool has it: taken, with its mouth, as one step.
  auto other = before;
  other.phones[3].range.end += Time{30'000'000}, other.phones[4].range.begin += Time{30'000'000};
  ASSERT_FALSE(store::replace_file(folder / "other.lab", speech::write_labels(other, speech::LabelForm::htk)));
  const std::size_t steps = hands->document().steps();
  hands->choose("Take words and phones from a file\u2026");
  name_it("other.lab");
  until_spoken(*hands);
  EXPECT_EQ(words(*hands).phones[3].range.end, other.phones[3].range.end);
  EXPECT_GT(mouth_keys(*hands), 100u) << "of the whole line";
  EXPECT_EQ(hands->document().steps(), steps + 1);
  EXPECT_EQ(hands->document().undo_name(), "Take words and phones");
  hands->press(GLFW_KEY_Z, kCtrl);
  hands->settle();
  EXPECT_EQ(words(*hands), before);
  EXPECT_EQ(mouth_keys(*hands), 0u);

  ASSERT_FALSE(store::replace_file(folder / "words.tsv", speech::write_labels(before, speech::LabelForm::tabs, true)));
  hands->choose("Take words and phones from a file\u2026");
  name_it("words.tsv");
  EXPECT_THAT(hands->studio->notices().back().what, HasSubstr("no phones"));
}

// Its word changes, no key does: there is something to save all the same, and to undo.
TEST_F(Speech, ACorrectionThatMovesNoKeyIsAnEditToo) {
  with_labels();
  auto hands = open();
  hands->studio->panels().speak.text = "";
  const auto lamp = static_cast<std::size_t>(std::find_if(words(*hands).words.begin(), words(*hands).words.end(), [](const auto& w) { return w.text == "lamp"; }) - words(*hands).words.begin());
  const auto reword = [&](const char* text) {
    editor::Say say;
    say.what = editor::Say::Do::reword, say.boundary = {true, lamp, false}, say.text = text;
    hands->studio->apply(say);
    until_spoken(*hands);
  };
  const auto edge_to_where_it_is = [&] {
    editor::Say say;
    say.what = editor::Say::Do::move, say.boundary = {true, lamp, false}, say.to = Time{1'300'000'000} + words(*hands).words[lamp].range.begin, say.done = true;
    hands->studio->apply(say);
    until_spoken(*hands);
  };
  edge_to_where_it_is();  // now the mouth around it is there, and a hand has vouched for the edge
  hands->press(GLFW_KEY_S, kCtrl);
  hands->settle();
  ASSERT_FALSE(hands->document().unsaved());
  const std::size_t steps = hands->document().steps(), at = hands->document().at();
  const auto before = words(*hands);
  edge_to_where_it_is();
  EXPECT_EQ(hands->document().steps(), steps) << "the same again is none";
  EXPECT_FALSE(hands->document().unsaved());
  const auto keys = mouth_keys(*hands);
  reword("\xD0\xBB\xD0\xB0\xD0\xBC\xD0\xBF\xD0\xB0");  // a word of another script: nobody knows how it sounds, so that its phones stay
  ASSERT_NE(words(*hands), before);
  EXPECT_EQ(mouth_keys(*hands), keys);
  EXPECT_EQ(hands->document().steps(), steps + 1);
  EXPECT_TRUE(hands->document().unsaved());
  EXPECT_EQ(hands->document().undo_name(), "Change a word");
  hands->press(GLFW_KEY_Z, kCtrl);
  hands->settle();
  EXPECT_EQ(hands->document().at(), at);
  EXPECT_EQ(words(*hands), before);
  EXPECT_FALSE(hands->document().unsaved());
  hands->press(GLFW_KEY_Z, kCtrl | editor::kShift);
  hands->settle();
  EXPECT_NE(words(*hands), before);
  EXPECT_TRUE(hands->document().unsaved());
}

// The recovery file of a window that is gone, as a crash leaves it: its claim on it goes with it, the file stays.
}  // namespace
}  // namespace mien::tests
