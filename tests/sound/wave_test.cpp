#include "sound/wave.hpp"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include <limits>
#include <random>

#include "sound/made.hpp"

namespace mien::sound {
namespace {

using show::Severity;
using testing::HasSubstr;

struct Format {
  const char* name;
  int format;
  double tolerance;  // of a sample, at the file's middle; lossy formats keep the level, not the sample
};

class WaveFormats : public testing::TestWithParam<Format> {};

double rms(const Wave& wave) {
  double sum = 0;
  for (const float x : wave.samples) sum += static_cast<double>(x) * x;
  return std::sqrt(sum / static_cast<double>(wave.samples.size()));
}

TEST_P(WaveFormats, LoadsByContentUnderAnyName) {
  const TemporaryDirectory directory;
  for (const char* name : {"sound", "sound.wav", "sound.txt", "sound.vox"}) {
    const auto file = directory.path / name;
    const auto samples = tone(440, 1.0, 48000, 2);
    const auto original = directory.path / "original";
    write_sound(original, GetParam().format, 48000, 2, samples);
    std::filesystem::rename(original, file);
    show::Findings notes;
    const auto wave = load(file, &notes);
    ASSERT_TRUE(wave) << show::to_text(wave.problem());
    EXPECT_THAT(notes, testing::IsEmpty());
    EXPECT_EQ((*wave)->rate_hz, 48000);
    EXPECT_EQ((*wave)->channels, 2);
    EXPECT_NEAR(static_cast<double>((*wave)->frames()), 48000.0, GetParam().tolerance > 0.01 ? 3000.0 : 0.0);
    EXPECT_NEAR(rms(**wave), 0.5 / std::numbers::sqrt2, 0.02);
    if (GetParam().tolerance < 0.01) {
      for (const std::size_t i : {0u, 1u, 47999u, 48000u, 95999u}) EXPECT_NEAR((*wave)->samples[i], samples[i], GetParam().tolerance);
    }
  }
}

TEST_P(WaveFormats, KeepsWhatACutFileHoldsAndWarns) {
  const TemporaryDirectory directory;
  const auto file = directory.path / "sound.wav";
  write_sound(file, GetParam().format, 48000, 2, tone(440, 4.0, 48000, 2));
  std::filesystem::resize_file(file, std::filesystem::file_size(file) * 6 / 10);
  show::Findings notes;
  const auto wave = load(file, &notes);
  ASSERT_TRUE(wave) << show::to_text(wave.problem());
  EXPECT_GT(show::to_seconds((*wave)->length()), 0.9);  // Ogg pages hold up to a second or more
  EXPECT_LT(show::to_seconds((*wave)->length()), 3.0);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0].severity, Severity::warning);
  EXPECT_EQ(notes[0].file, file.string());
  EXPECT_THAT(notes[0].what, HasSubstr("cut or damaged"));
  EXPECT_THAT(notes[0].what, HasSubstr(" s could be read"));
}

