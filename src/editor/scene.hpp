// What panels see: the show, the stage's newest report and how to draw. Read-only; gathered once a frame.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "editor/document.hpp"
#include "editor/finding_index.hpp"
#include "editor/look.hpp"
#include "editor/stage.hpp"
#include "editor/view.hpp"
#include "perform/study.hpp"
#include "sound/loudness.hpp"
#include "speech/alignment.hpp"
#include "speech/spectrum.hpp"

namespace mien::editor {

/// A sound of the show, ready to draw.
struct DrawnSound {
  sound::WavePtr wave;
  std::shared_ptr<const sound::Peaks> peaks;
  show::Sound placed;                             ///< as the show has it
  std::size_t index = 0;                          ///< of the show's sounds
  std::shared_ptr<const sound::Loudness> loudness;
  std::shared_ptr<const std::vector<show::Time>> onsets{};  ///< in rising time from the file's first sample (sound/onsets.hpp)
  /// Where in the show the file's first sample lies, whether or not it is heard.
  show::Time zero() const noexcept { return placed.start - placed.trim; }
  /// What of the file is heard, in its own time, and where that is in the show.
  show::Range heard() const noexcept { return wave ? show::heard_of(placed, wave->length()) : show::Range{}; }
  show::Range span() const noexcept { return {placed.start, placed.start + heard().length()}; }
};

/// Words and phones of a sound of the show.
struct DrawnSpeech {
  std::size_t sound = 0;  ///< index in the show's sounds
  std::string file;
  show::Time start{0};    ///< where in the show the sound's beginning lies
  show::Range heard;      ///< what of the sound the show plays, in the sound's own time: other words are not shown
  std::shared_ptr<const speech::Alignment> alignment;
};

/// The command that makes the head speak, while it works and what it left.
struct Speaking {
  bool running = false;
  double share = 0;     ///< done, 0 to 1
  std::string word;     ///< how the last one ended; empty where there was none
  bool failed = false;  ///< and nothing was changed
};

/// How far the limiter lets every actuator come on every tick, from the show's start: setpoint less target.
struct Setpoints {
  show::ShowPtr show;  ///< of which they are
  show::Time tick{10'000'000};
  std::vector<std::vector<float>> behind_deg;  ///< by actuator, then tick
  std::shared_ptr<const perform::RigMap> map;  ///< with which they were computed
};

/// Where the head can't follow the show.
struct Feasibility {
  show::ShowPtr show;  ///< of which it is
  perform::PlanPtr plan;
  perform::Study study;
  std::vector<std::size_t> by_time;  ///< indexes into study.shortfalls, by seen_at(), then control
  FindingIndex index;                ///< the same, by channel and group
};

/// The command that makes keys arrive, while it works and what it left.
struct Arriving {
  bool running = false;
  double share = 0;   ///< done, 0 to 1
  std::string word;   ///< how the last one ended; empty where there was none, or the show has changed since
  std::vector<perform::Shortfall> unmended;  ///< what it found no change of keys for
};

/// A layer that becomes keys, while it does.
struct Baking {
  bool running = false;
  double share = 0;  ///< done, 0 to 1
  std::string word;  ///< how the last one ended; empty where there was none
};

struct Scene {
  const Document& document;
  const View& view;
  const Look& look;
  const perform::Report& report;
  const link::Status& link;
  const std::optional<show::Finding>& silent_because;
  const std::vector<DrawnSound>& sounds;
  std::shared_ptr<const Setpoints> setpoints;  ///< may lag behind the show by a moment; nullptr: not there yet
  std::shared_ptr<const Feasibility> feasibility;  ///< likewise
  const Arriving& arriving;
  const Baking& baking;
  Side side;                                   ///< what stands beside the lanes
  const show::FacePose* as_built;              ///< where servos as built would be; nullptr: not wanted, or not known
  const show::Findings& notices;               ///< what the person should read
  const class Keys& keys;                      ///< which key does what
  const std::vector<DrawnSpeech>& speech;
  const Speaking& speaking;
  const std::vector<std::shared_ptr<const speech::Spectrogram>>& spectra;  ///< by sound as drawn; nullptr: not there yet
};

}  // namespace mien::editor
