// What the head's numbers promise: which way each role moves it, that it is whole, symmetrical and never NaN.
#include "editor/head_geometry.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <random>

#include "head_stage.hpp"

namespace mien::editor::test {
namespace {

using enum show::Role;
using show::FacePose;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInfinity = std::numeric_limits<double>::infinity();

show::Role role(int index) { return static_cast<show::Role>(index); }

std::vector<Line> lines_of(const HeadLines& head, Tone tone) {
  std::vector<Line> found;
  std::ranges::copy_if(head.lines, std::back_inserter(found), [&](const Line& l) { return l.tone == tone; });
  return found;
}

Vec3 point(const HeadLines& head, const Line& line, int i) { return head.points[static_cast<std::size_t>(line.first + i)].at; }

Vec3 mean(const HeadLines& head, const Line& line) {
  Vec3 sum;
  for (int i = 0; i < line.count; ++i) sum = sum + point(head, line, i);
  return (1.0 / line.count) * sum;
}

// The upper lip's edge, then the lower's; each runs from the right corner to the left.
std::array<Line, 2> lips(const HeadLines& head) {
  const auto found = lines_of(head, Tone::lip);
  EXPECT_EQ(found.size(), 2u);
  return {found.at(0), found.at(1)};
}

double gape(const HeadLines& head) {
  const auto [upper, lower] = lips(head);
  return point(head, upper, upper.count / 2).y - point(head, lower, lower.count / 2).y;
}

// Of one eye, left first: the lower lid's edge and the upper's.
std::array<Line, 2> lids(const HeadLines& head, int side) {
  const auto found = lines_of(head, Tone::lid);
  EXPECT_EQ(found.size(), 4u);
  return side > 0 ? std::array{found.at(0), found.at(1)} : std::array{found.at(2), found.at(3)};
}

Vec3 iris_centre(const HeadLines& head, int side) { return mean(head, lines_of(head, Tone::limbus).at(side > 0 ? 0 : 1)); }

FacePose random_pose(std::mt19937& dice) {
  std::uniform_real_distribution<double> share(-1.3, 1.3), deg(-60, 60);
  FacePose made;
  for (auto& part : made.parts) part = {true, share(dice), deg(dice)};
  return made;
}

bool same(const HeadLines& a, const HeadLines& b) {
  const auto at = [](const auto& p) { return p.at; };
  return std::ranges::equal(a.points, b.points, {}, at, at) && std::ranges::equal(a.vertices, b.vertices, {}, at, at);
}

std::vector<Vec3> all_points(const HeadLines& head) {
  std::vector<Vec3> all;
  for (const auto& p : head.points) all.push_back(p.at);
  for (const auto& v : head.vertices) all.push_back(v.at);
  return all;
}

TEST(HeadGeometry, ASymmetricalPoseGivesAMirrorImage) {
  FacePose face = pose({{jaw_open, 0.5}, {lip_upper_centre, 0.4}, {nose_wrinkle, 0.3}, {lid_upper, -0.2}, {eye_pitch, 7}, {neck_pitch, 9}});
  for (const auto left : {brow_inner_left, brow_outer_left, eye_pitch_left, lid_upper_left, lid_lower_left, lip_corner_wide_left,
                          lip_corner_up_left, cheek_left}) {
    face[left] = face[role(static_cast<int>(left) + 1)] = {true, 0.35, 6};
  }
  face[lip_upper_left] = face[lip_upper_right] = face[lip_lower_left] = face[lip_lower_right] = {true, 0.25, 0};
  face[eye_yaw_left] = {true, 0, 6}, face[eye_yaw_right] = {true, 0, -6};
  auto points = all_points(build_head(face));
  std::ranges::sort(points, {}, &Vec3::y);
  constexpr double kNear = 1e-9;
  for (const Vec3& p : points) {
    const auto first = std::ranges::lower_bound(points, p.y - kNear, {}, &Vec3::y);
    const auto last = std::ranges::upper_bound(points, p.y + kNear, {}, &Vec3::y);
    const bool mirrored = std::any_of(first, last, [&](const Vec3& q) { return std::fabs(q.x + p.x) <= kNear && std::fabs(q.z - p.z) <= kNear; });
    ASSERT_TRUE(mirrored) << "nothing mirrors " << p.x << ", " << p.y << ", " << p.z;
  }
}

TEST(HeadGeometry, TheMouthOpensAsTheJawDoes) {
  double before = gape(build_head(FacePose{}));
  EXPECT_EQ(before, 0);
  for (int i = 1; i <= 20; ++i) {
    const double now = gape(build_head(pose({{jaw_open, i / 20.0}})));
    EXPECT_GT(now, before) << "at a share of " << i / 20.0;
    before = now;
  }
}

TEST(HeadGeometry, ClosedLipsShareTheirPoints) {
  for (const FacePose& face : {FacePose{}, pose({{jaw_open, -1}}), pose({{lip_upper_centre, -1}, {lip_lower_centre, -1}, {lip_upper_left, -0.5}}),
                               pose({{jaw_open, 0.05}, {lip_lower_left, -1}, {lip_lower_centre, -1}, {lip_lower_right, -1}})}) {
    const HeadLines head = build_head(face);
    const auto [upper, lower] = lips(head);
    ASSERT_EQ(upper.count, lower.count);
    for (int i = 0; i < upper.count; ++i) EXPECT_EQ(point(head, upper, i), point(head, lower, i)) << "point " << i;
  }
}

TEST(HeadGeometry, LipsNeverCrossAndMeetAtTheCorners) {
  std::mt19937 dice(7);
  for (int n = 0; n < 60; ++n) {
    FacePose face = random_pose(dice);
    for (const auto r : {neck_yaw, neck_pitch, neck_roll}) face[r] = {};
    const HeadLines head = build_head(face);
    const auto [upper, lower] = lips(head);
    for (int i = 0; i < upper.count; ++i) ASSERT_GE(point(head, upper, i).y, point(head, lower, i).y);
    for (const int corner : {0, upper.count - 1}) EXPECT_EQ(point(head, upper, corner), point(head, lower, corner));
  }
}

TEST(HeadGeometry, AtRestThreeQuartersOfTheIrisShow) {
  const HeadLines head = build_head(FacePose{});
  for (const int side : {1, -1}) {
    const Line iris = lines_of(head, Tone::limbus).at(side > 0 ? 0 : 1);
    double low = 1, high = -1;
    for (int i = 0; i < iris.count; ++i) low = std::min(low, point(head, iris, i).y), high = std::max(high, point(head, iris, i).y);
    const auto [lower, upper] = lids(head, side);
    const double shown = std::min(high, point(head, upper, upper.count / 2).y) - std::max(low, point(head, lower, lower.count / 2).y);
    EXPECT_NEAR(shown / (high - low), 0.78, 0.05);
  }
}

TEST(HeadGeometry, AnUpperLidAtItsEndMeetsTheLowerOneAnywhere) {
  for (const double raised : {-0.0, 0.3, 1.0}) {
    const HeadLines head = build_head(pose({{lid_upper, -1}, {lid_lower, raised}}));
    for (const int side : {1, -1}) {
      const auto [lower, upper] = lids(head, side);
      for (int i = 0; i < upper.count; ++i) EXPECT_EQ(point(head, upper, i), point(head, lower, i));
    }
  }
}

TEST(HeadGeometry, OneRoleForBothLidsAddsToEachOwn) {
  EXPECT_TRUE(same(build_head(pose({{lid_upper, -0.5}, {lid_upper_left, -0.25}})), build_head(pose({{lid_upper_left, -0.75}, {lid_upper_right, -0.5}}))));
  EXPECT_TRUE(same(build_head(pose({{eye_pitch, 10}, {eye_pitch_right, -4}})), build_head(pose({{eye_pitch_left, 10}, {eye_pitch_right, 6}}))));
}

TEST(HeadGeometry, EyesTurnByRealDegrees) {
  for (const double yaw : {-31.0, 0.0, 12.5, 40.0}) {
    for (const double pitch : {-22.0, 0.0, 17.0}) {
      const HeadLines head = build_head(pose({{eye_yaw_left, yaw}, {eye_pitch_left, pitch}, {eye_yaw_right, -yaw}}));
      const Vec3 left = iris_centre(head, 1) - eye_centre(1), right = iris_centre(head, -1) - eye_centre(-1);
      const double to_deg = 180 / std::acos(-1.0);
      EXPECT_NEAR(std::atan2(left.x, left.z) * to_deg, yaw, 1e-6);
      EXPECT_NEAR(std::atan2(left.y, std::hypot(left.x, left.z)) * to_deg, pitch, 1e-6);
      EXPECT_NEAR(std::atan2(right.x, right.z) * to_deg, -yaw, 1e-6);
      EXPECT_NEAR(right.y, 0, 1e-12);
    }
  }
}

TEST(HeadGeometry, TheNeckTurnsByRealDegrees) {
  const double s = std::sin(std::acos(-1.0) / 9), c = std::cos(std::acos(-1.0) / 9);  // of 20 degrees
  const auto across = [](const HeadLines& head) { return normalized(iris_centre(head, 1) - iris_centre(head, -1)); };
  const Vec3 yaw = across(build_head(pose({{neck_yaw, 20}}))), roll = across(build_head(pose({{neck_roll, 20}})));
  EXPECT_NEAR(yaw.x, c, 1e-9);
  EXPECT_NEAR(yaw.z, -s, 1e-9) << "turning left takes the left eye back";
  EXPECT_NEAR(roll.x, c, 1e-9);
  EXPECT_NEAR(roll.y, -s, 1e-9) << "leaning left takes the left eye down";
  const auto brow_to_lip = [](const HeadLines& head) { return point(head, lips(head)[0], 20) - 0.5 * (iris_centre(head, 1) + iris_centre(head, -1)); };
  const Vec3 rest = brow_to_lip(build_head(FacePose{})), up = brow_to_lip(build_head(pose({{neck_pitch, 20}})));
  EXPECT_NEAR(up.y, c * rest.y + s * rest.z, 1e-9);
  EXPECT_NEAR(up.z, c * rest.z - s * rest.y, 1e-9) << "looking up takes the mouth forward";
}

struct Direction {
  show::Role role;
  Tone tone;
  char axis;
};
// Where each role takes the lines that show it, by the meaning of its name in show/roles.hpp.
constexpr Direction kDirections[] = {
    {brow_inner_left, Tone::brow_edge, 'y'}, {brow_raise_right, Tone::brow_edge, 'y'}, {brow_outer_right, Tone::brow_edge, 'y'}, {eye_yaw_left, Tone::limbus, 'x'},
    {eye_yaw_right, Tone::limbus, 'x'}, {eye_pitch_left, Tone::limbus, 'y'}, {eye_pitch, Tone::limbus, 'y'},
    {lid_upper_left, Tone::lid, 'y'}, {lid_upper, Tone::lid, 'y'}, {lid_lower_right, Tone::lid, 'y'}, {lid_lower, Tone::lid, 'y'},
    {jaw_side, Tone::lip, 'x'}, {lip_corner_wide_left, Tone::lip, 'x'}, {lip_corner_up_left, Tone::lip, 'y'},
    {lip_corner_up_right, Tone::lip, 'y'}, {lip_upper_left, Tone::lip, 'y'}, {lip_upper_centre, Tone::lip, 'y'},
    {lip_upper_right, Tone::lip, 'y'}, {cheek_left, Tone::cheek, 'y'}, {cheek_right, Tone::cheek, 'y'}, {nose_wrinkle, Tone::nose, 'y'},
    {neck_yaw, Tone::nose, 'x'}, {neck_pitch, Tone::nose, 'y'}, {neck_roll, Tone::brow_edge, 'x'}};

TEST(HeadGeometry, PositiveIsWhereTheRolesNameSays) {
  const auto mean_of = [](const HeadLines& head, const Direction& d) {
    Vec3 sum;
    for (const Line& line : lines_of(head, d.tone)) sum = sum + mean(head, line);
    return d.axis == 'x' ? sum.x : sum.y;
  };
  for (const Direction& d : kDirections) {
    const double amount = show::is_angle(d.role) ? 15 : 0.6;
    EXPECT_GT(mean_of(build_head(pose({{d.role, amount}})), d), mean_of(build_head(FacePose{}), d) + 1e-4) << show::name(d.role);
  }
  for (const auto down : {jaw_open, lip_lower_left, lip_lower_centre, lip_lower_right}) {
    const Direction d{down, Tone::lip, 'y'};
    EXPECT_LT(mean_of(build_head(pose({{down, 0.6}})), d), mean_of(build_head(FacePose{}), d) - 1e-4) << show::name(down);
  }
}

TEST(HeadGeometry, LeftAndRightAreTheHeadsOwn) {
  const auto rest = all_points(build_head(FacePose{}));
  for (int r = 0; r < show::kRoleCount; ++r) {
    const std::string name(show::name(role(r)));
    const double side = name.ends_with("_left") ? 1 : name.ends_with("_right") ? -1 : 0;
    if (side == 0) continue;
    const auto moved = all_points(build_head(pose({{role(r), show::is_angle(role(r)) ? 10 : 0.7}})));
    for (std::size_t i = 0; i < rest.size(); ++i) {
      // The middle of the lips is soft and follows either corner.
      ASSERT_TRUE(moved[i] == rest[i] || side * rest[i].x > (name.starts_with("lip_corner_wide") ? -0.25 : 0)) << name << " moves a point of the other side";
    }
  }
}

TEST(HeadGeometry, EveryRoleMovesTheHeadBothWays) {
  const HeadLines rest = build_head(FacePose{});
  for (int r = 0; r < show::kRoleCount; ++r) {
    const double amount = show::is_angle(role(r)) ? 5 : 0.1;
    for (const double sign : {1.0, -1.0}) EXPECT_FALSE(same(build_head(pose({{role(r), sign * amount}})), rest)) << show::name(role(r));
  }
}

TEST(HeadGeometry, AbsentRolesAndBadNumbersAreDrawnAtRest) {
  const HeadLines rest = build_head(FacePose{});
  FacePose absent;
  for (auto& part : absent.parts) part = {false, 0.8, 20};
  EXPECT_TRUE(same(build_head(absent), rest));
  for (const double bad : {kNan, kInfinity, -kInfinity}) {
    FacePose broken;
    for (auto& part : broken.parts) part = {true, bad, bad};
    EXPECT_TRUE(same(build_head(broken), rest)) << bad;
  }
}

TEST(HeadGeometry, SharesBeyondTheTravelAreDrawnAtItsEnd) {
  for (const double sign : {1.0, -1.0}) {
    FacePose far, end;
    for (auto& part : far.parts) part = {true, sign * 1e300, sign * 1e300};
    for (auto& part : end.parts) part = {true, sign, sign * 90};
    EXPECT_TRUE(same(build_head(far), build_head(end)));
  }
}

TEST(HeadGeometry, AnyPoseIsFiniteAndOfTheSameShape) {
  const HeadLines rest = build_head(FacePose{});
  std::mt19937 dice(3);
  HeadLines head;
  for (int n = 0; n < 60; ++n) {
    build_head(random_pose(dice), head);
    ASSERT_EQ(head.triangles, rest.triangles);
    ASSERT_EQ(head.lines.size(), rest.lines.size());
    for (std::size_t i = 0; i < rest.lines.size(); ++i) {
      ASSERT_EQ(head.lines[i].first, rest.lines[i].first);
      ASSERT_EQ(head.lines[i].count, rest.lines[i].count);
    }
    for (const Vec3& p : all_points(head)) ASSERT_TRUE(std::isfinite(p.x + p.y + p.z) && std::fabs(p.x) < 3 && std::fabs(p.y) < 3 && std::fabs(p.z) < 3);
    for (const LinePoint& p : head.points) ASSERT_TRUE(p.width_px >= 0 && p.width_px < 20);
  }
}

TEST(HeadGeometry, ASecondPoseReusesTheMemoryOfTheFirst) {
  HeadLines head;
  build_head(FacePose{}, head);
  const auto* points = head.points.data();
  const auto* vertices = head.vertices.data();
  build_head(pose({{jaw_open, 1}, {neck_yaw, 30}}), head);
  EXPECT_EQ(head.points.data(), points);
  EXPECT_EQ(head.vertices.data(), vertices);
}

}  // namespace
}  // namespace mien::editor::test
