// The parts of a face that the preview knows how to draw, and which way is positive for each. A mapping's axis names one;
// with it any rig gets a face, whatever its servos are called.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

namespace mien::show {

/// "left" and "right" are the head's own, as a person would say of themselves.
enum class Role : std::uint8_t {
  brow_inner_left, brow_inner_right, brow_outer_left, brow_outer_right,   ///< up
  brow_raise_left, brow_raise_right, brow_tilt_left, brow_tilt_right,     ///< the whole brow up; its inner end up and its outer end down
  eye_yaw_left, eye_yaw_right,                                            ///< degrees, to the head's left
  eye_pitch_left, eye_pitch_right, eye_pitch,                             ///< degrees, up; eye_pitch moves both
  lid_upper_left, lid_upper_right, lid_upper,                             ///< open; lid_upper moves both
  lid_lower_left, lid_lower_right, lid_lower,                             ///< raised (closing); lid_lower moves both
  jaw_open, jaw_side,                                                     ///< open; to the head's left
  lip_corner_wide_left, lip_corner_wide_right,                            ///< outward
  lip_corner_up_left, lip_corner_up_right,                                ///< up
  lip_upper_left, lip_upper_centre, lip_upper_right,                      ///< up (opening)
  lip_lower_left, lip_lower_centre, lip_lower_right,                      ///< down (opening)
  cheek_left, cheek_right,                                                ///< up
  nose_wrinkle,                                                           ///< up
  neck_yaw, neck_pitch, neck_roll,                                        ///< degrees: to the head's left, up, toward its left shoulder
  count
};
inline constexpr int kRoleCount = static_cast<int>(Role::count);

/// The name as files spell it, equal to the enumerator's.
std::string_view name(Role role) noexcept;
std::optional<Role> parse_role(std::string_view text) noexcept;
/// Roles whose x is a real angle that the preview shows as such; the others are drawn by their share of the travel.
constexpr bool is_angle(Role role) noexcept {
  return (role >= Role::eye_yaw_left && role <= Role::eye_pitch) || (role >= Role::neck_yaw && role <= Role::neck_roll);
}

/// Where each role stands. share is 0 at rest, +1 where the actuator's travel ends in the positive direction, -1 at the other end;
/// angle roles carry degrees in `deg` as well. present is false for roles that the rig has not.
struct FacePose {
  struct Part { bool present = false; double share = 0; double deg = 0; };
  std::array<Part, kRoleCount> parts{};
  Part& operator[](Role r) noexcept { return parts[static_cast<std::size_t>(r)]; }
  const Part& operator[](Role r) const noexcept { return parts[static_cast<std::size_t>(r)]; }
};

}  // namespace mien::show
