// What the picture of the head promises, counted in its pixels. Only pixels wholly inside a surface keep its exact colour.
#include <epoxy/gl.h>
#include <gtest/gtest.h>

#include <limits>

#include "editor/head_camera.hpp"
#include "editor/head_gl.hpp"
#include "head_stage.hpp"

namespace mien::editor::test {
namespace {

using enum show::Role;

class HeadPixels : public ::testing::TestWithParam<bool> {
 protected:
  void SetUp() override { ASSERT_EQ(stage.error(), ""); }
  Image front(const show::FacePose& face, const show::FacePose* ghost = nullptr) { return stage.draw(face, kFrontView, style, ghost); }

  HeadStage stage;
  HeadStyle style = head_style(theme(GetParam()));
};
INSTANTIATE_TEST_SUITE_P(Themes, HeadPixels, ::testing::Bool(), [](const auto& dark) { return dark.param ? "Dark" : "Light"; });

// Pixels of `colour`, and the mean of their columns.
struct Patch {
  int count = 0;
  double column = 0;
};
Patch patch(const Image& image, Colour colour, int from_x = 0, int to_x = 1 << 20) {
  Patch p;
  for (int y = 0; y < image.height; ++y) {
    for (int x = from_x; x < std::min(to_x, image.width); ++x) {
      if (image.at(x, y) == colour) ++p.count, p.column += x;
    }
  }
  p.column /= std::max(p.count, 1);
  return p;
}

bool bordered_by(const Image& image, Colour background) {
  for (int x = 0; x < image.width; ++x) {
    if (image.at(x, 0) != background || image.at(x, image.height - 1) != background) return false;
  }
  for (int y = 0; y < image.height; ++y) {
    if (image.at(0, y) != background || image.at(image.width - 1, y) != background) return false;
  }
  return true;
}

TEST_P(HeadPixels, TheOpeningOfTheMouthGrowsWithTheJaw) {
  style.mouth_inside = style.teeth = rgb(0x800001);
  int before = front({}).count(style.mouth_inside);
  EXPECT_EQ(before, 0);
  for (const double share : {0.15, 0.3, 0.5, 0.75, 1.0}) {
    const int now = front(pose({{jaw_open, share}})).count(style.mouth_inside);
    EXPECT_GT(now, before + 50) << share;
    before = now;
  }
}

TEST_P(HeadPixels, ClosedLidsHideTheEye) {
  const Image open = front({}), shut = front(pose({{lid_upper, -1}}));
  EXPECT_GT(open.count(style.eye), 300);
  EXPECT_GT(open.count(style.sclera), 300);
  for (const Camera& camera : {kFrontView, kThreeQuarterView, Camera{0, -30, 7.5}, Camera{0, 50, 7.5}}) {
    const Image from_here = stage.draw(pose({{lid_upper, -1}, {eye_yaw_left, 20}}), camera, style);
    for (const Colour hidden : {style.eye, style.sclera, style.pupil}) EXPECT_EQ(from_here.count(hidden), 0);
  }
}

TEST_P(HeadPixels, AWinkWithTheLeftEyeClosesTheOneOnTheRightOfThePicture) {
  const Image wink = front(pose({{lid_upper_left, -1}}));
  EXPECT_GT(patch(wink, style.eye, 0, 240).count, 150);
  EXPECT_EQ(patch(wink, style.eye, 240).count, 0);
}

TEST_P(HeadPixels, AGlanceToTheHeadsLeftGoesToTheRightOfThePicture) {
  const double ahead = patch(front({}), style.eye).column;
  EXPECT_GT(patch(front(pose({{eye_yaw_left, 20}, {eye_yaw_right, 20}})), style.eye).column, ahead + 5);
  EXPECT_LT(patch(front(pose({{eye_yaw_left, -20}, {eye_yaw_right, -20}})), style.eye).column, ahead - 5);
}

TEST_P(HeadPixels, TheSkullHidesTheFaceFromBehind) {
  const Image behind = stage.draw(pose({{jaw_open, 1}}), {180, 5, 7.5}, style);
  for (const Colour face : {style.brow, style.eye, style.lid, style.mouth, style.sclera, style.pupil, style.glint}) EXPECT_EQ(behind.count(face), 0);
  EXPECT_GT(behind.count(style.skin), 20000);
}

TEST_P(HeadPixels, TheWholeHeadIsInThePictureWhateverItsShape) {
  for (const Camera& camera : {kFrontView, kThreeQuarterView, kSideView}) {
    for (const auto& [width, height] : {std::pair{480, 600}, std::pair{900, 300}, std::pair{150, 600}, std::pair{64, 64}}) {
      const Image image = stage.draw(pose({{jaw_open, 1}}), camera, style, nullptr, width, height);
      EXPECT_TRUE(bordered_by(image, style.background)) << width << " x " << height << " from " << camera.yaw_deg << " deg";
      EXPECT_LT(image.count(style.background), width * height * 9 / 10);
    }
  }
}

TEST_P(HeadPixels, TheGhostIsThinAndLeavesThePoseToBeSeen) {
  const show::FacePose open = pose({{jaw_open, 0.7}, {brow_inner_left, 1}, {brow_inner_right, 1}});
  const Image alone = front({}), with = front({}, &open);
  int changed = 0;
  for (int y = 0; y < alone.height; ++y) {
    for (int x = 0; x < alone.width; ++x) changed += alone.at(x, y) != with.at(x, y);
  }
  EXPECT_GT(changed, 800);
  EXPECT_LT(changed, alone.width * alone.height / 20);
  EXPECT_GT(with.count(style.brow), alone.count(style.brow) * 3 / 4);
}

TEST_P(HeadPixels, TheSamePoseGivesTheSamePixels) {
  const show::FacePose face = pose({{jaw_open, 0.4}, {neck_yaw, 20}, {eye_pitch, 10}});
  const Image first = stage.draw(face, kThreeQuarterView, style);
  stage.draw({}, kSideView, style, &face, 333, 222);
  EXPECT_EQ(stage.draw(face, kThreeQuarterView, style).rgba, first.rgba);
}

TEST_P(HeadPixels, DrawingLeavesFramebufferAndViewportAlone) {
  GLuint other = 0;
  glGenFramebuffers(1, &other);
  glBindFramebuffer(GL_FRAMEBUFFER, other);
  glViewport(3, 5, 70, 90);
  stage.view().render({}, nullptr, kFrontView, style, 200, 100);
  GLint bound = 0, viewport[4] = {};
  glGetIntegerv(GL_FRAMEBUFFER_BINDING, &bound);
  glGetIntegerv(GL_VIEWPORT, viewport);
  EXPECT_EQ(static_cast<GLuint>(bound), other);
  EXPECT_EQ((std::array{viewport[0], viewport[1], viewport[2], viewport[3]}), (std::array{3, 5, 70, 90}));
  EXPECT_EQ(glGetError(), static_cast<GLenum>(GL_NO_ERROR));
  glBindFramebuffer(GL_FRAMEBUFFER, 0);
  glDeleteFramebuffers(1, &other);
}

TEST(HeadView, DrawsNothingWithoutSizeOrInit) {
  HeadStage stage;
  ASSERT_EQ(stage.error(), "");
  const HeadStyle style = head_style(theme(true));
  HeadView cold;
  cold.render({}, nullptr, kFrontView, style, 100, 100);
  EXPECT_EQ(cold.texture(), 0u);
  for (const int size : {0, -1, std::numeric_limits<int>::min()}) stage.view().render({}, nullptr, kFrontView, style, size, 100);
  EXPECT_EQ(stage.view().texture(), 0u);
}

TEST(HeadView, ARefusedShaderSaysWhichAndWhy) {
  HeadStage stage;
  ASSERT_EQ(stage.error(), "");
  std::string why;
  EXPECT_EQ(make_program("broken", "#version 330 core\nvoid main() { gl_Position = nonsense; }", "", &why), 0u);
  EXPECT_NE(why.find("broken"), std::string::npos) << why;
  EXPECT_NE(why.find("nonsense"), std::string::npos) << why;
}

TEST(HeadCamera, ADragTurnsTheHeadWithTheMouseAndStopsAtThePoles) {
  Camera camera = kFrontView;
  orbit(camera, 100, 0);
  EXPECT_LT(camera.yaw_deg, 0) << "the viewer goes to the head's right, so that the head turns to the right of the picture";
  orbit(camera, 0, 1e6);
  EXPECT_EQ(camera.pitch_deg, 85);
  orbit(camera, 1e9, -1e9);
  EXPECT_EQ(camera.pitch_deg, -85);
  EXPECT_LE(std::abs(camera.yaw_deg), 180);
}

TEST(HeadCamera, TheWheelStaysWithinBounds) {
  Camera camera;
  zoom(camera, 3);
  EXPECT_LT(camera.distance, kFrontView.distance);
  zoom(camera, 1e6);
  EXPECT_EQ(camera.distance, 3);
  zoom(camera, -1e6);
  EXPECT_EQ(camera.distance, 20);
}

TEST(HeadCamera, BadNumbersChangeNothing) {
  Camera camera = kThreeQuarterView;
  const double nan = std::numeric_limits<double>::quiet_NaN(), infinity = std::numeric_limits<double>::infinity();
  orbit(camera, nan, 0), orbit(camera, 0, infinity), zoom(camera, nan), zoom(camera, -infinity);
  EXPECT_EQ(camera, kThreeQuarterView);
}

}  // namespace
}  // namespace mien::editor::test
