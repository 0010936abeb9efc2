// The command line: what each command takes and what runs it. The parser, in run.cpp, fills the words; each command leaves an exit
// code.
#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "show/finding.hpp"

namespace mien::app {

/// 0 fine, 1 findings, 2 unusable input.
enum Exit : int { kFine = 0, kFindings = 1, kUnusable = 2 };

int run(int count, char** words);

struct EditWords {
  std::string show, port, theme, journal;
  double scale = 0;
  int width = 0, height = 0;
  bool mute = false;
};
struct HandWords {
  std::string map, midi, script, record, record_only;
};
struct NetworkWords {
  int osc = -1, sacn = 0;  ///< a port, a universe; -1 and 0: off
  std::string osc_bind = "127.0.0.1", osc_may = "control,cue,transport", sacn_bind = "127.0.0.1", allow, follow, code_zero = "00:00:00:00", code_rate = "25", send_mtc;
  double tempo_bpm = 120, freewheel_s = 1;
};
struct PlayWords {
  std::string show, port = "sim:";
  double for_s = 0, resume_within_s = 10;
  bool loop = false, mute = false, json = false, wait_input = false, cues = false;
  std::string first_cue;
  HandWords hands{};
  NetworkWords network{};
};
struct RenderWords {
  std::string show, out;
  double for_s = 0;
  bool cues = false;
  std::vector<std::string> cue_at;
  HandWords hands{};
};
struct TakeWords {
  std::string file, show, out;
  int take = 0;
  double error_percent = 0.5;
  bool channels = false, json = false;
};
struct BakeWords {
  std::string show, out, to, start = "power-on", pause = "0", gap = "2..7";
  std::vector<std::string> idle;
  bool loop = false, apart = false, json = false;
};
struct CheckWords {
  std::string file;
  bool json = false;
};
struct ArriveWords {
  std::string show, out;
  std::string at, channel;  ///< one finding only; both or none
  bool json = false;
};
struct PowerWords {
  std::string show;
  bool json = false;
};
struct DescribeWords {
  std::string rig, wiring;
  bool csv = false, json = false, controls = false, auxiliaries = false, inputs = false;
};
struct ImportWords {
  std::string keys, rig, out;
};
struct ExportWords {
  std::string show, out;
};
struct BoardWords {
  std::string listen, capture, baked;
  int boards = 3;
  bool state = false, hands = false;
};
struct AdoptWords {
  std::string rig, port, board;
  bool yes = false;
};
struct AlignWords {
  std::string audio, text, language = "en", out;
  bool words = false, json = false;
};
struct SpeakWords {
  std::string show, audio, text, language = "en", out, visemes, at;
  double amount = 1, brows = 0, head = 0, blinks = 0, gaze = 0;
  std::uint32_t seed = 1;
  bool json = false;
};
struct SoundWords {
  std::string show, out, file, at, trim, trim_end;
  std::optional<double> gain_db;
  int place = 0;
  bool json = false;
};
struct PortsWords {
  bool json = false;
};
struct NewRigWords {
  std::string table, out, show, name, servo;
  double supply_a = 0;
  int boards = 1, outputs = 16;
};

struct PoseWords {
  std::string show, name, to, at = "0", group, layer, out;
  std::vector<int> units;
  double weight = 1;
  bool json = false;
};
struct ClipWords {
  std::string show, name, to, layer, taken_from, from = "0", until, at = "0", offset = "0", fade_in = "0", fade_out = "0", out;
  std::vector<std::string> controls, poses, clips;
  double rate = 1, weight = 1;
  int repeats = 1;
  bool replace = false, json = false;
};
struct LayerWords {
  std::string show, name, manner = "resting", out;
  std::vector<std::string> mask;
  std::uint32_t seed = 1;
  double weight = 1, blinks = 1, gaze = 1, brows = 1, head = 1, error_percent = 0.2;
  bool add = false, over = false, off = false, json = false;
};
struct LaneWords {
  std::string show, name, out;
  int to = 1;
  bool json = false;
};

/// What was said of a cue: each is empty where it was not, and then stays as it is.
struct CueWords {
  std::string show, name, out, clip, pose, state, follow, key, at_time, at_clock, fade_in, fade_out, hold, pause, now;
  std::vector<std::string> stretch, choice;
  double weight = 1;
  std::uint32_t seed = 1;
  int priority = -1, place = 0;
  bool loops = false, stop = false, json = false;
};

int run_edit(const EditWords& words);
int run_play(const PlayWords& words);
int run_render(const RenderWords& words);
int run_take(const TakeWords& words);
int run_bake(const BakeWords& words);
int run_check(const CheckWords& words);
int run_arrive(const ArriveWords& words);
int run_power(const PowerWords& words);
int run_describe(const DescribeWords& words);
int run_import(const ImportWords& words);
int run_export(const ExportWords& words);
int run_board(const BoardWords& words);
int run_adopt(const AdoptWords& words);
int run_align(const AlignWords& words);
int run_speak(const SpeakWords& words);
int run_sound_list(const SoundWords& words);
int run_sound_add(const SoundWords& words);
int run_sound_change(const SoundWords& words);
int run_sound_remove(const SoundWords& words);
int run_ports(const PortsWords& words);
int run_new_rig(const NewRigWords& words);

int run_pose_list(const PoseWords& words);
int run_pose_capture(const PoseWords& words);
int run_pose_key(const PoseWords& words);
int run_pose_mirror(const PoseWords& words);
int run_clip_list(const ClipWords& words);
int run_clip_make(const ClipWords& words);
int run_clip_place(const ClipWords& words);
int run_clip_import(const ClipWords& words);
int run_clip_export(const ClipWords& words);
int run_clip_mirror(const ClipWords& words);
int run_layer_list(const LayerWords& words);
int run_layer_add(const LayerWords& words);
int run_layer_idle(const LayerWords& words);
int run_layer_mute(const LayerWords& words);
int run_layer_remove(const LayerWords& words);
int run_layer_bake(const LayerWords& words);
int run_lane_list(const LaneWords& words);
int run_lane_move(const LaneWords& words);
int run_cue_list(const CueWords& words);
int run_cue_add(const CueWords& words);
int run_cue_change(const CueWords& words);
int run_cue_remove(const CueWords& words);

/// Prints to standard error; returns the exit code that the worst of them asks for.
int tell(const show::Findings& findings);
int tell(const show::Finding& finding);

}  // namespace mien::app
