// Invented sounds and places to put them.
#pragma once
#include <gtest/gtest.h>
#include <sndfile.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <memory>
#include <numbers>
#include <string>
#include <vector>

#include "sound/wave.hpp"

namespace mien::sound {

/// A directory of its own for each test, gone with it.
struct TemporaryDirectory {
  std::filesystem::path path;
  TemporaryDirectory() {
    std::string name = (std::filesystem::temp_directory_path() / "mien-sound-XXXXXX").string();
    if (!::mkdtemp(name.data())) throw std::runtime_error("no temporary directory");
    path = name;
  }
  ~TemporaryDirectory() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
};

inline std::vector<float> tone(double hz, double seconds, int rate_hz, int channels = 1, double level = 0.5) {
  std::vector<float> samples;
  for (int i = 0; i < static_cast<int>(seconds * rate_hz); ++i) {
    for (int c = 0; c < channels; ++c) {
      samples.push_back(static_cast<float>(level * std::sin(2 * std::numbers::pi * hz * (c + 1) * i / rate_hz)));
    }
  }
  return samples;
}

inline WavePtr wave_of(std::vector<float> samples, int channels = 1, int rate_hz = 48000) {
  return std::make_shared<const Wave>(Wave{rate_hz, channels, std::move(samples)});
}

/// Each frame of this wave is a different value, exact in a float: a frame out of place shows.
inline WavePtr ramp(int frames) {
  std::vector<float> samples;
  for (int i = 0; i < frames; ++i) samples.push_back(static_cast<float>(i + 1) / (1 << 20));
  return wave_of(std::move(samples));
}

inline void write_sound(const std::filesystem::path& file, int format, int rate_hz, int channels, const std::vector<float>& samples) {
  SF_INFO info{};
  info.samplerate = rate_hz;
  info.channels = channels;
  info.format = format;
  SNDFILE* const sound = sf_open(file.c_str(), SFM_WRITE, &info);
  ASSERT_NE(sound, nullptr) << sf_strerror(nullptr);
  const auto frames = static_cast<sf_count_t>(samples.size()) / channels;
  for (sf_count_t done = 0; done < frames;) {  // the Vorbis encoder crashes on minutes in one piece
    const sf_count_t run = std::min(frames - done, sf_count_t{48000});
    ASSERT_EQ(sf_writef_float(sound, samples.data() + done * channels, run), run);
    done += run;
  }
  sf_close(sound);
}

inline void write_bytes(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
}

}  // namespace mien::sound
