// The window while it has the desktop's dialog for files, by hand; the desktop is made up.
#include "editor/desktop_dialog.hpp"

#include <GLFW/glfw3.h>
#include <fnmatch.h>
#include <gmock/gmock.h>

#include <mutex>
#include <thread>

#include "editor/hands.hpp"
#include "editor/path_wording.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kCtrl;
using editor::kShift;
using editor::PathAnswer;
using editor::PathWanted;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using What = editor::PathAnswer::What;

/// A desktop whose person chooses when the test says so.
class Desk {
 public:
  editor::AskPortal ask() {
    return [this](const PathWanted& wanted, const editor::GoOn& go_on) {
      {
        const std::scoped_lock lock(mutex_);
        asked_.push_back(wanted);
      }
      for (;; std::this_thread::sleep_for(std::chrono::milliseconds(1))) {
        const std::scoped_lock lock(mutex_);
        if (!go_on(0)) {
          ++closed_;
          return PathAnswer{What::cancelled, {}, ""};
        }
        if (answer_) return *std::exchange(answer_, {});
      }
    };
  }
  void answers(PathAnswer answer) {
    const std::scoped_lock lock(mutex_);
    answer_ = std::move(answer);
  }
  std::vector<PathWanted> asked() const {
    const std::scoped_lock lock(mutex_);
    return asked_;
  }
  int closed() const {
    const std::scoped_lock lock(mutex_);
    return closed_;
  }

 private:
  mutable std::mutex mutex_;
  std::vector<PathWanted> asked_;
  std::optional<PathAnswer> answer_;
  int closed_ = 0;
};

