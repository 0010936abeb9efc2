// Poses, by hand.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include "editor/hands.hpp"
#include "show/library.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kCtrl;
using show::from_seconds;

void stand(Hands& hands, double blink, double yaw, double smile) {
  hands.stage.now.controls = 3;
  hands.stage.now.control[0] = blink, hands.stage.now.control[1] = yaw, hands.stage.now.control[2] = smile;
  hands.settle();
}

show::Show posed_show() { return show::with_pose(small_show(), {"glad", {6, 12}, "", {{"smile", 0.8}, {"yaw", 20}}}); }

TEST(Poses, AreCapturedFromThePlayhead) {
  Hands hands;
  stand(hands, 0, -12, 0.5);
  hands.choose("Capture a pose at the playhead");
  const auto pose = show::find_pose(hands.show(), "Pose");
  ASSERT_TRUE(pose);
  EXPECT_EQ(pose->values, (std::vector<show::Pose::Value>{{"yaw", -12}, {"smile", 0.5}}));
  EXPECT_TRUE(hands.sees("pose/Pose"));
  hands.click("button/mouth##pose");
  hands.choose("Capture a pose at the playhead");
  EXPECT_EQ(show::find_pose(hands.show(), "Pose 2")->values, (std::vector<show::Pose::Value>{{"smile", 0.5}}));
  stand(hands, 0, 0, 0);
  hands.choose("Capture a pose at the playhead");
  EXPECT_EQ(hands.show().poses.size(), 2u);
  EXPECT_FALSE(hands.studio->notices().empty()) << "nothing to capture is said";
}

TEST(Poses, AreKeyedAtThePlayheadByWeightAndGroup) {
  Hands hands(small_rig(), posed_show());
  hands.choose("Poses");
  hands.click("pose/glad");
  hands.stage.now.time = from_seconds(3);
  hands.choose("Key the pose at the playhead");
  ASSERT_EQ(hands.keys("yaw").size(), 2u);
  EXPECT_EQ(hands.keys("yaw")[1].time, from_seconds(3));
  EXPECT_EQ(hands.keys("yaw")[1].value, 20);
  ASSERT_EQ(hands.keys("smile").size(), 1u);
  EXPECT_EQ(hands.document().selection().size(), 2u);
  hands.press(GLFW_KEY_Z, kCtrl);
  hands.click("button/mouth##pose");
  hands.click("field/pose_weight");
  hands.type("50");
  hands.press(GLFW_KEY_ENTER);
  hands.choose("Key the pose at the playhead");
  EXPECT_EQ(hands.keys("yaw").size(), 1u) << "not of the group";
  ASSERT_EQ(hands.keys("smile").size(), 1u);
  EXPECT_EQ(hands.keys("smile")[0].value, 0.4);
}

TEST(Poses, AWeightBeyondTheRangeOfAControlStopsAtItsEnd) {
  Hands hands(small_rig(), posed_show());
  hands.studio->apply(editor::ChoosePose{"glad"});
  hands.studio->apply(editor::UsePose{"", 2});
  ASSERT_TRUE(hands.studio->act("pose_key"));
  EXPECT_EQ(hands.keys("smile")[0].value, 1);
  EXPECT_EQ(hands.keys("yaw")[0].value, 30);
}

TEST(Poses, AreKeyedIntoTheClipThatIsOpen) {
  show::Show show = posed_show();
  show = show::with_clip(show, {"nod", from_seconds(1), {}});
  Hands hands(small_rig(), show);
  hands.studio->apply(editor::OpenKeys{{editor::KeysOf::Kind::clip, "nod"}});
  hands.studio->apply(editor::ChoosePose{"glad"});
  hands.settle();
  ASSERT_TRUE(hands.studio->act("pose_key"));
  EXPECT_EQ(show::find_clip(hands.document().whole(), "nod")->channels.size(), 2u);
  EXPECT_EQ(show::find_channel(hands.document().whole(), "smile"), nullptr);
}

