#include "store/settings.hpp"

#include <gmock/gmock.h>

#include <map>

#include "store/places.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using store::Settings;
using testing::HasSubstr;

store::Places places(const std::map<std::string, std::string>& environment) {
  return store::places_of([&](const char* name) {
    const auto found = environment.find(name);
    return found == environment.end() ? nullptr : found->second.c_str();
  });
}

// XDG Base Directory Specification 0.8, "Environment variables": the defaults, and "All paths set in these environment variables must be
// absolute. If an implementation encounters a relative path in any of these variables it should consider the path invalid and ignore it."
TEST(Places, AreThoseOfTheSpecification) {
  EXPECT_EQ(places({{"HOME", "/home/a"}}).config, "/home/a/.config/mien");
  EXPECT_EQ(places({{"HOME", "/home/a"}}).state, "/home/a/.local/state/mien");
  EXPECT_EQ(places({{"HOME", "/home/a"}, {"XDG_CONFIG_HOME", "/c"}, {"XDG_STATE_HOME", "/s"}}).config, "/c/mien");
  EXPECT_EQ(places({{"HOME", "/home/a"}, {"XDG_CONFIG_HOME", "/c"}, {"XDG_STATE_HOME", "/s"}}).state, "/s/mien");
  EXPECT_EQ(places({{"HOME", "/home/a"}, {"XDG_CONFIG_HOME", "c"}, {"XDG_STATE_HOME", ""}}).config, "/home/a/.config/mien");
  EXPECT_EQ(places({{"HOME", "/home/a"}, {"XDG_CONFIG_HOME", "c"}, {"XDG_STATE_HOME", ""}}).state, "/home/a/.local/state/mien");
  EXPECT_TRUE(places({}).config.empty());
  EXPECT_TRUE(places({}).state.empty());
}

TEST(Settings, ComeBackAsTheyWereWritten) {
  const support::Folder folder;
  for (const auto theme : {Settings::Theme::system, Settings::Theme::light, Settings::Theme::dark})
    for (const auto text : {Settings::Text::small, Settings::Text::usual, Settings::Text::large, Settings::Text::larger})
      for (const auto dialogs : {Settings::Dialogs::desktop, Settings::Dialogs::own}) {
        const Settings made{theme, text, dialogs};
        ASSERT_FALSE(store::save_settings(folder / "mien", made));
        const auto read = store::load_settings(folder / "mien");
        EXPECT_EQ(read.settings, made);
        EXPECT_TRUE(read.notes.empty());
      }
}

TEST(Settings, AreTheUsualOnesWhereThereIsNoFile) {
  const support::Folder folder;
  const auto read = store::load_settings(folder / "nowhere");
  EXPECT_EQ(read.settings, Settings{});
  EXPECT_TRUE(read.notes.empty());
}

TEST(Settings, SayWhichLineCantBeUsedAndTakeTheRest) {
  const auto read = store::parse_settings("# mine\n\ntheme = pink\ntext = large\nthene = dark\nnonsense\ntext = small\n", "settings");
  EXPECT_EQ(read.settings, (Settings{Settings::Theme::system, Settings::Text::large}));
  ASSERT_EQ(read.notes.size(), 4u);
  EXPECT_EQ(read.notes[0].place, "line 6");
  EXPECT_THAT(read.notes[1].what, HasSubstr("line 4"));
  EXPECT_EQ(read.notes[2].place, "line 3");
  EXPECT_THAT(read.notes[2].what, HasSubstr("pink"));
  EXPECT_THAT(read.notes[2].cure, HasSubstr("system, light, dark"));
  EXPECT_EQ(read.notes[3].place, "line 5");
  EXPECT_THAT(read.notes[3].cure, HasSubstr("'theme'"));
}

TEST(Keys, AValueMayBeTheKeyThatSeparates) {
  const auto read = store::read_entries("zoom_in = Ctrl+=\nzoom_out=none\r\n", "keys");
  ASSERT_EQ(read.entries.size(), 2u);
  EXPECT_EQ(read.entries[0].value, "Ctrl+=");
  EXPECT_EQ(read.entries[1].name, "zoom_out");
  EXPECT_EQ(read.entries[1].value, "none");
  EXPECT_EQ(read.entries[1].line, 2);
}

TEST(Recent, AreTheNewestFirstEachOnceAndNoMoreThanTen) {
  const support::Folder folder;
  const auto state = folder / "mien";
  EXPECT_TRUE(store::load_recent(state).empty());
  for (int i = 0; i < 14; ++i) store::add_recent(state, "/shows/" + std::to_string(i) + ".show.json");
  store::add_recent(state, "/shows/9.show.json");
  const auto recent = store::load_recent(state);
  ASSERT_EQ(recent.size(), store::kMostRecent);
  EXPECT_EQ(recent[0], "/shows/9.show.json");
  EXPECT_EQ(recent[1], "/shows/13.show.json");
  EXPECT_EQ(recent[9], "/shows/4.show.json");
}

TEST(Recent, LeaveOutWhatIsNoPathOfALine) {
  const support::Folder folder;
  store::add_recent(folder.path(), "/a\nb.show.json");
  store::add_recent(folder.path(), "here.show.json");
  EXPECT_TRUE(store::load_recent(folder.path()).empty());
}

}  // namespace
}  // namespace mien::tests