constexpr Format kFormats[] = {
    {"Wav16", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1e-4}, {"WavFloat", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1e-7},
    {"Wav24", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 1e-6}, {"Flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1e-4},
    {"Aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 1e-4}, {"Au", SF_FORMAT_AU | SF_FORMAT_PCM_16, 1e-4},
    {"W64", SF_FORMAT_W64 | SF_FORMAT_PCM_16, 1e-4},   {"Vorbis", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 1},
    {"Opus", SF_FORMAT_OGG | SF_FORMAT_OPUS, 1},       {"Mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 1},
};
INSTANTIATE_TEST_SUITE_P(All, WaveFormats, testing::ValuesIn(kFormats), [](const auto& at) { return at.param.name; });

void expect_refusal(const std::filesystem::path& file, const std::string& what, const std::string& cure) {
  const auto wave = load(file);
  ASSERT_FALSE(wave) << file;
  EXPECT_EQ(wave.problem().severity, Severity::error);
  EXPECT_EQ(wave.problem().file, file.string());
  EXPECT_THAT(wave.problem().what, HasSubstr(what));
  EXPECT_THAT(wave.problem().cure, HasSubstr(cure));
}

TEST(Wave, SaysWhatIsWrongWithWhatIsNoSound) {
  const TemporaryDirectory directory;
  const auto in = [&](const char* name) { return directory.path / name; };
  expect_refusal(in("missing.wav"), "no such sound file", "Put the file back");
  expect_refusal(directory.path, "is a directory", "Choose a file inside it");
  write_bytes(in("empty.wav"), "");
  expect_refusal(in("empty.wav"), "is empty", "again");
  expect_refusal(in("empty.wav") / "below", "no such sound file", "Put the file back");
  ASSERT_EQ(::mkfifo(in("pipe.wav").c_str(), 0600), 0);
  expect_refusal(in("pipe.wav"), "a device or a pipe", "regular file");
  write_bytes(in("zeros.wav"), std::string(100000, '\0'));
  expect_refusal(in("zeros.wav"), "not a sound that can be read", "WAV, FLAC, Ogg Vorbis, Opus, MP3");
  write_bytes(in("text.vox"), "this is no sound, whatever its name says\n");
  expect_refusal(in("text.vox"), "not a sound that can be read", "m4a, AAC and WMA are not supported");
  // The beginning of an MPEG-4 file (ISO/IEC 14496-12, box `ftyp`) is known well enough to be told apart.
  write_bytes(in("sound.m4a"), std::string("\0\0\0\x20" "ftypM4A \0\0\0\0M4A mp42isom\0\0\0\0", 32) + std::string(5000, 'x'));
  expect_refusal(in("sound.m4a"), "not a sound that can be read", "m4a, AAC and WMA are not supported");
}

TEST(Wave, SurvivesGarbage) {
  const TemporaryDirectory directory;
  std::mt19937 random(7);
  const auto good = directory.path / "good.wav";
  write_sound(good, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 48000, 1, tone(440, 0.1, 48000));
  std::ifstream stream(good, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(stream)), {});
  for (int round = 0; round < 300; ++round) {
    std::string bad = bytes;
    for (int flip = 0; flip < 4; ++flip) bad[random() % 60] = static_cast<char>(random());
    const auto file = directory.path / "bad.wav";
    write_bytes(file, bad);
    const auto wave = load(file);  // a sound or a finding; never a crash, never a sample that is no number
    if (!wave) EXPECT_FALSE(wave.problem().cure.empty());
    else for (const float x : (*wave)->samples) ASSERT_TRUE(x >= -1 && x <= 1);
  }
}

TEST(Wave, AveragesManyChannelsToOneAndSaysSo) {
  const TemporaryDirectory directory;
  const auto file = directory.path / "four.wav";
  std::vector<float> samples;
  for (int i = 0; i < 1000; ++i) samples.insert(samples.end(), {0.5f, 0.25f, -0.25f, 0.0f});
  write_sound(file, SF_FORMAT_WAV | SF_FORMAT_FLOAT, 48000, 4, samples);
  show::Findings notes;
  const auto wave = load(file, &notes);
  ASSERT_TRUE(wave);
  EXPECT_EQ((*wave)->channels, 1);
  EXPECT_EQ((*wave)->frames(), 1000u);
  EXPECT_FLOAT_EQ((*wave)->samples[500], 0.125f);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_THAT(notes[0].what, HasSubstr("4 channels were averaged"));
}

TEST(Wave, SilencesWhatIsNoNumberAndHoldsTheRestInRange) {
  const TemporaryDirectory directory;
  const auto file = directory.path / "odd.wav";
  const float nan = std::numeric_limits<float>::quiet_NaN(), infinity = std::numeric_limits<float>::infinity();
  write_sound(file, SF_FORMAT_WAV | SF_FORMAT_FLOAT, 48000, 1, {0.5f, nan, infinity, -infinity, 3.0f, -3.0f, 0.25f});
  show::Findings notes;
  const auto wave = load(file, &notes);
  ASSERT_TRUE(wave);
  EXPECT_THAT((*wave)->samples, testing::ElementsAre(0.5f, 0, 0, 0, 1, -1, 0.25f));
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_THAT(notes[0].what, HasSubstr("no numbers"));
}

TEST(Wave, RefusesMoreThanFourHours) {
  const TemporaryDirectory directory;
  const auto file = directory.path / "long.wav";
  write_sound(file, SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1000, 1, std::vector<float>(4 * 3600 * 1000 + 1));
  expect_refusal(file, "longer than 4 hours", "Cut it");
}

TEST(Wave, RefusesARateThatNothingPlays) {
  const TemporaryDirectory directory;
  const auto file = directory.path / "slow.wav";
  write_sound(file, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 100, 1, std::vector<float>(100));
  expect_refusal(file, "rate is 100 Hz", "48000 Hz");
}

TEST(Wave, TellsProgressAndGivesUpWhenAsked) {
  const TemporaryDirectory directory;
  const auto file = directory.path / "sound.wav";
  write_sound(file, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 48000, 1, tone(440, 10, 48000));
  std::vector<double> told;
  ASSERT_TRUE(load(file, nullptr, [&](double done) { told.push_back(done); return true; }));
  ASSERT_GT(told.size(), 3u);
  EXPECT_TRUE(std::is_sorted(told.begin(), told.end()));
  EXPECT_EQ(told.back(), 1.0);

  int calls = 0;
  const auto given_up = load(file, nullptr, [&](double) { return ++calls < 2; });
  ASSERT_FALSE(given_up);
  EXPECT_EQ(calls, 2);
  EXPECT_EQ(given_up.problem().severity, Severity::note);
}

Peaks::Bin brute(const Wave& wave, std::size_t begin, std::size_t end) {
  begin = begin / 256 * 256;
  end = std::min((end + 255) / 256 * 256, wave.frames());
  const auto channels = static_cast<std::size_t>(wave.channels);
  Peaks::Bin bin{wave.samples[begin * channels], wave.samples[begin * channels]};
  for (std::size_t i = begin * channels; i < end * channels; ++i) bin = {std::min(bin.low, wave.samples[i]), std::max(bin.high, wave.samples[i])};
  return bin;
}

TEST(Peaks, EqualBruteForceAtEveryZoom) {
  std::mt19937 random(3);
  std::uniform_real_distribution<float> level(-1, 1);
  for (const std::size_t frames : {1u, 2u, 255u, 256u, 257u, 1023u, 1024u, 1025u, 5000u, 70001u}) {
    for (const int channels : {1, 2}) {
      std::vector<float> samples(frames * static_cast<std::size_t>(channels));
      for (float& x : samples) x = level(random);
      const WavePtr wave = wave_of(samples, channels);
      const Peaks peaks(*wave);
      for (int round = 0; round < 400; ++round) {
        std::size_t begin = random() % frames, end = random() % (frames + 1);
        if (begin > end) std::swap(begin, end);
        if (begin == end) ++end;
        const auto got = peaks.over(begin, end), want = brute(*wave, begin, end);
        ASSERT_EQ(got.low, want.low) << frames << ": " << begin << ".." << end;
        ASSERT_EQ(got.high, want.high) << frames << ": " << begin << ".." << end;
      }
    }
  }
}

TEST(Peaks, OfNothingAreNothing) {
  const Peaks none(Wave{});
  EXPECT_EQ(none.over(0, 100).high, 0);
  const Peaks peaks(*wave_of(std::vector<float>(1000, 0.5f)));
  for (const auto& [begin, end] : {std::pair<std::size_t, std::size_t>{5, 5}, {6, 5}, {1000, 2000}, {SIZE_MAX, SIZE_MAX}}) {
    EXPECT_EQ(peaks.over(begin, end).high, 0) << begin << ".." << end;
  }
  EXPECT_EQ(peaks.over(0, SIZE_MAX).high, 0.5f);
}

}  // namespace
}  // namespace mien::sound
