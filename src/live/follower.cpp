#include "live/follower.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace mien::live {
namespace {

constexpr std::array<const char*, 3> kSources{"none", "mtc", "clock"};
constexpr std::array<const char*, 5> kStates{"off", "waiting", "locking", "locked", "freewheeling"};
constexpr double kBandwidth_hz = 1;
constexpr show::Time kStepped{30'000'000};
constexpr double kSlewTime_s = 0.5;       // time constant in which a small difference is made up
constexpr int kClocksABeat = 24, kClocksASixteenth = 6;
constexpr double kSlowestCode = 0.8, kFastestCode = 1.25;
constexpr std::int64_t kSlowestClock_ns = 500'000'000;
constexpr double kSlowestSong = 0.25, kFastestSong = 4;

}  // namespace

std::optional<FollowSettings::Source> parse_follow(std::string_view text) noexcept {
  for (std::size_t n = 0; n < kSources.size(); ++n)
    if (text == kSources[n]) return static_cast<FollowSettings::Source>(n);
  return std::nullopt;
}
const char* name(FollowSettings::Source source) noexcept { return kSources[static_cast<std::size_t>(source)]; }
const char* name(Followed::State state) noexcept { return kStates[static_cast<std::size_t>(state)]; }

void Follower::set(const FollowSettings& settings) noexcept {
  *this = Follower{};
  settings_ = settings;
}

void Follower::hear(const MidiMessage& m, std::int64_t at_ns, int device) noexcept {
  using K = MidiMessage::Kind;
  const bool mtc = m.kind == K::quarter_frame || m.kind == K::full_time;
  const bool song = m.kind == K::clock || m.kind == K::start || m.kind == K::resume || m.kind == K::stop || m.kind == K::song_position;
  if (!(settings_.source == FollowSettings::Source::mtc ? mtc : song)) return;
  if (device_ >= 0 && device != device_ && at_ns - device_ns_ < kOneDevice_ns) return;
  device_ = device, device_ns_ = at_ns;
  if (settings_.source == FollowSettings::Source::mtc) {
    if (m.kind == K::quarter_frame) quarter(static_cast<std::uint8_t>(m.value), at_ns);
    if (m.kind == K::full_time) full(m);
  } else if (settings_.source == FollowSettings::Source::clock) {
    switch (m.kind) {
      case K::clock: clock(at_ns); break;
      case K::start: clocks_ = 0, started_ = true, running_ = false, since_start_ = 0; break;
      case K::resume: started_ = true, running_ = false, since_start_ = 0; break;
      case K::stop: if (started_) halt(running_ ? line_at(at_ns) : this->song(clocks_)); started_ = false; break;
      case K::song_position:
        clocks_ = std::int64_t{m.value} * kClocksASixteenth;
        if (running_) begin_line(this->song(clocks_), at_ns, rate_);  // the next clock is that one
        else halt(this->song(clocks_));
        break;
      default: break;
    }
  }
}

// The label that pieces 0 to 7 carry is that of the frame that began with piece 0, a quarter of a frame lies between two pieces, and the next label is two frames on.
void Follower::quarter(std::uint8_t data, std::int64_t at_ns) noexcept {
  const int piece = data >> 4 & 7;
  if (at_ns - heard_ns_ > kQuiet_ns) listen_anew(), backward_ = 0, last_piece_ = -1;  // however many were lost
  heard_ns_ = at_ns;
  backward_ = last_piece_ >= 0 && piece == ((last_piece_ + 7) & 7) ? backward_ + 1 : 0;
  last_piece_ = piece;
  if (backward_ >= 2) {
    listen_anew();
    if (running_) stand();
    return;
  }
  if (piece != next_) {
    listen_anew();
    if (piece != 0) return;
  }
  piece_[static_cast<std::size_t>(piece)] = data & 0x0F;
  next_ = (piece + 1) & 7;
  if (piece == kPieces - 1) {
    const auto joined = [&](std::size_t low) { return static_cast<std::uint8_t>(piece_[low] | piece_[low + 1] << 4); };
    const auto code = parse_full_frame({joined(6), joined(4), joined(2), joined(0)});
    if (!code) return listen_anew();
    code_rate_ = code->rate;
    frame_ = frame_of(*code);
    gathered_ = true;
  }
  if (!gathered_) return;
  const show::Time begins = time_of(code_rate_, frame_), one = time_of(code_rate_, frame_ + 1) - begins;
  sample(begins + one * piece / 4 - settings_.zero, at_ns, show::to_seconds(one) / 4, kSlowestCode, kFastestCode);
  if (piece == kPieces - 1) frame_ = (frame_ + 2) % frames_per_day(code_rate_);
}

void Follower::full(const MidiMessage& message) noexcept {
  const auto code = parse_full_frame(message.time);
  if (!code) return;
  code_rate_ = code->rate;
  listen_anew();
  halt(time_of(code->rate, frame_of(*code)) - settings_.zero);
}

show::Time Follower::song(std::int64_t clocks) const noexcept { return show::from_seconds(static_cast<double>(clocks) * 60 / (kClocksABeat * settings_.tempo_bpm)); }

