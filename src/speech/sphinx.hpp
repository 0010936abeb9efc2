// One piece of sound against one run of words, by PocketSphinx's public interface: a finite-state graph of every pronunciation, with
// phones as its words, and the best path through it.
#pragma once
#include <memory>
#include <span>
#include <vector>

#include "show/finding.hpp"
#include "speech/lexicon.hpp"

namespace mien::speech {

/// A stretch of the best path, in samples from the piece's beginning.
struct Heard {
  double begin_s = 0, end_s = 0;
  std::string phone;       ///< empty: silence
  int word = -1;           ///< index into the words that were given
  double score = 0;        ///< per frame; the less, the worse it fits
};

struct Path {
  std::vector<Heard> heard;
  double score_per_frame = 0;  ///< of all of it
  int frames = 0;
  bool found = false;          ///< false: the words can't be fitted into the sound at all
};

/// A decoder with its model. Not to be used by two threads at once; makes nothing visible outside.
class Sphinx {
 public:
  /// Loads the English model: some 50 ms. The finding says what to install.
  static show::Result<std::shared_ptr<Sphinx>> open();
  virtual ~Sphinx() = default;

  /// Samples at kSpeechRate_hz. Words without a pronunciation are passed over. `open_end`: the path may end after any word.
  virtual Path align(std::span<const float> samples, std::span<const Pronounced> words, bool open_end) = 0;

  /// The best path of any phones in any order: how well the model can fit this sound at all, whatever is said.
  virtual Path free(std::span<const float> samples) = 0;
};

}  // namespace mien::speech
