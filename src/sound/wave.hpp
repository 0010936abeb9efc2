// A sound file in memory.
#pragma once
#include <filesystem>
#include <memory>
#include <vector>

#include "show/finding.hpp"
#include "show/time.hpp"

namespace mien::sound {

/// Interleaved samples, -1..1. Channels are folded to at most two.
struct Wave {
  int rate_hz = 48000;
  int channels = 1;
  std::vector<float> samples;
  std::size_t frames() const noexcept { return channels ? samples.size() / static_cast<std::size_t>(channels) : 0; }
  show::Time length() const noexcept { return show::from_seconds(static_cast<double>(frames()) / rate_hz); }
};
using WavePtr = std::shared_ptr<const Wave>;

/// Whatever libsndfile reads, by content, not by name. The whole file is decoded. The finding names the file and the cure: missing,
/// a directory, empty, not a sound, cut in the middle (a warning belongs to `notes`, with what could be read kept), too long.
show::Result<WavePtr> load(const std::filesystem::path& file, show::Findings* notes = nullptr);

/// Least and greatest sample (all channels) of spans, at every zoom: level 0 covers 256 frames a bin, each next level 4 of those.
class Peaks {
 public:
  explicit Peaks(const Wave& wave);
  struct Bin { float low = 0, high = 0; };
  /// Bounds over frames [begin, end); exact to the level-0 bins that the span touches. Empty or outside: {0, 0}.
  Bin over(std::size_t begin, std::size_t end) const noexcept;

 private:
  std::size_t frames_ = 0;
  std::vector<std::vector<Bin>> levels_;
};

}  // namespace mien::sound
