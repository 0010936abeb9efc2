#include "speech/align.hpp"

#include <algorithm>
#include <cmath>

#include "speech/lexicon.hpp"
#include "speech/phones.hpp"
#include "speech/sphinx.hpp"

namespace mien::speech {
namespace {

using show::Finding;
using show::Severity;
using show::Time;

constexpr double kWhole_s = 75;                        // aligned in one go
constexpr double kPieceMost_s = 50;                     // otherwise pieces of half that to that
constexpr Time kCutPause{150'000'000};
constexpr double kMostWords_per_s = 6;                 // nobody says more
constexpr double kTrusted = 0.8;                       // of a piece whose end is open: its last words may be wrong
constexpr double kStopPause_s = 0.16;                  // shorter silences between words belong to their neighbours
constexpr double kLineMargin_s = 0.3;                      // around a line whose times were typed by a person
constexpr double kCertain = -18;  // words that fit so well are right without comparison: no wrong ones fit better than -28
constexpr double kMuchUnsaid = 0.25;
constexpr double kSure = -14, kUnsure = -45;           // phone scores that count as confidence 1 and 0

struct Prepared {
  std::vector<Pronounced> words;
  std::vector<std::size_t> line;  // of each word
};

struct Score {
  double sum = 0, all = 0, free = 0;  ///< of the words' frames; of all frames; of all frames with any phones in any order
  int frames = 0;                     ///< of words
};

double confidence_of(double score) noexcept { return std::clamp((score - kUnsure) / (kSure - kUnsure), 0.0, 1.0); }

std::span<const float> samples_between(const Recording& r, double begin_s, double end_s) {
  const auto at = [&](double s) { return std::min(static_cast<std::size_t>(std::max(0.0, s) * r.rate_hz), r.samples.size()); };
  return std::span(r.samples).subspan(at(begin_s), at(end_s) - std::min(at(begin_s), at(end_s)));
}

// Gives short silences between words to the stop that follows, else to the phone before.
void fill_short_pauses(std::vector<Heard>& heard) {
  for (std::size_t n = 1; n + 1 < heard.size(); ++n) {
    if (!heard[n].phone.empty() || heard[n].end_s - heard[n].begin_s >= kStopPause_s) continue;
    if (heard[n - 1].phone.empty() || heard[n + 1].phone.empty()) continue;
    if (is_stop(heard[n + 1].phone)) heard[n + 1].begin_s = heard[n].begin_s;
    else heard[n - 1].end_s = heard[n].end_s;
  }
  std::erase_if(heard, [](const Heard& h) { return h.phone.empty(); });
}

class Run {
 public:
  Run(const Recording& recording, const std::vector<float>& levels, Sphinx& sphinx, const Progress& progress)
      : recording_(recording), pauses_(pauses(levels, kCutPause)), sphinx_(sphinx), progress_(progress) {}

  // Words [first, end) somewhere in [begin_s, end_s). False: they don't fit, or the run was stopped.
  bool whole(const Prepared& text, std::size_t first, std::size_t end, double begin_s, double end_s) {
    const auto words = std::span(text.words).subspan(first, end - first);
    const auto path = sphinx_.align(samples_between(recording_, begin_s, end_s), words, false);
    if (!path.found) return false;
    take(path, first, words.size(), begin_s, end_s);
    return tell(end_s);
  }

  bool in_pieces(const Prepared& text, std::size_t first, std::size_t end, double begin_s, double end_s) {
    while (first < end && begin_s < end_s) {
      if (end_s - begin_s <= kWhole_s) return whole(text, first, end, begin_s, end_s);
      Path path;
      std::pair<std::size_t, double> trusted{0, 0};
      double piece_end = begin_s;
      for (const double most_s : {kPieceMost_s, kPieceMost_s / 2, kPieceMost_s / 4}) {  // what the search lost on the way it may find in a shorter piece
        piece_end = cut_after(begin_s, most_s);
        const std::size_t count = std::min(end - first, static_cast<std::size_t>((piece_end - begin_s) * kMostWords_per_s) + 10);
        path = sphinx_.align(samples_between(recording_, begin_s, piece_end), std::span(text.words).subspan(first, count), true);
        if (path.found) trusted = trusted_of(path, piece_end - begin_s, first + count == end);
        if (trusted.first > 0) break;
        if (!tell(begin_s)) return false;
      }
      if (trusted.first == 0) {  // nothing is said here
        begin_s = piece_end;
        if (!tell(begin_s)) return false;
        continue;
      }
      const auto [words, at_s] = trusted;
      take(path, first, words, begin_s, begin_s + at_s);
      first += words, begin_s += at_s;
      if (!tell(begin_s)) return false;
    }
    return first >= end;
  }

  std::vector<Heard> heard;
  Score score;
  bool stopped = false;

 private:
  bool tell(double done_s) {
    if (progress_ && !progress_(std::min(1.0, done_s / show::to_seconds(recording_.length())))) stopped = true;
    return !stopped;
  }

