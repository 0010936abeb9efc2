#include "editor/head_style.hpp"

#include <algorithm>
#include <cmath>

namespace mien::editor {

Colour mix(Colour a, Colour b, double share) {
  const auto channel = [&](int shift) {
    const double x = a >> shift & 0xFF, y = b >> shift & 0xFF;
    return static_cast<Colour>(std::lround(x + (y - x) * share)) << shift;
  };
  return channel(0) | channel(8) | channel(16) | channel(24);
}

HeadStyle head_style(const Theme& theme) {
  HeadStyle s{};
  const bool dark = theme.dark;
  s.background = theme.ground;
  s.line = dark ? rgb(0xB9C2CC) : rgb(0x39424C);
  s.skin = dark ? rgb(0x23282D) : rgb(0xF7F7F5);
  s.brow = theme.group[0], s.eye = theme.group[1], s.lid = theme.group[2];
  s.mouth = theme.group[4], s.jaw = theme.group[3], s.neck = theme.group[5];
  s.sclera = dark ? rgb(0xD5DADF) : rgb(0xFFFFFF);
  s.pupil = rgb(0x0B0D10), s.glint = rgb(0xFFFFFF);
  s.mouth_inside = dark ? rgb(0x0A0B0D) : rgb(0x3A1F2B);
  s.teeth = dark ? rgb(0xC9CED3) : rgb(0xFFFFFF);
  s.ghost = dark ? rgb(0xFFFFFF) : rgb(0x000000);
  return s;
}

namespace {

Colour* part_of(HeadStyle& s, show::Role role) {
  using show::Role;
  if (role <= Role::brow_tilt_right) return &s.brow;
  if (role <= Role::eye_pitch) return &s.eye;
  if (role <= Role::lid_lower) return &s.lid;
  if (role <= Role::jaw_side) return &s.jaw;
  if (role <= Role::lip_lower_right) return &s.mouth;
  return role >= Role::neck_yaw ? &s.neck : nullptr;
}

}  // namespace

HeadStyle head_style(const Theme& theme, const show::Rig& rig) {
  HeadStyle s = head_style(theme);
  for (const show::Mapping& m : rig.mappings)
    for (std::size_t i = 0; i < std::min(m.axes.size(), m.actuators.size()); ++i) {
      const auto role = show::parse_role(m.axes[i].role);
      Colour* part = role ? part_of(s, *role) : nullptr;
      const auto actuator = std::find_if(rig.actuators.begin(), rig.actuators.end(), [&](const auto& a) { return a.name == m.actuators[i]; });
      if (!part || actuator == rig.actuators.end()) continue;
      const auto group = std::find_if(rig.groups.begin(), rig.groups.end(), [&](const auto& g) { return g.name == actuator->group; });
      if (group != rig.groups.end()) *part = theme.group_colour(static_cast<std::size_t>(group - rig.groups.begin()));
    }
  return s;
}

HeadPalette palette_of(const HeadStyle& s) {
  HeadPalette p{};
  const auto set = [&](Tone tone, Colour c) { p[static_cast<std::size_t>(tone)] = c; };
  set(Tone::layer, with_alpha(s.line, 0.42)), set(Tone::brow, s.brow), set(Tone::brow_edge, s.brow);
  set(Tone::limbus, mix(s.eye, s.pupil, 0.45));
  set(Tone::lid, s.lid), set(Tone::lid_crease, with_alpha(s.lid, 0.75)), set(Tone::lid_layer, with_alpha(s.lid, 0.35));
  set(Tone::lip, s.mouth), set(Tone::lip_rim, with_alpha(s.mouth, 0.75));
  set(Tone::jaw, with_alpha(s.jaw, 0.75)), set(Tone::cheek, with_alpha(s.line, 0.8)), set(Tone::nose, s.line);
  set(Tone::neck, with_alpha(s.neck, 0.9)), set(Tone::neck_layer, with_alpha(s.line, 0.22)), set(Tone::stand, s.neck);
  set(Tone::skin, s.skin), set(Tone::sclera, s.sclera), set(Tone::iris, s.eye), set(Tone::pupil, s.pupil);
  set(Tone::glint, s.glint), set(Tone::lid_skin, mix(s.skin, s.lid, 0.05)), set(Tone::lip_skin, mix(s.skin, s.mouth, 0.34));
  set(Tone::mouth_inside, s.mouth_inside), set(Tone::teeth, s.teeth), set(Tone::tongue, mix(s.mouth_inside, s.mouth, 0.4));
  set(Tone::hinge_skin, mix(s.skin, s.line, 0.07)), set(Tone::neck_skin, mix(s.skin, s.background, 0.45));
  return p;
}

HeadPalette ghost_palette_of(const HeadStyle& s) {
  HeadPalette p{};
  for (Colour& c : p) c = with_alpha(s.ghost, 0.55);
  for (const Tone hidden : {Tone::layer, Tone::neck_layer, Tone::lid_layer, Tone::lid_crease, Tone::cheek, Tone::neck, Tone::stand}) {
    p[static_cast<std::size_t>(hidden)] = 0;
  }
  return p;
}

}  // namespace mien::editor
