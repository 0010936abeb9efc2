#include "speech/sphinx.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>

#include "speech/phones.hpp"
#include "speech/recording.hpp"

#ifdef MIEN_SPHINX
#include <pocketsphinx.h>
#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#endif

namespace mien::speech {
namespace {

show::Finding not_installed() {
  return {show::Severity::error, "", "speech model", "PocketSphinx's English model, which finds words in sounds, is not there",
          "Install the packages libpocketsphinx-dev and pocketsphinx-en-us, then build Mien again; without a text, mien speak works without it."};
}

#ifdef MIEN_SPHINX

constexpr double kHop_s = 0.01;      // of the model's frames
constexpr double kShift_s = 0.0078;  // from a frame's beginning to where a change in it is heard, measured on voices whose times are known
constexpr double kSilenceProbability = 0.05;
constexpr const char* kFirst = "^";  // marks the phones that begin a word, so that the path itself tells words apart

class Decoder final : public Sphinx {
 public:
  explicit Decoder(ps_decoder_t* decoder) : decoder_(decoder) {
    for (const auto phone : kPhones)
      for (const char* mark : {"", kFirst}) {
        const std::string label = std::string(phone) + mark;
        ps_add_word(decoder_, label.c_str(), std::string(phone).c_str(), 0);
      }
    ps_add_word(decoder_, "SILENCE", "SIL", 1);
  }
  ~Decoder() override { ps_free(decoder_); }
  Decoder(const Decoder&) = delete;
  Decoder& operator=(const Decoder&) = delete;

  Path align(std::span<const float> samples, std::span<const Pronounced> words, bool open_end) override {
    std::vector<int> known;
    for (std::size_t w = 0; w < words.size(); ++w)
      if (!words[w].ways.empty()) known.push_back(static_cast<int>(w));
    return decode(graph_of(words, open_end), samples, known);
  }

  Path free(std::span<const float> samples) override {
    logmath_t* logs = ps_get_logmath(decoder_);
    fsg_model_t* graph = fsg_model_init("line", logs, 1.0f, 2);
    fsg_model_trans_add(graph, 0, 1, logmath_log(logs, 1.0 / 40), fsg_model_word_add(graph, "SILENCE"));
    for (const auto phone : kPhones) fsg_model_trans_add(graph, 0, 1, logmath_log(logs, 1.0 / 40), fsg_model_word_add(graph, std::string(phone).c_str()));
    glist_t nulls = nullptr;
    if (fsg_model_null_trans_add(graph, 1, 0, 0) == 1) nulls = glist_add_ptr(nulls, fsg_model_null_trans(graph, 1, 0));
    graph->start_state = 0, graph->final_state = 1;
    glist_free(fsg_model_null_trans_closure(graph, nulls));
    return decode(graph, samples, {});
  }

 private:
  Path decode(fsg_model_t* graph, std::span<const float> samples, const std::vector<int>& known) {
    Path path;
    const bool set = ps_set_fsg(decoder_, "line", graph) == 0 && ps_set_search(decoder_, "line") == 0;
    fsg_model_free(graph);  // the decoder holds its own
    if (!set) return path;
    const auto pcm = pcm_of(samples);
    ps_start_stream(decoder_);
    ps_start_utt(decoder_);
    ps_process_raw(decoder_, pcm.data(), pcm.size(), 0, 1);
    ps_end_utt(decoder_);
    read(path, known);
    return path;
  }

  // States: for each word one before its silence and one before its phones; at the end the same, and the final one.
  fsg_model_t* graph_of(std::span<const Pronounced> words, bool open_end) {
    int states = 3;
    for (const auto& word : words) {
      states += 2;
      for (const auto& way : word.ways) states += static_cast<int>(way.size());
    }
    logmath_t* logs = ps_get_logmath(decoder_);
    fsg_model_t* graph = fsg_model_init("line", logs, 1.0f, states);
    const int silence = fsg_model_word_add(graph, "SILENCE");
    std::map<std::string, int> ids;
    const auto id = [&](const std::string& label) {
      const auto [at, fresh] = ids.try_emplace(label, 0);
      if (fresh) at->second = fsg_model_word_add(graph, label.c_str());
      return at->second;
    };
    const auto log_of = [&](double probability) { return logmath_log(logs, probability); };
    glist_t nulls = nullptr;
    int next = 0;
    const auto skip = [&](int from, int to, double probability) {
      if (fsg_model_null_trans_add(graph, from, to, log_of(probability)) == 1)
        nulls = glist_add_ptr(nulls, fsg_model_null_trans(graph, from, to));
    };
    const auto pause = [&](int from) {  // returns the state behind an optional silence
      const int behind = next++;
      fsg_model_trans_add(graph, from, behind, log_of(kSilenceProbability), silence);
      skip(from, behind, 1 - kSilenceProbability);
      return behind;
    };
    std::vector<int> ends;
    int at = next++;
    for (const auto& word : words) {
      if (word.ways.empty()) continue;
      const int begin = pause(at);
      at = next++;
      for (const auto& way : word.ways) {
        int from = begin;
        for (std::size_t p = 0; p < way.size(); ++p) {
          const int to = p + 1 == way.size() ? at : next++;
          fsg_model_trans_add(graph, from, to, log_of(p == 0 ? 1.0 / static_cast<double>(word.ways.size()) : 1), id(p == 0 ? way[p] + kFirst : way[p]));
          from = to;
        }
      }
      ends.push_back(at);
    }
    if (open_end)
      for (std::size_t n = 0; n + 1 < ends.size(); ++n) skip(ends[n], at, 0.5);
    const int last = pause(at);
    graph->start_state = 0;
    graph->final_state = last;
    glist_free(fsg_model_null_trans_closure(graph, nulls));
    return graph;
  }

