// Hands on the head: touches in, changed controls out, tick by tick. A map, a rig and a show are compiled into a program off the performing thread;
// what lasts from tick to tick is a value. No clock, no allocation, no lock: the same touches at the same ticks give the same bits.
//
// It is one layer on top of idle life, clips and show. Within it, what is momentary lies on what lasts, from the lowest up: knobs that hold a control,
// what another machine sets directly, clips, poses, springs (knobs that rest by themselves). Each group of the face can be given to the hands or kept from them; whatever begins or
// ends fades, so that nothing jumps, and the limiter has its say about all of it as about everything else.
#pragma once
#include <array>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "live/hand_map.hpp"
#include "live/touch.hpp"
#include "motion/curve.hpp"

namespace mien::live {

/// A map, ready to be performed. Immutable; keeps rig and show alive.
struct HandProgram {
  struct Ear {  ///< a source, as numbers; -1: any
    int device = -1, channel = -1;
    Source::Kind kind = Source::Kind::controller;
    int number = 0;
    int bank = 0;
  };
  struct Knob {
    Ear ear;
    int control;
    double low, high;  ///< inversion done
    double curve, dead_zone, smoothing_s, spring_back_s;
    Takeover takeover;
    bool middle;
  };
  struct Trigger {
    Ear ear;
    live::Trigger::What what;
    live::Trigger::Hold hold;
    double curve, fade_in_s, fade_out_s;
    int first, end;     ///< of a pose's values or a clip's strands
    std::int64_t length_ns;
    int to_bank;
    int cue;            ///< of the show; -1: none
  };
  struct Value { int control; double value; };
  struct Strand { int control; const show::Channel* channel; };

  std::vector<Knob> knobs;
  std::vector<Trigger> triggers;  ///< what the show has not is left out; places in the map are kept by `trigger_line`
  std::vector<int> knob_line, trigger_line;
  std::vector<Value> values;
  std::vector<Strand> strands;
  std::vector<double> rest, min, max;  ///< by control
  std::vector<char> stepped;
  std::vector<int> group;
  std::vector<int> direct;             ///< by number of an address: the control that it sets, in its unit; -1: none
  std::vector<int> reach;              ///< the controls that any line can change, in rising order
  std::uint32_t reach_mark = 1;        ///< of `reach`: programs that reach the same have the same, never 0
  int groups = 0, banks = 0;
  double fade_s = 0.5;
  std::shared_ptr<const show::Rig> rig;
  show::ShowPtr show;
};
using HandProgramPtr = std::shared_ptr<const HandProgram>;

/// What does not meet anything is left out. `devices`: the names of those that Touch::device counts; a line for another device hears nothing. `addresses`: likewise for
/// Touch::number of OSC; those that control_address() gives for the rig's controls set them directly.
HandProgramPtr compile(const HandMap& map, std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::span<const std::string> devices, std::span<const std::string> addresses = {});

/// "/mien/control/NAME". Names of controls that no address can hold (spaces, characters of patterns) have '_' there instead.
std::string control_address(std::string_view control);
/// Adds those of the rig's controls that `known` has not, as know_addresses() does.
void know_controls(const show::Rig& rig, std::vector<std::string>& known);

/// How long a control that was set directly stays so without another word.
inline constexpr double kDirectHold_s = 3;

/// What a knob that holds its control has to do with it at the moment.
enum class Grip : std::uint8_t {
  none,     ///< never heard, or in a bank that does not listen
  waiting,  ///< heard; has to be taken over first
  held,     ///< the control follows it
};

/// What lasts from tick to tick. A value; load() makes room in it.
struct HandState {
  struct Knob {
    bool heard = false, moved = false;
    bool ignored = false;          ///< a spring that was let go by panic: until it rests
    Grip grip = Grip::none;
    double raw = 0;                ///< where the source is: 0..1
    double y = 0;                  ///< shaped and smoothed: 0..1; of a spring: its deflection, -1..1
    double from_y = 0, from = 0;   ///< scaled: where knob and control were when it took over
    double slack = 0;              ///< pick-up: what is left of the step at the crossing
    int side = 0;                  ///< of the control, on which it stood last
  };
  struct Trigger {
    bool down = false, on = false;
    double velocity = 0, weight = 0;
    std::int64_t into_ns = 0;      ///< a clip's own time
  };
  struct Direct {
    bool on = false;
    bool ignored = false;          ///< let go by panic: until it is let go or silent once
    double aim = 0, value = 0, weight = 0, left_s = 0;
  };
  std::vector<Knob> knobs;
  std::vector<Trigger> triggers;
  std::vector<Direct> direct;           ///< by control
  std::vector<motion::Cursor> cursors;  ///< by strand
  std::vector<double> held, weight;     ///< by control: what knobs hold, and how far they have it
  std::vector<int> owner;               ///< by control: the knob that moved it last; -1: none
  std::vector<double> group_weight;
  std::vector<char> group_on;
  std::vector<char> touched;            ///< by control: hands had a say in it on the last tick
  std::vector<ControllerPairs> pairs;   ///< by device
  int bank = 1;
  std::uint64_t heard = 0;              ///< touches so far
  Touch last{};
  /// What cues were asked for since whoever performs them looked last, and set `cue_asks` to 0. More than fit are not heard.
  struct CueAsk { int cue; enum class What : std::uint8_t { start, release, change_over } what; };
  std::array<CueAsk, 32> cue_ask{};
  std::size_t cue_asks = 0;
};

/// Makes room and points cursors; allocates. A null program empties the state.
void load(HandState& state, const HandProgram* program);
/// Takes over from an earlier program what can be: all of it where both have the same lines and rig, else what is held, which then fades back to the show.
/// Precondition: `to` was loaded for `program`.
void carry_over(HandState& to, const HandProgram& program, const HandState& from, const HandProgram& before) noexcept;

/// Those that follow allocate nothing. Precondition: the state was loaded for the program.
void hear(const HandProgram& program, HandState& state, const Touch& touch) noexcept;
/// Gives everything back to the show, fading; knobs have to be taken over again, sticks to rest once.
void panic(const HandProgram& program, HandState& state) noexcept;
/// Gives a group of the rig to the hands, or takes it from them, fading. Out of range: nothing.
void enable(HandState& state, int group, bool on) noexcept;
/// A step of dt_s: changes `control`, by control index, which holds what idle life, clips and show have. dt_s is taken as 0 to 0.1.
void play(const HandProgram& program, HandState& state, double dt_s, std::span<double> control) noexcept;

}  // namespace mien::live
