#include <imgui.h>
#include <imgui_freetype.h>

#include <array>
#include <filesystem>

#include "editor/look.hpp"

namespace mien::editor {
namespace {

constexpr float kBodySize = 15, kLargeSize = 27;

struct Family { const char* regular; const char* strong; };
constexpr std::array<Family, 2> kFamilies{{
    {"/usr/share/fonts/opentype/inter/Inter-Regular.otf", "/usr/share/fonts/opentype/inter/Inter-SemiBold.otf"},
    {"/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf", "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"},
}};

// Latin, punctuation, Greek mu, arrows and mathematical signs that messages and units use.
constexpr ImWchar kLetters[] = {0x20, 0x2F, 0x3A, 0x17F, 0x3BC, 0x3BC, 0x2010, 0x2027, 0x2032, 0x2033, 0x2190, 0x2193, 0x2212, 0x2212, 0x2264, 0x2265, 0};
constexpr ImWchar kFigures[] = {0x30, 0x39, 0};

// The figures' widest advance at this size, so that all of them can be given that width.
float figure_width(const char* file, float size) {
  ImFontAtlas probe;
  probe.FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
  ImFont* font = probe.AddFontFromFileTTF(file, size, nullptr, kFigures);
  if (!font || !probe.Build()) return 0;
  float widest = 0;
  for (ImWchar c = '0'; c <= '9'; ++c) widest = std::max(widest, font->GetCharAdvance(c));
  return std::ceil(widest);
}

ImFont* add(ImFontAtlas& atlas, const char* file, float size) {
  ImFontConfig letters;
  letters.OversampleH = letters.OversampleV = 1;
  letters.PixelSnapH = true;
  ImFont* font = atlas.AddFontFromFileTTF(file, size, &letters, kLetters);
  ImFontConfig figures = letters;
  figures.MergeMode = true;
  figures.GlyphMinAdvanceX = figures.GlyphMaxAdvanceX = figure_width(file, size);
  atlas.AddFontFromFileTTF(file, size, &figures, kFigures);
  return font;
}

}  // namespace

Fonts load_fonts(ImFontAtlas& atlas, float scale) {
  atlas.Clear();
  atlas.FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
  atlas.Flags |= ImFontAtlasFlags_NoPowerOfTwoHeight;
  const float body = std::round(kBodySize * scale), large = std::round(kLargeSize * scale);
  Fonts fonts;
  for (const Family& family : kFamilies) {
    std::error_code ignored;
    if (!std::filesystem::is_regular_file(family.regular, ignored) || !std::filesystem::is_regular_file(family.strong, ignored)) continue;
    if (&family != &kFamilies[0])
      fonts.note = "The letters of the Inter family are missing, DejaVu Sans serves instead. Install the package fonts-inter.";
    fonts.body = add(atlas, family.regular, body);
    fonts.strong = add(atlas, family.strong, body);
    fonts.large = add(atlas, family.regular, large);
    fonts.large_strong = add(atlas, family.strong, large);
    break;
  }
  if (!fonts.body) {
    ImFontConfig plain;
    plain.SizePixels = body;
    fonts.body = fonts.strong = atlas.AddFontDefault(&plain);
    plain.SizePixels = large;
    fonts.large = fonts.large_strong = atlas.AddFontDefault(&plain);
    fonts.note = "No scalable letters were found, plain ones serve instead. Install the package fonts-inter.";
  }
  atlas.Build();
  return fonts;
}

}  // namespace mien::editor
