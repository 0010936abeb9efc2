#include "sound/wave.hpp"

#include <fcntl.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <new>
#include <optional>
#include <sstream>
#include <string>
#include <system_error>

namespace mien::sound {
namespace {

using show::Finding;
using show::Severity;

constexpr int kLongest_s = 4 * 3600;
constexpr int kLeastRate_hz = 1000, kGreatestRate_hz = 768000, kGreatestChannels = 64;
constexpr sf_count_t kGreatestSamples = sf_count_t{2} * 48000 * kLongest_s;  // 5.5 GB
constexpr sf_count_t kBlock = 1 << 16;                                      // frames decoded between two calls of progress
constexpr const char* kFormats = "WAV, FLAC, Ogg Vorbis, Opus, MP3, AIFF, AU, CAF or W64";

Finding problem(const std::filesystem::path& file, std::string what, std::string cure) {
  return {Severity::error, file.string(), "", std::move(what), std::move(cure)};
}

/// An open regular file, or the finding. Never blocks: a named pipe is refused, not waited for.
struct Descriptor {
  int fd = -1;
  off_t bytes = 0;
};
show::Result<Descriptor> open_regular(const std::filesystem::path& file) {
  const int fd = ::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (fd < 0) {
    if (errno == ENOENT || errno == ENOTDIR) return problem(file, "there is no such sound file", "Put the file back, or choose the sound again");
    return problem(file, std::string("the sound file can't be opened: ") + std::generic_category().message(errno), "Allow reading it, or choose another file");
  }
  struct stat status {};
  std::optional<Finding> wrong;
  if (::fstat(fd, &status) != 0) wrong = problem(file, std::string("the sound file can't be read: ") + std::generic_category().message(errno), "Choose another file");
  else if (S_ISDIR(status.st_mode)) wrong = problem(file, "this is a directory, not a sound file", "Choose a file inside it");
  else if (!S_ISREG(status.st_mode)) wrong = problem(file, "this is a device or a pipe, not a sound file", "Choose a regular file");
  else if (status.st_size == 0) wrong = problem(file, "the sound file is empty", "Export or copy the sound again");
  if (wrong) {
    ::close(fd);
    return *wrong;
  }
  return Descriptor{fd, status.st_size};
}

struct Close {
  void operator()(SNDFILE* sound) const noexcept { sf_close(sound); }
};
using Sound = std::unique_ptr<SNDFILE, Close>;

std::optional<Finding> out_of_bounds(const std::filesystem::path& file, const SF_INFO& info) {
  if (info.channels < 1 || info.channels > kGreatestChannels)
    return problem(file, "the sound has " + std::to_string(info.channels) + " channels", "Export it with one or two channels");
  if (info.samplerate < kLeastRate_hz || info.samplerate > kGreatestRate_hz)
    return problem(file, "the sound's rate is " + std::to_string(info.samplerate) + " Hz", "Export it at 48000 Hz");
  return std::nullopt;
}

Finding too_long(const std::filesystem::path& file) {
  return problem(file, "the sound is longer than 4 hours, or would fill more than 5 GB of memory", "Cut it into shorter files, or export it with fewer channels at 48000 Hz");
}

/// How many frames the file claims; nothing where it does not say (libsndfile then gives the greatest number).
std::optional<sf_count_t> claimed(const SF_INFO& info) {
  constexpr sf_count_t kMostThatCouldBeMeant = sf_count_t{1} << 48;
  if (info.frames < 0 || info.frames > kMostThatCouldBeMeant) return std::nullopt;
  return info.frames;
}

/// Silences what is no number and holds the rest within -1..1. Returns whether all were numbers.
bool clean_up(float* begin, const float* end) {
  bool clean = true;
  for (; begin != end; ++begin) {
    const bool number = std::isfinite(*begin);
    clean = clean && number;
    *begin = number ? std::clamp(*begin, -1.0f, 1.0f) : 0.0f;
  }
  return clean;
}

void append(Wave& wave, const std::vector<float>& block, sf_count_t frames, int channels) {
  const auto count = static_cast<std::size_t>(frames * channels), width = static_cast<std::size_t>(channels);
  if (channels <= 2) {
    wave.samples.insert(wave.samples.end(), block.begin(), block.begin() + static_cast<std::ptrdiff_t>(count));
    return;
  }
  for (std::size_t i = 0; i < count; i += width) {
    float sum = 0;
    for (std::size_t c = 0; c < width; ++c) sum += block[i + c];
    wave.samples.push_back(sum / static_cast<float>(channels));
  }
}

/// libsndfile shortens a cut WAV, AIFF, AU or W64 file quietly and says so in its log alone: "data : 192000 (should be 115182)".
/// Sizes that a writer without seeking leaves (all ones, or near the greatest signed number) say nothing about a cut.
bool header_promises_more(SNDFILE* sound) {
  constexpr long long kPlaceholder = 0x7ff00000, kPadding = 8;
  std::string log(16384, '\0');
  log.resize(static_cast<std::size_t>(std::max(0, sf_command(sound, SFC_GET_LOG_INFO, log.data(), static_cast<int>(log.size())))));
  std::istringstream lines(log);
  for (std::string line; std::getline(lines, line);) {
    const auto colon = line.find(" : "), should = line.find(" (should be ");
    if (colon == std::string::npos || should == std::string::npos || should < colon) continue;
    const long long said = std::strtoll(line.c_str() + colon + 3, nullptr, 10);
    const long long there = std::strtoll(line.c_str() + should + 12, nullptr, 10);
    if (said < kPlaceholder && said > there + kPadding) return true;
  }
  return false;
}

bool cut_short(SNDFILE* sound, const SF_INFO& info, sf_count_t read) {
  const auto promised = claimed(info);
  // An MP3 without a length tag is estimated from its first frames, so a small shortfall there says nothing.
  const bool estimated = (info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG;
  if (!promised) return true;
  if (read < *promised - (estimated ? *promised / 50 + 2304 : 0)) return true;
  return sf_error(sound) != SF_ERR_NO_ERROR || header_promises_more(sound);
}

struct Decoded {
  std::shared_ptr<Wave> wave;
  sf_count_t frames = 0;
  bool clean = true;
};
show::Result<Decoded> decode(const std::filesystem::path& file, SNDFILE* sound, const SF_INFO& info, const Progress& progress) {
  Decoded result{std::make_shared<Wave>()};
  const int kept = info.channels <= 2 ? info.channels : 1;
  result.wave->rate_hz = info.samplerate;
  result.wave->channels = kept;
  const sf_count_t most = std::min(sf_count_t{kLongest_s} * info.samplerate, kGreatestSamples / kept);
  const auto promised = claimed(info);
  if (promised && *promised > most) return too_long(file);
  // The header's word is good for ten minutes of memory; beyond that the file has to show that it means it.
  if (promised) result.wave->samples.reserve(static_cast<std::size_t>(std::min(*promised, sf_count_t{600} * info.samplerate) * kept));
  std::vector<float> block(static_cast<std::size_t>(kBlock * info.channels));
  while (const sf_count_t got = sf_readf_float(sound, block.data(), kBlock)) {
    if (got < 0 || got > kBlock) break;
    result.frames += got;
    if (result.frames > most) return too_long(file);
    result.clean = clean_up(block.data(), block.data() + got * info.channels) && result.clean;
    append(*result.wave, block, got, info.channels);
    const double done = promised && *promised > 0 ? std::min(1.0, static_cast<double>(result.frames) / static_cast<double>(*promised)) : 0;
    if (progress && !progress(done)) return Finding{Severity::note, file.string(), "", "loading this sound was given up", "Choose it again to load it"};
  }
  return result;
}

show::Result<WavePtr> load_checked(const std::filesystem::path& file, show::Findings* notes, const Progress& progress) {
  auto opened = open_regular(file);
  if (!opened) return opened.problem();
  SF_INFO info{};
  // By descriptor, so that nothing is guessed from the name.
  const Sound sound(sf_open_fd(opened->fd, SFM_READ, &info, SF_TRUE));
  if (!sound) {
    return problem(file, std::string("this is not a sound that can be read: ") + sf_strerror(nullptr),
                   std::string("Convert it to ") + kFormats + " (m4a, AAC and WMA are not supported)");
  }
  if (auto wrong = out_of_bounds(file, info)) return *wrong;
  auto decoded = decode(file, sound.get(), info, progress);
  if (!decoded) return decoded.problem();
  const bool cut = cut_short(sound.get(), info, decoded->frames);
  if (decoded->frames == 0) return problem(file, "the sound file holds no sound", "Export or copy the sound again");
  const auto warn = [&](std::string what, std::string cure) {
    if (notes) notes->push_back({Severity::warning, file.string(), "", std::move(what), std::move(cure)});
  };
  if (cut) {
    std::ostringstream seconds;
    seconds.precision(4);
    seconds << show::to_seconds(decoded->wave->length());
    warn("the file is cut or damaged: " + seconds.str() + " s could be read and are kept", "Export or copy the sound again if its end is missing");
  }
  if (!decoded->clean) warn("some samples are no numbers and are silent", "Export the sound again");
  if (info.channels > 2) warn(std::to_string(info.channels) + " channels were averaged to one", "Export it with one or two channels to choose what is heard");
  return WavePtr(decoded->wave);
}

}  // namespace

std::optional<show::Time> length_of(const std::filesystem::path& file) {
  const auto opened = open_regular(file);
  if (!opened) return {};
  SF_INFO info{};
  const Sound sound(sf_open_fd(opened->fd, SFM_READ, &info, SF_TRUE));
  if (!sound || out_of_bounds(file, info)) return {};
  const auto frames = claimed(info);
  return frames ? std::optional(show::from_seconds(static_cast<double>(*frames) / info.samplerate)) : std::nullopt;
}

show::Result<WavePtr> load(const std::filesystem::path& file, show::Findings* notes, const Progress& progress) {
  try {
    return load_checked(file, notes, progress);
  } catch (const std::bad_alloc&) {
    return problem(file, "there is not enough memory for this sound", "Close other programs, or cut the sound into shorter files");
  }
}

}  // namespace mien::sound