void Follower::clock(std::int64_t at_ns) noexcept {
  const double period_s = 60 / (kClocksABeat * settings_.tempo_bpm);
  // The tempo as a plain mean at first, then over the newest ten: what the line begins with. Many machines send clocks while they stand, too.
  const std::int64_t since_ns = at_ns - clock_ns_;
  if (tempo_clocks_ > 0 && since_ns > 0 && since_ns < kSlowestClock_ns) {
    const double now = std::clamp(period_s * 1e9 / static_cast<double>(since_ns), kSlowestSong, kFastestSong);
    tempo_rate_ += (now - tempo_rate_) / std::min(tempo_clocks_, 10);
    ++tempo_clocks_;
  } else {
    tempo_clocks_ = 1;
  }
  clock_ns_ = at_ns;
  if (!started_) return;
  sample(song(clocks_), at_ns, period_s, kSlowestSong, kFastestSong);
  if (since_start_ < kClocksABeat) ++since_start_, rate_ = tempo_clocks_ > 1 ? tempo_rate_ : 1;
  ++clocks_;
}

void Follower::begin_line(show::Time at, std::int64_t at_ns, double rate) noexcept {
  line_ns_ = at_ns, line_show_ns_ = at.count(), line_rest_ns_ = 0, rate_ = rate;
  word_ns_ = at_ns;
}

show::Time Follower::line_at(std::int64_t at_ns) const noexcept {
  return show::Time{line_show_ns_ + std::llround(line_rest_ns_ + static_cast<double>(at_ns - line_ns_) * rate_)};
}

// `period_s`: between two samples at the source's own speed.
void Follower::sample(show::Time at, std::int64_t at_ns, double period_s, double least, double most) noexcept {
  const show::Time off = at - line_at(at_ns);
  if (!running_ || off > kFarthestSlew || off < -kFarthestSlew || at_ns - word_ns_ > settings_.freewheel_ns) {
    running_ = true;
    return begin_line(at, at_ns, std::clamp(rate_, least, most));
  }
  // More than jitter: the source has stepped. The line steps with it, at its own speed, and the show makes up for it.
  if (off > kStepped || off < -kStepped) return begin_line(at, at_ns, rate_);
  const double omega = 2 * std::numbers::pi * kBandwidth_hz * std::min(period_s, 0.05), error = static_cast<double>(off.count());
  const show::Time estimate = line_at(at_ns);
  line_rest_ns_ = std::numbers::sqrt2 * omega * error;
  line_show_ns_ = estimate.count() + std::llround(line_rest_ns_);
  line_rest_ns_ -= static_cast<double>(std::llround(line_rest_ns_));
  rate_ = std::clamp(rate_ + omega * omega * error / (period_s * 1e9), least, most);
  line_ns_ = word_ns_ = at_ns;
}

void Follower::halt(show::Time at) noexcept {
  running_ = false;
  rate_ = 1;
  line_show_ns_ = at.count(), line_rest_ns_ = 0;
  standing_news_ = true;
}

// Where the show is, which is not quite where the source is, or might be by now.
void Follower::stand() noexcept {
  halt(said_running_ ? show::Time{std::llround(said_show_ns_)} : line_at(word_ns_));
  standing_news_ = !said_running_;
}

Followed Follower::advance(std::int64_t now) noexcept {
  using S = Followed::State;
  Followed f;
  f.code_rate = code_rate_;
  if (settings_.source == FollowSettings::Source::none) return f;
  const bool silent = running_ && now - word_ns_ > kQuiet_ns;
  if (silent && !freewheeling_) ++dropouts_;
  freewheeling_ = silent;
  if (running_ && now - word_ns_ > settings_.freewheel_ns) {
    stand();
    freewheeling_ = false;
    listen_anew();
  }
  const double dt_ns = static_cast<double>(std::max<std::int64_t>(0, now - said_ns_));
  said_ns_ = std::max(now, said_ns_);
  if (!running_) {
    if (standing_news_) f.located = true, said_show_ns_ = static_cast<double>(line_show_ns_), ++locates_;
    standing_news_ = false;
    f.state = next_ > 0 ? S::locking : S::waiting;
  } else {
    const double source = static_cast<double>(line_at(now).count()), step = dt_ns * rate_, off = source - (said_show_ns_ + step);
    if (!said_running_ || std::abs(off) > static_cast<double>(kFarthestSlew.count())) {
      f.located = true, said_show_ns_ = source, ++locates_;
    } else {
      const double share = std::clamp(off / (kSlewTime_s * 1e9), -kMostSlew, kMostSlew);  // of a second each second
      said_show_ns_ += std::max(0.0, step + dt_ns * share);
    }
    f.behind_ns = std::llround(source - said_show_ns_);
    f.state = freewheeling_ ? S::freewheeling : S::locked;
    f.rate = rate_;
  }
  f.running = said_running_ = running_;
  f.time = show::Time{std::llround(said_show_ns_)};
  f.locates = locates_, f.dropouts = dropouts_;
  return f;
}

}  // namespace mien::live
