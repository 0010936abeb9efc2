// The parts of the window. Each is a function of what is so and its own passing state (a drag under way, a text half typed) that
// draws, and returns what the person asked for; none changes the show or the stage.
#pragma once
#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "editor/command.hpp"
#include "editor/scene.hpp"

namespace mien::editor {

/// Design pixels; the safety column takes them at the left edge in every mode, and nothing covers or dims it.
inline constexpr float kSafetyWidth = 232;

struct Rect {
  float x = 0, y = 0, width = 0, height = 0;
  bool contains(float px, float py) const noexcept { return px >= x && py >= y && px < x + width && py < y + height; }
};

/// A drag in the timeline or the curve view, from press to release.
struct Drag {
  enum class Kind { none, playhead, pan, loop_begin, loop_end, loop_new, keys, box, handle_out, handle_in };
  Kind kind = Kind::none;
  float x = 0, y = 0;              ///< where it was pressed
  float scroll = 0;                ///< lane scroll then
  bool moved = false;              ///< whether it left the few pixels of a click
  show::Time time{0};              ///< under the pointer then
  show::Range range;               ///< the view, or the loop, then
  std::vector<show::KeyRef> keys;  ///< what is dragged
  show::KeyRef grabbed;
  double value = 0;                ///< the grabbed key's value then
  show::Easing easing;             ///< handles: the segment's easing then
  Selection before;                ///< the selection then
};

struct TimelineState {
  Drag drag;
  float scroll = 0;
  std::string reveal;                       ///< a control whose lane is to be scrolled into view
  std::optional<show::Marker> marker;       ///< the one whose name is being typed
  std::string marker_name;
  bool marker_fresh = false;
};
struct CurveState { Drag drag; };
struct Typing { bool on = false; double value = 0; };  ///< a number half typed
struct KeyPanelState { Typing time, value; };
struct TransportState { Typing length; };
struct FindingListState { bool open = false; show::Time playhead{-1}; };

struct PathState {
  std::filesystem::path folder;
  std::string name;
  std::string problem;
  std::vector<std::filesystem::directory_entry> entries;
  bool fresh = true;  ///< just opened: the name gets the keyboard
};
struct PortState {
  std::string typed = "sim:";
  std::vector<link::PortInfo> serial;
};

struct BenchState { std::array<bool, 3> checked{}; double x = 0, ampere = 0; bool typing_ampere = false; };  ///< what is ticked and half typed

struct Panels {
  TimelineState timeline;
  CurveState curve;
  KeyPanelState keys;
  TransportState transport;
  FindingListState findings;
  PathState path;
  PortState port;
  BenchState bench;
  bool hands_open = false;
  Rect stop;             ///< where the Stop button stood in the last frame
  float head_share = 0.42f, top_share = 0.48f;
};

Commands menu_bar(const Scene& scene, const class Studio& studio);
Commands safety_column(const Scene& scene, Rect at, Rect& stop);
Commands transport_bar(const Scene& scene, const class Studio& studio, TransportState& state);
Commands timeline(const Scene& scene, TimelineState& state);
Commands curve_view(const Scene& scene, CurveState& state);
Commands key_panel(const Scene& scene, KeyPanelState& state);
Commands bench_list(const Scene& scene, const struct Workbench& work);
Commands bench_view(const Scene& scene, const struct Workbench& work, BenchState& state);
Commands checklist_dialog(const Scene& scene, BenchState& state);
Commands finding_list(const Scene& scene, FindingListState& state);
Commands hands_panel(const Scene& scene, const class Studio& studio);
Commands notice_panel(const Scene& scene, Rect at);

Commands port_dialog(const Scene& scene, PortState& state);
Commands arm_dialog(const Scene& scene);
Commands take_over_dialog(const Scene& scene);
Commands unsaved_dialog(const Scene& scene);
Commands path_dialog(const Scene& scene, PathState& state, Dialog which);
Commands cheat_sheet(const Scene& scene);

/// Reads the folder anew: folders first, then files whose name ends in `suffix`, by name.
void list_folder(PathState& state, std::string_view suffix);

}  // namespace mien::editor
