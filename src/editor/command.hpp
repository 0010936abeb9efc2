// What a person can ask of the window. Panels return these; Studio::apply is the one place where they take effect.
#pragma once
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

#include "editor/edits.hpp"
#include "perform/study.hpp"

namespace mien::editor {

enum class Dialog { none, open_show, save_as, new_show, unsaved, arm, port, cheat_sheet, checklist, take_over };

struct Act { std::string id; };                       ///< an action of the registry
struct Change { Edit edit; bool done = true; };       ///< not done: a draft, shown while a drag goes on
struct TakeBack {};                                   ///< drop the draft
struct Select { Selection selection; };
struct Choose { std::string control; };               ///< the channel that the curve view shows
struct Fold { std::string group; bool folded = true; };
struct See { show::Range visible; };
struct Seek { show::Time time{0}; bool scrub = false; };
struct GoTo { std::string control; show::Time time{0}; };  ///< to what a finding is about; control empty: the time alone
struct MakeArrive { std::optional<perform::Shortfall> which; };  ///< nothing: the whole show
struct StopArriving {};
struct Ask { Dialog dialog = Dialog::none; };         ///< none closes the open one
struct Browse { std::filesystem::path path; };        ///< the path dialog: enter a folder, or take a file
struct OpenPort { std::string port; };
struct Dismiss {};                                    ///< the notices have been read
struct Confirm {};                                    ///< "do it" in the open dialog
struct Discard {};                                    ///< "don't save" in the unsaved dialog
struct Work {                                         ///< at the workbench
  enum class Do { choose, jog, identify, travel, halt, widen, minimum, rest, maximum, turn_round, anew, add_row, drop_row, use_table, most_current, leave };
  Do what = Do::halt;
  double value = 0;                                   ///< degrees, side, x of the row, or amperes
  int index = 0;                                      ///< actuator, or row
};

struct Hand {                                         ///< in the hands' panel; index: group, knob or take
  enum class Do { give, invert, takeover, curve, remove, keep, drop };
  Do what = Do::give;
  int index = 0;
};

using Command = std::variant<Act, Change, TakeBack, Select, Choose, Fold, See, Seek, GoTo, MakeArrive, StopArriving, Ask, Browse, OpenPort, Dismiss, Confirm, Discard, Work, Hand>;
using Commands = std::vector<Command>;

}  // namespace mien::editor
