// The edits that a person can make to a show, as values; and what each makes of a show. Nothing here draws or remembers.
#pragma once
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "editor/compose.hpp"
#include "editor/handles.hpp"
#include "editor/reshape.hpp"
#include "editor/selection.hpp"
#include "show/rig.hpp"

namespace mien::editor {

struct SetKey { std::string control; show::Keyframe key; };
struct DeleteKeys { std::vector<show::KeyRef> keys; };
/// By dt and dv; with `duplicate` the keys stay and their copies move. `of_range`: dv is a share of each control's range, so that keys of
/// channels in several units move alike.
struct MoveKeys { std::vector<show::KeyRef> keys; show::Time dt{0}; double dv = 0; bool duplicate = false; bool of_range = false; };
struct SetValue { std::vector<show::KeyRef> keys; double value = 0; };
struct SetTime { show::KeyRef key; show::Time time{0}; };
struct SetEasing { std::vector<show::KeyRef> keys; show::Easing easing; };
struct PasteKeys { show::KeyBundle bundle; show::Time at{0}; };
struct SetLoop { std::optional<show::Range> loop; };
struct AddMarker { show::Marker marker; };
struct SetMarker { show::Marker was, now; };
struct DeleteMarker { show::Marker marker; };
struct SetLength { show::Time length{0}; };
struct AddSound { show::Sound sound; };
/// What a computation made of the show's keys, under the name that undo gives it.
struct SetChannels { std::string name; std::vector<show::ChannelPtr> channels; };

/// Its copies and its end are made in edits.cpp alone, as Command's.
struct Edit : std::variant<SetKey, DeleteKeys, MoveKeys, SetValue, SetTime, SetEasing, PasteKeys, SetLoop, AddMarker, SetMarker, DeleteMarker, SetLength, AddSound, SetChannels, Composition, Reshaping, HandleEdit> {
  using variant::variant;
  Edit(const Edit&);
  Edit(Edit&&) noexcept;
  Edit& operator=(const Edit&);
  Edit& operator=(Edit&&) noexcept;
  ~Edit();
};

struct Edited {
  std::string name;  ///< as undo names it: "Move 3 keys"
  show::Show show;
  Selection selection;
};

/// Never breaks a promise of show.hpp, whatever numbers the edit holds; values keep to the control's range.
Edited apply(const Edit& edit, const show::Show& show, const show::Rig& rig, const Selection& selection);

/// nullptr where the rig has none of that name.
const show::Control* find_control(const show::Rig& rig, std::string_view name) noexcept;

}  // namespace mien::editor
