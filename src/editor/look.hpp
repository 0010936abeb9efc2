// How everything in the window looks: theme, letters and scale, handed to every panel. Two sizes and two weights of one family.
#pragma once
#include <cmath>
#include <string>

#include "editor/theme.hpp"

struct ImFont;
struct ImFontAtlas;

namespace mien::editor {

struct Fonts {
  ImFont* body = nullptr;
  ImFont* strong = nullptr;        ///< body size, heavier
  ImFont* large_strong = nullptr;  ///< times and words that are read from across the bench
  std::string note;                ///< empty, or which fallback serves and how to get the proper letters
};

/// Fills the atlas for a scale: Inter, else DejaVu Sans, else the library's built-in letters. Figures get one common width.
Fonts load_fonts(ImFontAtlas& atlas, float scale);

struct Look {
  Theme theme = editor::theme(true);
  Fonts fonts;
  float scale = 1;
  /// Design pixels to whole pixels of this screen.
  float px(float design) const noexcept { return std::round(design * scale); }
};

}  // namespace mien::editor
