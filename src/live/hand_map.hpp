// Which knob, key or stick of which device moves what on the head: the map of a pair of hands, as a value. It names controls, poses and clips, so
// that it serves any show on a rig that has these controls. A file of its own, `NAME.map.json` (store/map_store.hpp).
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::live {

/// Bounds, so that a broken file asks for nothing absurd.
inline constexpr std::size_t kMostKnobs = 256, kMostTriggers = 256, kMostBanks = 16;
inline constexpr double kMostSmoothing_ms = 5'000, kMostFade_s = 60, kLeastCurve = 0.1, kMostCurve = 10, kMostDeadZone = 0.9;

/// What a hand touches.
struct Source {
  enum class Kind : std::uint8_t { controller, controller_14, note, bend, pressure, key_pressure, axis, button, osc, slot };
  std::string device{};  ///< as the system names it; empty: whichever it comes from
  int channel = 0;       ///< of MIDI, 1..16; 0: any. Gamepads and networks have none
  Kind kind = Kind::controller;
  int number = 0;        ///< of the controller (14-bit ones: of their upper half, 0..31), note, axis, button or slot (1..512); 0 for what has none
  std::string address{}; ///< of OSC, as in /desk/fader/1: 0 to 1 there is all of a knob's way; empty for all others
  friend bool operator==(const Source&, const Source&) = default;
};

/// A stick's axis and the bend wheel rest in their middle, all others at their low end. Axes 4 and 5 of a gamepad are its triggers (GLFW's mapping).
bool rests_in_the_middle(const Source& source) noexcept;

/// "controller 7", "controller-14 7", "note 60", "bend", "pressure", "key-pressure 60", "axis 0", "button 3", "osc /desk/fader/1", "slot 17": without device and
/// channel.
std::string to_text(const Source& source);
/// The inverse; device and channel are left as they are in a fresh Source. Nothing where the text is none of these.
std::optional<Source> parse_source(std::string_view text);

/// How a knob that stands elsewhere than its control takes hold of it without a jump.
enum class Takeover : std::uint8_t {
  pick_up,  ///< nothing happens until the knob crosses where the control is
  scaled,   ///< moves at once, from where the control is, by as much of the way to the end as the knob has moved of its own
  glide,    ///< takes hold at once, and the control glides to it within the map's fade: for machines, whose faders nobody moves to meet a control
};

inline constexpr double kStickDeadZone = 0.1;  ///< what a stick rests within: no stick comes back exactly

/// Something that has an amount, and the control that follows it.
struct Knob {
  Source source;
  std::string control;
  double low = 0, high = 1;   ///< of the control, at the source's low and high end
  bool inverted = false;
  double curve = 1;           ///< exponent over the way from where the source rests; more than 1: finer near the rest
  double dead_zone = 0;       ///< share of the way around the rest that does nothing
  double smoothing_ms = 0;    ///< time constant
  Takeover takeover = Takeover::pick_up;
  /// More than 0: the source rests by itself (a stick, the bend wheel), and where it rests the control is what lies below, where it returns to within
  /// this time; from there the source leads to either end. There is nothing to take over then.
  double spring_back_s = 0;
  int bank = 0;               ///< counted from 1; 0: in all of them
  friend bool operator==(const Knob&, const Knob&) = default;
};

/// Something that is pressed, and what that does.
struct Trigger {
  enum class What : std::uint8_t { pose, clip, bank, panic, cue };
  enum class Hold : std::uint8_t {
    momentary,  ///< for as long as it is held; a clip goes round
    latch,      ///< until it is pressed again; a clip goes round
    once,       ///< a clip from beginning to end; a cue, which then ends as it does by itself; for a pose the same as momentary
  };
  Source source;
  What what = What::pose;
  std::string name{};  ///< of the pose, clip, bank or cue. A cue has its own fades
  Hold hold = Hold::momentary;
  double curve = 1;    ///< weight of a pose = velocity^curve, velocity from 0 to 1
  double fade_in_s = 0.1, fade_out_s = 0.3;
  int bank = 0;        ///< in which it listens, as in Knob
  friend bool operator==(const Trigger&, const Trigger&) = default;
};

struct HandMap {
  std::string name;
  double fade_s = 0.5;  ///< in which hands come in, and give back to the show
  std::vector<std::string> banks;
  std::vector<Knob> knobs;
  std::vector<Trigger> triggers;
  friend bool operator==(const HandMap&, const HandMap&) = default;
};

const char* name(Takeover takeover) noexcept;      ///< "pick-up", "scaled", "glide"
const char* name(Trigger::What what) noexcept;     ///< "pose", "clip", "bank", "panic", "cue"
const char* name(Trigger::Hold hold) noexcept;     ///< "momentary", "latch", "once"
std::optional<Takeover> parse_takeover(std::string_view text) noexcept;
std::optional<Trigger::What> parse_what(std::string_view text) noexcept;
std::optional<Trigger::Hold> parse_hold(std::string_view text) noexcept;

/// Whether an address can be a knob's or trigger's: printable ASCII from '/' on, none of the characters that OSC 1.0 keeps for patterns (space # * , ? [ ] { }),
/// at most 120 of them, and not one of Mien's own, which begin with "/mien/".
bool usable_address(std::string_view address) noexcept;
/// Adds the addresses that the map names and `known` has not. An address's number is its place there, which it keeps: whoever hears messages and whoever
/// compiles a map count alike, and a map that was changed counts as the one before.
void know_addresses(const HandMap& map, std::vector<std::string>& known);

/// Whether the map can be used on this rig. Errors are what is wrong with the map or meets nothing on the rig.
show::Findings validate(const HandMap& map, const show::Rig& rig, const std::string& file);
/// A warning for each pose, clip or cue that this show has not: those triggers do nothing in it.
show::Findings unmet(const HandMap& map, const show::Show& show, const std::string& file);

}  // namespace mien::live
