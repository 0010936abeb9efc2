#include <gtest/gtest.h>
#include <imgui.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>
#include <string>

#include "editor/look.hpp"

namespace mien::editor {
namespace {

namespace fs = std::filesystem;

// Letters beyond ASCII as the sources write them: \uXXXX.
std::set<unsigned> letters_in(const fs::path& folder) {
  std::set<unsigned> letters;
  static const std::regex written("\\\\u([0-9A-Fa-f]{4})");
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().extension() != ".cpp") continue;
    std::ifstream in(entry.path());
    const std::string text((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    for (std::sregex_iterator at(text.begin(), text.end(), written), end; at != end; ++at) letters.insert(static_cast<unsigned>(std::stoul((*at)[1], nullptr, 16)));
  }
  return letters;
}

TEST(Fonts, HaveAShapeForEveryLetterThatTheWindowSays) {
  ImFontAtlas atlas;
  const Fonts fonts = load_fonts(atlas, 1);
  if (!fonts.note.empty()) GTEST_SKIP() << fonts.note;
  std::size_t checked = 0;
  for (const char* folder : {"editor", "show", "perform", "motion", "store", "link", "live", "sound", "speech", "talk"})
    for (const unsigned letter : letters_in(fs::path(MIEN_SOURCE_DIR) / "src" / folder)) {
      ++checked;
      for (const ImFont* font : {fonts.body, fonts.strong, fonts.large_strong})
        EXPECT_NE(font->FindGlyphNoFallback(static_cast<ImWchar>(letter)), nullptr) << "src/" << folder << " says U+" << std::hex << letter << ": add it to kLetters in editor/fonts.cpp";
    }
  EXPECT_GE(checked, 10u);
}

}  // namespace
}  // namespace mien::editor
