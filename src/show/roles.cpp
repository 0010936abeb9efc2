#include "show/roles.hpp"

namespace mien::show {
namespace {

constexpr std::array<std::string_view, kRoleCount> kNames{
    "brow_inner_left", "brow_inner_right", "brow_outer_left", "brow_outer_right",
    "brow_raise_left", "brow_raise_right", "brow_tilt_left", "brow_tilt_right",
    "eye_yaw_left", "eye_yaw_right",
    "eye_pitch_left", "eye_pitch_right", "eye_pitch",
    "lid_upper_left", "lid_upper_right", "lid_upper",
    "lid_lower_left", "lid_lower_right", "lid_lower",
    "jaw_open", "jaw_side",
    "lip_corner_wide_left", "lip_corner_wide_right",
    "lip_corner_up_left", "lip_corner_up_right",
    "lip_upper_left", "lip_upper_centre", "lip_upper_right",
    "lip_lower_left", "lip_lower_centre", "lip_lower_right",
    "cheek_left", "cheek_right",
    "nose_wrinkle",
    "neck_yaw", "neck_pitch", "neck_roll"};
static_assert(!kNames.back().empty(), "a role without a name");

}  // namespace

std::string_view name(Role role) noexcept {
  const auto index = static_cast<std::size_t>(role);
  return index < kNames.size() ? kNames[index] : std::string_view{};
}

std::optional<Role> parse_role(std::string_view text) noexcept {
  for (std::size_t i = 0; i < kNames.size(); ++i) {
    if (kNames[i] == text) return static_cast<Role>(i);
  }
  return std::nullopt;
}

}  // namespace mien::show
