#include "store/store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <limits>

#include "store/samples.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

namespace mien::store {
namespace {

using ::testing::HasSubstr;
namespace fs = std::filesystem;

// A folder with the small show and its rig in it.
struct Shelf : support::Folder {
  Shelf() {
    fs::copy_file(kSamples / "small.show.json", show);
    fs::copy_file(kSamples / "small.rig.json", rig);
  }
  fs::path show = *this / "small.show.json", rig = *this / "small.rig.json";

  std::size_t files() const { return static_cast<std::size_t>(std::distance(fs::directory_iterator(path()), fs::directory_iterator())); }
};

std::string what(const std::optional<show::Finding>& problem) { return problem ? to_text(*problem) : "saved"; }

TEST(LoadShow, ReadsTheShowAndTheRigThatItNames) {
  const auto loaded = load_show(kSamples / "small.show.json");
  ASSERT_TRUE(loaded) << to_text(loaded.problem());
  EXPECT_EQ(loaded->show->name, "Good morning");
  EXPECT_EQ(loaded->show->channels.size(), 4u);
  EXPECT_EQ(loaded->rig->name, "Pebble");
  EXPECT_TRUE(loaded->notes.empty());
}

TEST(LoadShow, OfVersion0SaysSoAndThatItsSoundIsMissing) {
  const auto loaded = load_show(kSamples / "version0.show.json");
  ASSERT_TRUE(loaded) << to_text(loaded.problem());
  ASSERT_EQ(loaded->notes.size(), 3u);
  EXPECT_THAT(to_text(loaded->notes[0]), HasSubstr("version0.show.json: version: was written as version 0"));
  EXPECT_THAT(to_text(loaded->notes[1]), HasSubstr("version0.rig.json: version: was written as version 0"));
  EXPECT_THAT(to_text(loaded->notes[2]), HasSubstr("sound 'old_morning.wav': the file is not there, so the show plays without it"));
  EXPECT_EQ(loaded->notes[2].severity, show::Severity::warning);
}

TEST(LoadShow, FindsTheRigRelativeToItself) {
  Shelf shelf;
  fs::create_directory(shelf / "heads");
  fs::rename(shelf.rig, shelf / "heads/small.rig.json");
  std::string text = support::read(shelf.show);
  text.replace(text.find("small.rig.json"), 14, "heads/small.rig.json");
  support::write(shelf.show, text);
  EXPECT_TRUE(load_show(shelf.show));
}

TEST(LoadShow, WithoutItsRigTellsOfTheRig) {
  Shelf shelf;
  fs::remove(shelf.rig);
  const auto loaded = load_show(shelf.show);
  ASSERT_FALSE(loaded);
  EXPECT_THAT(to_text(loaded.problem()), HasSubstr("small.rig.json: can't be opened (No such file or directory)"));
}

TEST(LoadShow, ThatBreaksRulesTellsTheFirstAndHowManyMore) {
  Shelf shelf;
  std::string text = support::read(shelf.show);
  text.replace(text.find("\"4\""), 3, "\"0\"");
  text.replace(text.find("gaze_yaw"), 8, "gaze_jaw");
  support::write(shelf.show, text);
  const auto loaded = load_show(shelf.show);
  ASSERT_FALSE(loaded);
  EXPECT_THAT(to_text(loaded.problem()), HasSubstr("length: is 0 s"));
  EXPECT_THAT(to_text(loaded.problem()), HasSubstr("There are 2 more errors; 'mien check' lists them all."));
  const auto findings = check_file(shelf.show).findings;
  EXPECT_EQ(std::count_if(findings.begin(), findings.end(), [](const auto& f) { return f.severity == show::Severity::error; }), 3);
}

TEST(CheckFile, TellsShowsFromRigsByThemselves) {
  EXPECT_TRUE(check_file(kSamples / "small.show.json").findings.empty());
  EXPECT_TRUE(check_file(kSamples / "small.rig.json").findings.empty());
  Shelf shelf;
  std::string text = support::read(shelf.rig);
  text.replace(text.find("\"output\": 1"), 11, "\"output\": 0");
  support::write(shelf.rig, text);
  EXPECT_THAT(to_text(check_file(shelf.rig).findings.at(0)), HasSubstr("drives actuator 'lids' already"));
  EXPECT_THAT(to_text(check_file(shelf.show).findings.at(0)), HasSubstr("drives actuator 'lids' already"));
}

TEST(LoadRig, OfAShowSaysWhatItIs) {
  EXPECT_THAT(to_text(load_rig(kSamples / "small.show.json").problem()), HasSubstr("format: is 'mien show', not 'mien rig'"));
}

TEST(Load, RefusesWhatIsNoFileToRead) {
  support::Folder folder;
  EXPECT_THAT(to_text(load_show(folder / "none").problem()), HasSubstr("can't be opened (No such file or directory)"));
  EXPECT_THAT(to_text(load_show(folder.path()).problem()), HasSubstr("is a folder"));
  EXPECT_THAT(to_text(load_show("/dev/zero").problem()), HasSubstr("is not a file but a device or a pipe"));
  ASSERT_EQ(::mkfifo((folder / "pipe").c_str(), 0600), 0);
  EXPECT_THAT(to_text(load_show(folder / "pipe").problem()), HasSubstr("is not a file but a device or a pipe"));
  support::write(folder / "empty", "");
  EXPECT_THAT(to_text(load_show(folder / "empty").problem()), HasSubstr("is empty (zero bytes)"));
}

TEST(Load, RefusesAHugeFileUnread) {
  support::Folder folder;
  support::write(folder / "huge", "");
  fs::resize_file(folder / "huge", std::uintmax_t{1} << 30);  // sparse: takes no room
  EXPECT_THAT(to_text(load_show(folder / "huge").problem()), HasSubstr("has 1024 MB; more than 512 MB are not read"));
  EXPECT_THAT(to_text(load_rig(folder / "huge").problem()), HasSubstr("more than 16 MB are not read"));
}

TEST(Load, OfGarbageSaysThatItIsNeither) {
  support::Folder folder;
  support::Random random(51);
  std::string garbage(4 << 20, ' ');
  for (char& c : garbage) c = static_cast<char>(random());
  garbage[0] = 'x';
  support::write(folder / "garbage", garbage);
  EXPECT_THAT(to_text(load_show(folder / "garbage").problem()), HasSubstr("line 1: the file does not begin with '{', so it is neither a show nor a rig"));
}

TEST(Save, ThenLoadGivesTheSame) {
  support::Random random(52);
  support::Folder folder;
  for (int i = 0; i < 20; ++i) {
    const show::Rig rig = support::rig(random);
    const show::Show show = support::show(random, rig);
    ASSERT_EQ(what(save_rig(folder / "sample.rig.json", rig)), "saved");
    ASSERT_EQ(what(save_show(folder / "sample.show.json", show)), "saved");
    const auto loaded = load_show(folder / "sample.show.json");
    ASSERT_TRUE(loaded) << to_text(loaded.problem());
    ASSERT_TRUE(same(*loaded->show, show));
    ASSERT_EQ(*loaded->rig, rig);
  }
}

TEST(Save, KeepsPermissionsAndSymbolicLinks) {
  Shelf shelf;
  const auto loaded = load_show(shelf.show);
  fs::permissions(shelf.show, fs::perms::owner_read | fs::perms::owner_write | fs::perms::others_read);
  fs::create_directory(shelf / "links");
  fs::create_symlink("../small.show.json", shelf / "links/a");
  fs::create_symlink("a", shelf / "links/b");
  show::Show renamed = *loaded->show;
  renamed.name = "Good evening";
  ASSERT_EQ(what(save_show(shelf / "links/b", renamed)), "saved");
  EXPECT_TRUE(fs::is_symlink(shelf / "links/b"));
  EXPECT_TRUE(fs::is_symlink(shelf / "links/a"));
  EXPECT_EQ(load_show(shelf.show)->show->name, "Good evening");
  EXPECT_EQ(fs::status(shelf.show).permissions(), fs::perms::owner_read | fs::perms::owner_write | fs::perms::others_read);
}

TEST(Save, ThroughALinkToNothingMakesTheTarget) {
  Shelf shelf;
  fs::create_symlink("new.show.json", shelf / "link");
  ASSERT_EQ(what(save_show(shelf / "link", *load_show(shelf.show)->show)), "saved");
  EXPECT_TRUE(load_show(shelf / "new.show.json"));
}

TEST(Save, RefusesPlacesThatCanHoldNoFile) {
  Shelf shelf;
  const auto loaded = load_show(shelf.show);
  EXPECT_THAT(what(save_show(shelf / "none/a.json", *loaded->show)), HasSubstr("No such file or directory"));
  EXPECT_THAT(what(save_show(shelf.path(), *loaded->show)), HasSubstr("is not a file that can be saved to"));
  EXPECT_THAT(what(save_show(shelf / "", *loaded->show)), HasSubstr("names a folder"));
  EXPECT_THAT(what(save_show(shelf / std::string(300, 'x'), *loaded->show)), HasSubstr("Choose a shorter name."));
  fs::create_symlink("circle", shelf / "circle");
  EXPECT_THAT(what(save_show(shelf / "circle", *loaded->show)), HasSubstr("symbolic links"));
  EXPECT_EQ(shelf.files(), 3u) << "something was left behind";
}

TEST(Save, RefusesWhatCouldNotBeReadBack) {
  Shelf shelf;
  const std::string before = support::read(shelf.show);
  show::Show broken = *load_show(shelf.show)->show;
  broken.channels[0] = std::make_shared<const show::Channel>(show::Channel{"blink", {{show::Time{0}, std::numeric_limits<double>::quiet_NaN()}}});
  EXPECT_THAT(what(save_show(shelf.show, broken)), HasSubstr("is not saved, since it could not be read back: '0 nan smooth' is not a key"));
  broken = *load_show(shelf.show)->show;
  broken.name = "bell\a";
  EXPECT_THAT(what(save_show(shelf.show, broken)), HasSubstr("control character"));
  show::Rig rig = *load_rig(shelf.rig)->rig;
  rig.actuators[0].velocity_deg_s = std::numeric_limits<double>::infinity();
  EXPECT_THAT(what(save_rig(shelf.rig, rig)), HasSubstr("is not saved, since it could not be read back"));
  EXPECT_EQ(support::read(shelf.show), before);
}

// A disk on which one step fails, and short writes are the rule.
class FailingDisk : public Disk {
 public:
  FailingDisk(std::string failing, int error) : failing_(std::move(failing)), error_(error) {}
  int create(const std::string& path, mode_t mode) override { return fails("create") ? -1 : Disk::create(path, mode); }
  ssize_t write(int file, const char* data, std::size_t size) override {
    if (written_ > 100 && fails("write")) return -1;
    const ssize_t written = Disk::write(file, data, std::min<std::size_t>(size, 64));
    written_ += static_cast<std::size_t>(written);
    return written;
  }
  int sync(int file) override { return fails("sync") ? -1 : Disk::sync(file); }
  int close(int file) override {
    const int result = Disk::close(file);
    return fails("close") ? -1 : result;
  }
  int rename(const std::string& from, const std::string& to) override { return fails("rename") ? -1 : Disk::rename(from, to); }
  int sync_folder(const std::string& folder) override { return fails("sync_folder") ? -1 : Disk::sync_folder(folder); }

