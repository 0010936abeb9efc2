#include "editor/theme.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace mien::editor {
namespace {

TEST(Contrast, IsTwentyOneForBlackOnWhiteAndOneForAColourOnItself) {
  // WCAG 2.2, definition of contrast ratio: from 1 to 21.
  EXPECT_NEAR(contrast(rgb(0x000000), rgb(0xFFFFFF)), 21, 1e-9);
  EXPECT_NEAR(contrast(rgb(0x3366AA), rgb(0x3366AA)), 1, 1e-12);
  EXPECT_DOUBLE_EQ(contrast(rgb(0x112233), rgb(0xDDEEFF)), contrast(rgb(0xDDEEFF), rgb(0x112233)));
}

TEST(Theme, EveryTextAndShapeStandsOutFromWhatItStandsOn) {
  for (const bool dark : {true, false})
    for (const Pair& pair : pairs(theme(dark)))
      EXPECT_GE(contrast(pair.front, pair.back), pair.least) << (dark ? "dark, " : "light, ") << pair.name;
}

// Seen without red cones, without green cones: Viénot, Brettel & Mollon 1999, "Digital video colourmaps for checking the
// legibility of displays by dichromats", their matrices on linear RGB (values from memory).
double seen_difference(Colour a, Colour b, bool protan) {
  const auto seen = [&](Colour c) {
    std::array<double, 3> rgb{};
    for (int i = 0; i < 3; ++i) rgb[static_cast<std::size_t>(i)] = std::pow((c >> (8 * i) & 0xFF) / 255.0, 2.2);
    const double share = protan ? 0.11238 : 0.29275, rest = 1 - share;
    const double mixed = share * rgb[0] + rest * rgb[1];
    const double blue = (protan ? 0.00401 : -0.02234) * (rgb[0] - rgb[1]) + rgb[2];
    return std::array<double, 2>{std::pow(std::max(mixed, 0.0), 1 / 2.2), std::pow(std::max(blue, 0.0), 1 / 2.2)};
  };
  const auto sa = seen(a), sb = seen(b);
  return std::hypot(sa[0] - sb[0], sa[1] - sb[1]);
}

TEST(Theme, GroupColoursDifferForEyesWithoutRedOrGreenCones) {
  for (const bool dark : {true, false})
    for (const bool protan : {true, false}) {
      const auto& group = theme(dark).group;
      for (std::size_t i = 0; i < group.size(); ++i)
        for (std::size_t j = i + 1; j < group.size(); ++j)
          EXPECT_GT(seen_difference(group[i], group[j], protan), 0.08) << (dark ? "dark " : "light ") << i << " and " << j << (protan ? " protan" : " deutan");
    }
}

}  // namespace
}  // namespace mien::editor
