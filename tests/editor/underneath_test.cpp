// Other programs, and other windows, at the files of a show that is open: said at once, and never written over without a yes; by hand, without a window.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "editor/hands.hpp"
#include "store/store.hpp"
#include "support/fault.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {

namespace fs = std::filesystem;
using editor::Dialog;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using support::Fault;

struct Files {
  Files() {
    ::unsetenv("DBUS_SESSION_BUS_ADDRESS");
    EXPECT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
    EXPECT_FALSE(store::save_show(file, small_show()));
  }
  // What another program writes: the same show under another name.
  void replace(const std::string& name) const {
    show::Show other = small_show();
    other.name = name;
    EXPECT_FALSE(store::save_show(file, other));
  }
  std::string name_there() const {
    const auto there = store::load_show(file);
    return there ? there->show->name : show::to_text(there.problem());
  }
  support::Folder folder;
  fs::path file = folder / "hello.show.json";
  store::Places places{folder / "config", folder / "state"};
};

// A window with the show open and one edit that is not saved.
struct Edited : Hands {
  explicit Edited(const Files& files, bool home = false) {
    if (home) studio->move_in(files.places);
    studio->open(files.file);
    settle();
    click(at("blink", 1));
    press(GLFW_KEY_RIGHT, kAlt);
  }
  // As long as it takes to look at the files again.
  void wait() {
    ::usleep(1'100'000);
    settle();
  }
  bool says(const std::string& words) const {
    for (const auto& n : studio->notices())
      if (show::to_text(n).find(words) != std::string::npos) return true;
    return false;
  }
};

TEST(Underneath, AFileThatAnotherProgramReplacesIsSaidAndNeverWrittenOverUnasked) {
  Fault fault("file replaced underneath by another program, while it is open with unsaved edits", "the other's file until a yes, and the edits");
  for (const bool noticed : {true, false}) {
    Files files;
    Edited hands(files);
    ASSERT_TRUE(hands.document().unsaved());
    files.replace("Theirs");
    fault.made();
    if (noticed) {
      hands.wait();
      if (!hands.says("was changed by another program")) fault.lost("nothing was said of it");
    }
    // Saved at once, before it was looked at: asked all the same.
    hands.press(GLFW_KEY_S, kCtrl);
    hands.settle();
    ASSERT_EQ(hands.studio->dialog(), Dialog::replaced);
    if (files.name_there() != "Theirs") fault.lost("the other's file");
    hands.click("button/Cancel");
    EXPECT_EQ(hands.studio->dialog(), Dialog::none);
    if (!hands.document().unsaved() || files.name_there() != "Theirs") fault.lost("the edit, or the other's file, by a cancel");
    // Under another name both are kept.
    hands.press(GLFW_KEY_S, kCtrl);
    hands.click("button/Another name\u2026");
    ASSERT_EQ(hands.studio->dialog(), Dialog::save_as);
    hands.press(GLFW_KEY_A, kCtrl);
    hands.type("mine");
    hands.press(GLFW_KEY_ENTER);
    const auto mine = store::load_show(files.folder / "mine.show.json");
    if (!mine || !show::same(*mine->show, hands.show())) fault.lost("the edit");
    if (files.name_there() != "Theirs") fault.lost("the other's file");
    EXPECT_FALSE(hands.document().unsaved());
    // From here on it is the new file that counts, and it is its own.
    hands.press(GLFW_KEY_RIGHT, kAlt);
    hands.press(GLFW_KEY_S, kCtrl);
    EXPECT_EQ(hands.studio->dialog(), Dialog::none);
    EXPECT_FALSE(hands.document().unsaved());
  }
}

TEST(Underneath, AYesWritesOverIt_OnceAndNoMore) {
  Files files;
  Edited hands(files);
  files.replace("Theirs");
  hands.press(GLFW_KEY_S, kCtrl);
  hands.click("button/Write over it");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_EQ(files.name_there(), "Hello");
  EXPECT_FALSE(hands.document().unsaved());
  hands.wait();
  EXPECT_FALSE(hands.says("changed by another program")) << "its own save is not another program's";
  hands.press(GLFW_KEY_RIGHT, kAlt);
  files.replace("Theirs again");
  hands.press(GLFW_KEY_S, kCtrl);
  EXPECT_EQ(hands.studio->dialog(), Dialog::replaced);
}

TEST(Underneath, QuittingWithASaveThatIsAskedAboutGoesOnAfterTheYes) {
  Files files;
  Edited hands(files);
  files.replace("Theirs");
  hands.press(GLFW_KEY_Q, kCtrl);
  hands.click("button/Save");
  ASSERT_EQ(hands.studio->dialog(), Dialog::replaced);
  EXPECT_FALSE(hands.studio->quit());
  hands.click("button/Write over it");
  EXPECT_TRUE(hands.studio->quit());
}

TEST(Underneath, AFileThatIsDeletedIsSaidAndSavedAnew) {
  Fault fault("file deleted underneath", "the show: saving makes it anew");
  Files files;
  Edited hands(files);
  fs::remove(files.file);
  fault.made();
  hands.wait();
  if (!hands.says("was deleted or moved away")) fault.lost("nothing was said of it");
  hands.press(GLFW_KEY_S, kCtrl);
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  if (files.name_there() != "Hello") fault.lost("the show");
}

