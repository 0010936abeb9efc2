// The colours of the head.
#pragma once
#include <array>

#include "editor/head_geometry.hpp"
#include "editor/theme.hpp"
#include "show/rig.hpp"

namespace mien::editor {

/// One colour per part; the panel may give the parts the colours of the rig's groups. All opaque.
struct HeadStyle {
  Colour background, line, skin;
  Colour brow, eye, lid, mouth, jaw, neck;
  Colour sclera, pupil, glint, mouth_inside, teeth;
  Colour ghost;
  double line_scale = 1;  ///< times the line width that fits the picture's height
  friend bool operator==(const HeadStyle&, const HeadStyle&) = default;
};
HeadStyle head_style(const Theme& theme);
/// With the parts in the colours that the rig's groups have on their lanes; parts that no actuator moves keep their own.
HeadStyle head_style(const Theme& theme, const show::Rig& rig);

/// From a (0) to b (1), each channel by itself.
Colour mix(Colour a, Colour b, double share);

using HeadPalette = std::array<Colour, kToneCount>;
HeadPalette palette_of(const HeadStyle& style);
/// For the ghost: every line faint and of one colour, the print's layers not drawn.
HeadPalette ghost_palette_of(const HeadStyle& style);

}  // namespace mien::editor
