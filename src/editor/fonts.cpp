#include <imgui.h>
#include <imgui_freetype.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <string>

#include "editor/look.hpp"

namespace mien::editor {
namespace {

constexpr float kBodySize = 15, kLargeSize = 27;

struct Family { const char* regular; const char* strong; };
constexpr std::array<Family, 2> kFamilies{{
    {"/usr/share/fonts/opentype/inter/Inter-Regular.otf", "/usr/share/fonts/opentype/inter/Inter-SemiBold.otf"},
    {"/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf", "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"},
}};

// Latin, punctuation, Greek mu, arrows, mathematical signs that messages and units use, and the tick of what is done.
constexpr ImWchar kLetters[] = {0x20, 0x2F, 0x3A, 0x17F, 0x3BC, 0x3BC, 0x2010, 0x2027, 0x2032, 0x2033, 0x2190, 0x2193, 0x2212, 0x2212, 0x2264, 0x2265, 0x2713, 0x2713, 0};
constexpr ImWchar kFigures[] = {0x30, 0x39, 0};

// A file's content, read once for all that is made of it; empty where it can't be read.
std::string content(const char* file) {
  std::ifstream in(file, std::ios::binary | std::ios::ate);
  std::string all(in ? static_cast<std::size_t>(std::max<std::streamoff>(in.tellg(), 0)) : 0, '\0');
  in.seekg(0);
  return in.read(all.data(), static_cast<std::streamsize>(all.size())) ? all : std::string();
}

// The atlas asks for bytes that it could write to, and doesn't.
ImFont* add_letters(ImFontAtlas& atlas, const std::string& face, float size, ImFontConfig config, const ImWchar* ranges) {
  config.FontDataOwnedByAtlas = false;
  return atlas.AddFontFromMemoryTTF(const_cast<char*>(face.data()), static_cast<int>(face.size()), size, &config, ranges);
}

// The figures' widest advance at this size, so that all of them can be given that width.
float figure_width(const std::string& face, float size) {
  ImFontAtlas probe;
  probe.FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
  ImFont* font = add_letters(probe, face, size, {}, kFigures);
  if (!font || !probe.Build()) return 0;
  float widest = 0;
  for (ImWchar c = '0'; c <= '9'; ++c) widest = std::max(widest, font->GetCharAdvance(c));
  return std::ceil(widest);
}

ImFont* add_face(ImFontAtlas& atlas, const std::string& face, float size) {
  ImFontConfig letters;
  letters.OversampleH = letters.OversampleV = 1;
  letters.PixelSnapH = true;
  ImFont* font = add_letters(atlas, face, size, letters, kLetters);
  ImFontConfig figures = letters;
  figures.MergeMode = true;
  figures.GlyphMinAdvanceX = figures.GlyphMaxAdvanceX = figure_width(face, size);
  add_letters(atlas, face, size, figures, kFigures);
  return font;
}

}  // namespace

Fonts load_fonts(ImFontAtlas& atlas, float scale) {
  atlas.Clear();
  atlas.FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
  atlas.Flags |= ImFontAtlasFlags_NoPowerOfTwoHeight;
  const float body = std::round(kBodySize * scale), large = std::round(kLargeSize * scale);
  Fonts fonts;
  std::string regular, strong;  // until the atlas is built
  for (const Family& family : kFamilies) {
    regular = content(family.regular), strong = content(family.strong);
    if (regular.empty() || strong.empty()) continue;
    if (&family != &kFamilies[0])
      fonts.note = "The letters of the Inter family are missing, DejaVu Sans serves instead. Install the package fonts-inter.";
    fonts.body = add_face(atlas, regular, body);
    fonts.strong = add_face(atlas, strong, body);
    fonts.large_strong = add_face(atlas, strong, large);
    break;
  }
  if (!fonts.body) {
    ImFontConfig plain;
    plain.SizePixels = body;
    fonts.body = fonts.strong = atlas.AddFontDefault(&plain);
    plain.SizePixels = large;
    fonts.large_strong = atlas.AddFontDefault(&plain);
    fonts.note = "No scalable letters were found, plain ones serve instead. Install the package fonts-inter.";
  }
  atlas.Build();
  atlas.ClearInputData();
  return fonts;
}

}  // namespace mien::editor
