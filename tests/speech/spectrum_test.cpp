// A recording by frequency.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "speech/spectrum.hpp"

namespace mien::speech {
namespace {

// By definition: a sine stands in the band of its frequency, as long as it sounds, and nowhere else.
TEST(Spectrum, ASineStandsInItsBand) {
  for (const double hz : {150.0, 440.0, 1000.0, 3000.0, 6500.0}) {
    Recording r;
    for (int n = 0; n < 32000; ++n) r.samples.push_back(n < 16000 ? static_cast<float>(0.5 * std::sin(2 * std::numbers::pi * hz * n / 16000)) : 0.0f);
    const auto s = spectrogram_of(r);
    ASSERT_EQ(s.columns(), 200u);
    const auto column = s.column(0.5, 0.52);
    const int band = s.band_of(hz), strongest = static_cast<int>(std::max_element(column.begin(), column.end()) - column.begin());
    EXPECT_NEAR(strongest, band, hz < 500 ? 2 : 1) << hz;  // at the low end a bin is wider than a band
    EXPECT_GE(column[static_cast<std::size_t>(strongest)], Spectrogram::kLevels - 2);
    for (int b = 0; b < s.bands; ++b)
      if (std::abs(b - band) > 8) { EXPECT_EQ(column[static_cast<std::size_t>(b)], 0) << hz << " band " << b; }
    for (const auto shade : s.column(1.5, 1.6)) EXPECT_EQ(shade, 0);
  }
}

TEST(Spectrum, OutsideAndOfNothingIsNothing_AndItCanBeGivenUp) {
  EXPECT_EQ(spectrogram_of({}).columns(), 0u);
  Recording r;
  r.samples.assign(160000, 0.1f);
  const auto s = spectrogram_of(r, [](double share) { return share < 0.5; });
  EXPECT_LT(s.columns(), 600u);
  for (const auto shade : s.column(-2, -1)) EXPECT_EQ(shade, 0);
  for (const auto shade : s.column(100, 101)) EXPECT_EQ(shade, 0);
  EXPECT_EQ(s.band_of(20), -1);
}

}  // namespace
}  // namespace mien::speech
