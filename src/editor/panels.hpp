// The parts of the window. Each is a function of what is so and its own passing state (a drag under way, a text half typed) that
// draws, and returns what the person asked for; none changes the show or the stage.
#pragma once
#include <array>
#include <filesystem>
#include <functional>
#include <future>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "editor/command.hpp"
#include "editor/scene.hpp"
#include "editor/value_reach.hpp"
#include "show/suggest.hpp"

namespace mien::editor {

/// Design pixels; the safety column takes them at the left edge in every mode, and nothing covers or dims it.
inline constexpr float kSafetyWidth = 232;

struct Rect {
  float x = 0, y = 0, width = 0, height = 0;
  bool contains(float px, float py) const noexcept { return px >= x && py >= y && px < x + width && py < y + height; }
};

/// A drag in the timeline or the curve view, from press to release.
struct Drag {
  enum class Kind { none, playhead, pan, loop_begin, loop_end, loop_new, keys, box, handle_out, handle_in, block, block_begin, block_end, block_fade_in, block_fade_out,
                    scale_begin, scale_end, scale_low, scale_high, keys_range, lane, boundary, sound, sound_begin, sound_end };
  Kind kind = Kind::none;
  float x = 0, y = 0;              ///< where it was pressed
  float scroll = 0;                ///< lane scroll then
  bool moved = false;              ///< whether it left the few pixels of a click
  show::Time time{0};              ///< under the pointer then
  show::Range range;               ///< the view, or the loop, then
  std::vector<show::KeyRef> keys;  ///< what is dragged
  show::KeyRef grabbed;
  double value = 0;                ///< the grabbed key's value then
  double low = 0, high = 1;        ///< scaling values: the ends of the chosen keys then, as shares of their ranges
  bool aligned = false;            ///< handles: whether the key's two were on one line then
  Selection before;                ///< the selection then
  std::string layer;               ///< blocks: whose placement is dragged, which, and what it was then
  std::size_t placement = 0, copied_from = 0;  ///< copied_from: how many there were
  show::Placement placed;
  speech::Boundary boundary;       ///< of a word or phone of a sound of the show
  std::size_t sound = 0;           ///< which; or the sound that is dragged, and what it was then
  show::Sound sound_was;
};

struct TimelineState {
  Drag drag;
  float scroll = 0;
  std::string reveal;                       ///< a control whose lane is to be scrolled into view
  std::optional<show::Marker> marker;       ///< the one whose name is being typed
  std::string marker_name;
  bool marker_fresh = false;
  struct Word { std::size_t sound = 0, index = 0; std::string text; bool fresh = true; };
  std::optional<Word> word;                 ///< the one whose text is being typed
};
struct CurveState {
  Drag drag;
  ValueReaches reaches{};
};
struct Typing { bool on = false; double value = 0; };  ///< a number half typed
struct KeyPanelState { Typing time, value, in_time, in_value, out_time, out_value; };
struct TransportState { Typing length; };
struct FindingListState { show::Time playhead{-1}; };

struct Texting { bool on = false; std::string text; };  ///< a name half typed
struct ComposeState {
  std::map<std::string, Typing> numbers;  ///< by field
  std::map<std::string, Texting> names;
};

/// How the chosen keys are to be scaled.
struct ScaleState {
  Typing time, value;
  double time_percent = 100, value_percent = 100;
  int pivot = 0;  ///< 0 the first key, 1 the playhead, 2 the last key
};

struct PathState {
  enum class Where { own, asked /* the desktop's, a moment ago: nothing is drawn yet */, desktop } where = Where::own;  ///< whose dialog is open
  std::filesystem::path folder;
  std::string name;
  std::string problem;
  std::vector<std::filesystem::directory_entry> entries;
  bool fresh = true;  ///< just opened: the name gets the keyboard
  struct Place { std::string name; std::filesystem::path folder; };
  std::vector<Place> places;             ///< to begin from
  std::vector<std::filesystem::path> recent;
  bool filters = false;                  ///< what is in the name's line was typed, and the list shows what contains it
  int at = -1;                           ///< the row that Enter takes; -1: what was typed
  bool follow = false;                   ///< the list is to scroll to that row
  std::filesystem::path looked_at;       ///< the file of which `holds` tells
  std::vector<std::string> holds;        ///< a line each
  std::future<std::vector<std::string>> looking;
};
struct PortState {
  std::string typed = "sim:";
  std::vector<link::PortInfo> serial;
};

struct PaletteState {
  std::string typed;
  int at = 0;           ///< the row that Enter does
  bool fresh = true;
  std::string binding;  ///< the action that waits for its new key; empty: none
  std::string word;     ///< why the last one could not be
};
struct RecoverState { int sure = -1; };  ///< the row that asks once more
struct ReplacedState {                   ///< what a save would write over
  std::filesystem::path target;
  std::vector<std::filesystem::path> files;
  bool own = false;                      ///< the show's own file, which another program changed
  Dialog asked = Dialog::save_as;        ///< for the name
};
/// A head being made: what was typed, and what became of it.
struct HeadState {
  std::string name = "My head", folder, servo = "Micro, 0.12 s/60 deg, 180 deg, 500..2500 us, 4.8 V, 1.6 kg cm", table;
  int boards = 1, outputs = 16;
  double supply_a = 0;         ///< of each board; 0: not known
  std::string one_name;        ///< the servo that is added by hand
  int one_role = 0;            ///< 0: by its name; else a role's number and 1
  std::string judged;          ///< what `made` was made of
  show::Suggested made;
  show::Findings findings;     ///< about all of it
  bool usable = false;
};

/// Other machines, as typed; off until it is used.
struct NetworkState {
  bool osc = false, sacn = false, control = true, cue = true, transport = true;
  std::string port = "9000", osc_ip = "127.0.0.1", universe = "1", sacn_ip = "127.0.0.1", allow, zero = "00:00:00:00", tempo = "120", freewheel = "1";
  int follow = 0;       ///< as FollowSettings::Source
  bool send = false;    ///< time code
  int rate = 1;         ///< of the code at which the show begins, and of what is sent; as live::TimeCodeRate
  std::string output;   ///< that is sent to
  std::string problem;  ///< what is wrong with it
};

/// A line to be spoken: which sound, what is said, and how.
struct SpeakState {
  std::size_t sound = 0;
  std::string text, language = "en";
  float amount = 1, brows = 0.5f, head = 0.5f, blinks = 0.8f, gaze = 0.5f;
  int seed = 1;
};

struct BenchState { std::array<bool, 3> checked{}; double x = 0, ampere = 0; bool typing_ampere = false; };  ///< what is ticked and half typed

struct Panels {
  TimelineState timeline;
  CurveState curve;
  KeyPanelState keys;
  TransportState transport;
  FindingListState findings;
  ComposeState compose;
  ScaleState scale;
  Side side = Side::none;  ///< what stands beside the lanes
  PathState path;
  PortState port;
  BenchState bench;
  PaletteState palette;
  RecoverState recover;
  ReplacedState replaced;
  HeadState head;
  NetworkState network;
  SpeakState speak;
  bool hands_open = false;
  bool cue_board = false;  ///< in the curve's place
  ComposeState hands;
  Rect stop;             ///< where the Stop button stood in the last frame
  float head_share = 0.42f, top_share = 0.48f;
};

Commands menu_bar(const Scene& scene, const class Studio& studio);
Commands safety_column(const Scene& scene, Rect at, Rect& stop);
/// Whose time the show follows, who is told it, and how that goes; no text where it has its own and tells nobody.
struct TimeWord { std::string text; bool well = true; };
TimeWord time_word(const perform::Report& report, live::FollowSettings::Source follows, const live::CodeSent& sent);
Commands transport_bar(const Scene& scene, const class Studio& studio, TransportState& state);
Commands timeline(const Scene& scene, TimelineState& state);
Commands curve_view(const Scene& scene, CurveState& state);
Commands key_panel(const Scene& scene, KeyPanelState& state);
Commands bench_list(const Scene& scene, const struct Workbench& work);
Commands bench_view(const Scene& scene, const struct Workbench& work, BenchState& state);
Commands checklist_dialog(const Scene& scene, BenchState& state);
Commands finding_list(const Scene& scene, FindingListState& state);
/// What all lists beside the lanes have on top: which of them there are.
Commands side_tabs(const Scene& scene, Side side);
Commands layer_panel(const Scene& scene, const class Studio& studio, ComposeState& state);
Commands clip_panel(const Scene& scene, const class Studio& studio, ComposeState& state);
/// Draws a face into a rectangle of the current panel; empty in tests.
using DrawFace = std::function<void(const Scene&, const show::FacePose&, float x, float y, float width, float height)>;
Commands pose_panel(const Scene& scene, const class Studio& studio, ComposeState& state, const DrawFace& draw);
Commands history_panel(const Scene& scene);
Commands scale_dialog(const Scene& scene, ScaleState& state);
/// Above the lanes while they show the keys of a clip or layer: whose, and the way back.
Commands keys_of_strip(const Scene& scene, const class Studio& studio);
/// The open shows, where there are several.
Commands tab_strip(const Scene& scene, const class Studio& studio);
Commands hands_panel(const Scene& scene, const class Studio& studio, ComposeState& state);
/// What is set of the knob, or of the trigger, whose row is unfolded.
Commands knob_fields(const Scene& scene, const struct HandsDesk& hands, int row, ComposeState& state);
Commands trigger_fields(const Scene& scene, const struct HandsDesk& hands, int row, ComposeState& state);
Commands cue_panel(const Scene& scene, const class Studio& studio, ComposeState& state);
Commands cue_board(const Scene& scene, const class Studio& studio);
Commands notice_panel(const Scene& scene, Rect at);

Commands port_dialog(const Scene& scene, PortState& state);
Commands arm_dialog(const Scene& scene);
Commands take_over_dialog(const Scene& scene);
Commands unsaved_dialog(const Scene& scene);
Commands replaced_dialog(const Scene& scene, const ReplacedState& state);
Commands path_dialog(const Scene& scene, PathState& state, Dialog which);
Commands cheat_sheet(const Scene& scene);
Commands palette_dialog(const Scene& scene, const class Studio& studio, PaletteState& state);
Commands recover_dialog(const Scene& scene, const class Studio& studio, RecoverState& state);
Commands speak_dialog(const Scene& scene, SpeakState& state);
/// Where each sound stands, how loud it is, and what is left out of it.
Commands sound_panel(const Scene& scene, const class Studio& studio, ComposeState& state);
Commands head_dialog(const Scene& scene, HeadState& state);
Commands network_dialog(const Scene& scene, const class Studio& studio, NetworkState& state);
/// Works the suggestions out anew where anything was typed since.
void judge(HeadState& state);

/// What a show, rig or library holds, or why it can't be read; a line each. Off the window's thread, for it reads the whole file.
std::vector<std::string> what_it_holds(const std::filesystem::path& file);
/// Where a file may be: the person's own folder, those of recent shows, and what is plugged in.
std::vector<PathState::Place> places_to_look(const std::vector<std::filesystem::path>& recent);

/// Reads the folder anew: folders first, then files whose name ends in `suffix`, by name.
void list_folder(PathState& state, std::string_view suffix);

}  // namespace mien::editor