TEST(Underneath, SavingUnderTheNameOfAnotherFileAsksFirst) {
  Files files;
  show::Show other = small_show();
  other.name = "Other";
  ASSERT_FALSE(store::save_show(files.folder / "other.show.json", other));
  Edited hands(files);
  hands.press(GLFW_KEY_S, kCtrl | kShift);
  hands.press(GLFW_KEY_A, kCtrl);
  hands.type("other");
  hands.press(GLFW_KEY_ENTER);
  ASSERT_EQ(hands.studio->dialog(), Dialog::replaced);
  EXPECT_EQ(store::load_show(files.folder / "other.show.json")->show->name, "Other");
  hands.click("button/Write over it");
  EXPECT_EQ(store::load_show(files.folder / "other.show.json")->show->name, "Hello");
  EXPECT_EQ(hands.document().file().filename(), "other.show.json");
}

TEST(Underneath, ExportingOntoAFileThatIsThereAsksFirst) {
  Files files;
  const fs::path there = files.folder / "theirs.clips.json";
  const std::string theirs = "what somebody keeps here";
  ASSERT_FALSE(store::replace_file(there, theirs));
  Edited hands(files);
  const auto exported = [&](const std::string& name) {
    hands.studio->apply(editor::Ask{Dialog::export_library});
    hands.studio->apply(editor::Browse{files.folder / name});
  };
  exported("theirs");  // the end of its name is the program's to add
  ASSERT_EQ(hands.studio->dialog(), Dialog::replaced);
  hands.settle();
  hands.click("button/Cancel");
  EXPECT_EQ(*store::read_file(there, 1000), theirs);
  exported("theirs.clips.json");
  hands.settle();
  hands.click("button/Another name\u2026");
  EXPECT_EQ(hands.studio->dialog(), Dialog::export_library);
  EXPECT_EQ(*store::read_file(there, 1000), theirs);
  exported("theirs.clips.json");
  hands.settle();
  hands.click("button/Write over it");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_TRUE(store::load_library(there));
  exported("new");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_TRUE(store::load_library(files.folder / "new.clips.json"));
}

TEST(Underneath, ARigThatAnotherProgramChangesIsSaid) {
  Files files;
  Edited hands(files);
  show::Rig rig = small_rig();
  rig.name = "Theirs";
  ASSERT_FALSE(store::save_rig(files.folder / "pip.rig.json", rig));
  hands.wait();
  EXPECT_TRUE(hands.says("pip.rig.json"));
  hands.press(GLFW_KEY_S, kCtrl);  // the show alone is written
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_EQ(store::load_rig(files.folder / "pip.rig.json")->rig->name, "Theirs");
}

// The window in a process of its own, as a second program would be; it saves when it is told to, and stays.
TEST(Underneath, TwoWindowsOnOneShowAreToldOfEachOtherAndNeitherLosesItsEdits) {
  Fault fault("two windows on one show, both with edits", "the edits of both; the second is told at once");
  Files files;
  int told[2], done[2];
  ASSERT_EQ(::pipe(told), 0);
  ASSERT_EQ(::pipe(done), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    Edited first(files, true);
    char word = 'o';
    if (::write(done[1], &word, 1) != 1 || ::read(told[0], &word, 1) != 1) ::_exit(1);
    first.press(GLFW_KEY_S, kCtrl);
    word = first.studio->dialog() == Dialog::none && !first.document().unsaved() ? 's' : '?';
    if (::write(done[1], &word, 1) != 1 || ::read(told[0], &word, 1) != 1) ::_exit(1);
    ::_exit(0);
  }
  char word = 0;
  ASSERT_EQ(::read(done[0], &word, 1), 1);
  {
    Edited second(files, true);
    fault.made();
    if (!second.says("is open in another window, too")) fault.lost("nothing was said of it");
    second.press(GLFW_KEY_RIGHT, kAlt);  // its edit is another one
    ASSERT_EQ(::write(told[1], "s", 1), 1);
    ASSERT_EQ(::read(done[0], &word, 1), 1);
    if (word != 's') fault.lost("the first window's save");
    const std::string firsts = support::read(files.file);
    second.press(GLFW_KEY_S, kCtrl);
    ASSERT_EQ(second.studio->dialog(), Dialog::replaced);
    if (support::read(files.file) != firsts) fault.lost("the first window's edits");
    second.click("button/Another name\u2026");
    second.press(GLFW_KEY_A, kCtrl);
    second.type("mine");
    second.press(GLFW_KEY_ENTER);
    const auto mine = store::load_show(files.folder / "mine.show.json");
    if (!mine || !show::same(*mine->show, second.show())) fault.lost("the second window's edits");
    if (support::read(files.file) != firsts) fault.lost("the first window's edits");
  }
  ASSERT_EQ(::kill(child, SIGKILL), 0);
  ::waitpid(child, nullptr, 0);
  Edited third(files, true);  // the word of a window that was killed is gone with it
  EXPECT_FALSE(third.says("is open in another window"));
}

}  // namespace
}  // namespace mien::tests