  // As loud as 16 bits carry well, with the least of noise below, for the logarithm of digital silence is nothing that a model has heard.
  static std::vector<int16> pcm_of(std::span<const float> samples) {
    float peak = 1e-4f;
    for (const float s : samples) peak = std::max(peak, std::abs(s));
    const float gain = 16000 / peak;
    std::vector<int16> pcm(samples.size());
    std::uint32_t noise = 1;
    for (std::size_t n = 0; n < pcm.size(); ++n) {
      noise = noise * 1664525u + 1013904223u;  // Numerical Recipes' quick generator
      pcm[n] = static_cast<int16>(std::lround(samples[n] * gain) + static_cast<int>(noise >> 30) - 1);
    }
    return pcm;
  }

  void read(Path& path, const std::vector<int>& known) {
    int32 score = 0;
    if (!ps_get_hyp(decoder_, &score)) return;
    int word = -1, last_frame = 0;
    double sum = 0;
    for (ps_seg_t* seg = ps_seg_iter(decoder_); seg; seg = ps_seg_next(seg)) {
      std::string label = ps_seg_word(seg);
      int begin = 0, end = 0;
      ps_seg_frames(seg, &begin, &end);
      if (label == "(NULL)" || end < begin) continue;
      int32 acoustic = 0, language = 0, back = 0;
      ps_seg_prob(seg, &acoustic, &language, &back);
      const bool silence = label == "SILENCE" || label.starts_with("<");
      if (label.ends_with(kFirst)) ++word, label.pop_back();
      Heard heard;
      heard.begin_s = begin == 0 ? 0 : begin * kHop_s + kShift_s, heard.end_s = (end + 1) * kHop_s + kShift_s;
      heard.score = static_cast<double>(acoustic) / (end - begin + 1);
      if (!silence) heard.phone = label, heard.word = word >= 0 && word < static_cast<int>(known.size()) ? known[static_cast<std::size_t>(word)] : -1;
      path.heard.push_back(heard);
      sum += heard.score * (end - begin + 1);
      last_frame = std::max(last_frame, end + 1);
    }
    path.frames = last_frame;
    path.found = !path.heard.empty() && (known.empty() || word >= 0);
    path.score_per_frame = last_frame > 0 ? sum / last_frame : 0;
  }

  ps_decoder_t* decoder_;
};

#endif

}  // namespace

show::Result<std::shared_ptr<Sphinx>> Sphinx::open() {
#ifdef MIEN_SPHINX
  err_set_logfp(nullptr);
  const std::string model = std::string(MIEN_SPHINX_MODELS) + "/en-us/en-us";
  std::error_code none;
  if (!std::filesystem::is_directory(model, none)) return not_installed();
  cmd_ln_t* config = cmd_ln_init(nullptr, ps_args(), TRUE, "-hmm", model.c_str(), "-remove_silence", "no", "-remove_noise", "no",
                                 "-fsgusefiller", "no", "-fsgusealtpron", "no", "-bestpath", "no", "-wip", "1", "-lw", "1",
                                 "-beam", "1e-64", "-wbeam", "1e-64", "-pbeam", "1e-64", static_cast<char*>(nullptr));
  ps_decoder_t* decoder = config ? ps_init(config) : nullptr;
  if (config) cmd_ln_free_r(config);
  if (!decoder) return not_installed();
  return std::shared_ptr<Sphinx>(std::make_shared<Decoder>(decoder));
#else
  return not_installed();
#endif
}

}  // namespace mien::speech
