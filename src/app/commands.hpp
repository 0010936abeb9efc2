// The command line: what each command takes and what runs it. The parser, in run.cpp, fills the words; each command leaves an exit
// code.
#pragma once
#include <string>
#include <vector>

#include "show/finding.hpp"

namespace mien::app {

/// 0 fine, 1 findings, 2 unusable input.
enum Exit : int { kFine = 0, kFindings = 1, kUnusable = 2 };

int run(int count, char** words);

struct EditWords {
  std::string show, port, theme = "dark", journal;
  double scale = 0;
  int width = 0, height = 0;
  bool mute = false;
};
struct PlayWords {
  std::string show, port = "sim:";
  double for_s = 0;
  bool loop = false, mute = false, json = false;
};
struct RenderWords {
  std::string show, out;
  double for_s = 0;
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
  bool json = false;
};
struct PowerWords {
  std::string show;
  bool json = false;
};
struct DescribeWords {
  std::string rig, wiring;
  bool csv = false, json = false, controls = false, auxiliaries = false;
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
  bool state = false;
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
  double amount = 1;
  bool json = false;
};
struct PortsWords {
  bool json = false;
};

int run_edit(const EditWords& words);
int run_play(const PlayWords& words);
int run_render(const RenderWords& words);
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
int run_ports(const PortsWords& words);

/// Prints to standard error; returns the exit code that the worst of them asks for.
int tell(const show::Findings& findings);
int tell(const show::Finding& finding);

}  // namespace mien::app
