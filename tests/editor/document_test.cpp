#include "editor/document.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "editor/hands.hpp"

namespace mien::editor {
namespace {
using show::from_seconds;

Document small() {
  return Document(std::make_shared<const show::Rig>(tests::small_rig()), std::make_shared<const show::Show>(tests::small_show()), "a.show.json", false);
}

TEST(Document, SharesEveryChannelThatAnEditDidNotTouch) {
  Document d = small();
  const auto before = d.shared_show();
  EXPECT_EQ(d.commit(MoveKeys{{{"blink", from_seconds(1)}}, from_seconds(0.1)}), "Move key");
  EXPECT_NE(d.show().channels[0], before->channels[0]);
  EXPECT_EQ(d.show().channels[1], before->channels[1]);
}

TEST(Document, UndoAndRedoOverRandomEditsReturnTheIdenticalShow) {
  Document d = small();
  std::mt19937_64 random(3);
  std::vector<show::ShowPtr> past{d.shared_show()};
  const char* controls[] = {"blink", "yaw", "smile"};
  for (int i = 0; i < 2000; ++i) {
    const std::string control = controls[random() % 3];
    const auto t = from_seconds(static_cast<double>(random() % 400) / 100);
    std::string done;
    switch (random() % 5) {
      case 0:
      case 1: done = d.commit(SetKey{control, {t, static_cast<double>(random() % 100) / 50 - 1}}); break;
      case 2: done = d.commit(DeleteKeys{d.selection().refs()}); break;
      case 3: done = d.commit(MoveKeys{all_keys(d.show()).refs(), from_seconds(0.01), 0.1, random() % 2 == 0}); break;
      case 4: done = d.commit(SetEasing{all_keys(d.show()).refs(), show::kEaseIn}); break;
    }
    if (!done.empty()) past.push_back(d.shared_show());
  }
  ASSERT_GT(past.size(), 500u);
  for (std::size_t i = past.size(); i-- > 0; d.undo()) ASSERT_EQ(d.shared_show(), past[i]) << i;
  EXPECT_FALSE(d.can_undo());
  for (std::size_t i = 0; i < past.size(); ++i, d.redo()) ASSERT_TRUE(show::same(d.show(), *past[i])) << i;
}

TEST(Document, ADraftIsNoStepAndCanBeTakenBack) {
  Document d = small();
  const auto before = d.shared_show();
  d.draft(MoveKeys{{{"blink", from_seconds(1)}}, from_seconds(0.1)});
  EXPECT_NE(d.shared_show(), before);
  EXPECT_FALSE(d.can_undo());
  EXPECT_FALSE(d.unsaved());
  d.take_back();
  EXPECT_EQ(d.shared_show(), before);
}

TEST(Document, IsUnsavedUntilTheSavedStepIsCurrentAgain) {
  Document d = small();
  EXPECT_FALSE(d.unsaved());
  d.commit(SetKey{"smile", {from_seconds(1), 0.5}});
  EXPECT_TRUE(d.unsaved());
  d.undo();
  EXPECT_FALSE(d.unsaved());
  d.redo();
  d.mark_saved("b.show.json", d.shared_show());
  EXPECT_FALSE(d.unsaved());
  d.undo();
  EXPECT_TRUE(d.unsaved());
}

TEST(Document, AnEditThatChangesNothingMakesNoStep) {
  Document d = small();
  EXPECT_EQ(d.commit(MoveKeys{{{"blink", from_seconds(1)}}, show::Time{0}}), "");
  EXPECT_EQ(d.commit(DeleteKeys{}), "");
  EXPECT_FALSE(d.can_undo());
}

TEST(Document, ValuesKeepToTheControlsRangeAndAGroupOfKeysMovesAsOne) {
  Document d = small();
  d.commit(SetKey{"blink", {from_seconds(2), 7}});
  EXPECT_EQ(find_key(d.show(), {"blink", from_seconds(2)})->value, 1);
  d.commit(SetKey{"blink", {from_seconds(2.5), NAN}});
  EXPECT_EQ(find_key(d.show(), {"blink", from_seconds(2.5)})->value, 0);
  Document e = small();
  e.commit(SetKey{"blink", {from_seconds(1), 0.75}});
  e.commit(MoveKeys{{{"blink", from_seconds(0.5)}, {"blink", from_seconds(1)}}, show::Time{0}, 0.9});
  EXPECT_NEAR(find_key(e.show(), {"blink", from_seconds(0.5)})->value, 0.25, 1e-12);
  EXPECT_NEAR(find_key(e.show(), {"blink", from_seconds(1)})->value, 1, 1e-12);
}

TEST(Document, PasteLeavesOutControlsThatTheRigHasNot) {
  Document d = small();
  show::KeyBundle bundle;
  bundle.strands = {{"smile", {{show::Time{0}, 0.5}}}, {"wings", {{show::Time{0}, 1}}}};
  EXPECT_EQ(d.commit(PasteKeys{bundle, from_seconds(1)}), "Paste key");
  EXPECT_TRUE(find_key(d.show(), {"smile", from_seconds(1)}));
  EXPECT_EQ(show::find_channel(d.show(), "wings"), nullptr);
}

TEST(Document, AMarkerIsRenamedMovedAndDeletedAndNoOtherAtItsTime) {
  Document d = small();
  const show::Time at = from_seconds(1);
  d.commit(AddMarker{{at, "a"}});
  d.commit(AddMarker{{at, "b"}});
  EXPECT_EQ(d.commit(SetMarker{{at, "a"}, {at, "breath"}}), "Rename marker");
  EXPECT_EQ(d.show().markers, (std::vector<show::Marker>{{at, "b"}, {at, "breath"}}));
  EXPECT_EQ(d.commit(SetMarker{{at, "b"}, {from_seconds(-3), "b"}}), "Move marker");
  EXPECT_EQ(d.show().markers.front(), (show::Marker{show::Time{0}, "b"}));
  EXPECT_EQ(d.commit(SetMarker{{at, "gone"}, {at, "x"}}), "");
  EXPECT_EQ(d.commit(DeleteMarker{{at, "b"}}), "");
  EXPECT_EQ(d.commit(DeleteMarker{{at, "breath"}}), "Delete marker");
  EXPECT_EQ(d.show().markers.size(), 1u);
}

TEST(Document, ComputedChannelsAreOneNamedStepAndKeepWhatIsChosenWhereItStillIs) {
  Document d = small();
  d.select(all_keys(d.show()));
  auto channels = d.show().channels;
  channels[0] = std::make_shared<const show::Channel>(show::Channel{channels[0]->control, {channels[0]->keys[0]}});
  channels.push_back(nullptr);
  EXPECT_EQ(d.commit(SetChannels{"Make all arrive", channels}), "Make all arrive");
  EXPECT_EQ(d.show().channels.size(), channels.size() - 1);
  EXPECT_EQ(d.selection().of(channels[0]->control)->size(), 1u);
}

}  // namespace
}  // namespace mien::editor
