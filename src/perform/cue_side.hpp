// The performing thread's dealings with whoever starts cues: asks come in from any thread, what became of them goes out.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>
#include <mutex>
#include <string_view>

#include "perform/cues.hpp"
#include "perform/tick.hpp"

namespace mien::perform {

struct CueNow {
  CuePhase phase = CuePhase::ready;
  bool wanted = false;  ///< it follows as soon as it can
  std::int16_t chosen = -1;  ///< by a choice that runs
  float share = 0;      ///< how far it is (perform/cues.hpp)
};
/// The cues on the newest tick.
struct CuesNow {
  bool live = false;         ///< idle life goes on by its own clock
  int count = 0;             ///< as many as the show has
  std::array<CueNow, show::kMaxCues> cue{};
  std::uint64_t begun = 0;   ///< cues so far
  std::uint64_t goes = 0;    ///< times the show is to be started with its sound so far; the newest is `go`
  StageGo go;
};

/// Gives cues what hands asked for since the last tick.
void hear_hands(const Plan& plan, Head& head) noexcept;

class CueSide {
 public:
  CueSide() noexcept;

  // Any thread, none of them waits for the performing one. Asks for the same cue within a tick count as one; of a start and a release the release.
  bool start(std::string_view name);
  bool release(std::string_view name);
  void start(int cue) noexcept;
  void release(int cue) noexcept;
  CuePhase phase(int cue) const noexcept;
  /// The show whose cues names mean, from now on.
  void set_names(show::ShowPtr show);

  // The performing thread only; nothing allocates, locks or waits.
  /// What was asked for and not yet heard of another list of cues is forgotten.
  void take_plan(const Plan& plan, const Plan* before) noexcept;
  /// Asks from outside in the order of the list, then those of hands.
  void hear(const Plan& plan, Head& head) noexcept;
  void ask_for_sound(const StageGo& go) noexcept { ++now_.goes, now_.go = go; }
  const CuesNow& report(const Plan& plan, const Head& head, show::Time show) noexcept;

 private:
  int index_of(std::string_view name);
  using Counts = std::array<std::atomic<std::uint32_t>, show::kMaxCues>;
  Counts starts_{}, releases_{};
  std::array<std::uint32_t, show::kMaxCues> started_{}, released_{};
  std::atomic<bool> asked_{false};
  std::array<std::atomic<CuePhase>, show::kMaxCues> phase_;
  std::mutex names_;  // between those who ask; never the performing thread
  show::ShowPtr named_;
  CuesNow now_;
};

}  // namespace mien::perform
