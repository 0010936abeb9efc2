// Takes: what hands did while the show played. Kept raw, a value for each tick; made into few keys when a person wants it in the show.
#pragma once
#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "live/hands.hpp"
#include "motion/simplify.hpp"
#include "show/show.hpp"

namespace mien::live {

inline constexpr int kMostRecorded = 64;  ///< controls of one map; those beyond are performed but not recorded

/// A tick on the tape: by HandProgram::reach what the control was in the end, and whether hands had a say in it.
struct TakeTick {
  show::Time time{0};
  int count = 0;
  std::uint64_t touched = 0;
  std::uint32_t mark = 0;  ///< HandProgram::reach_mark, which says whose `reach`; 0: nobody says
  std::array<float, kMostRecorded> value{};
};

/// Fills in all but the time.
void note(TakeTick& tick, const HandProgram& program, const HandState& state, std::span<const double> control) noexcept;

/// What one control did from the first tick to the last, and when hands had a say in it. Times rise.
struct Track {
  std::string control;
  std::vector<motion::Sample> samples;
  std::vector<show::Range> touched;  ///< ends included; rising, apart
  friend bool operator==(const Track&, const Track&) = default;
};

/// Once through, from record to stop or to the end of the loop. Only controls that hands touched.
struct Take {
  std::string name;
  std::vector<Track> tracks;
  friend bool operator==(const Take&, const Take&) = default;
};
show::Range span_of(const Take& take) noexcept;

/// The controls that lines of the map move in this show, by name, in the order of the lines; each once.
std::vector<std::string> moved_by(const HandMap& map, const show::Show& show);

/// Winds the tape up: give it each tick, then ask for the takes. A tick before the last one (the loop came round, a person sought) begins another take.
class Takes {
 public:
  /// Controls named in `spared` aren't armed: hands move them, but they are no part of any take.
  explicit Takes(const HandProgram& program, std::vector<std::string> spared = {});
  /// False, and nothing is wound up, where the tick is of a program that reaches other controls: the map or a pose was changed meanwhile.
  bool add(const TakeTick& tick);
  /// What is wound up so far; takes in which nothing was touched are left out. Names count: "take 1", "take 2".
  std::vector<Take> takes() const;

 private:
  std::vector<std::string> controls_, spared_;
  std::uint32_t mark_ = 0;
  std::vector<std::vector<TakeTick>> wound_;
};

/// How a take becomes keys.
struct Keying {
  double error_share = 0.005;              ///< of each control's range: no key curve is further from a sample
  show::Time join{250'000'000};            ///< stretches nearer than this to each other become one
};

/// Keys of a track: within error_share of the control's range of every sample in `within`; of a control with states a key at each change.
std::vector<show::Keyframe> keys_of(const Track& track, const show::Control& control, show::Range within, const Keying& keying = {});

/// The show with the take in its own channels: what was there in the stretches that hands touched is replaced, outside of them the curve stays as it was
/// (a key on either side of the stretch holds it). Controls that the rig has not are left out.
show::Show into_channels(const show::Show& show, const show::Rig& rig, const Take& take, const Keying& keying = {});

/// The show with the take as a layer of its own on top, over all below it while the take lasts; its weight comes and goes within `fade`. The name is
/// made unique.
show::Show into_layer(const show::Show& show, const show::Rig& rig, const Take& take, const Keying& keying = {}, show::Time fade = show::Time{200'000'000});

}  // namespace mien::live
