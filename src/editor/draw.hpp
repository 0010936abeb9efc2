// Shapes and words by hand, cheap enough for thousands a frame: flat, without smoothed edges, straight into the vertex buffer.
#pragma once
#include <imgui.h>

#include <string_view>

#include "editor/look.hpp"
#include "show/show.hpp"

namespace mien::editor {

void fill(ImDrawList& list, float x0, float y0, float x1, float y1, Colour colour);
void fill_triangle(ImDrawList& list, ImVec2 a, ImVec2 b, ImVec2 c, Colour colour);

/// The mark of a keyframe: its shape tells the easing of the segment that leaves it. Hold is square, linear a kite on its tip,
/// smooth round, Bezier a barrel. No more than 8 vertices.
void key_mark(ImDrawList& list, float x, float y, float radius, show::Easing::Kind kind, Colour colour);

/// Text with the line's middle at y; returns its width. `max_width` > 0 cuts it, with an ellipsis.
float words(ImDrawList& list, ImFont* font, float x, float y, Colour colour, std::string_view text, float max_width = 0);
float width_of(ImFont* font, std::string_view text);

/// A word beside the pointer, on top of everything: what a drag is doing.
void beside_pointer(const Look& look, std::string_view text);

/// A line of text in a font and colour as a widget.
void line(ImFont* font, Colour colour, std::string_view text);
/// The same, wrapped at the panel's edge.
void paragraph(ImFont* font, Colour colour, std::string_view text);

/// A small drawing of an easing in a box of the given size.
void easing_picture(ImDrawList& list, ImVec2 min, ImVec2 max, const show::Easing& easing, Colour colour, float thickness);

}  // namespace mien::editor