TEST(Poses, AreRenamedCapturedAnewMirroredAndRemoved) {
  Hands hands(small_rig(), posed_show(), {1366, 1200});
  hands.choose("Poses");
  hands.click("pose/glad");
  hands.click("field/pose_name");
  hands.type("joy");
  hands.press(GLFW_KEY_ENTER);
  ASSERT_TRUE(show::find_pose(hands.show(), "joy"));
  stand(hands, 1, 0, 0);
  hands.choose("Capture the pose anew");
  EXPECT_EQ(show::find_pose(hands.show(), "joy")->values, (std::vector<show::Pose::Value>{{"blink", 1}}));
  EXPECT_EQ(show::find_pose(hands.show(), "joy")->action_units, (std::vector<int>{6, 12})) << "what it stands for stays";
  hands.choose("Mirrored copy of the pose");
  EXPECT_TRUE(show::find_pose(hands.show(), "joy mirrored"));
  hands.choose("Remove the pose");
  EXPECT_FALSE(show::find_pose(hands.show(), "joy mirrored"));
  EXPECT_TRUE(show::find_pose(hands.show(), "joy"));
}

TEST(Poses, DrawAPictureOfEach) {
  Hands hands(small_rig(), posed_show());
  std::vector<show::FacePose> drawn;
  hands.studio->set_draw_face([&](const editor::Scene&, const show::FacePose& face, float, float, float, float) { drawn.push_back(face); });
  hands.choose("Poses");
  for (int i = 0; i < 100'000 && drawn.empty(); ++i) hands.frame();  // the rig's map comes from another thread
  ASSERT_FALSE(drawn.empty());
  EXPECT_GT(drawn.back()[show::Role::lip_corner_up_left].share, 0.1);
  EXPECT_NEAR(drawn.back()[show::Role::eye_yaw_left].deg, 20, 1e-6);
}

TEST(Libraries, AreTakenFromTheirFileAndGivenToOne) {
  support::Folder folder;
  const auto file = folder / "looks.clips.json";
  ASSERT_FALSE(store::save_library(file, show::library_of(posed_show(), "looks")));
  Hands hands;
  hands.studio->panels().path.folder = folder.path();
  hands.choose("Take poses and clips from a library\u2026");
  ASSERT_EQ(hands.studio->dialog(), Dialog::import_library);
  ASSERT_TRUE(hands.sees("path/looks.clips.json"));
  hands.click("path/looks.clips.json");
  hands.click("button/Take");
  ASSERT_TRUE(show::find_pose(hands.show(), "glad"));
  EXPECT_EQ(hands.document().undo_name(), "Take 1 pose and 0 clips");
  EXPECT_TRUE(hands.sees("pose/glad"));
  hands.choose("Give poses and clips to a library\u2026");
  ASSERT_EQ(hands.studio->dialog(), Dialog::export_library);
  hands.press(GLFW_KEY_A, kCtrl);
  hands.type("mine");
  hands.press(GLFW_KEY_ENTER);
  const auto given = store::load_library(folder / "mine.clips.json");
  ASSERT_TRUE(given) << show::to_text(given.problem());
  ASSERT_EQ(given->library.poses.size(), 1u);
  EXPECT_EQ(*given->library.poses[0], *show::find_pose(hands.show(), "glad"));
}

// The starter set of the demo is a library like any other.
TEST(Libraries, TheStarterSetFitsTheDemo) {
  const auto demo = store::load_show(std::filesystem::path(MIEN_SOURCE_DIR) / "shows/keeper.show.json");
  ASSERT_TRUE(demo) << show::to_text(demo.problem());
  show::Show bare = *demo->show;
  bare.poses.clear(), bare.clips.clear(), bare.layers.clear(), bare.sounds.clear();
  Hands hands(*demo->rig, bare);
  hands.studio->act("library_import");
  hands.settle();
  hands.studio->apply(editor::Browse{std::filesystem::path(MIEN_SOURCE_DIR) / "shows/keeper.clips.json"});
  hands.settle();
  EXPECT_GT(hands.show().poses.size(), 10u);
  EXPECT_TRUE(hands.studio->notices().empty()) << show::to_text(hands.studio->notices().front());
}

}  // namespace
}  // namespace mien::tests
