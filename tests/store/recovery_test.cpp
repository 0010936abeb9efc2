#include "store/recovery.hpp"

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>

#include "store/store.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

namespace mien::tests {
namespace {
using store::Keeper;
using store::Left;
using store::Work;

show::ShowPtr show_named(const std::string& name) {
  show::Show show;
  show.name = name;
  show.rig_file = "a.rig.json";
  show.length = std::chrono::seconds(4);
  show.channels = {std::make_shared<const show::Channel>(show::Channel{"blink", {{show::from_seconds(0.5), 0.25}}})};
  return std::make_shared<const show::Show>(std::move(show));
}

// A window in a process of its own that keeps `edits` edits and is then killed as by kill -9, in the midst of living.
void work_and_be_killed(const std::filesystem::path& folder, const std::string& file, int edits) {
  const std::size_t others = store::left_behind(folder).size();  // of windows that are gone already
  int pipe_ends[2];
  ASSERT_EQ(::pipe(pipe_ends), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    Keeper keeper(folder);
    for (int i = 1; i <= edits; ++i) keeper.keep({file, i, show_named("edit " + std::to_string(i)), nullptr});
    keeper.settle();
    if (::write(pipe_ends[1], "x", 1) != 1) ::_exit(1);
    for (;;) ::pause();
  }
  char ready = 0;
  ASSERT_EQ(::read(pipe_ends[0], &ready, 1), 1);
  ::close(pipe_ends[0]), ::close(pipe_ends[1]);
  EXPECT_EQ(store::left_behind(folder).size(), others) << "the work of a living window was offered";
  ASSERT_EQ(::kill(child, SIGKILL), 0);
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFSIGNALED(status));
}

TEST(Recovery, FindsTheLastEditOfAWindowThatWasKilled) {
  const support::Folder folder;
  work_and_be_killed(folder.path(), "/shows/a b%.show.json", 7);
  const auto left = store::left_behind(folder.path());
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(left[0].file, "/shows/a b%.show.json");
  EXPECT_EQ(left[0].name, "edit 7");
  EXPECT_EQ(left[0].edits, 7);
  EXPECT_LE(std::abs(left[0].time_s - std::time(nullptr)), 600);
  const auto work = store::read_left(left[0]);
  ASSERT_TRUE(work) << show::to_text(work.problem());
  EXPECT_TRUE(show::same(*work->show, *show_named("edit 7")));
  EXPECT_FALSE(work->rig);
}

TEST(Recovery, TextsBesideTheShowComeBackWithIt) {
  const support::Folder folder;
  const auto text = [](std::string t) { return std::make_shared<const std::string>(std::move(t)); };
  {
    Keeper keeper(folder.path());
    keeper.keep({"/shows/a.show.json", 1, show_named("a"), nullptr, {{"line 1%.wav", text("words\n\nand phones")}, {"b.wav", text("")}}});
    keeper.settle();
  }
  const auto left = store::left_behind(folder.path());
  ASSERT_EQ(left.size(), 1u);
  const auto work = store::read_left(left[0]);
  ASSERT_TRUE(work) << show::to_text(work.problem());
  EXPECT_TRUE(show::same(*work->show, *show_named("a")));
  ASSERT_EQ(work->beside.size(), 2u);
  EXPECT_EQ(work->beside[0].sound, "line 1%.wav");
  EXPECT_EQ(*work->beside[0].text, "words\n\nand phones");
  EXPECT_EQ(work->beside[1].sound, "b.wav");
  // One that isn't whole is offered to nobody, and not deleted.
  std::string whole = support::read(left[0].recovery);
  std::ofstream(left[0].recovery, std::ios::binary | std::ios::trunc) << whole.substr(0, whole.size() - 3);
  EXPECT_FALSE(store::read_left(left[0]));
  std::ofstream(left[0].recovery, std::ios::binary | std::ios::trunc) << whole << "more";
  EXPECT_FALSE(store::read_left(left[0]));
}

TEST(Recovery, IsOfferedToOneWindowOnlyAndAgainOnceItLetsGo) {
  const support::Folder folder;
  work_and_be_killed(folder.path(), "", 1);
  auto first = store::left_behind(folder.path());
  ASSERT_EQ(first.size(), 1u);
  EXPECT_TRUE(store::left_behind(folder.path()).empty());
  first.clear();
  auto again = store::left_behind(folder.path());
  ASSERT_EQ(again.size(), 1u);
  store::forget(again[0]);
  again.clear();
  EXPECT_TRUE(store::left_behind(folder.path()).empty());
  EXPECT_TRUE(std::filesystem::is_empty(folder.path()));
}

TEST(Recovery, TwoWindowsOnOneShowKeepTheirWorkApart) {
  const support::Folder folder;
  work_and_be_killed(folder.path(), "/shows/a.show.json", 2);
  work_and_be_killed(folder.path(), "/shows/a.show.json", 5);
  const auto left = store::left_behind(folder.path());
  ASSERT_EQ(left.size(), 2u);
  EXPECT_EQ(left[0].edits + left[1].edits, 7);
}

TEST(Recovery, AWindowThatSavedLeavesNothing) {
  const support::Folder folder;
  {
    Keeper keeper(folder.path());
    keeper.keep({"/a.show.json", 1, show_named("one"), nullptr});
    keeper.settle();
    EXPECT_TRUE(std::filesystem::exists(keeper.file()));
    keeper.drop();
    keeper.settle();
    EXPECT_FALSE(std::filesystem::exists(keeper.file()));
  }
  EXPECT_TRUE(std::filesystem::is_empty(folder.path()));
}

TEST(Recovery, AnEndWithoutAQuestionLeavesWhatWasPending) {
  const support::Folder folder;
  { Keeper(folder.path()).keep({"/a.show.json", 3, show_named("three"), nullptr}); }
  const auto left = store::left_behind(folder.path());
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(left[0].name, "three");
}

TEST(Recovery, WorkTakenOverLeavesItsOldFileOnlyOnceTheNewOneIsThere) {
  const support::Folder folder;
  work_and_be_killed(folder.path(), "", 1);
  auto left = store::left_behind(folder.path());
  ASSERT_EQ(left.size(), 1u);
  const auto old_file = left[0].recovery;
  Keeper keeper(folder.path());
  keeper.take_over(std::move(left[0]));
  left.clear();
  EXPECT_TRUE(std::filesystem::exists(old_file));
  EXPECT_TRUE(store::left_behind(folder.path()).empty()) << "it is claimed still";
  keeper.keep({"", 1, show_named("again"), nullptr});
  keeper.settle();
  EXPECT_FALSE(std::filesystem::exists(old_file));
  EXPECT_TRUE(std::filesystem::exists(keeper.file()));
}

TEST(Recovery, AnUnsavedRigComesBackWithItsShow) {
  const support::Folder folder;
  const auto rig = store::load_rig(std::filesystem::path(MIEN_SOURCE_DIR) / "tests/samples/small.rig.json");
  ASSERT_TRUE(rig);
  { Keeper(folder.path()).keep({"/a.show.json", 1, show_named("x"), rig->rig}); }
  const auto left = store::left_behind(folder.path());
  ASSERT_EQ(left.size(), 1u);
  const auto work = store::read_left(left[0]);
  ASSERT_TRUE(work);
  ASSERT_TRUE(work->rig);
  EXPECT_EQ(*work->rig, *rig->rig);
}

TEST(Recovery, AFileThatWasCutIsOfferedToNobodyAndNotDeleted) {
  const support::Folder folder;
  { Keeper(folder.path()).keep({"/a.show.json", 1, show_named("x"), nullptr}); }
  std::filesystem::path file;
  for (const auto& e : std::filesystem::directory_iterator(folder.path()))
    if (e.path().extension() == ".recovery") file = e.path();
  const std::string whole = support::read(file);
  for (std::size_t length = 1; length < whole.size(); length += 7) {
    support::write(file, whole.substr(0, length));
    EXPECT_TRUE(store::left_behind(folder.path()).empty()) << length;
  }
  EXPECT_TRUE(std::filesystem::exists(file));
}

TEST(Recovery, WithoutAFolderNothingIsKept) {
  Keeper keeper({});
  keeper.keep({"", 1, show_named("x"), nullptr});
  keeper.settle();
  EXPECT_TRUE(store::left_behind({}).empty());
}

TEST(Recovery, SaysThatItCantKeepAnything) {
  const support::Folder folder;
  support::write(folder / "file", "x");
  Keeper keeper(folder / "file");
  const auto problem = keeper.problem();
  ASSERT_TRUE(problem);
  EXPECT_NE(problem->what.find("crash"), std::string::npos);
}

}  // namespace
}  // namespace mien::tests