template <class Done>
bool until(Done done) {
  for (int i = 0; i < 5000; ++i) {
    if (done()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  return false;
}

TEST(DesktopDialog, HasOneQuestionAtATimeAndLosesTheAnswerToWhatWasClosed) {
  Desk desk;
  editor::DesktopDialog dialog;
  EXPECT_TRUE(dialog.none());
  dialog.use(desk.ask(), "x11:7");
  EXPECT_FALSE(dialog.none());
  PathWanted first, second;
  first.title = "first", second.title = "second";
  dialog.ask(first);
  ASSERT_TRUE(until([&] { return desk.asked().size() == 1; }));
  EXPECT_EQ(desk.asked()[0].parent, "x11:7");
  dialog.ask(second);
  EXPECT_EQ(desk.asked().size(), 1u) << "not before the first is closed";
  std::optional<PathAnswer> answer;
  const auto answered = [&] { return (answer = dialog.answer()).has_value(); };
  ASSERT_TRUE(until([&] { return !answered() && desk.asked().size() == 2; }));
  EXPECT_FALSE(answer);
  EXPECT_EQ(desk.closed(), 1);
  desk.answers({What::chosen, "/second", ""});
  ASSERT_TRUE(until(answered));
  EXPECT_EQ(answer->path, "/second");
  EXPECT_FALSE(dialog.asking());
}

TEST(DesktopDialog, IsClosedWhenTheWindowEnds) {
  Desk desk;
  {
    editor::DesktopDialog dialog;
    dialog.use(desk.ask(), "");
    dialog.ask({});
    ASSERT_TRUE(until([&] { return desk.asked().size() == 1; }));
  }
  EXPECT_EQ(desk.closed(), 1);
}

// POSIX fnmatch() stands for the desktop's own matching of the portal's globs.
TEST(DesktopDialog, OffersTheKindsOfFileThatTheQuestionIsFor) {
  struct Case { Dialog which; bool save; const char* file; const char* other; };
  for (const Case& c : {Case{Dialog::open_show, false, "a.show.json", "a.rig.json"}, Case{Dialog::save_as, true, "a.show.json", "a.rig.json"}, Case{Dialog::new_show, false, "a.rig.json", "a.show.json"},
                        Case{Dialog::import_library, false, "a.clips.json", "a.show.json"}, Case{Dialog::export_library, true, "a.clips.json", "a.show.json"},
                        Case{Dialog::import_labels, false, "a.TextGrid", "a.txt"}, Case{Dialog::export_labels, true, "A.TSV", "a.txt"}, Case{Dialog::add_sound, false, "A.WAV", "a.txt"}, Case{Dialog::add_sound, false, "a.flac", "a.flac.txt"}}) {
    const PathWanted wanted = editor::wanted_of(c.which);
    EXPECT_EQ(wanted.save, c.save);
    EXPECT_FALSE(wanted.title.empty());
    EXPECT_FALSE(wanted.accept.empty());
    ASSERT_EQ(wanted.filters.size(), 2u);
    const auto takes = [](const editor::PathFilter& filter, const char* name) { return std::any_of(filter.globs.begin(), filter.globs.end(), [&](const std::string& glob) { return ::fnmatch(glob.c_str(), name, 0) == 0; }); };
    EXPECT_TRUE(takes(wanted.filters[0], c.file)) << c.file;
    EXPECT_FALSE(takes(wanted.filters[0], c.other)) << c.other;
    EXPECT_TRUE(takes(wanted.filters[1], c.other)) << "all files";
  }
}

class AtTheDesktop : public testing::Test {
 protected:
  void SetUp() override {
    EXPECT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
    for (const char* name : {"alpha", "beta"}) {
      show::Show show = small_show();
      show.name = name;
      EXPECT_FALSE(store::save_show(folder / (std::string(name) + ".show.json"), show));
    }
    hands.studio->move_in({folder / "config", folder / "state"});
    hands.studio->use_desktop_dialogs(desk.ask(), "x11:7");
    hands.studio->panels().path.folder = folder / "";
  }
  template <class Done>
  bool frames_until(Done done) {
    return until([&] { return hands.frame(), done(); });
  }
  bool asked(std::size_t times) {
    return frames_until([&] { return desk.asked().size() == times; });
  }
  // Opens alpha by the desktop's dialog.
  void open_alpha() {
    hands.press(GLFW_KEY_O, kCtrl);
    desk.answers({What::chosen, folder / "alpha.show.json", ""});
    ASSERT_TRUE(frames_until([&] { return hands.document().file() == folder / "alpha.show.json"; }));
    hands.settle();
  }
  void save_as() { hands.press(GLFW_KEY_S, kCtrl | kShift); }
  support::Folder folder;
  Desk desk;  // outlives the hands, whose thread it answers
  Hands hands;
};

TEST_F(AtTheDesktop, AShowIsOpened) {
  open_alpha();
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  ASSERT_EQ(desk.asked().size(), 1u);
  EXPECT_EQ(desk.asked()[0].folder, folder / "");
  EXPECT_EQ(desk.asked()[0].title, "Open a show");
  EXPECT_EQ(desk.asked()[0].parent, "x11:7");
  EXPECT_FALSE(hands.sees("field/path"));
}

TEST_F(AtTheDesktop, OneIsOpenAtATimeAndTheWindowGoesOnAndSaysSo) {
  hands.press(GLFW_KEY_O, kCtrl);
  ASSERT_TRUE(asked(1));
  EXPECT_FALSE(hands.sees("field/path")) << "not two dialogs";
  hands.press(GLFW_KEY_O, kCtrl);
  EXPECT_TRUE(hands.studio->act("open"));
  hands.settle();
  ASSERT_TRUE(frames_until([&] { return hands.sees("button/Mien\u2019s own dialog"); }));
  EXPECT_FALSE(hands.sees("field/path"));
  EXPECT_EQ(desk.asked().size(), 1u);
  EXPECT_EQ(desk.closed(), 0);
  const double before = ImGui::GetTime();
  hands.stage.now.time = show::from_seconds(1);
  hands.frame();
  EXPECT_GT(ImGui::GetTime(), before);
  EXPECT_EQ(hands.studio->playhead(), show::from_seconds(1)) << "the performance is followed meanwhile";
}

TEST_F(AtTheDesktop, EscStopsAndClosesIt) {
  hands.press(GLFW_KEY_O, kCtrl);
  ASSERT_TRUE(asked(1));
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(hands.stage.asked.back(), "stop");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_TRUE(frames_until([&] { return desk.closed() == 1; }));
}

TEST_F(AtTheDesktop, MiensOwnIsOneClickAway) {
  hands.press(GLFW_KEY_O, kCtrl);
  ASSERT_TRUE(frames_until([&] { return hands.sees("button/Mien\u2019s own dialog"); }));
  hands.settle();
  hands.click("button/Mien\u2019s own dialog");
  EXPECT_TRUE(hands.sees("path/alpha.show.json"));
  EXPECT_TRUE(frames_until([&] { return desk.closed() == 1; }));
  EXPECT_EQ(hands.studio->dialog(), Dialog::open_show);
}

TEST_F(AtTheDesktop, CancelledIsAsIfNothingHadBeenAsked) {
  hands.press(GLFW_KEY_O, kCtrl);
  desk.answers({What::cancelled, {}, ""});
  EXPECT_TRUE(frames_until([&] { return hands.studio->dialog() == Dialog::none; }));
  EXPECT_THAT(hands.studio->notices(), IsEmpty());
  hands.press(GLFW_KEY_O, kCtrl);
  EXPECT_TRUE(asked(2));
}

TEST_F(AtTheDesktop, WhereThereIsNoneMiensOwnOpensAndNothingIsSaid) {
  hands.press(GLFW_KEY_O, kCtrl);
  desk.answers({What::none, {}, "no session bus runs"});
  ASSERT_TRUE(frames_until([&] { return hands.sees("field/path"); }));
  EXPECT_THAT(hands.studio->notices(), IsEmpty());
  hands.press(GLFW_KEY_ESCAPE);
  hands.press(GLFW_KEY_ESCAPE);
  hands.press(GLFW_KEY_O, kCtrl);
  EXPECT_TRUE(hands.sees("field/path")) << "at once, since it is known";
  EXPECT_EQ(desk.asked().size(), 1u);
}

TEST_F(AtTheDesktop, AFailureIsSaidOnceAndMiensOwnOpens) {
  hands.press(GLFW_KEY_O, kCtrl);
  desk.answers({What::failed, {}, "the desktop portal ended meanwhile"});
  ASSERT_TRUE(frames_until([&] { return hands.sees("path/alpha.show.json"); }));
  ASSERT_EQ(hands.studio->notices().size(), 1u);
  EXPECT_THAT(hands.studio->notices()[0].what, HasSubstr("the desktop portal ended meanwhile"));
  EXPECT_THAT(hands.studio->notices()[0].cure, HasSubstr("Window > File dialogs"));
  hands.settle();
  hands.click("path/alpha.show.json");
  hands.click("button/Open");
  EXPECT_EQ(hands.document().file(), folder / "alpha.show.json");
  hands.press(GLFW_KEY_O, kCtrl);
  EXPECT_TRUE(hands.sees("field/path"));
  EXPECT_THAT(hands.studio->notices(), IsEmpty());
  EXPECT_EQ(desk.asked().size(), 1u);
}

TEST_F(AtTheDesktop, WhoeverPrefersMiensOwnHasItAlwaysAndAnotherDayToo) {
  EXPECT_TRUE(hands.studio->act("file_dialogs"));
  hands.settle();
  EXPECT_EQ(store::load_settings(folder / "config").settings.dialogs, store::Settings::Dialogs::own);
  hands.press(GLFW_KEY_O, kCtrl);
  EXPECT_TRUE(hands.sees("field/path"));
  EXPECT_THAT(desk.asked(), IsEmpty());
  hands.studio->apply(editor::Ask{});
  hands.settle();
  EXPECT_TRUE(hands.studio->act("file_dialogs"));
  hands.press(GLFW_KEY_O, kCtrl);
  EXPECT_TRUE(asked(1));
}

// Esc would go to the other window.
TEST_F(AtTheDesktop, AHeadThatIsDrivenKeepsTheKeyboardHere) {
  open_alpha();
  for (const auto state : {link::State::arming, link::State::armed, link::State::disarming, link::State::lost}) {
    hands.stage.status.state = state;
    hands.settle();
    save_as();
    EXPECT_TRUE(hands.sees("field/path")) << link::name(state);
    hands.studio->apply(editor::Ask{});
    hands.settle();
  }
  EXPECT_EQ(desk.asked().size(), 1u);
  hands.stage.status.state = link::State::ready;
  hands.settle();
  save_as();
  ASSERT_TRUE(asked(2));
  hands.stage.status.state = link::State::armed;
  hands.settle();
  EXPECT_TRUE(hands.sees("field/path")) << "one that is open goes";
  EXPECT_TRUE(frames_until([&] { return desk.closed() == 1; }));
}

TEST_F(AtTheDesktop, WritingOverAFileIsNotAskedTwice) {
  open_alpha();
  save_as();
  ASSERT_TRUE(asked(2));
  EXPECT_TRUE(desk.asked()[1].save);
  EXPECT_EQ(desk.asked()[1].name, "alpha.show.json");
  desk.answers({What::chosen, folder / "beta.show.json", ""});
  ASSERT_TRUE(frames_until([&] { return hands.document().file() == folder / "beta.show.json"; }));
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_EQ(store::load_show(folder / "beta.show.json")->show->name, "alpha");
}

// The desktop asked about "beta", which is not what is written.
TEST_F(AtTheDesktop, WhatTheDesktopDidNotAskAboutMienAsks) {
  open_alpha();
  const std::string before = support::read(folder / "beta.show.json");
  save_as();
  desk.answers({What::chosen, folder / "beta", ""});
  ASSERT_TRUE(frames_until([&] { return hands.studio->dialog() == Dialog::replaced; }));
  EXPECT_THAT(hands.studio->panels().replaced.files, ElementsAre(folder / "beta.show.json"));
  EXPECT_EQ(support::read(folder / "beta.show.json"), before);
}

TEST_F(AtTheDesktop, WhatAnotherProgramDidToTheShowsOwnFileIsAskedAllTheSame) {
  open_alpha();
  support::write(folder / "alpha.show.json", support::read(folder / "alpha.show.json") + "\n\n");
  save_as();
  desk.answers({What::chosen, folder / "alpha.show.json", ""});
  ASSERT_TRUE(frames_until([&] { return hands.studio->dialog() == Dialog::replaced; }));
  EXPECT_TRUE(hands.studio->panels().replaced.own);
}

TEST_F(AtTheDesktop, SavingOnTheWayOutGoesOnToTheEnd) {
  hands.studio->act("marker");  // on a show that has no file yet
  hands.studio->ask_to_quit();
  hands.settle();
  hands.click("button/Save");
  ASSERT_TRUE(asked(1));
  EXPECT_FALSE(hands.studio->quit());
  desk.answers({What::chosen, folder / "gamma.show.json", ""});
  EXPECT_TRUE(frames_until([&] { return hands.studio->quit(); }));
  EXPECT_TRUE(std::filesystem::exists(folder / "gamma.show.json"));
}

}  // namespace
}  // namespace mien::tests
