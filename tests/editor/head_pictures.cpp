// Pictures of the head for people to look at, in the build folder's pictures/.
#include <gtest/gtest.h>

#include <map>

#include "head_stage.hpp"

namespace mien::editor::test {
namespace {

using enum show::Role;

show::FacePose both(std::initializer_list<Move> moves) {
  show::FacePose made = pose(moves);
  for (const Move& m : moves) {
    const auto other = static_cast<show::Role>(static_cast<int>(m.role) + 1);
    if (show::name(m.role).ends_with("_left") && show::name(other).ends_with("_right")) made[other] = made[m.role];
    if (m.role == lip_upper_left) made[lip_upper_right] = made[m.role];
    if (m.role == lip_lower_left) made[lip_lower_right] = made[m.role];
  }
  return made;
}

std::map<std::string, show::FacePose> faces() {
  return {
      {"neutral", {}},
      {"aa", both({{jaw_open, 0.75}, {lip_lower_left, 0.2}, {lip_lower_centre, 0.3}, {lip_upper_left, 0.2}, {lip_upper_centre, 0.3}})},
      {"ee", both({{jaw_open, 0.18}, {lip_corner_wide_left, 0.8}, {lip_upper_left, 0.45}, {lip_upper_centre, 0.25}, {lip_lower_left, 0.3}, {lip_lower_centre, 0.25}})},
      {"oo", both({{jaw_open, 0.25}, {lip_corner_wide_left, -1}, {lip_upper_centre, 0.2}, {lip_lower_centre, 0.2}})},
      {"mm", both({{jaw_open, 0.05}, {lip_upper_left, -0.6}, {lip_upper_centre, -0.6}, {lip_lower_left, -0.7}, {lip_lower_centre, -0.7}})},
      {"blink", pose({{lid_upper, -1}, {lid_lower, 0.6}})},
      {"wink", pose({{lid_upper_left, -1}, {lid_lower_left, 0.8}, {cheek_left, 0.7}, {lip_corner_up_left, 0.6}})},
      {"smile", both({{lip_corner_up_left, 1}, {lip_corner_wide_left, 0.6}, {cheek_left, 0.8}, {lid_lower_left, 0.4}, {lip_upper_left, 0.3}, {jaw_open, 0.12}})},
      {"frown", both({{brow_inner_left, -1}, {brow_outer_left, 0.15}, {lip_corner_up_left, -0.9}, {lid_upper_left, -0.25}, {lid_lower_left, 0.3}, {nose_wrinkle, 0.7}})},
      {"surprise", both({{brow_inner_left, 1}, {brow_outer_left, 0.9}, {lid_upper_left, 1}, {lid_lower_left, -0.5}, {jaw_open, 0.6}, {lip_corner_wide_left, -0.35}})},
      {"sad", both({{brow_inner_left, 1}, {brow_outer_left, -0.5}, {lip_corner_up_left, -0.7}, {lid_upper_left, -0.3}, {eye_pitch, -12}, {neck_pitch, -8}})},
      {"gaze", pose({{eye_yaw_left, 28}, {eye_yaw_right, 28}, {eye_pitch, 16}, {lid_upper, 0.3}})},
      {"neck", pose({{neck_yaw, 25}, {neck_pitch, 12}, {neck_roll, 10}})},
      {"jaw-side", pose({{jaw_open, 0.4}, {jaw_side, 1}})},
  };
}

class HeadPicture : public ::testing::TestWithParam<std::pair<const std::string, show::FacePose>> {};
INSTANTIATE_TEST_SUITE_P(Faces, HeadPicture, ::testing::ValuesIn(faces()), [](const auto& face) {
  std::string name = face.param.first;
  std::erase(name, '-');
  return name;
});

TEST_P(HeadPicture, ShowsTheFaceFromInFrontAndFromTheSide) {
  HeadStage stage(4);
  ASSERT_EQ(stage.error(), "");
  const auto& [name, face] = GetParam();
  const HeadStyle style = head_style(theme(true));
  for (const auto& [from, camera] : {std::pair{"", kFrontView}, std::pair{"-three-quarter", kThreeQuarterView}}) {
    const Image image = stage.draw(face, camera, style);
    keep(image, "head-" + name + from);
    const Image rest = stage.draw({}, camera, style);
    EXPECT_EQ(image.rgba == rest.rgba, name == "neutral");
  }
}

TEST(HeadPictures, LightAndDarkAndEverySideDiffer) {
  HeadStage stage(4);
  ASSERT_EQ(stage.error(), "");
  const HeadStyle dark = head_style(theme(true)), light = head_style(theme(false));
  const show::FacePose smile = faces().at("smile"), surprise = faces().at("surprise");
  std::map<std::vector<std::uint8_t>, std::string> seen;
  const auto look = [&](const Image& image, const std::string& name) {
    keep(image, "head-" + name);
    const auto [twin, fresh] = seen.emplace(image.rgba, name);
    EXPECT_TRUE(fresh) << name << " is drawn exactly like " << twin->second;
  };
  look(stage.draw({}, kSideView, dark), "neutral-side");
  look(stage.draw({}, {150, 25, 7.5}, dark), "neutral-behind");
  look(stage.draw({}, kFrontView, light), "neutral-light");
  look(stage.draw(surprise, kSideView, dark), "surprise-side");
  look(stage.draw(smile, kFrontView, light), "smile-light");
  look(stage.draw(smile, kThreeQuarterView, light), "smile-three-quarter-light");
  look(stage.draw({}, kFrontView, dark, &surprise), "ghost");
  look(stage.draw({}, kFrontView, light, &surprise), "ghost-light");
}

}  // namespace
}  // namespace mien::editor::test
