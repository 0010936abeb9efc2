// The two sides of a key and the handles that stand on them: how each lies, and edits that lay them otherwise; one kind of those in
// editor/edits.hpp. A file holds no kind of handle but the easing of each segment alone, so that how a side lies is read from the curve itself.
//
// A handle is an inner control point of a Bezier segment (show/channel.hpp), told as its distance from its key in time and in value. Between
// two keys of one value it has no height: there a side is always flat.
#pragma once
#include <optional>
#include <variant>
#include <vector>

#include "show/edit.hpp"
#include "show/rig.hpp"

namespace mien::editor {

struct Edited;
struct Selection;

/// none: no Bezier segment on that side. flat: level with its key. aligned: on one line with the key's other handle. free: neither.
enum class Lie { none, flat, aligned, free };

struct HandleSide {
  Lie lie = Lie::none;
  show::Time dt{0};  ///< from the key to the handle; negative on the side that leads to the key
  double dv = 0;     ///< in the control's unit
  bool tilts = false;  ///< false: nothing on this side can lie otherwise than flat
};
struct KeySides { HandleSide in, out; };

/// Precondition: i < channel.keys.size().
KeySides sides_of(const show::Channel& channel, std::size_t i) noexcept;

/// The easing that draws the segment which leaves key i as a Bezier: exactly so where it is linear or smooth. Hold stays what it is.
/// Precondition: i + 1 < channel.keys.size().
show::Easing as_bezier(const show::Channel& channel, std::size_t i) noexcept;

/// Heights of handles keep to these shares of their segment's rise; a handle that would stand beyond is drawn in along its own line.
inline constexpr double kLeastHandle = -2, kMostHandle = 3;

/// Lays the sides named. Segments that are not Beziers become such, hold stays. flat keeps the handle's time; aligned gives both sides the mean of
/// their slopes (flat where one of them can't tilt); free points each side at its own neighbour, which leaves a corner.
struct LayHandles { std::vector<show::KeyRef> keys; bool in = true, out = true; Lie lie = Lie::flat; };
/// Puts the handle of one side of each key: what is given. dt counts away from the key on either side.
struct PutHandle { std::vector<show::KeyRef> keys; bool out = true; std::optional<show::Time> dt; std::optional<double> dv; };
/// One handle to where a hand has it; with `both` the key's other handle keeps its time and turns along.
struct TurnHandle { show::KeyRef key; bool out = true; show::Time dt{0}; double dv = 0; bool both = false; };

using HandleEdit = std::variant<LayHandles, PutHandle, TurnHandle>;

Edited lay_handles(const HandleEdit& edit, const show::Show& show, const Selection& selection);

}  // namespace mien::editor
