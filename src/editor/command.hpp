// What a person can ask of the window. Panels return these; Studio::apply is the one place where they take effect.
#pragma once
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

#include "editor/edits.hpp"
#include "editor/view.hpp"
#include "live/follower.hpp"
#include "live/mtc_sender.hpp"
#include "live/network.hpp"
#include "perform/study.hpp"
#include "speech/alignment_edit.hpp"

namespace mien::editor {

enum class Dialog { none, open_show, save_as, new_show, unsaved, arm, port, cheat_sheet, checklist, take_over, import_library, export_library, import_labels, export_labels, scale, palette, recover, new_head, network, speak, add_sound, replaced };

struct Act { std::string id; };                       ///< an action of the registry
struct Change { Edit edit; bool done = true; };       ///< not done: a draft, shown while a drag goes on
struct TakeBack {};                                   ///< drop the draft
struct Select { Selection selection; };
struct Choose { std::string control; };               ///< the channel that the curve view shows
struct ShowTab { std::size_t which = 0; };            ///< brings an open show to the front
struct CloseTab { std::size_t which = 0; };           ///< asks first where its work is unsaved
struct KeepInCurve { std::string control; bool keep = true; };  ///< beside the chosen channel; control empty and not keep: none
struct ShowCurve { bool strips = false, handles = false; };  ///< as View's
struct ChooseLayer { std::string layer; int placement = -1; };
struct ChooseClip { std::string clip; };
struct ChoosePose { std::string pose; };
struct OpenKeys { KeysOf of; };                       ///< whose keys lanes and curve show
struct ShowSide { Side side = Side::none; };          ///< the list beside the lanes
struct Bake { std::string layer; };
struct StopBaking {};
struct UsePose { std::string group; double weight = 1; };  ///< as View's
struct SwitchLane { enum class What { mute, solo, lock } what = What::mute; std::string control; };
struct ShowTime { bool timecode = false; show::FrameRate rate = show::FrameRate::f25; };
struct SnapTo { Snapping snapping; };
struct GoToStep { std::size_t step = 0; };            ///< of the document's past or future
struct Fold { std::string group; bool folded = true; };
struct See { show::Range visible; };
struct Seek { show::Time time{0}; bool scrub = false; };
struct GoTo { std::string control; show::Time time{0}; };  ///< to what a finding is about; control empty: the time alone
struct MakeArrive { std::optional<perform::Shortfall> which; };  ///< nothing: the whole show
struct StopArriving {};
struct Ask { Dialog dialog = Dialog::none; };         ///< none closes the open one
struct Browse { std::filesystem::path path; };        ///< the path dialog: enter a folder, or take a file
struct OpenFile { std::filesystem::path file; };      ///< a show, or a rig to begin a show on; asks first where work is unsaved
struct Drop { std::vector<std::filesystem::path> files; };  ///< let go over the window: shows, rigs or sounds
struct Recover { std::size_t which = 0; bool throw_away = false; };  ///< of what a crash left
struct MakeHead {};                                   ///< of what the new head's dialog says
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

struct Hand {                                         ///< in the hands' panel; index: group, knob, trigger or take
  enum class Do { give, invert, takeover, curve, remove, keep, keep_layer, drop, arm, count_in, error,
                  unfold, low, high, exponent, dead_zone, smoothing, spring_back,           // of a knob
                  unfold_trigger, trigger_name, trigger_hold, trigger_remove };
  Do what = Do::give;
  int index = 0;
  double value = 0;                                   ///< what a knob is to have, in the map's units; of a trigger the number of What or Hold; seconds of a count-in, percent of an error
  std::string name{};                                 ///< of what a trigger is to do, or of a control to be armed or not
};

struct UseNetwork { live::NetworkSettings network; live::FollowSettings follow; live::SendCode code; };  ///< in place of what was open, followed and sent

struct Say {                                          ///< of speech: a line as the dialog has it, or a correction of its words and phones
  enum class Do { speak, stop, move, drop, reword };
  Do what = Do::speak;
  std::size_t sound = 0;                              ///< of the show
  speech::Boundary boundary{};                        ///< to move; its index: the word to change
  show::Time to{0};                                   ///< show time
  bool done = true;                                   ///< not done: shown while a drag goes on
  std::string text{};
};

struct CueAct {                                       ///< at the cue board; index: of the show's cues
  enum class Do { start, release, press /* starts it, or releases one that runs */ };
  Do what = Do::start;
  int index = 0;
};
struct ChooseCue { std::string cue; };

/// Its copies and its end are made in one place (command.cpp): a variant of so many makes them anew, slowly, wherever it is used.
struct Command : std::variant<CueAct, ChooseCue, Say, ShowTab, CloseTab, KeepInCurve, ShowCurve, UseNetwork, UsePose, SwitchLane, ShowTime, SnapTo, GoToStep, ChooseLayer, ChooseClip, ChoosePose, OpenKeys, ShowSide, Bake, StopBaking, Act, Change, TakeBack, Select, Choose, Fold, See, Seek, GoTo, MakeArrive, StopArriving, Ask, Browse, OpenFile, Drop, Recover, MakeHead, OpenPort, Dismiss, Confirm, Discard, Work, Hand> {
  using variant::variant;
  Command(const Command&);
  Command(Command&&) noexcept;
  Command& operator=(const Command&);
  Command& operator=(Command&&) noexcept;
  ~Command();
};
using Commands = std::vector<Command>;
/// Puts more behind all.
void add(Commands& all, Commands more);

}  // namespace mien::editor
