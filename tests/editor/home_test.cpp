// What the window remembers of the person, and what it saves from a crash; by hand, without a window.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include "editor/hands.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using testing::HasSubstr;

class Home : public testing::Test {
 protected:
  // What the desktop of whoever runs this wants is not what is tested.
  void SetUp() override {
    for (const char* name : {"GTK_THEME", "DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
  }
  support::Folder folder;
  store::Places places{folder / "config", folder / "state"};
  // The small show as files, so that it can be opened by name.
  std::filesystem::path saved(const std::string& name, const show::Show& show = small_show()) {
    EXPECT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
    EXPECT_FALSE(store::save_show(folder / (name + ".show.json"), show));
    return folder / (name + ".show.json");
  }
  std::unique_ptr<Hands> hands() {
    auto h = std::make_unique<Hands>();
    h->studio->move_in(places);
    h->settle();
    return h;
  }
  void await_writing() {
    for (int i = 0; i < 1000 && recoveries() == 0; ++i) ::usleep(10'000);
  }
  int recoveries() const {
    int count = 0;
    std::error_code ignored;
    for (const auto& e : std::filesystem::directory_iterator(places.state / "recovery", ignored)) count += e.path().extension() == ".recovery";
    return count;
  }
  // A window in another process that makes two edits on that show and is killed, with no word.
  void crash(const std::filesystem::path& file) {
    int ends[2];
    ASSERT_EQ(::pipe(ends), 0);
    const pid_t child = ::fork();
    if (child == 0) {
      {
        Hands h;
        h.studio->move_in(places);
        h.studio->open(file);
        h.settle();
        h.click(h.at("blink", 1));
        h.press(GLFW_KEY_RIGHT, kAlt);
        h.press(GLFW_KEY_RIGHT, kAlt);
        // By the clock of the promise: within 2 s the disk has it, or the test fails.
        for (int i = 0; i < 200; ++i) {
          ::usleep(10'000);
          h.frame();
        }
        if (::write(ends[1], "x", 1) != 1) ::_exit(1);
        for (;;) ::pause();
      }
    }
    char ready = 0;
    ASSERT_EQ(::read(ends[0], &ready, 1), 1);
    ::close(ends[0]), ::close(ends[1]);
    ASSERT_EQ(::kill(child, SIGKILL), 0);
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFSIGNALED(status));
  }
};

TEST_F(Home, WorkOfAKilledWindowIsOfferedWithWhatItHoldsAndComesBack) {
  const auto file = saved("a");
  crash(file);
  const auto h = hands();
  ASSERT_EQ(h->studio->dialog(), Dialog::recover);
  ASSERT_EQ(h->studio->left().size(), 1u);
  EXPECT_EQ(h->studio->left()[0].file, file);
  EXPECT_EQ(h->studio->left()[0].edits, 2);
  EXPECT_LE(std::abs(h->studio->left()[0].time_s - std::time(nullptr)), 600);
  const auto crashed = h->studio->left()[0].recovery;
  h->click("button/Bring it back");
  EXPECT_EQ(h->studio->dialog(), Dialog::none);
  EXPECT_EQ(h->document().file(), file);
  EXPECT_TRUE(h->document().unsaved());
  EXPECT_EQ(h->keys("blink")[1].time, show::from_seconds(1.02));
  // Its own file holds it by now, the old one is gone, and a save leaves none.
  for (int i = 0; i < 1000 && std::filesystem::exists(crashed); ++i) ::usleep(10'000);
  EXPECT_EQ(recoveries(), 1);
  h->press(GLFW_KEY_S, kCtrl);
  h->settle();
  for (int i = 0; i < 1000 && recoveries() > 0; ++i) ::usleep(10'000);
  EXPECT_EQ(recoveries(), 0);
  EXPECT_EQ(store::load_show(file)->show->channels[0]->keys[1].time, show::from_seconds(1.02));
}

TEST_F(Home, TheFileItselfIsAsItWasUntilThePersonSaves) {
  const auto file = saved("a");
  const std::string before = support::read(file);
  crash(file);
  EXPECT_EQ(support::read(file), before);
}

TEST_F(Home, WorkIsOfferedToOneOfTwoWindowsAndThrownAwayOnlyWhenSaidTwice) {
  crash(saved("a"));
  {
    const auto h = hands();
    EXPECT_TRUE(store::left_behind(places.state / "recovery").empty());
    h->click("button/Later");
    EXPECT_EQ(h->studio->dialog(), Dialog::none);
    EXPECT_TRUE(h->studio->act("recover"));
    h->settle();
    EXPECT_EQ(h->studio->dialog(), Dialog::recover);
  }
  const auto h = hands();
  ASSERT_EQ(h->studio->dialog(), Dialog::recover) << "what was put off is offered again";
  h->click("button/Throw away\u2026");
  EXPECT_EQ(recoveries(), 1);
  h->click("button/Yes, throw it away");
  EXPECT_EQ(recoveries(), 0);
  EXPECT_EQ(h->studio->dialog(), Dialog::none);
}

TEST_F(Home, AWindowWithoutEditsLeavesNothing) {
  {
    const auto h = hands();
    EXPECT_EQ(recoveries(), 0);
  }
  EXPECT_TRUE(std::filesystem::is_empty(places.state / "recovery"));
}

TEST_F(Home, UndoneWorkIsNothingToRecover) {
  const auto h = hands();
  h->click(h->at("blink", 1));
  h->press(GLFW_KEY_RIGHT, kAlt);
  await_writing();
  EXPECT_EQ(recoveries(), 1);
  h->press(GLFW_KEY_Z, kCtrl);
  for (int i = 0; i < 1000 && recoveries() > 0; ++i) ::usleep(10'000);
  EXPECT_EQ(recoveries(), 0);
}

TEST_F(Home, RecentShowsStandInTheMenuNewestFirst) {
  const auto a = saved("a"), b = saved("b");
  const auto h = hands();
  h->studio->open(a);
  h->studio->open(b);
  h->settle();
  EXPECT_EQ(h->studio->recent(), (std::vector{b, a}));
  h->press(GLFW_KEY_O, kCtrl | kShift);
  EXPECT_EQ(h->document().file(), a);
  h->click("menu/Show");
  h->click("menu/Recent shows");
  h->click("recent/b.show.json");
  EXPECT_EQ(h->document().file(), b);
}

TEST_F(Home, ARecentShowComesBesideUnsavedWorkWhichStays) {
  const auto a = saved("a"), b = saved("b");
  const auto h = hands();
  h->studio->open(a);
  h->studio->act("close");
  h->studio->open(b);
  h->settle();
  h->click(h->at("blink", 1));
  h->press(GLFW_KEY_DELETE);
  h->press(GLFW_KEY_O, kCtrl | kShift);
  EXPECT_EQ(h->studio->dialog(), Dialog::none);
  EXPECT_EQ(h->document().file(), a);
  ASSERT_EQ(h->studio->tabs(), 2u);
  EXPECT_TRUE(h->studio->tab(0).unsaved());
  EXPECT_EQ(h->studio->tab(0).file(), b);
}

TEST_F(Home, WhatIsLetGoOverTheWindowIsOpenedOrPlaced) {
  const auto a = saved("a");
  const auto h = hands();
  h->studio->apply(editor::Drop{{a}});
  EXPECT_EQ(h->document().file(), a);
  support::write(folder / "voice.wav", "x");
  h->stage.now.time = show::from_seconds(1.5);
  h->settle();
  h->studio->apply(editor::Drop{{folder / "voice.wav"}});
  ASSERT_EQ(h->show().sounds.size(), 1u);
  EXPECT_EQ(h->show().sounds[0].file, "voice.wav") << "relative to the show's folder";
  EXPECT_EQ(h->show().sounds[0].start, show::from_seconds(1.5));
  EXPECT_EQ(h->document().undo_name(), "Add sound");
  h->press(GLFW_KEY_Z, kCtrl);
  EXPECT_TRUE(h->show().sounds.empty());
  support::write(folder / "notes.txt", "x");
  h->studio->apply(editor::Drop{{folder / "notes.txt"}});
  ASSERT_FALSE(h->studio->notices().empty());
  EXPECT_THAT(h->studio->notices().back().what, HasSubstr("neither"));
  h->studio->apply(editor::Drop{{folder / "pip.rig.json"}});
  EXPECT_TRUE(h->document().file().empty());
  EXPECT_EQ(h->document().rig().name, "Pip");
}

TEST_F(Home, WhatIsWrongGoesToTheClipboardAsText) {
  const auto h = hands();
  EXPECT_FALSE(h->studio->act("copy_findings"));
  h->studio->refuse({show::Severity::error, "a.show.json", "line 3", "is odd", "Mend it"});
  EXPECT_TRUE(h->studio->act("copy_findings"));
  EXPECT_STREQ(ImGui::GetClipboardText(), "error: a.show.json: line 3: is odd. Mend it.\n");
}

TEST_F(Home, ThemeAndTextSizeAreKept) {
  {
    const auto h = hands();
    h->press(GLFW_KEY_D, kCtrl | kShift);
    EXPECT_FALSE(h->studio->look().theme.dark);
    h->press(GLFW_KEY_EQUAL, kCtrl);
    EXPECT_EQ(h->studio->settings().text, store::Settings::Text::large);
    h->press(GLFW_KEY_EQUAL, kCtrl);
    EXPECT_FALSE(h->studio->act("text_larger"));
    h->press(GLFW_KEY_MINUS, kCtrl);
  }
  const auto h = hands();
  EXPECT_FALSE(h->studio->look().theme.dark);
  EXPECT_EQ(h->studio->settings(), (store::Settings{store::Settings::Theme::light, store::Settings::Text::large}));
}

TEST_F(Home, AThemeOfTheCommandLineIsNotKept) {
  {
    const auto h = hands();
    h->studio->choose_theme(store::Settings::Theme::light, false);
    EXPECT_FALSE(h->studio->look().theme.dark);
    h->press(GLFW_KEY_EQUAL, kCtrl);
  }
  EXPECT_EQ(store::load_settings(places.config).settings.theme, store::Settings::Theme::system);
}

TEST_F(Home, ABrokenLineOfTheSettingsIsSaidAndTheWindowOpens) {
  std::filesystem::create_directories(places.config);
  support::write(places.config / "settings", "theme = light\ntext = huge\n");
  support::write(places.config / "keys", "play = Ctrl+S\n");
  const auto h = hands();
  EXPECT_FALSE(h->studio->look().theme.dark);
  ASSERT_EQ(h->studio->notices().size(), 2u);
  EXPECT_THAT(h->studio->notices()[0].what, HasSubstr("huge"));
  EXPECT_THAT(h->studio->notices()[1].what, HasSubstr("'save'"));
}

}  // namespace
}  // namespace mien::tests
