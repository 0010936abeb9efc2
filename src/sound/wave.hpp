// A sound file in memory.
#pragma once
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "show/finding.hpp"
#include "show/time.hpp"

namespace mien::sound {

/// Interleaved samples, finite and within -1..1. One channel or two.
struct Wave {
  int rate_hz = 48000;
  int channels = 1;
  std::vector<float> samples;
  std::size_t frames() const noexcept { return channels ? samples.size() / static_cast<std::size_t>(channels) : 0; }
  show::Time length() const noexcept { return show::from_seconds(static_cast<double>(frames()) / rate_hz); }
};
using WavePtr = std::shared_ptr<const Wave>;

/// Told while a long file decodes how much is done (0..1; 0 throughout where the file does not say how long it is).
/// Returning false gives up.
using Progress = std::function<bool(double done)>;

/// Whatever libsndfile reads, by content, not by name. The whole file is decoded, as seeking in some formats returns wrong
/// audio; more than two channels are averaged to one. The finding names the file and the cure: missing, not readable, a
/// directory, empty, not a sound, longer than 4 hours, too big for the memory; a note when `progress` gave up.
/// Warnings belong to `notes`: a file cut in the middle (what could be read is kept), samples that are no numbers (silenced).
show::Result<WavePtr> load(const std::filesystem::path& file, show::Findings* notes = nullptr, const Progress& progress = {});

/// How long the file says that it is, without decoding it; nothing where it is no sound or doesn't say.
std::optional<show::Time> length_of(const std::filesystem::path& file);

/// Least and greatest sample (all channels) of spans, at every zoom: level 0 covers 256 frames a bin, each next level 4 of those.
class Peaks {
 public:
  explicit Peaks(const Wave& wave);
  struct Bin { float low = 0, high = 0; };
  /// Bounds over frames [begin, end); exact to the level-0 bins that the span touches. Empty or outside: {0, 0}.
  /// Looks at no more than 6 bins a level.
  Bin over(std::size_t begin, std::size_t end) const noexcept;

 private:
  std::size_t frames_ = 0;
  std::vector<std::vector<Bin>> levels_;
};

}  // namespace mien::sound
