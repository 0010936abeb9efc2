// The sound of a show that another machine leads: where it has to be started, and started anew. A pure value; whoever has the player does what it says.
#pragma once
#include <cstdint>
#include <optional>

#include "show/time.hpp"
#include "sound/clock.hpp"

namespace mien::perform {

/// A sound takes its time to be heard, differently on each machine: what it was late by when it settled is started earlier by the next time.
class SoundChase {
 public:
  static constexpr std::int64_t kOff_ns = 45'000'000;          ///< from where on people notice that a sound is early (ITU-R BT.1359-1)
  static constexpr std::int64_t kSettles_ns = 2'000'000'000;   ///< after a start it is left alone for so long
  static constexpr std::int64_t kMostLead_ns = 500'000'000;

  /// The show plays and is at `time` at `at_ns` (steady); `locates` counts its leaps; `heard` is the sound's clock, `sounding` whether it was started and not paused since. Where to
  /// start it from; nothing where it is to be left alone.
  std::optional<show::Time> look(show::Time time, std::int64_t at_ns, std::uint64_t locates, bool sounding, const sound::ClockLine& heard) noexcept;

 private:
  std::uint64_t locates_ = 0;
  std::int64_t began_ns_ = 0, lead_ns_ = 0;
};

}  // namespace mien::perform