 private:
  bool fails(const char* step) {
    if (failing_ != step) return false;
    errno = error_;
    return true;
  }
  std::string failing_;
  int error_;
  std::size_t written_ = 0;
};

TEST(Save, ThatFailsAtAnyStepLeavesTheOldFileAndNothingElse) {
  const std::tuple<const char*, int, const char*> cases[] = {
      {"create", EACCES, "can't write in folder"}, {"create", EROFS, "The disk is mounted read-only"},
      {"write", ENOSPC, "Make room on the disk"},  {"write", EIO, "The disk may be failing"},
      {"sync", ENOSPC, "Make room on the disk"},   {"sync", EIO, "The disk may be failing"},
      {"close", EDQUOT, "Make room on the disk"},  {"rename", EACCES, "Change the permissions"},
      {"rename", ENAMETOOLONG, "Choose a shorter name"}};
  for (const auto& [step, error, words] : cases) {
    Shelf shelf;
    const std::string before = support::read(shelf.show);
    show::Show renamed = *load_show(shelf.show)->show;
    renamed.name = "Good evening";
    FailingDisk disk(step, error);
    const std::string said = what(save_show(shelf.show, renamed, disk));
    EXPECT_THAT(said, HasSubstr("is not saved")) << step;
    EXPECT_THAT(said, HasSubstr("what was there before is unchanged")) << step;
    EXPECT_THAT(said, HasSubstr(words)) << step;
    EXPECT_EQ(support::read(shelf.show), before) << step;
    EXPECT_EQ(shelf.files(), 2u) << step << " left something behind";
  }
}

TEST(Save, ThatTheFolderDoesNotConfirmSaysThatItIsInPlace) {
  Shelf shelf;
  show::Show renamed = *load_show(shelf.show)->show;
  renamed.name = "Good evening";
  FailingDisk disk("sync_folder", EIO);
  EXPECT_THAT(what(save_show(shelf.show, renamed, disk)), HasSubstr("is saved, but the disk does not confirm it"));
  EXPECT_EQ(load_show(shelf.show)->show->name, "Good evening");
  FailingDisk cannot_sync_folders("sync_folder", EINVAL);
  EXPECT_EQ(what(save_show(shelf.show, renamed, cannot_sync_folders)), "saved");
}

TEST(Save, OfShortWritesIsWhole) {
  Shelf shelf;
  FailingDisk disk("none", 0);
  const std::string before = support::read(shelf.show);
  EXPECT_EQ(what(save_show(shelf.show, *load_show(shelf.show)->show, disk)), "saved");
  EXPECT_EQ(support::read(shelf.show), before);
}

TEST(Save, InAFolderWithoutPermissionIsRefused) {
  if (::geteuid() == 0) GTEST_SKIP() << "the superuser may write anywhere";
  Shelf shelf;
  const auto loaded = load_show(shelf.show);
  fs::permissions(shelf.path(), fs::perms::owner_read | fs::perms::owner_exec);
  const std::string said = what(save_show(shelf.show, *loaded->show));
  fs::permissions(shelf.path(), fs::perms::owner_all);
  EXPECT_THAT(said, HasSubstr("Permission denied"));
}

}  // namespace
}  // namespace mien::store