  double cut_after(double begin_s, double most_s) const {
    double best = begin_s + most_s, longest = 0;
    for (const auto& pause : pauses_) {
      const double middle = (show::to_seconds(pause.begin) + show::to_seconds(pause.end)) / 2;
      if (middle < begin_s + most_s / 2 || middle > begin_s + most_s) continue;
      if (const double length = show::to_seconds(pause.length()); length > longest) longest = length, best = middle;
    }
    return best;
  }

  // How many words of the piece are beyond doubt, and where the next piece begins: in the last pause before the piece's last part.
  static std::pair<std::size_t, double> trusted_of(const Path& path, double length_s, bool all_words) {
    std::size_t words = 0;
    double at = 0, gap_at = 0;
    std::size_t gap_words = 0, last_word = 0;
    for (std::size_t n = 0; n < path.heard.size(); ++n) {
      const auto& h = path.heard[n];
      if (h.word >= 0) last_word = static_cast<std::size_t>(h.word) + 1;
      if (h.end_s > kTrusted * length_s) break;
      const bool pause = h.phone.empty() && h.end_s - h.begin_s >= 0.1 && last_word > 0;
      const bool word_end = h.word >= 0 && (n + 1 == path.heard.size() || path.heard[n + 1].word != h.word);
      if (pause) gap_words = last_word, gap_at = (h.begin_s + h.end_s) / 2;
      if (word_end) words = last_word, at = h.end_s;
    }
    if (all_words && last_word > 0 && !path.heard.empty() && path.heard.back().phone.empty() && path.heard.back().begin_s < kTrusted * length_s)
      return {last_word, path.heard.back().begin_s};
    return gap_words > 0 ? std::pair{gap_words, gap_at} : std::pair{words, at};
  }

  void take(const Path& path, std::size_t first, std::size_t count, double begin_s, double end_s) {
    double all = 0, sum = 0;
    int words = 0;
    for (Heard h : path.heard) {
      if (h.word >= static_cast<int>(count) || h.begin_s + begin_s >= end_s + 1e-9) continue;
      const int frames = static_cast<int>(std::lround((h.end_s - h.begin_s) * 100));
      all += h.score * frames;
      if (!h.phone.empty()) sum += h.score * frames, words += frames;  // silence fits silence whatever the words
      h.begin_s += begin_s, h.end_s = std::min(h.end_s + begin_s, end_s);
      if (h.word >= 0) h.word += static_cast<int>(first);
      heard.push_back(h);
    }
    score.all += all, score.sum += sum, score.frames += words;
    if (words > 0 && sum / words > kCertain) score.free += all;  // no need to ask
    else for (const auto& h : sphinx_.free(samples_between(recording_, begin_s, end_s)).heard) score.free += h.score * static_cast<double>(std::lround((h.end_s - h.begin_s) * 100));
  }

