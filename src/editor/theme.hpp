// The colours of the window, in one table for light and one for dark. Greys carry the surface, one neutral accent carries
// selection, and the groups of the face carry colours from the set of Okabe & Ito (2008), which people with any common
// colour vision tell apart. Vermilion of that set is kept for one thing: what is live on the hardware.
#pragma once
#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace mien::editor {

/// 0xAABBGGRR, as the drawing library packs it.
using Colour = std::uint32_t;
constexpr Colour rgb(std::uint32_t rrggbb) noexcept {
  return 0xFF000000u | (rrggbb & 0xFFu) << 16 | (rrggbb & 0xFF00u) | rrggbb >> 16;
}
constexpr Colour with_alpha(Colour c, double alpha) noexcept {
  return (c & 0x00FFFFFFu) | static_cast<Colour>(alpha * 255.0 + 0.5) << 24;  // NOLINT(bugprone-incorrect-roundings): lround is not constexpr, and alpha not below 0
}

inline constexpr int kGroupColours = 6;

struct Theme {
  bool dark = true;
  Colour ground, panel, lane, lane_other, raised, raised_hover, raised_active, field, line;
  Colour text, quiet, accent, accent_text;
  Colour live, live_text, warning, good;
  Colour playhead, loop, wave, setpoint, dim;
  std::array<Colour, kGroupColours> group;

  /// The colour of the n-th group of the rig; starts again after the last.
  Colour group_colour(std::size_t index) const noexcept { return group[index % group.size()]; }
};

const Theme& theme(bool dark) noexcept;

/// A text or shape of the window and what it stands on, with the least contrast that it must have: 4.5 for text, 3 for
/// shapes (WCAG 2.2, success criteria 1.4.3 and 1.4.11).
struct Pair {
  std::string_view name;
  Colour front, back;
  double least;
};
/// Every pair that the panels use; a panel that wants another adds it here, where a test measures it.
std::vector<Pair> pairs(const Theme& theme);

/// WCAG 2.2 relative luminance contrast of two opaque colours, 1..21.
double contrast(Colour a, Colour b) noexcept;

/// Gives the drawing library's own widgets the theme's colours, and spacing on a 4-pixel grid times `scale`.
void dress(const Theme& theme, float scale);

}  // namespace mien::editor
