// Cues in time: asked for, begun, held, faded out, followed, tick by tick. A show's cue list is compiled into a program; what lasts from tick to tick is a value.
// No clock, no allocation, no lock: the same asks at the same ticks give the same bits. Randomness is counted as in perform/idle.hpp.
//
// On a tick cues come after the show's layers and before hands. What a cue moves is laid over what is below by its weight, which rises and falls over its fades,
// cues of a lower priority below those of a higher one. Whatever would jump (the show goes elsewhere, a clip begins anew before it was gone, an edit) is made good
// for by an offset that dies away: what is performed goes on from where it was, and the limiter has its say about it as about everything else.
#pragma once
#include <array>
#include <bitset>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "motion/curve.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::perform {

/// A cue list, ready to be performed. Immutable; keeps the show alive. A cue that names what the show or rig has not does nothing.
struct CueProgram {
  enum class Kind : std::uint8_t { nothing, once, round, still, stretch, choice, stop };  ///< once and round: clips; still: a pose or a state
  struct Value { int control; double value; };
  struct Strand { int control; const show::Channel* channel; };
  struct Cue {
    Kind kind = Kind::nothing;
    int first = 0, end = 0;          ///< of values, strands or choices
    std::int64_t length_ns = 0;      ///< of a clip
    show::Range stretch;
    std::uint32_t seed = 0;
    std::int64_t fade_in_ns = 0, fade_out_ns = 0, hold_ns = 0, pause_ns = 0;
    std::int64_t at_time_ns = -1, at_clock_ns = -1;
    int follow = -1, priority = 0;
    std::bitset<show::kMaxControls> moves;
  };
  std::vector<Cue> cues;             ///< as Show::cues
  std::vector<Value> values;
  std::vector<Strand> strands;
  std::vector<int> choices;
  std::vector<int> upward;           ///< the order in which they are laid
  std::shared_ptr<const show::Rig> rig;
  show::ShowPtr show;
};
using CueProgramPtr = std::shared_ptr<const CueProgram>;

/// Null for a show without cues.
CueProgramPtr cues_of(std::shared_ptr<const show::Rig> rig, show::ShowPtr show);

enum class CuePhase : std::uint8_t {
  ready,
  waiting,  ///< follows another, and waits until its pause is over and nobody is in its way
  playing, holding, leaving,
  pausing,
};
const char* name(CuePhase phase) noexcept;  ///< the word for people: "ready", "waiting", ...

/// What lasts from tick to tick. A value; load() makes room in it.
struct CueState {
  struct Run {
    CuePhase phase = CuePhase::ready;
    bool wanted = false;        ///< it follows, as soon as it can
    std::int64_t into_ns = 0;   ///< since it began; what it plays is read there
    std::int64_t since_ns = 0;  ///< since the phase began
    double weight = 0;
    int chosen = -1;            ///< by a choice, now or last
    std::uint64_t choices = 0;
  };
  std::vector<Run> runs;
  std::vector<motion::Cursor> cursors;  ///< by strand
  std::uint64_t begun = 0;              ///< cues so far

  bool live = false;                    ///< idle life goes on by a clock of its own, though the show stands; times of day are heeded
  std::int64_t life_ns = 0;

  int stretch = -1;                     ///< whose stretch the show plays, or stands at the end of
  bool stretch_began = false;
  int next_stretch = -1;                ///< began since the last step
  show::Time home{0};                   ///< where the show goes back to
  bool home_plays = false;

  show::Time before{0};                 ///< show time and time of day on the last step
  bool played = false;
  std::int64_t day_before_ns = -1;

  bool jumps = false;                   ///< what is laid next must not be seen to jump
  std::int64_t jump_ns = 0, jumped_ns = 0;  ///< in which that is made good for, and how much of it has passed
  bool laid = false, off = false;       ///< `last` means something; so does `offset`
  std::array<double, show::kMaxControls> last{}, offset{};
};

/// Makes room and points cursors; allocates. A null program leaves nothing to run.
void load(CueState& state, const CueProgram* program, const motion::Shapes* shapes, std::span<const double> rest);
/// Cues of the same name that do the same go on; what others did fades away. Precondition: `to` was loaded for `program`. Either may be null.
void carry_over(CueState& to, const CueProgram* program, const CueState& from, const CueProgram* before) noexcept;

/// All that follow allocate nothing. Precondition: the state was loaded for the program.
/// Begins a cue, or releases it: then it ends, and none follows. Out of range: nothing. Two cues that meet on a tick: the later ask wins.
void start(const CueProgram& program, CueState& state, int cue) noexcept;
void release(const CueProgram& program, CueState& state, int cue) noexcept;
void release_all(const CueProgram& program, CueState& state) noexcept;
/// Whether idle life and times of day go on by themselves. `show`: where it stands now.
void set_live(CueState& state, bool live, show::Time show) noexcept;

/// What the transport is to do for a cue.
struct StageGo {
  bool go = false;
  show::Time to{0};
  bool play = false;   ///< else stand there
  bool free = false;   ///< without the show's loop
};
struct CueClock {
  show::Time show{0};        ///< where the show is on this tick
  bool playing = false;
  std::int64_t dt_ns = 0;    ///< since the last step
  std::int64_t day_ns = -1;  ///< local time of day; -1: nobody knows
};
/// Goes on by a tick. `program` may be null: only life goes on.
StageGo step(const CueProgram* program, CueState& state, const CueClock& clock) noexcept;
/// Where the show is performed while a stretch plays: never beyond its end.
show::Time held_within(const CueProgram* program, const CueState& state, show::Time time) noexcept;
/// Changes `control`, by control index, which holds what the show and its layers have.
void lay(const CueProgram* program, CueState& state, const std::vector<char>& stepped, std::span<double> control) noexcept;

/// How far a cue is: 0 to 1 of what it plays, holds or pauses; 0 for what has no end of its own.
float share_of(const CueProgram& program, const CueState& state, int cue, show::Time show) noexcept;
/// What an offset that dies away has left at the share u of its time, 0..1.
double left_of_jump(double u) noexcept;

}  // namespace mien::perform