  const Recording& recording_;
  std::vector<show::Range> pauses_;
  Sphinx& sphinx_;
  const Progress& progress_;
};

Alignment result_of(const Prepared& text, std::vector<Heard> heard, const Recording& recording, Score score) {
  fill_short_pauses(heard);
  Alignment result;
  result.length = recording.length();
  result.score_per_frame = score.frames > 0 ? score.sum / score.frames : 0;
  for (const auto& word : text.words) result.words.push_back({{}, word.text, word.ways.empty() ? 0.0 : 1.0, word.origin});
  std::vector<double> sum(result.words.size(), 0), length(result.words.size(), 0);
  Time last{0};
  for (const auto& h : heard) {
    Phone phone{{std::max(last, show::from_seconds(h.begin_s)), std::min(show::from_seconds(h.end_s), result.length)}, h.phone, confidence_of(h.score), h.word};
    if (phone.range.empty()) continue;
    last = phone.range.end;
    if (h.word >= 0) {
      auto& word = result.words[static_cast<std::size_t>(h.word)];
      if (word.range.empty()) word.range = phone.range;
      word.range.end = phone.range.end;
      sum[static_cast<std::size_t>(h.word)] += phone.confidence * show::to_seconds(phone.range.length()), length[static_cast<std::size_t>(h.word)] += show::to_seconds(phone.range.length());
    }
    result.phones.push_back(std::move(phone));
  }
  for (std::size_t w = 0; w < result.words.size(); ++w)
    if (length[w] > 0) result.words[w].confidence = sum[w] / length[w];
  last = Time{0};
  for (auto& word : result.words) {
    if (word.range.empty()) word.range = {last, last};
    last = word.range.end;
  }
  return result;
}

std::string in_seconds(Time t) {
  const auto tenths = t.count() / 100'000'000;
  return std::to_string(tenths / 10) + "." + std::to_string(tenths % 10) + " s";
}

// The dictionary, read once.
const show::Result<Lexicon>& english() {
  static const show::Result<Lexicon> lexicon = Lexicon::load(dictionary_file());
  return lexicon;
}

std::optional<Finding> prepare(std::span<const Line> lines, const std::string& file, Prepared& text, show::Findings* notes) {
  const auto& lexicon = english();
  std::size_t foreign = 0;
  std::string first_foreign;
  std::vector<std::string> told;
  for (std::size_t n = 0; n < lines.size(); ++n)
    for (const auto& spoken : spoken_words(lines[n].text)) {
      if (spoken.foreign && foreign++ == 0) first_foreign = spoken.text;
      if (!lexicon) continue;
      text.words.push_back(lexicon->look_up(spoken)), text.line.push_back(n);
      const auto& word = text.words.back();
      if (!notes || word.origin == Origin::dictionary || std::find(told.begin(), told.end(), word.text) != told.end()) continue;
      told.push_back(word.text);
      const bool rules = word.origin == Origin::rules;
      notes->push_back({rules ? Severity::note : Severity::warning, file, "word '" + word.text + "'",
                        rules ? "the dictionary lacks it; its sounds follow the rules of spelling" : "nobody knows how it sounds; it is left out",
                        rules ? "Look at its phones, and spell it as it sounds where they are wrong."
                        : has_rules() ? "Spell it as it sounds, in English letters." : "Spell it in words that are known, or install flite1-dev and build Mien again."});
    }
  if (!lexicon) return lexicon.problem();
  if (text.words.empty()) return Finding{Severity::error, file, "text", "there are no words in the text", "Write what is said, or leave the text out: the mouth then follows the sound alone."};
  if (2 * foreign >= text.words.size())
    return Finding{Severity::error, file, "text", "most of it is in a script that English has no sounds for ('" + first_foreign + "')",
                   "Name its language with --language, or write it as it sounds in English letters."};
  return {};
}

// Much that is loud where the text has a pause: words are missing from the text, or something else sounds there.
void warn_of_unsaid(const std::vector<Heard>& heard, const std::vector<float>& levels, const std::string& file, show::Findings& notes) {
  const double gate = pause_level_db(levels);
  std::size_t loud = 0, unsaid = 0;
  for (const auto& h : heard)
    for (auto frame = static_cast<std::size_t>(h.begin_s / kFrame_s); frame < levels.size() && static_cast<double>(frame) * kFrame_s < h.end_s; ++frame)
      if (levels[frame] > gate) ++loud, unsaid += h.phone.empty();
  if (loud > 0 && static_cast<double>(unsaid) > kMuchUnsaid * static_cast<double>(loud))
    notes.push_back({Severity::warning, file, "text", std::to_string(100 * unsaid / loud) + " % of what is loud in the sound has no words in the text", "Add the words that are missing, if any are; music and effects belong in a sound of their own."});
}

}  // namespace

show::Result<Alignment> align(const Recording& recording, std::span<const Line> lines, const std::string& file, show::Findings* notes, const Progress& progress) {
  const auto levels = levels_db(recording);
  if (auto problem = no_voice(recording, levels, file)) return *problem;
  Prepared text;
  if (auto problem = prepare(lines, file, text, notes)) return *problem;
  const auto sphinx = Sphinx::open();
  if (!sphinx) return sphinx.problem();

  Run run(recording, levels, **sphinx, progress);
  const double length_s = show::to_seconds(recording.length());
  const auto refused = [&](std::string what, std::string place) {
    return Finding{Severity::error, file, std::move(place), std::move(what), "Check that text and sound belong together, and that nothing is left out of either."};
  };
  double from_s = 0;
  for (std::size_t first = 0; first < text.words.size() && !run.stopped;) {
    std::size_t end = first;
    while (end < text.words.size() && text.line[end] == text.line[first]) ++end;
    const auto& when = lines[text.line[first]].when;
    const double begin_s = when ? std::max(from_s, show::to_seconds(when->begin) - kLineMargin_s) : from_s;
    double end_s = when ? std::min(length_s, show::to_seconds(when->end) + kLineMargin_s) : length_s;
    if (!when)
      while (end < text.words.size() && !lines[text.line[end]].when) ++end;
    const std::string place = when ? "line at " + in_seconds(when->begin) : "text";
    if (begin_s >= end_s) return refused("its time lies outside of the sound, which is " + in_seconds(recording.length()) + " long", place);
    if (!run.in_pieces(text, first, end, begin_s, end_s) && !run.stopped)
      return refused("its words can't be fitted into the sound: there are " + std::to_string(end - first) + " for " + in_seconds(show::from_seconds(end_s - begin_s)), place);
    if (when) from_s = run.heard.empty() ? begin_s : run.heard.back().phone.empty() ? run.heard.back().begin_s : run.heard.back().end_s;
    first = end;
  }
  if (run.stopped) return Finding{Severity::note, file, "", "stopped before the alignment was done", "Run it again."};
  if (notes) warn_of_unsaid(run.heard, levels, file, *notes);
  const double score = run.score.frames > 0 ? run.score.sum / run.score.frames : 0;
  const double over_free = run.score.frames > 0 ? (run.score.all - run.score.free) / run.score.frames : 0;
  if (over_free < kWorseThanAnything || score < kFarOff) return refused("the text isn't what is said in the sound", "text");
  return result_of(text, std::move(run.heard), recording, run.score);
}

}  // namespace mien::speech
