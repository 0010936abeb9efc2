#include "speech/made_speech.hpp"

#include <algorithm>
#include <cmath>

#include "speech/phones.hpp"

#ifdef MIEN_FLITE
extern "C" {
#include <flite/flite.h>
cst_voice* register_cmu_us_kal16(const char*);
cst_voice* register_cmu_us_slt(const char*);
cst_voice* register_cmu_us_rms(const char*);
cst_voice* register_cmu_us_awb(const char*);
}
#endif

namespace mien::speech_tests {

const std::array<const char*, 12> kSentences{
    "The keeper brought a bowl of warm porridge up the spiral stair.",
    "Before the big storm, people boarded every window by the pier.",
    "Five gulls flew above the bay, and the fog rolled over them.",
    "My brother Bob may borrow the blue boat in the morning.",
    "She sells thick woven shawls at the village market on Thursdays.",
    "A yellow moth beat its wings upon the lamp until it was put out.",
    "Perhaps the old pump might be mended by Monday, said the miller.",
    "Joyful voices carried far across the quiet harbour that evening.",
    "Every ship that passes blows its horn twice, and nobody knows why.",
    "The measure of a good lamp is how much of the dark it leaves behind.",
    "Put the paper boxes near the bench, then come and help me shove the barrow.",
    "We watched the huge grey waves crash upon the beach below."};

namespace {
double nth(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}
}  // namespace

double Errors::median() const { return nth(start_ms, 0.5); }
double Errors::p90() const { return nth(start_ms, 0.9); }
void Errors::add(const Errors& other) {
  start_ms.insert(start_ms.end(), other.start_ms.begin(), other.start_ms.end());
  closures += other.closures, closures_hit += other.closures_hit;
}

Errors errors_of(const speech::Alignment& found, const speech::Alignment& truth) {
  const auto& a = found.phones;
  const auto& b = truth.phones;
  // Levenshtein with two-cost substitution: matched pairs are those of one name.
  std::vector<std::vector<int>> cost(a.size() + 1, std::vector<int>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i)
    for (std::size_t j = 0; j <= b.size(); ++j) {
      if (i == 0 || j == 0) { cost[i][j] = static_cast<int>(i + j); continue; }
      cost[i][j] = std::min({cost[i - 1][j] + 1, cost[i][j - 1] + 1, cost[i - 1][j - 1] + (a[i - 1].label == b[j - 1].label ? 0 : 2)});
    }
  Errors errors;
  for (std::size_t i = a.size(), j = b.size(); i > 0 && j > 0;) {
    if (a[i - 1].label == b[j - 1].label && cost[i][j] == cost[i - 1][j - 1]) {
      errors.start_ms.push_back(std::abs(show::to_seconds(a[i - 1].range.begin - b[j - 1].range.begin)) * 1e3);
      --i, --j;
    } else if (cost[i][j] == cost[i - 1][j] + 1) --i;
    else if (cost[i][j] == cost[i][j - 1] + 1) --j;
    else --i, --j;
  }
  for (const auto& phone : b) {
    if (!speech::closes_lips(phone.label)) continue;
    ++errors.closures;
    double overlap = 0;
    for (const auto& other : a)
      if (speech::closes_lips(other.label))
        overlap += std::max(0.0, show::to_seconds(std::min(phone.range.end, other.range.end) - std::max(phone.range.begin, other.range.begin)));
    if (overlap >= std::min(std::max(0.5 * show::to_seconds(phone.range.length()), 0.02), show::to_seconds(phone.range.length()))) ++errors.closures_hit;
  }
  return errors;
}

std::optional<Spoken> say(int voice, double stretch, const std::string& text) {
#ifdef MIEN_FLITE
  static const auto voices = [] {
    flite_init();
    return std::array<cst_voice*, 4>{register_cmu_us_kal16(nullptr), register_cmu_us_slt(nullptr), register_cmu_us_rms(nullptr), register_cmu_us_awb(nullptr)};
  }();
  cst_voice* v = voices[static_cast<std::size_t>(voice)];
  feat_set_float(v->features, "duration_stretch", static_cast<float>(stretch));
  cst_utterance* utterance = flite_synth_text(text.c_str(), v);
  Spoken spoken{text, {}, {}};
  const cst_wave* wave = utt_wave(utterance);
  std::vector<float> samples(static_cast<std::size_t>(wave->num_samples));
  for (std::size_t n = 0; n < samples.size(); ++n) samples[n] = static_cast<float>(wave->samples[n]) / 32768.0f;
  spoken.recording = speech::recording_of(samples, 1, wave->sample_rate);
  show::Time last{0};
  for (cst_item* s = relation_head(utt_relation(utterance, "Segment")); s; s = item_next(s)) {
    const show::Time end = show::from_seconds(static_cast<double>(item_feat_float(s, "end")));
    std::string name = item_feat_string(s, "name");
    const std::string label = name == "ax" ? "AH" : speech::plain_phone(name);
    if (!label.empty()) spoken.truth.phones.push_back({{last, end}, label, 1, -1});
    last = end;
  }
  spoken.truth.length = spoken.recording.length();
  delete_utterance(utterance);
  return spoken;
#else
  (void)voice, (void)stretch, (void)text;
  return {};
#endif
}

}  // namespace mien::speech_tests
