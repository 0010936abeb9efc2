#include "speech/align_spoken.hpp"

#include <algorithm>
#include <cmath>

#include "speech/mfcc.hpp"

namespace mien::speech {
namespace {

using show::Finding;
using show::Severity;
using show::Time;

constexpr int kUsualWords_per_minute = 165, kSlowest = 80, kFastest = 400;
constexpr double kMargin_s = 0.3, kFrameMiddle_s = 0.0128;

// From the first loud frame to the last, with a little around: silence at the ends says nothing.
show::Range voiced(const Recording& r) {
  const auto levels = levels_db(r);
  const double gate = pause_level_db(levels);
  std::size_t first = 0, last = levels.size();
  while (first < last && levels[first] <= gate) ++first;
  while (last > first && levels[last - 1] <= gate) --last;
  const auto time = [](std::size_t n) { return show::from_seconds(static_cast<double>(n) * kFrame_s); };
  return {time(first > 3 ? first - 3 : 0), std::min(r.length(), time(last + 5))};
}

Alignment carried(const Speech& speech, show::Range spoken, const Recording& recording, show::Range heard) {
  auto a = mfcc(part_of(speech.recording, spoken));
  auto b = mfcc(part_of(recording, heard));
  normalise(a), normalise(b);
  const auto path = warp(a, b);
  Alignment result = speech.alignment;
  if (path.empty()) return result.phones.clear(), result;
  const auto moved = [&](Time t) {
    const double frame = (show::to_seconds(t - spoken.begin) - kFrameMiddle_s) / kFrame_s;
    const auto n = static_cast<std::size_t>(std::clamp(frame, 0.0, static_cast<double>(path.size() - 1)));
    const double next = n + 1 < path.size() ? path[n + 1] : path[n] + 1, share = std::clamp(frame - static_cast<double>(n), 0.0, 1.0);
    return std::clamp(heard.begin + show::from_seconds((path[n] + share * (next - path[n])) * kFrame_s + kFrameMiddle_s), heard.begin, heard.end);
  };
  for (auto& phone : result.phones) phone.range = {moved(phone.range.begin), moved(phone.range.end)}, phone.confidence = 0.5;
  for (auto& word : result.words) word.range = {moved(word.range.begin), moved(word.range.end)}, word.confidence = 0.5;
  std::erase_if(result.phones, [](const Phone& p) { return p.range.empty(); });
  return result;
}

}  // namespace

show::Result<Alignment> align_spoken(const Recording& recording, std::span<const Line> lines, const std::filesystem::path& program, const std::string& language, const std::string& file, const Progress& progress) {
  const auto levels = levels_db(recording);
  if (auto problem = no_voice(recording, levels, file)) return *problem;
  Alignment all;
  all.length = recording.length();
  Time from{0};
  for (const auto& line : lines) {
    const show::Range stretch = line.when ? show::Range{std::max(from, line.when->begin - show::from_seconds(kMargin_s)), std::min(all.length, line.when->end + show::from_seconds(kMargin_s))} : show::Range{from, all.length};
    const std::string place = line.when ? "line at " + std::to_string(static_cast<int>(show::to_seconds(line.when->begin))) + " s" : "text";
    if (stretch.empty()) return Finding{Severity::error, file, place, "its time lies outside of the sound", "Check that text and sound belong together."};
    if (show::to_seconds(stretch.length()) > kMostWarped_s)
      return Finding{Severity::error, file, place, "more than " + std::to_string(static_cast<int>(kMostWarped_s)) + " s can't be aligned at once in this language", "Give the text with times of its own, as WebVTT or SubRip, or in parts."};
    const auto sound = part_of(recording, stretch);
    const auto heard = voiced(sound);
    auto speech = speak(program, language, kUsualWords_per_minute, line.text);
    if (!speech) return speech.problem();
    // Once more at the speed of the recording: what is alike is matched best.
    const double ratio = show::to_seconds(voiced(speech->recording).length()) / std::max(0.05, show::to_seconds(heard.length()));
    if (ratio > 3 || ratio < 1.0 / 3) return Finding{Severity::error, file, place, "the text isn't what is said in the sound: spoken, it takes " + std::to_string(static_cast<int>(std::lround(100 * ratio))) + " % of its time", "Check that text, language and sound belong together."};
    speech = speak(program, language, std::clamp(static_cast<int>(std::lround(kUsualWords_per_minute * ratio)), kSlowest, kFastest), line.text);
    if (!speech) return speech.problem();
    auto part = carried(*speech, voiced(speech->recording), sound, heard);
    const int first_word = static_cast<int>(all.words.size());
    for (auto& word : part.words) word.range.begin += stretch.begin, word.range.end += stretch.begin, all.words.push_back(word);
    for (auto& phone : part.phones) {
      phone.range.begin = std::max(from, phone.range.begin + stretch.begin), phone.range.end += stretch.begin;
      if (phone.word >= 0) phone.word += first_word;
      if (phone.range.empty()) continue;
      from = phone.range.end;
      all.phones.push_back(phone);
    }
    if (progress && !progress(std::min(1.0, show::to_seconds(from) / show::to_seconds(all.length)))) return Finding{Severity::note, file, "", "stopped before the alignment was done", "Run it again."};
  }
  if (all.phones.empty()) return Finding{Severity::error, file, "text", "there are no words in the text", "Write what is said."};
  return all;
}

}  // namespace mien::speech
