#include "editor/draw.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "motion/curve.hpp"

namespace mien::editor {
namespace {

// A convex polygon as a fan, without the anti-aliasing fringe that doubles the vertices.
template <std::size_t N>
void fan(ImDrawList& list, const std::array<ImVec2, N>& points, Colour colour) {
  const ImVec2 white = ImGui::GetFontTexUvWhitePixel();
  list.PrimReserve(static_cast<int>((N - 2) * 3), static_cast<int>(N));
  const auto first = static_cast<ImDrawIdx>(list._VtxCurrentIdx);
  for (std::size_t i = 2; i < N; ++i) {
    list.PrimWriteIdx(first);
    list.PrimWriteIdx(static_cast<ImDrawIdx>(first + i - 1));
    list.PrimWriteIdx(static_cast<ImDrawIdx>(first + i));
  }
  for (const ImVec2& p : points) list.PrimWriteVtx(p, white, colour);
}

}  // namespace

void fill(ImDrawList& list, float x0, float y0, float x1, float y1, Colour colour) {
  list.PrimReserve(6, 4);
  const ImVec2 white = ImGui::GetFontTexUvWhitePixel();
  list.PrimRectUV({x0, y0}, {x1, y1}, white, white, colour);
}

void fill_triangle(ImDrawList& list, ImVec2 a, ImVec2 b, ImVec2 c, Colour colour) {
  fan(list, std::array<ImVec2, 3>{a, b, c}, colour);
}

void key_mark(ImDrawList& list, float x, float y, float r, show::Easing::Kind kind, Colour colour) {
  using Kind = show::Easing::Kind;
  const float c = r * 0.42f;
  switch (kind) {
    case Kind::hold: fill(list, x - r * 0.5f, y - r * 1.1f, x + r * 0.5f, y + r * 1.1f, colour); break;
    case Kind::linear: fan(list, std::array<ImVec2, 3>{{{x - r * 0.75f, y - r * 1.1f}, {x + r * 1.2f, y}, {x - r * 0.75f, y + r * 1.1f}}}, colour); break;
    case Kind::smooth:
      fan(list, std::array<ImVec2, 8>{{{x - c, y - r}, {x + c, y - r}, {x + r, y - c}, {x + r, y + c},
                                       {x + c, y + r}, {x - c, y + r}, {x - r, y + c}, {x - r, y - c}}}, colour);
      break;
    case Kind::bezier: {
      const float w = r * 1.2f, h = r * 0.9f;
      fan(list, std::array<ImVec2, 6>{{{x - w * 0.5f, y - h}, {x + w * 0.5f, y - h}, {x + w, y}, {x + w * 0.5f, y + h}, {x - w * 0.5f, y + h}, {x - w, y}}}, colour);
      break;
    }
  }
}

void thin_line(ImDrawList& list, std::vector<ImVec2>& points, Colour colour, float thickness) {
  if (points.size() < 2) return;
  constexpr std::size_t kMostLeftOut = 8;
  constexpr float kOff = 0.25f;
  std::size_t kept = 0, from = 0;  // the last point that stays, and where it stood
  const auto straight = [&](std::size_t to) {
    const ImVec2 a = points[kept], way{points[to].x - a.x, points[to].y - a.y};
    const float length = std::hypot(way.x, way.y);
    for (std::size_t i = from + 1; i < to; ++i) {
      const ImVec2 p{points[i].x - a.x, points[i].y - a.y};
      const float along = p.x * way.x + p.y * way.y;
      if (along < 0 || along > length * length || std::abs(p.x * way.y - p.y * way.x) > kOff * length) return false;
    }
    return true;
  };
  for (std::size_t i = 1; i + 1 < points.size(); ++i) {
    if (i - from < kMostLeftOut && straight(i + 1)) continue;
    points[++kept] = points[i];
    from = i;
  }
  points[++kept] = points.back();
  list.AddPolyline(points.data(), static_cast<int>(kept) + 1, colour, 0, thickness);
}

void key_run_mark(ImDrawList& list, float x0, float x1, float y, float r, Colour colour) {
  const float c = r * 0.42f;
  if (x1 - x0 <= 2 * r)
    return fan(list, std::array<ImVec2, 8>{{{x0 - c, y - r}, {x1 + c, y - r}, {x1 + r, y - c}, {x1 + r, y + c}, {x1 + c, y + r}, {x0 - c, y + r}, {x0 - r, y + c}, {x0 - r, y - c}}}, colour);
  const float bar = r * 0.6f, in = c + r - bar;  // where the bar meets the slant of a round end
  fan(list, std::array<ImVec2, 8>{{{x0 + in, y + bar}, {x0 + c, y + r}, {x0 - c, y + r}, {x0 - r, y + c}, {x0 - r, y - c}, {x0 - c, y - r}, {x0 + c, y - r}, {x0 + in, y - bar}}}, colour);
  fan(list, std::array<ImVec2, 8>{{{x1 - in, y - bar}, {x1 - c, y - r}, {x1 + c, y - r}, {x1 + r, y - c}, {x1 + r, y + c}, {x1 + c, y + r}, {x1 - c, y + r}, {x1 - in, y + bar}}}, colour);
  const auto left = list._VtxCurrentIdx - 16, right = list._VtxCurrentIdx - 8;
  list.PrimReserve(6, 0);
  for (const auto corner : {left, left + 7, right, left, right, right + 7}) list.PrimWriteIdx(static_cast<ImDrawIdx>(corner));
}

float width_of(ImFont* font, std::string_view text) {
  return font->CalcTextSizeA(font->FontSize, 1e9f, 0, text.data(), text.data() + text.size()).x;
}

float words(ImDrawList& list, ImFont* font, float x, float y, Colour colour, std::string_view text, float max_width) {
  const ImVec2 at{std::round(x), std::round(y - font->FontSize * 0.5f)};
  if (max_width < 0) return 0;
  const float width = width_of(font, text);
  if (max_width == 0 || width <= max_width) {
    list.AddText(font, font->FontSize, at, colour, text.data(), text.data() + text.size());
    return width;
  }
  const std::string_view dots = "\u2026";
  const float room = max_width - width_of(font, dots);
  if (room <= 0) return 0;
  const char* end = nullptr;
  const float kept = font->CalcTextSizeA(font->FontSize, room, 0, text.data(), text.data() + text.size(), &end).x;
  list.AddText(font, font->FontSize, at, colour, text.data(), end);
  list.AddText(font, font->FontSize, {at.x + kept, at.y}, colour, dots.data(), dots.data() + dots.size());
  return max_width;
}

void beside_pointer(const Look& look, std::string_view text) {
  ImDrawList& list = *ImGui::GetForegroundDrawList();
  const ImVec2 mouse = ImGui::GetIO().MousePos, screen = ImGui::GetIO().DisplaySize;
  const float pad = look.px(8), height = look.px(28), width = width_of(look.fonts.strong, text) + 2 * pad;
  const float x = std::min(mouse.x + look.px(16), screen.x - width), y = std::max(0.0f, mouse.y - height - look.px(8));
  list.AddRectFilled({x, y}, {x + width, y + height}, look.theme.accent, look.px(3));
  words(list, look.fonts.strong, x + pad, y + height * 0.5f, look.theme.accent_text, text);
}

void line(ImFont* font, Colour colour, std::string_view text) {
  ImGui::PushFont(font);
  ImGui::PushStyleColor(ImGuiCol_Text, colour);
  ImGui::TextUnformatted(text.data(), text.data() + text.size());
  ImGui::PopStyleColor();
  ImGui::PopFont();
}

void paragraph(ImFont* font, Colour colour, std::string_view text) {
  ImGui::PushTextWrapPos(0);
  line(font, colour, text);
  ImGui::PopTextWrapPos();
}

void easing_picture(ImDrawList& list, ImVec2 min, ImVec2 max, const show::Easing& easing, Colour colour, float thickness) {
  // A short channel with the easing between its two middle keys shows smooth as it really runs.
  using show::Time;
  const show::Channel sample{"", {{Time{0}, 0, easing}, {Time{1000}, 1, easing}}};
  constexpr int kPoints = 14;  // of so small a picture, more are not told apart
  std::array<ImVec2, kPoints + 1> points;
  for (int i = 0; i <= kPoints; ++i) {
    const float share = static_cast<float>(i) / kPoints;
    const double value = std::clamp(motion::evaluate(sample, Time{static_cast<std::int64_t>(share * 1000)}), -0.15, 1.15);
    points[static_cast<std::size_t>(i)] = {min.x + share * (max.x - min.x), max.y - static_cast<float>(value) * (max.y - min.y)};
  }
  if (easing.kind == show::Easing::Kind::hold) {
    const ImVec2 corner[] = {{min.x, max.y}, {max.x, max.y}, {max.x, min.y}};
    list.AddPolyline(corner, 3, colour, 0, thickness);
    return;
  }
  if (easing.kind == show::Easing::Kind::smooth) {
    // Between two lone keys a smooth segment is straight; what it is for shows between neighbours that rest.
    for (int i = 0; i <= kPoints; ++i) {
      const float share = static_cast<float>(i) / kPoints, value = share * share * (3 - 2 * share);
      points[static_cast<std::size_t>(i)].y = max.y - value * (max.y - min.y);
    }
  }
  list.AddPolyline(points.data(), kPoints + 1, colour, 0, thickness);
}

}  // namespace mien::editor
