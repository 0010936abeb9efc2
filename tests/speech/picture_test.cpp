// The picture in README: the demo's line, its words and phones, and what the mouth does.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "motion/curve.hpp"
#include "show/text.hpp"
#include "sound/wave.hpp"
#include "show/layer_edit.hpp"
#include "speech/labels.hpp"
#include "speech/place.hpp"
#include "store/store.hpp"

namespace mien::speech_tests {
namespace {

using show::Time;

constexpr double kFrom_s = 2.45, kTo_s = 5.05, kWidth = 1200, kLeft = 110, kSound_s = 1.3;  // sound time; where the demo's line begins in its show

double x_of(double sound_s) { return kLeft + (sound_s - kFrom_s) / (kTo_s - kFrom_s) * (kWidth - kLeft - 16); }
std::string n(double value) { return show::number_text(std::round(value * 10) / 10); }

std::string text(double x, double y, const std::string& what, const std::string& more = "text-anchor=\"middle\"") {
  return "<text x=\"" + n(x) + "\" y=\"" + n(y) + "\" " + more + ">" + what + "</text>\n";
}

template <class Items, class Name>
std::string row(const Items& items, double y, Name name) {
  std::string out;
  for (const auto& item : items) {
    const double begin = show::to_seconds(item.range.begin), end = show::to_seconds(item.range.end);
    if (begin < kFrom_s || end > kTo_s) continue;
    out += "<rect x=\"" + n(x_of(begin)) + "\" y=\"" + n(y) + "\" width=\"" + n(x_of(end) - x_of(begin)) + "\" height=\"24\" rx=\"3\" fill=\"#2a313a\" stroke=\"#161b21\"/>\n";
    out += text((x_of(begin) + x_of(end)) / 2, y + 16, name(item));
  }
  return out;
}

TEST(Picture, SoundWordsPhonesAndMouth) {
  const std::string shows = std::string(MIEN_SOURCE_DIR) + "/shows/";
  const auto wave = sound::load(shows + "keeper.ogg");
  const auto loaded = store::load_show(shows + "keeper.show.json");
  const auto labels = store::read_file(shows + "keeper.TextGrid", 1 << 20);
  ASSERT_TRUE(wave && loaded && labels);
  const auto alignment = speech::read_labels(*labels, speech::LabelForm::text_grid);
  ASSERT_TRUE(alignment) << show::to_text(alignment.problem());

  std::string svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1200\" height=\"470\" viewBox=\"0 0 1200 470\" font-family=\"Inter, sans-serif\" font-size=\"13\" fill=\"#d7dde4\">\n"
                    "<rect width=\"1200\" height=\"470\" fill=\"#161b21\"/>\n";
  const sound::Peaks peaks(**wave);
  std::string outline;
  for (int x = static_cast<int>(kLeft); x < static_cast<int>(kWidth) - 16; ++x) {
    const double s = kFrom_s + (x - kLeft) / (kWidth - kLeft - 16) * (kTo_s - kFrom_s), step = (kTo_s - kFrom_s) / (kWidth - kLeft - 16);
    const auto bin = peaks.over(static_cast<std::size_t>(s * (*wave)->rate_hz), static_cast<std::size_t>((s + step) * (*wave)->rate_hz));
    outline += "M" + std::to_string(x) + " " + n(60 - 55 * static_cast<double>(bin.high)) + "V" + n(60.5 - 55 * static_cast<double>(bin.low));
  }
  svg += "<path d=\"" + outline + "\" stroke=\"#7aa2c9\" fill=\"none\"/>\n" + text(12, 64, "sound", "") + text(12, 146, "words", "") + text(12, 176, "phones", "");
  svg += row(alignment->words, 130, [](const auto& word) { return word.text; });
  svg += row(alignment->phones, 160, [](const auto& phone) { return phone.label; });
  double y = 200;
  const auto mouth = show::opened_layer(*loaded->show, speech::kSpeechLayer);
  for (const char* control : {"jaw_open", "lip_close", "lip_tuck", "lips_round", "lips_wide"}) {
    const auto* channel = show::find_channel(mouth, control);
    ASSERT_TRUE(channel) << control;
    std::string line;
    const auto at = [&](double sound_s) { return y + 42 - 38 * motion::evaluate(*channel, show::from_seconds(sound_s + kSound_s)); };
    for (double s = kFrom_s; s <= kTo_s; s += 0.004) line += (line.empty() ? "M" : "L") + n(x_of(s)) + " " + n(at(s));
    svg += "<path d=\"M" + n(kLeft) + " " + n(y + 42) + "H" + n(kWidth - 16) + "\" stroke=\"#2a313a\"/>\n<path d=\"" + line + "\" stroke=\"#e3a857\" stroke-width=\"1.6\" fill=\"none\"/>\n" + text(12, y + 40, control, "");
    for (const auto& key : channel->keys) {
      const double s = show::to_seconds(key.time) - kSound_s;
      if (s > kFrom_s && s < kTo_s) svg += "<circle cx=\"" + n(x_of(s)) + "\" cy=\"" + n(at(s)) + "\" r=\"2.6\" fill=\"#f2d6a8\"/>\n";
    }
    y += 53;
  }
  svg += "</svg>\n";
  const auto folder = std::filesystem::path(MIEN_SOURCE_DIR) / "build" / "pictures";
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "speech.svg") << svg;
  EXPECT_NE(svg.find(">kept<"), std::string::npos);  // the stretch that README shows: "I kept the lamp on Ferrow Point"
  EXPECT_NE(svg.find(">lamp<"), std::string::npos);
}

}  // namespace
}  // namespace mien::speech_tests
