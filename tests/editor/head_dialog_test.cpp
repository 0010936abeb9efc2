// From nothing to a head, by hand, without a window.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>

#include "editor/hands.hpp"
#include "perform/rig_check.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kCtrl;
using editor::kShift;
using testing::HasSubstr;

class NewHead : public testing::Test {
 protected:
  support::Folder folder;
  Hands hands;
  void SetUp() override {
    hands.press(GLFW_KEY_N, kCtrl | kShift);
    ASSERT_EQ(hands.studio->dialog(), Dialog::new_head);
    replace("field/head_folder", folder.path().string());
  }
  editor::HeadState& state() { return hands.studio->panels().head; }
  void replace(const std::string& field, const std::string& text) {
    hands.click(field);
    hands.press(GLFW_KEY_A, kCtrl);
    hands.type(text);
  }
};

TEST_F(NewHead, APastedTableBecomesAValidRigAndAnEmptyShowOnTheDesk) {
  replace("field/head_name", "Mop");
  replace("field/supply", "5");
  hands.click("field/table");
  ImGui::SetClipboardText("name\toutput\nleft upper lid\t2\nleft lower lid\t\njaw\t\n");
  hands.press(GLFW_KEY_V, kCtrl);
  hands.settle();
  EXPECT_TRUE(state().usable);
  EXPECT_EQ(state().made.rig.actuators.size(), 3u);
  hands.click("button/Make the head");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_EQ(hands.document().file(), folder / "Mop.show.json");
  EXPECT_FALSE(hands.document().unsaved());
  EXPECT_TRUE(hands.show().channels.empty());
  const auto loaded = store::load_show(folder / "Mop.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  EXPECT_TRUE(loaded->notes.empty());
  EXPECT_EQ(loaded->rig->boards[0].rails[0].rating_a, 5);
  EXPECT_EQ(loaded->rig->actuators[0].output, 2);
  EXPECT_EQ(loaded->rig->constraints.size(), 1u);
  EXPECT_TRUE(perform::check_rig(*loaded->rig, "").empty());
  // And it moves: a key of the jaw makes the stage perform it.
  hands.studio->apply(editor::Change{editor::SetKey{"jaw_open", {show::from_seconds(1), 1, show::kSmooth}}, true});
  EXPECT_EQ(hands.stage.published->channels.size(), 1u);
}

TEST_F(NewHead, ServosAreAddedOneByOneWithTheirParts) {
  hands.click("field/one");
  hands.type("flap");
  hands.click("field/role");
  hands.click("role/brow_outer_right");
  hands.click("button/Add");
  hands.click("field/one");
  hands.type("left upper lid");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(state().table, "name,role\nflap,brow_outer_right\nleft upper lid\n");
  ASSERT_EQ(state().made.rig.actuators.size(), 2u);
  EXPECT_EQ(state().made.rig.mappings[0].axes[0].role, "brow_outer_right");
  EXPECT_EQ(state().made.rig.mappings[1].axes[0].role, "lid_upper_left");
}

TEST_F(NewHead, TheExampleCanBeMade) {
  hands.click("button/Begin with an example");
  EXPECT_TRUE(state().usable) << (state().findings.empty() ? "" : show::to_text(state().findings[0]));
  EXPECT_TRUE(state().findings.empty());
  hands.click("button/Make the head");
  EXPECT_TRUE(std::filesystem::exists(folder / "My head.rig.json"));
}

TEST_F(NewHead, SaysWhatIsWrongAndMakesNothing) {
  hands.click("button/Begin with an example");
  replace("field/sheet", "12 furlongs");
  EXPECT_FALSE(state().usable);
  ASSERT_FALSE(state().findings.empty());
  EXPECT_THAT(state().findings[0].what, HasSubstr("12 furlongs"));
  hands.studio->apply(editor::MakeHead{});
  EXPECT_TRUE(std::filesystem::is_empty(folder.path()));
}

TEST_F(NewHead, NeverWritesOverAFileThatIsThere) {
  support::write(folder / "My head.rig.json", "precious");
  hands.click("button/Begin with an example");
  hands.click("button/Make the head");
  EXPECT_EQ(hands.studio->dialog(), Dialog::new_head);
  EXPECT_EQ(support::read(folder / "My head.rig.json"), "precious");
  ASSERT_EQ(state().findings.size(), 1u);
  EXPECT_THAT(state().findings[0].what, HasSubstr("there already"));
}

}  // namespace
}  // namespace mien::tests
