#include "show/finding.hpp"

#include <gtest/gtest.h>

#include "show/roles.hpp"
#include "show/show.hpp"

namespace mien::show {
namespace {

TEST(Finding, ReadsAsSeverityFilePlaceWhatAndCure) {
  EXPECT_EQ(to_text(Finding{Severity::warning, "a.rig.json", "actuator 'jaw', rest_deg", "is 50 deg", "Give a rest inside the travel."}),
            "warning: a.rig.json: actuator 'jaw', rest_deg: is 50 deg. Give a rest inside the travel.");
}

TEST(Finding, LeavesOutWhatIsEmpty) {
  EXPECT_EQ(to_text(Finding{Severity::error, "", "", "is empty", ""}), "error: is empty.");
  EXPECT_EQ(to_text(Finding{Severity::note, "", "", "unknown 'x'", "Did you mean 'y'?"}), "note: unknown 'x'. Did you mean 'y'?");
}

TEST(Findings, HaveErrorsOnlyWhereOneIsAnError) {
  EXPECT_FALSE(has_errors({}));
  EXPECT_FALSE(has_errors({{Severity::note, "", "", "", ""}, {Severity::warning, "", "", "", ""}}));
  EXPECT_TRUE(has_errors({{Severity::note, "", "", "", ""}, {Severity::error, "", "", "", ""}}));
}

TEST(Roles, AreSpelledAsTheirEnumerators) {
#define SPELLED(role) EXPECT_EQ(name(Role::role), #role)
  SPELLED(brow_inner_left); SPELLED(brow_inner_right); SPELLED(brow_outer_left); SPELLED(brow_outer_right);
  SPELLED(brow_raise_left); SPELLED(brow_raise_right); SPELLED(brow_tilt_left); SPELLED(brow_tilt_right);
  SPELLED(eye_yaw_left); SPELLED(eye_yaw_right); SPELLED(eye_pitch_left); SPELLED(eye_pitch_right); SPELLED(eye_pitch);
  SPELLED(lid_upper_left); SPELLED(lid_upper_right); SPELLED(lid_upper); SPELLED(lid_lower_left); SPELLED(lid_lower_right); SPELLED(lid_lower);
  SPELLED(jaw_open); SPELLED(jaw_side);
  SPELLED(lip_corner_wide_left); SPELLED(lip_corner_wide_right); SPELLED(lip_corner_up_left); SPELLED(lip_corner_up_right);
  SPELLED(lip_upper_left); SPELLED(lip_upper_centre); SPELLED(lip_upper_right);
  SPELLED(lip_lower_left); SPELLED(lip_lower_centre); SPELLED(lip_lower_right);
  SPELLED(cheek_left); SPELLED(cheek_right); SPELLED(nose_wrinkle); SPELLED(neck_yaw); SPELLED(neck_pitch); SPELLED(neck_roll);
#undef SPELLED
}

TEST(Roles, ReadBackTheSame) {
  for (int i = 0; i < kRoleCount; ++i) EXPECT_EQ(parse_role(name(static_cast<Role>(i))), static_cast<Role>(i));
  EXPECT_EQ(parse_role(""), std::nullopt);
  EXPECT_EQ(parse_role("Jaw_open"), std::nullopt);
  EXPECT_EQ(name(Role::count), "");
}

TEST(Shows, AreTheSameWhetherOrNotTheyShareChannels) {
  Show a;
  a.channels.push_back(std::make_shared<const Channel>(Channel{"blink", {{Time{5}, 1}}}));
  Show b = a;
  EXPECT_TRUE(same(a, b));
  b.channels[0] = std::make_shared<const Channel>(*a.channels[0]);
  EXPECT_TRUE(same(a, b));
  b.channels[0] = std::make_shared<const Channel>(Channel{"blink", {{Time{6}, 1}}});
  EXPECT_FALSE(same(a, b));
  b.channels.clear();
  EXPECT_FALSE(same(a, b));
}

TEST(Channels, AreFoundByTheirControl) {
  Show show;
  EXPECT_EQ(find_channel(show, "blink"), nullptr);
  show.channels.push_back(std::make_shared<const Channel>(Channel{"blink", {}}));
  EXPECT_EQ(find_channel(show, "blink"), show.channels[0].get());
  EXPECT_EQ(find_channel(show, "jaw"), nullptr);
}

}  // namespace
}  // namespace mien::show
