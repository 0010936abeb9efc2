// Shapes and words by hand, cheap enough for thousands a frame: flat, without smoothed edges, straight into the vertex buffer.
#pragma once
#include <imgui.h>

#include <string_view>
#include <vector>

#include "editor/look.hpp"
#include "show/show.hpp"

namespace mien::editor {

void fill(ImDrawList& list, float x0, float y0, float x1, float y1, Colour colour);
void fill_triangle(ImDrawList& list, ImVec2 a, ImVec2 b, ImVec2 c, Colour colour);

/// The mark of a keyframe: its shape tells the easing of the segment that leaves it. Hold is a post, linear a wedge that goes on,
/// smooth round, Bezier a barrel. No more than 8 vertices.
void key_mark(ImDrawList& list, float x, float y, float radius, show::Easing::Kind kind, Colour colour);

/// The marks of neighbours too near to be told apart, from the first at x0 to the last at x1: two round ends and a bar between, or one drawn out where they would overlap. No more than
/// 16 vertices, and no pixel twice.
void key_run_mark(ImDrawList& list, float x0, float x1, float y, float radius, Colour colour);

/// A line through points whose x never falls, without those that stand less than a quarter pixel off it: what is left looks the same and is drawn in fewer pieces.
void thin_line(ImDrawList& list, std::vector<ImVec2>& points, Colour colour, float thickness);

/// Text with the line's middle at y; returns its width. `max_width` > 0 cuts it, with an ellipsis; below 0 there is no room and nothing is drawn.
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
